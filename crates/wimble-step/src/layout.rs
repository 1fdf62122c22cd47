//! What may stand between tokens, and how to take it away.
//!
//! ISO 10303-21 ignores every octet outside its alphabet wherever it stands, even in the middle of
//! a token or a string: a line break never separates anything. Spaces, comments and the print
//! directives `\N\` and `\F\` do separate.

use std::borrow::Cow;

use memchr::memmem;

use crate::escapes::Escapes;

/// A control octet: ignored wherever it stands, even inside a token.
pub(crate) fn is_ignored(byte: u8) -> bool {
    byte < 0x20 || byte == 0x7F
}

/// A control octet or a space: what may stand between two tokens, comments aside.
pub(crate) fn is_layout(byte: u8) -> bool {
    byte <= 0x20 || byte == 0x7F
}

/// Letters, digits and `_`: what a keyword goes on with. Lower case is accepted.
pub(crate) fn is_keyword_byte(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_'
}

/// Position of the first byte at or after `at` that is not layout.
pub(crate) fn skip_layout(bytes: &[u8], at: usize) -> usize {
    let mut at = at;
    while let Some(rest) = bytes.get(at..).filter(|rest| !rest.is_empty()) {
        // The holes of a sparse file are long runs of zeros.
        let zeros = rest.chunks_exact(HOLE.len()).take_while(|piece| **piece == HOLE).count();
        at += zeros * HOLE.len();
        let rest = rest.get(zeros * HOLE.len()..).unwrap_or_default();
        let short = &rest[..rest.len().min(HOLE.len())];
        match short.iter().position(|&byte| !is_layout(byte)) {
            Some(place) => return at + place,
            None => at += short.len(),
        }
    }
    bytes.len()
}

/// A text without the layout at its end.
pub(crate) fn without_layout(mut text: &[u8]) -> &[u8] {
    while let [shorter @ .., last] = text
        && is_layout(*last)
    {
        text = shorter;
    }
    text
}

/// A piece of a hole in a file.
const HOLE: [u8; 32] = [0; 32];

/// Length of the print directive `\N\` or `\F\` that stands at the head of `bytes`, else 0.
pub(crate) fn print_directive(bytes: &[u8]) -> usize {
    if bytes.starts_with(br"\N\") || bytes.starts_with(br"\F\") { 3 } else { 0 }
}

/// Length of the gap at the head of `bytes`: layout, comments, print directives. An unclosed
/// comment ends the gap before it.
#[inline]
pub(crate) fn gap(bytes: &[u8]) -> usize {
    match bytes.first() {
        Some(&byte) if is_layout(byte) || byte == b'/' || byte == b'\\' => long_gap(bytes),
        _ => 0,
    }
}

fn long_gap(bytes: &[u8]) -> usize {
    let mut at = 0;
    loop {
        at = skip_layout(bytes, at);
        let rest = bytes.get(at..).unwrap_or_default();
        if rest.starts_with(b"/*") {
            match memmem::find(rest.get(2..).unwrap_or_default(), b"*/") {
                Some(close) => at += close + 4,
                None => return at,
            }
        } else {
            match print_directive(rest) {
                0 => return at,
                length => at += length,
            }
        }
    }
}

/// The same text without ignored octets; comments and print directives outside strings become one
/// space. Nothing is copied when there is nothing to take away.
pub(crate) fn clean(raw: &[u8]) -> Cow<'_, [u8]> {
    let dirty = raw.iter().any(|&byte| is_ignored(byte))
        || memmem::find(raw, b"/*").is_some()
        || memmem::find(raw, br"\N\").is_some()
        || memmem::find(raw, br"\F\").is_some();
    if !dirty {
        return Cow::Borrowed(raw);
    }
    let mut clean = Vec::with_capacity(raw.len());
    let mut string: Option<Escapes> = None;
    let mut at = 0;
    while let Some(&byte) = raw.get(at) {
        at += 1;
        if is_ignored(byte) {
            continue;
        }
        if let Some(escapes) = &mut string {
            clean.push(byte);
            if escapes.ends_string(byte) {
                string = None;
            }
            continue;
        }
        let rest = raw.get(at - 1..).unwrap_or_default();
        if rest.starts_with(b"/*")
            && let Some(close) = memmem::find(rest.get(2..).unwrap_or_default(), b"*/")
        {
            clean.push(b' ');
            at += close + 3;
            continue;
        }
        match print_directive(rest) {
            0 => {
                clean.push(byte);
                if byte == b'\'' {
                    string = Some(Escapes::default());
                }
            }
            length => {
                clean.push(b' ');
                at += length - 1;
            }
        }
    }
    Cow::Owned(clean)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_holds_layout_comments_and_print_directives() {
        assert_eq!(gap(b"x"), 0);
        assert_eq!(gap(b" \r\n\t/* a 'quote' ; */\\N\\ /**/x"), 29);
        assert_eq!(gap(b"  /* never closed"), 2);
    }

    #[test]
    fn clean_text_is_not_copied() {
        assert!(matches!(clean(b"#1=A('x; y',$);"), Cow::Borrowed(_)));
    }

    #[test]
    fn octets_go_everywhere_but_comment_marks_in_strings_stay() {
        assert_eq!(
            clean(b"#1\n2=A/* ; */('a\r\nb /* c */ \\S\\'\\N\\',\t\\F\\1.\n5);").as_ref(),
            b"#12=A ('ab /* c */ \\S\\'\\N\\', 1.5);".as_slice()
        );
    }
}
