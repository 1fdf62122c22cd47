//! The grammar of one record, in nom.
//!
//! It recognises and cuts; nothing is converted or copied. Layout, comments and print directives
//! may stand between tokens. A token that an ignored octet cuts in two is not recognised here: the
//! caller then cleans the record ([`crate::layout::clean`]) and tries again.

use nom::branch::alt;
use nom::bytes::complete::{take, take_while, take_while1};
use nom::character::complete::{char, one_of};
use nom::combinator::{opt, recognize, verify};
use nom::sequence::{delimited, pair, preceded};
use nom::{IResult, Parser};
use smallvec::SmallVec;

use crate::escapes;
use crate::head as quick;
use crate::layout::{self, is_ignored, is_keyword_byte};
use crate::number::{self, Number};
use crate::plain;

/// How deep parameters may be nested. IFC needs 3 (lists of lists of typed values).
pub(crate) const MAX_DEPTH: usize = 64;

pub(crate) type Parsed<'i, T> = IResult<&'i [u8], T, ()>;

/// The spans of a record's parameters; most records have no more than ten.
pub(crate) type Spans<'i> = SmallVec<[&'i [u8]; 10]>;

/// Layout, comments, print directives: may be empty, cannot fail.
pub(crate) fn gap(input: &[u8]) -> Parsed<'_, &[u8]> {
    take(layout::gap(input)).parse(input)
}

/// `A-Z _ !` and on; lower case is accepted.
pub(crate) fn keyword(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize(pair(
        opt(char('!')),
        pair(
            verify(take(1usize), |first: &[u8]| {
                first.iter().all(|&b| b.is_ascii_alphabetic() || b == b'_')
            }),
            take_while(is_keyword_byte),
        ),
    ))
    .parse(input)
}

/// `#12`, `@12`, and the `#+12` of one exporter; the name fits in 64 bits.
pub(crate) fn reference(input: &[u8]) -> Parsed<'_, &[u8]> {
    let digits = take_while1(|byte: u8| byte.is_ascii_digit());
    let name = verify(digits, |digits: &[u8]| digits.len() < 20 || fits(digits));
    recognize((one_of("#@"), opt(char('+')), name)).parse(input)
}

/// Whether a name of many digits fits in 64 bits: leading zeros do not count.
fn fits(digits: &[u8]) -> bool {
    std::str::from_utf8(digits).is_ok_and(|digits| digits.parse::<u64>().is_ok())
}

/// `.NAME.`
pub(crate) fn enumeration(input: &[u8]) -> Parsed<'_, &[u8]> {
    delimited(char('.'), take_while1(is_keyword_byte), char('.')).parse(input)
}

/// `"0FF"`, cut to its digits.
fn binary(input: &[u8]) -> Parsed<'_, &[u8]> {
    delimited(char('"'), take_while(|b: u8| b.is_ascii_hexdigit()), char('"')).parse(input)
}

/// `'…'` with everything that may stand in it. `'a''b'` is one string.
pub(crate) fn string(input: &[u8]) -> Parsed<'_, &[u8]> {
    let (mut at, _) = (1, char('\'').parse(input)?);
    loop {
        let end = escapes::end(input, at).ok_or(nom::Err::Error(()))?;
        at = end + 1;
        // An apostrophe doubled over a line break: left to the cleaned text.
        match input.get(at) {
            Some(b'\'') => at += 1,
            Some(&byte) if is_ignored(byte) => {
                let next = input.get(at..).unwrap_or_default().iter().find(|&&b| !is_ignored(b));
                if next == Some(&b'\'') {
                    return Err(nom::Err::Error(()));
                }
                break;
            }
            _ => break,
        }
    }
    take(at).parse(input)
}

/// One finite number in any accepted spelling.
fn number(input: &[u8]) -> Parsed<'_, &[u8]> {
    let plain = number::plain(input);
    if plain > 0 {
        return take(plain).parse(input);
    }
    verify(take(number::token(input)), |token: &[u8]| {
        matches!(number::read(token), Some(Number::Integer(_) | Number::Real(_)))
    })
    .parse(input)
}

/// One parameter, recognised.
pub(crate) fn value(input: &[u8], depth: usize) -> Parsed<'_, &[u8]> {
    match input.first() {
        Some(b'$' | b'*') => take(1usize).parse(input),
        Some(b'\'') => string(input),
        Some(b'#' | b'@') => reference(input),
        Some(b'"') => recognize(binary).parse(input),
        Some(b'(') => list(input, depth),
        Some(b'.') => alt((number, recognize(enumeration))).parse(input),
        Some(b'0'..=b'9' | b'+' | b'-') => number(input),
        Some(_) => recognize((keyword, gap, |rest| list(rest, depth))).parse(input),
        None => Err(nom::Err::Error(())),
    }
}

