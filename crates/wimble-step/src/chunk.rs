//! The rows of one stretch of the file.

use std::borrow::Cow;

use crate::column::{Column32, Column64};
use crate::diagnostic::{DiagnosticKind, Note, excerpt};
use crate::grammar;
use crate::head;
use crate::keywords::Interner;
use crate::layout::clean;
use crate::name_column::NameColumn;
use crate::plain_ends::PlainEnds;
use crate::scan::{Ending, Scanner};

/// What a stretch of the file holds, in file order.
#[derive(Debug)]
pub(crate) struct Chunk<'a> {
    /// Offset, name and keyword number of each instance.
    pub(crate) starts: Column64,
    pub(crate) names: NameColumn,
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
    /// The first byte that is not UTF-8.
    pub(crate) not_utf8: Option<usize>,
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
    // Records are longer than this on average; room that is not used costs nothing.
    let rows = (until - from) / 32;
    let mut chunk = Chunk {
        starts: Column64::with_capacity(rows),
        names: NameColumn::default(),
        keywords: Column32::with_capacity(rows),
        words: Vec::new(),
        marks: Vec::new(),
        notes: Vec::new(),
        next: from,
        unclosed_comment: None,
        not_utf8: None,
    };
    let mut start = scanner.statement_start(from);
    let mut ends = PlainEnds::new(bytes, start);
    while start < until {
        let head = head::read(bytes, start)
            .and_then(|head| Some((head.name, interner.number(head.text, head.length)?, head.end)));
        let (end, ending) = match (head, ends.next()) {
            (Some(_), Some(end)) => (end, Ending::Complete),
            (head, plain) => {
                let told = scanner.statement_end(start, head.map_or(start, |(.., end)| end));
                if plain != Some(told.0) {
                    ends.restart(told.0);
                }
                told
            }
        };
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
    chunk.not_utf8 = ends.non_ascii(start).and_then(|at| {
        // A stretch begins and ends at a statement, never within a character.
        let error = std::str::from_utf8(bytes.get(at..start)?).err()?;
        Some(at + error.valid_up_to())
    });
    Some(chunk)
}

impl<'a> Chunk<'a> {
    #[inline(always)]
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
