//! Records as nearly all files write them: no layout between the tokens, nothing out of the way.
//!
//! The parameters are cut without the grammar, a byte looked at once; whatever is not plain is left
//! to it. What is cut here the grammar cuts in the same way: a property test asks both.

use crate::grammar::Spans;
use crate::head;
use crate::layout::is_keyword_byte;
use crate::number::{self, Number};

/// How deep lists may be nested here; IFC needs 3.
const DEEPEST: u32 = 8;
/// A name of more digits may not fit in 64 bits.
const DIGITS: usize = 18;

/// Cuts the parameters of a record whose opening bracket stands at `open`; where its semicolon ends,
/// if it is plain up to there. If not, `spans` holds what was cut until then.
pub(crate) fn parameters<'i>(text: &'i [u8], open: usize, spans: &mut Spans<'i>) -> Option<usize> {
    let mut at = open + 1;
    let closed = |at: usize| (text.get(at) == Some(&b';')).then_some(at + 1);
    if text.get(at) == Some(&b')') {
        return closed(at + 1);
    }
    loop {
        let end = value(text, at, DEEPEST)?;
        spans.push(text.get(at..end)?);
        match text.get(end) {
            Some(b',') => at = end + 1,
            Some(b')') => return closed(end + 1),
            _ => return None,
        }
    }
}

/// The two or three numbers of a record that is nothing but a list of them, a point or a direction;
/// its opening bracket stands at `open`.
pub(crate) fn triple(text: &[u8], open: usize) -> Option<[f64; 3]> {
    let mut rest = text.get(open..)?.strip_prefix(b"((")?;
    let mut triple = [0.0; 3];
    for (place, number) in triple.iter_mut().enumerate() {
        let (read, length) = match number::short(rest) {
            Some(short) => short,
            None => {
                let length = number::plain(rest);
                (number::read(rest.get(..length)?)?, length)
            }
        };
        let after = rest.get(length..)?;
        *number = match read {
            Number::Integer(whole) if whole.unsigned_abs() < 1 << 53 => whole as f64,
            Number::Real(real) => real,
            _ => return None,
        };
        rest = match after {
            [b',', after @ ..] => after,
            [b')', b')', b';', ..] if place > 0 => return Some(triple),
            _ => return None,
        };
    }
    None
}

/// The text that a record begins with, if nothing in it is out of the way; its opening bracket stands
/// at `open`.
pub(crate) fn leading_text(text: &[u8], open: usize) -> Option<&str> {
    let end = (text.get(open + 1) == Some(&b'\'')).then(|| string(text, open + 1)).flatten()?;
    let leading = text.get(open + 2..end - 1)?;
    let is_plain = leading.iter().fold(true, |plain, byte| plain & (b' '..0x7F).contains(byte));
    // Of plain ASCII.
    is_plain.then(|| std::str::from_utf8(leading).ok()).flatten()
}

/// The length of the value at the head of a list's text, where the next begins or the list ends, if
/// it is plain.
pub(crate) fn item(text: &[u8]) -> Option<usize> {
    let end = value(text, 0, DEEPEST)?;
    matches!(text.get(end), Some(b',') | None).then_some(end)
}

/// Where the value at `at` ends: most are references or left out.
#[inline(always)]
fn value(text: &[u8], at: usize, deepest: u32) -> Option<usize> {
    match *text.get(at)? {
        b'$' | b'*' => Some(at + 1),
        b'#' => {
            let end = digits(text, at + 1);
            (1..=DIGITS).contains(&(end - at - 1)).then_some(end)
        }
        _ => other(text, at, deepest),
    }
}

/// Where a value that is no reference ends.
fn other(text: &[u8], at: usize, deepest: u32) -> Option<usize> {
    match *text.get(at)? {
        b'\'' => string(text, at),
        b'.' => {
            let end = behind(text, at + 1, is_keyword_byte);
            let named = end > at + 1 && !text.get(at + 1)?.is_ascii_digit();
            (named && text.get(end) == Some(&b'.')).then_some(end + 1)
        }
        b'(' => list(text, at, deepest),
        b'0'..=b'9' | b'-' => match number::plain(text.get(at..)?) {
            0 => None,
            length => Some(at + length),
        },
        b'A'..=b'Z' => {
            let end = behind(text, at, is_keyword_byte);
            (text.get(end) == Some(&b'(')).then(|| list(text, end, deepest)).flatten()
        }
        _ => None,
    }
}

/// Where the list whose bracket stands at `open` ends.
fn list(text: &[u8], open: usize, deepest: u32) -> Option<usize> {
    let deepest = deepest.checked_sub(1)?;
    let mut at = open + 1;
    if text.get(at) == Some(&b')') {
        return Some(at + 1);
    }
    loop {
        let end = value(text, at, deepest)?;
        match text.get(end)? {
            b',' => at = end + 1,
            b')' => return Some(end + 1),
            _ => return None,
        }
    }
}

/// Where a string without directives and doubled apostrophes ends.
fn string(text: &[u8], at: usize) -> Option<usize> {
    let inner = text.get(at + 1..)?;
    let length = memchr::memchr2(b'\'', b'\\', inner)?;
    let end = at + 1 + length + 1;
    let closed = matches!(text.get(end), Some(b',' | b')') | None);
    (closed && inner.get(length) == Some(&b'\'')).then_some(end)
}