/// `( a , b )`, also `()` and `(a,)`, recognised.
fn list(input: &[u8], depth: usize) -> Parsed<'_, &[u8]> {
    if depth >= MAX_DEPTH {
        return Err(nom::Err::Failure(()));
    }
    let (mut rest, _) = preceded(char('('), gap).parse(input)?;
    loop {
        if let Some(after) = rest.strip_prefix(b")") {
            return Ok((after, input.get(..input.len() - after.len()).unwrap_or_default()));
        }
        // `(1,,2)`: an element left out.
        if rest.first() != Some(&b',') {
            (rest, _) = value(rest, depth + 1)?;
            (rest, _) = gap(rest)?;
        }
        if let Some(after) = rest.strip_prefix(b",") {
            (rest, _) = gap(after)?;
        } else if rest.first() != Some(&b')') {
            return Err(nom::Err::Error(()));
        }
    }
}

/// The parameters of a record, `(` to `)`, are added to `spans`; each span is one value. A record
/// that leaves one out (`(1,,2)`) is refused: what follows may stand one place too far on.
pub(crate) fn parameters<'i>(input: &'i [u8], spans: &mut Spans<'i>) -> Parsed<'i, ()> {
    let (mut rest, _) = preceded(char('('), gap).parse(input)?;
    loop {
        if let Some(after) = rest.strip_prefix(b")") {
            return Ok((after, ()));
        }
        let span;
        (rest, span) = value(rest, 1)?;
        (rest, _) = gap(rest)?;
        spans.push(span);
        if let Some(after) = rest.strip_prefix(b",") {
            (rest, _) = gap(after)?;
        } else if rest.first() != Some(&b')') {
            return Err(nom::Err::Error(()));
        }
    }
}

/// What stands before the parameters of an instance: its name and its keyword.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Head<'i> {
    /// The digits of the name.
    pub(crate) digits: &'i [u8],
    /// Whether a `+` stands before the digits.
    pub(crate) signed: bool,
    /// The keyword; empty before `(` (a complex instance) and `<` (an external reference).
    pub(crate) keyword: &'i [u8],
}

/// `#12=IFCWALL`, up to the bracket.
pub(crate) fn head(input: &[u8]) -> Parsed<'_, Head<'_>> {
    let (rest, (_, _, sign, digits, _, _, _, keyword, _)) = (
        char('#'),
        gap,
        opt(char('+')),
        take_while1(|b: u8| b.is_ascii_digit()),
        gap,
        char('='),
        gap,
        opt(keyword),
        gap,
    )
        .parse(input)?;
    Ok((rest, Head { digits, signed: sign.is_some(), keyword: keyword.unwrap_or_default() }))
}

/// A whole simple instance, `#12=IFCWALL(…);`: its parameters are what `spans` holds then.
pub(crate) fn instance<'i>(input: &'i [u8], spans: &mut Spans<'i>) -> Parsed<'i, ()> {
    let rest = match quick::read(input, 0) {
        Some(head) if !head.keyword().is_empty() => {
            if let Some(end) = plain::parameters(input, head.end, spans) {
                return Ok((input.get(end..).unwrap_or_default(), ()));
            }
            spans.clear();
            input.get(head.end..).unwrap_or_default()
        }
        _ => verify(head, |head| !head.keyword.is_empty()).parse(input)?.0,
    };
    let (rest, ()) = parameters(rest, spans)?;
    let (rest, _) = (gap, char(';')).parse(rest)?;
    Ok((rest, ()))
}

/// The partial records of a complex instance: `(A(…)B(…))`, each cut with its keyword.
pub(crate) fn partial_records(input: &[u8]) -> Parsed<'_, Spans<'_>> {
    let (mut rest, _) = preceded(char('('), gap).parse(input)?;
    let mut parts = Spans::new();
    loop {
        if let Some(after) = rest.strip_prefix(b")") {
            return Ok((after, parts));
        }
        let part;
        (rest, part) = recognize((keyword, gap, |rest| list(rest, 1))).parse(rest)?;
        parts.push(part);
        (rest, _) = gap(rest)?;
    }
}

/// The keyword of a header entry, `FILE_SCHEMA(…);`; its parameters are added to `spans`.
pub(crate) fn header_entry<'i>(input: &'i [u8], spans: &mut Spans<'i>) -> Parsed<'i, &'i [u8]> {
    let (rest, keyword) = delimited(gap, keyword, gap).parse(input)?;
    let (rest, ()) = parameters(rest, spans)?;
    Ok((rest, keyword))
}
