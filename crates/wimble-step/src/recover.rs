//! Reading what can be read of a record that does not follow the grammar: each parameter that does
//! is kept, each that does not is unset and told.

use crate::diagnostic::{DiagnosticKind, excerpt};
use crate::escapes::Escapes;
use crate::grammar::{self, Spans};
use crate::layout;
use crate::number::{self, Number};

/// Cuts the parameters of a cleaned record; `tell` gets the place in the text, the kind and the
/// message of each fault.
pub(crate) fn parameters<'t>(
    name: u64,
    text: &'t [u8],
    tell: &mut dyn FnMut(usize, DiagnosticKind, String),
) -> Spans<'t> {
    let mut spans = Spans::new();
    let Some(mut at) = open_bracket(text) else {
        tell(
            0,
            DiagnosticKind::MalformedRecord,
            format!("#{name} has no parameters in brackets: \"{}\"", excerpt(text)),
        );
        return spans;
    };
    if let Ok((_, parts)) = grammar::partial_records(text.get(at..).unwrap_or_default())
        && !parts.is_empty()
    {
        tell(
            at,
            DiagnosticKind::ComplexInstance,
            format!("#{name} is made of {} partial records and has no single type", parts.len()),
        );
        return parts;
    }
    at = skip_gap(text, at + 1);
    loop {
        match text.get(at) {
            Some(b')') => break,
            None | Some(b';') => {
                let message = format!("#{name} ends inside parameter {}", spans.len() + 1);
                tell(at, DiagnosticKind::MalformedRecord, message);
                return spans;
            }
            _ => {}
        }
        let (span, end) = match parameter(text, at) {
            Ok(found) => found,
            Err(failure) => {
                let end = end_of_parameter(text, at);
                let raw = text.get(at..end).unwrap_or_default();
                let (kind, why) = reason(raw, failure);
                let message = format!(
                    "parameter {} of #{name} (\"{}\") {why}; it was read as unset",
                    spans.len() + 1,
                    excerpt(raw)
                );
                tell(at, kind, message);
                (Default::default(), end)
            }
        };
        if span.is_empty() && text.get(at) == Some(&b',') {
            let message = format!(
                "parameter {} of #{name} is left out; it was read as unset, and what follows may \
                 stand one place too far on",
                spans.len() + 1
            );
            tell(at, DiagnosticKind::MalformedRecord, message);
        }
        spans.push(span);
        at = if text.get(end) == Some(&b',') { skip_gap(text, end + 1) } else { end };
    }
    let rest = text.get(at + 1..).unwrap_or_default();
    let rest = rest.get(layout::gap(rest)..).unwrap_or_default();
    if rest != b";" {
        let what = excerpt(rest);
        let message = if rest.is_empty() {
            format!("#{name} has no ; at its end")
        } else {
            format!("#{name} is followed by \"{what}\" instead of ;")
        };
        tell(at, DiagnosticKind::MalformedRecord, message);
    }
    spans
}

/// Where the parameters open: behind `#12=KEYWORD`.
fn open_bracket(text: &[u8]) -> Option<usize> {
    let (rest, _) = grammar::head(text).ok()?;
    rest.starts_with(b"(").then_some(text.len() - rest.len())
}

fn skip_gap(text: &[u8], at: usize) -> usize {
    at + layout::gap(text.get(at..).unwrap_or_default())
}

/// One parameter and the place of the `,` or `)` behind it; the error tells whether nesting is why.
fn parameter(text: &[u8], at: usize) -> Result<(&[u8], usize), bool> {
    let rest = text.get(at..).unwrap_or_default();
    if rest.first() == Some(&b',') {
        return Ok((&[], at));
    }
    let (behind, span) =
        grammar::value(rest, 1).map_err(|error| matches!(error, nom::Err::Failure(())))?;
    let end = skip_gap(text, text.len() - behind.len());
    match text.get(end) {
        Some(b',' | b')') => Ok((span, end)),
        // Cut short behind a value; only a bracket tells that it is whole.
        None if span.ends_with(b")") => Ok((span, end)),
        _ => Err(false),
    }
}

/// Where a parameter that cannot be read ends: at the next `,` or `)` outside its brackets and
/// strings, else at the end of the record.
fn end_of_parameter(text: &[u8], from: usize) -> usize {
    let mut depth = 0usize;
    let mut string: Option<Escapes> = None;
    for (at, &byte) in text.iter().enumerate().skip(from) {
        if let Some(escapes) = &mut string {
            if escapes.ends_string(byte) {
                string = None;
            }
            continue;
        }
        match byte {
            b'\'' => string = Some(Escapes::default()),
            b'(' => depth += 1,
            b')' | b',' if depth == 0 => return at,
            b')' => depth -= 1,
            _ => {}
        }
    }
    text.strip_suffix(b";").map_or(text.len(), <[u8]>::len).max(from)
}

/// Why a parameter could not be read.
fn reason(raw: &[u8], nested: bool) -> (DiagnosticKind, &'static str) {
    if nested {
        return (DiagnosticKind::NestingTooDeep, "is nested too deep");
    }
    let not_finite = |at: usize| {
        let rest = raw.get(at..).unwrap_or_default();
        let token = rest.get(..number::token(rest)).unwrap_or_default();
        number::read(token) == Some(Number::NotFinite)
    };
    let numbers = (0..raw.len()).filter(|&at| {
        // The places where a number may start.
        at == 0 || matches!(raw.get(at - 1), Some(b'(' | b',' | b' '))
    });
    if numbers.into_iter().any(not_finite) {
        return (DiagnosticKind::NotFinite, "holds a number that is infinite or no number");
    }
    let open = raw.iter().filter(|&&byte| byte == b'\'').count() % 2 == 1;
    if open && raw.first() == Some(&b'\'') {
        return (DiagnosticKind::UnterminatedString, "has no closing apostrophe");
    }
    (DiagnosticKind::MalformedRecord, "cannot be read")
}
