//! Records as nearly all files write them: no layout between the tokens, nothing out of the way.
//!
//! The parameters are cut without the grammar, a byte looked at once; whatever is not plain is left
//! to it. What is cut here the grammar cuts in the same way: a property test asks both.

use crate::grammar::Spans;
use crate::layout::is_keyword_byte;
use crate::number;

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

/// Where the value at `at` ends.
fn value(text: &[u8], at: usize, deepest: u32) -> Option<usize> {
    match *text.get(at)? {
        b'$' | b'*' => Some(at + 1),
        b'#' => {
            let end = behind(text, at + 1, |byte| byte.is_ascii_digit());
            (1..=DIGITS).contains(&(end - at - 1)).then_some(end)
        }
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
    let length = inner.iter().position(|byte| matches!(byte, b'\'' | b'\\'))?;
    let end = at + 1 + length + 1;
    let closed = inner.get(length) == Some(&b'\'') && matches!(text.get(end), Some(b',' | b')'));
    closed.then_some(end)
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