/// Where the digits at `at` end.
#[inline]
fn digits(text: &[u8], at: usize) -> usize {
    match text.get(at..).and_then(head::digits) {
        Some(count) if count < 8 => at + count,
        _ => behind(text, at, |byte| byte.is_ascii_digit()),
    }
}

/// The first place from `at` on whose byte is not of a kind.
fn behind(text: &[u8], at: usize, is: impl Fn(u8) -> bool) -> usize {
    let rest = text.get(at..).unwrap_or_default();
    at + rest.iter().position(|byte| !is(*byte)).unwrap_or(rest.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grammar;
    use crate::value::Value;
    use proptest::prelude::*;

    /// Tokens that stand in records, and some that should not.
    fn token() -> impl Strategy<Value = &'static str> {
        prop::sample::select(vec![
            "$",
            "*",
            ",",
            ",",
            ",",
            "(",
            ")",
            ";",
            " ",
            "\n",
            "#12",
            "#1234567890123456789",
            "@3",
            "'text'",
            "''",
            "'it''s'",
            r"'\X2\00E4\X0\'",
            r"'\S\''",
            "'",
            ".T.",
            ".NOTDEFINED.",
            ".5",
            ".",
            "1.",
            "-2.5E-3",
            "+7",
            "1.D5",
            "00",
            "IFCLABEL(",
            "IFCX",
            "\"0FF\"",
            "/*c*/",
            "ifclabel(",
            "1-2",
            "'a\nb'",
            "_A(",
        ])
    }

    #[test]
    fn the_usual_record_is_plain() {
        let text = b"('3t3TDZl_D9NOIWB0BSjzJI',#5,'Joist',$,*,(#1,#2,(1.5,-2.E-3)),.BEAM.,IFCLABEL('x'),());";
        let mut spans = Spans::new();
        assert_eq!(parameters(text, 0, &mut spans), Some(text.len()));
        assert_eq!(spans.len(), 9);
        assert_eq!(spans[5], b"(#1,#2,(1.5,-2.E-3))");
        assert_eq!(spans[7], b"IFCLABEL('x')");
    }

    #[test]
    fn what_needs_a_second_look_is_left_to_the_grammar() {
        for text in ["($, $);", "('it''s');", "(.5);", "($)", "($);x"] {
            let end = parameters(text.as_bytes(), 0, &mut Spans::new());
            assert_eq!(end, text.ends_with(";x").then_some(4), "{text}");
        }
    }

    proptest! {
        #[test]
        fn a_triple_is_what_its_record_lists(
            numbers in prop::collection::vec(r"-?[0-9]{0,17}(\.[0-9]{0,12})?(E-?[0-9]{1,3})?|\$|#5", 1..5)
        ) {
            let text = format!("(({}));", numbers.join(","));
            if let Some([x, y, z]) = triple(text.as_bytes(), 0) {
                let mut spans = Spans::new();
                prop_assert_eq!(parameters(text.as_bytes(), 0, &mut spans), Some(text.len()));
                let listed: Vec<f64> = Value::of(spans[0]).as_list().numbers().collect();
                let third = listed.get(2).copied().unwrap_or(0.0);
                prop_assert_eq!((spans.len(), listed.len()), (1, numbers.len()));
                prop_assert_eq!([x, y, z].map(f64::to_bits), [listed[0], listed[1], third].map(f64::to_bits));
            }
        }

        #[test]
        fn a_leading_text_is_that_of_its_record(tokens in prop::collection::vec(token(), 1..6)) {
            let text = format!("({});", tokens.concat());
            let leading = leading_text(text.as_bytes(), 0);
            let mut spans = Spans::new();
            if leading.is_some() && grammar::parameters(text.as_bytes(), &mut spans).is_ok() {
                let read = Value::of(spans[0]).text();
                prop_assert_eq!(leading, read.as_deref(), "{}", text);
            }
        }

        #[test]
        fn an_item_that_is_plain_the_grammar_cuts_in_the_same_way(
            tokens in prop::collection::vec(token(), 1..6)
        ) {
            let text = tokens.concat();
            if let Some(end) = item(text.as_bytes()) {
                let told = grammar::value(text.as_bytes(), 1).map(|(rest, _)| text.len() - rest.len());
                prop_assert_eq!(told, Ok(end), "{}", text);
            }
        }

        #[test]
        fn what_is_plain_the_grammar_cuts_in_the_same_way(
            tokens in prop::collection::vec(token(), 1..14)
        ) {
            let text = format!("({});", tokens.concat());
            let (mut plain, mut spans) = (Spans::new(), Spans::new());
            if let Some(end) = parameters(text.as_bytes(), 0, &mut plain) {
                let told = grammar::parameters(text.as_bytes(), &mut spans);
                prop_assert_eq!(told.map(|(rest, ())| rest), Ok(&text.as_bytes()[end - 1..]));
                prop_assert_eq!(plain, spans, "{}", text);
            }
        }
    }
}
