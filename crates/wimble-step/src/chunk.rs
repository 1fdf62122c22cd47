//! The rows of one stretch of the file.

use std::borrow::Cow;

use crate::column::{Column32, Column64};
use crate::diagnostic::{DiagnosticKind, Note, excerpt};
use crate::grammar;
use crate::keywords::Interner;
use crate::layout::{clean, is_layout, skip_layout};
use crate::scan::{Ending, Scanner};

/// What a stretch of the file holds, in file order.
#[derive(Debug)]
pub(crate) struct Chunk<'a> {
    /// Offset, name and keyword number of each instance.
    pub(crate) starts: Column64,
    pub(crate) names: Column64,
    pub(crate) keywords: Column32,
    /// The keywords by number, as written.
    pub(crate) words: Vec<Cow<'a, [u8]>>,
    /// Statements that do not open with `#`: start and end.
    pub(crate) marks: Vec<(usize, usize)>,
    pub(crate) notes: Vec<Note>,
    /// Start of the first statement behind the stretch.
    pub(crate) next: usize,
    /// The first comment mark that nothing closes.
    pub(crate) unclosed_comment: Option<usize>,
    /// The first byte above 0x7F.
    pub(crate) non_ascii: Option<usize>,
}

/// Reads the statements that start in `from..until`; `from` is a statement start, or guessed to be
/// one. A wrong guess can read the rest of the file as one string: with some `patience` the reader
/// gives up when a statement reaches that far behind the stretch.
pub(crate) fn read(
    bytes: &[u8],
    from: usize,
    until: usize,
    patience: Option<usize>,
) -> Option<Chunk<'_>> {
    let mut scanner = Scanner::new(bytes, from);
    let mut interner = Interner::new();
    let rows = (until - from) / 64;
    let mut chunk = Chunk {
        starts: Column64::with_capacity(rows),
        names: Column64::with_capacity(rows),
        keywords: Column32::with_capacity(rows),
        words: Vec::new(),
        marks: Vec::new(),
        notes: Vec::new(),
        next: from,
        unclosed_comment: None,
        non_ascii: None,
    };
    let mut start = scanner.statement_start(from);
    while start < until {
        let head = quick_head(bytes, start)
            .and_then(|head| Some((head.name, interner.number(head.keyword)?, head.end)));
        let (end, ending) = scanner.statement_end(start, head.map_or(start, |(.., end)| end));
        if patience.is_some_and(|patience| end > until.saturating_add(patience)) {
            return None;
        }
        match head {
            Some((name, keyword, _)) => chunk.push(start, name, keyword),
            None => chunk.slow_statement(bytes, start, end, &mut interner),
        }
        if ending != Ending::Complete {
            chunk.note_ending(bytes, start, ending);
        }
        start = scanner.statement_start(end);
    }
    chunk.next = start;
    chunk.words = interner.into_keywords();
    chunk.unclosed_comment = scanner.unclosed_comment();
    chunk.non_ascii = scanner.non_ascii(start);
    Some(chunk)
}

impl<'a> Chunk<'a> {
    fn push(&mut self, start: usize, name: u64, keyword: u32) {
        self.starts.push(start as u64);
        self.names.push(name);
        self.keywords.push(keyword);
    }

    /// A statement whose head is not laid out as usual.
    fn slow_statement(
        &mut self,
        bytes: &'a [u8],
        start: usize,
        end: usize,
        interner: &mut Interner<'a>,
    ) {
        let raw = bytes.get(start..end).unwrap_or_default();
        if raw.first() != Some(&b'#') {
            // An empty statement (`;;`) says nothing and hides nothing.
            if raw != b";" {
                self.marks.push((start, end));
            }
            return;
        }
        let text = clean(raw);
        let Ok((rest, head)) = grammar::head(&text) else {
            let message = format!(
                "\"{}\" is not an instance like #12=IFCWALL(…); it was skipped",
                excerpt(raw)
            );
            self.notes.push(Note::new(start, DiagnosticKind::MalformedRecord, message));
            return;
        };
        let digits = String::from_utf8_lossy(head.digits);
        let Ok(name) = digits.parse::<u64>() else {
            let message =
                format!("the name #{digits} does not fit in 64 bits; the record was skipped");
            self.notes.push(Note::new(start, DiagnosticKind::BadName, message));
            return;
        };
        if head.signed {
            let message = format!("the name is written #+{digits}; it was read as #{name}");
            self.notes.push(Note::new(start, DiagnosticKind::BadName, message));
        }
        if head.keyword.is_empty() {
            let (kind, message) = match rest.first() {
                Some(b'(') => (
                    DiagnosticKind::ComplexInstance,
                    format!("#{name} is made of several partial records; it has no single type"),
                ),
                Some(b'<') => (
                    DiagnosticKind::UnknownStatement,
                    format!("#{name} stands in another file; it has no type here"),
                ),
                _ => (
                    DiagnosticKind::MalformedRecord,
                    format!("#{name} has no type before its parameters; it was kept without one"),
                ),
            };
            self.notes.push(Note::new(start, kind, message));
        }
        let keyword = interner.number_of_copy(head.keyword);
        self.push(start, name, keyword);
    }

    fn note_ending(&mut self, bytes: &[u8], start: usize, ending: Ending) {
        let what = excerpt(
            bytes
                .get(start..)
                .unwrap_or_default()
                .split(|&byte| byte == b'(')
                .next()
                .unwrap_or_default(),
        );
        let note = match ending {
            Ending::Complete => return,
            Ending::NoSemicolon => Note::new(
                start,
                DiagnosticKind::MissingSemicolon,
                format!("\"{what}\" has no ; before the next record; it was ended there"),
            ),
            Ending::OpenString(open) => Note::new(
                open,
                DiagnosticKind::UnterminatedString,
                format!(
                    "a string in \"{what}\" has no closing apostrophe; the record was ended at the \
                     last ; before the next record, and reading went on there"
                ),
            ),
            Ending::EndOfFile { in_string } => Note::new(
                start,
                DiagnosticKind::MissingEnd,
                format!(
                    "the file ends inside \"{what}\"{}; it was probably cut short: ask for it again",
                    if in_string { ", in the middle of a string" } else { "" }
                ),
            ),
        };
        self.notes.push(note);
    }
}

/// An instance head as nearly all files write it.
struct QuickHead<'a> {
    name: u64,
    keyword: &'a [u8],
    /// Offset of the opening bracket.
    end: usize,
}

/// Reads `#12= IFCWALL(` at `start`; anything out of the way is left to the grammar. The keyword is
/// what stands before the bracket: whether it is one is asked when it is first met.
fn quick_head(bytes: &[u8], start: usize) -> Option<QuickHead<'_>> {
    let rest = bytes.get(start..)?.strip_prefix(b"#")?;
    let (name, mut at) = leading_number(rest)?;
    if rest.get(at) != Some(&b'=') {
        at = skip_layout(rest, at);
        if rest.get(at) != Some(&b'=') {
            return None;
        }
    }
    at += 1;
    if rest.get(at).copied().is_some_and(is_layout) {
        at = skip_layout(rest, at);
    }
    let keyword = rest.get(at..)?;
    let length = bracket(keyword)?;
    let mut keyword = keyword.get(..length)?;
    while let [shorter @ .., last] = keyword
        && is_layout(*last)
    {
        keyword = shorter;
    }
    Some(QuickHead { name, keyword, end: start + 1 + at + length })
}

/// The number at the head of `text`, if it has at most 16 digits, and how many they are.
fn leading_number(text: &[u8]) -> Option<(u64, usize)> {
    let (high, count) = eight_digits(*text.first_chunk()?);
    match count {
        0 => None,
        8 => {
            let (low, count) = eight_digits(*text.get(8..)?.first_chunk()?);
            let scale = *POWERS.get(count)?;
            (count < 8).then_some((high * scale + low, 8 + count))
        }
        _ => Some((high, count)),
    }
}

const POWERS: [u64; 8] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000];

/// The number that the leading digits of eight bytes make, and how many they are; all eight bytes
/// are looked at and added up at once.
fn eight_digits(text: [u8; 8]) -> (u64, usize) {
    let digits = u64::from_le_bytes(text) ^ 0x3030_3030_3030_3030;
    // The high bit of the first byte that is no digit is set; bytes behind it do not matter.
    let others = (digits.wrapping_add(0x7676_7676_7676_7676) | digits) & 0x8080_8080_8080_8080;
    let count = others.trailing_zeros() as usize / 8;
    if count == 0 {
        return (0, 0);
    }
    // Leading zeros fill the number up to eight digits; then pairs, fours and the whole are added.
    let digits = digits << (64 - 8 * count);
    let pairs = digits.wrapping_mul(10 << 8 | 1) >> 8 & 0x00FF_00FF_00FF_00FF;
    let fours = pairs.wrapping_mul(100 << 16 | 1) >> 16 & 0x0000_FFFF_0000_FFFF;
    (fours.wrapping_mul(10_000 << 32 | 1) >> 32, count)
}

/// Where the first `(` of `text` stands, looking at eight bytes at once.
fn bracket(text: &[u8]) -> Option<usize> {
    let (words, _) = text.as_chunks::<8>();
    for (place, word) in words.iter().take(8).enumerate() {
        let zero = u64::from_le_bytes(*word) ^ 0x2828_2828_2828_2828;
        let found = zero.wrapping_sub(0x0101_0101_0101_0101) & !zero & 0x8080_8080_8080_8080;
        if found != 0 {
            return Some(8 * place + found.trailing_zeros() as usize / 8);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_bracket_is_found_within_reach() {
        for length in 0..64 {
            let text = format!("{}(((((((((", "X".repeat(length));
            assert_eq!(bracket(text.as_bytes()), Some(length));
        }
        assert_eq!(bracket(&[b'X'; 100]), None);
    }

    proptest! {
        #[test]
        fn digits_at_once_agree_with_digits_one_by_one(
            text in r"[0-9]{0,17}[^0-9]{1,3}.{16}"
        ) {
            let count = text.bytes().take_while(u8::is_ascii_digit).count();
            let expected = (1..16).contains(&count).then(|| (text[..count].parse().unwrap(), count));
            prop_assert_eq!(leading_number(text.as_bytes()), expected);
        }
    }
}
