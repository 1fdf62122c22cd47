//! The index: stretches of the file read side by side, then joined.
//!
//! The file is cut at guesses: places where a `;` is followed by something like `#12=`. A guess may
//! be wrong (it may stand in a string or a comment). It is right exactly when the stretch before it
//! ends there; where it is not, the stretch is read again from where the one before it ended. The
//! result is that of reading from front to back, whatever the guesses and the threads.

use std::borrow::Cow;
use std::ops::Range;

use memchr::memchr;
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use crate::chunk::{self, Chunk};
use crate::column::{Column32, Column64};
use crate::diagnostic::{DiagnosticKind, Note};
use crate::layout::skip_layout;
use crate::name_column::NameColumn;
use crate::names::Names;
use crate::scan::{Scanner, record_at};
use crate::sections::Sections;

/// Length of a stretch: large enough to spread its costs, small enough to share the work out.
pub(crate) const STRETCH: usize = 4 << 20;

/// How far behind its stretch the head of a guessed record is looked at.
const RECORD_AHEAD: usize = 4096;

/// The records of a file as columns, in file order.
#[derive(Debug)]
pub(crate) struct Columns {
    /// Offset of the `#` of each instance.
    pub(crate) starts: Column64,
    pub(crate) names: NameColumn,
    /// Number of the keyword of each instance.
    pub(crate) keywords: Column32,
    /// Keywords in capitals, by number.
    pub(crate) words: Vec<String>,
    pub(crate) by_name: Names,
    /// Names that stand for instances in other files.
    pub(crate) foreign_names: Vec<u64>,
}

/// Everything the index finds in one pass.
#[derive(Debug)]
pub(crate) struct Index {
    pub(crate) columns: Columns,
    pub(crate) sections: Sections,
    pub(crate) notes: Vec<Note>,
}

/// Reads the index of a file in stretches of `stretch` bytes.
pub(crate) fn build(bytes: &[u8], stretch: usize) -> Index {
    let joined = join(bytes, stretch);
    let Joined { mut columns, marks, mut notes, unclosed_comment, not_utf8 } = joined;
    let mut section_notes = Vec::new();
    let sections = Sections::new(bytes, &marks, &mut section_notes);
    columns.drop_foreign(&sections);
    // What stands in other sections or behind the end is no fault of a record.
    notes.retain(|note| {
        let at = note.offset as usize;
        at <= sections.end && !sections.foreign.iter().any(|foreign| foreign.contains(&at))
    });
    notes.append(&mut section_notes);
    if let Some(at) = unclosed_comment.filter(|&at| at < sections.end) {
        notes.push(Note::new(
            at,
            DiagnosticKind::UnterminatedComment,
            "a comment opens here and is never closed by */; its mark was stepped over",
        ));
    }
    if let Some(at) = not_utf8 {
        notes.push(Note::new(
            at,
            DiagnosticKind::NotUtf8,
            "the file holds bytes that are not UTF-8; strings that are not valid UTF-8 were read as \
             Windows-1252",
        ));
    }
    columns.find_names(&mut notes);
    notes.sort_by_key(|note| note.offset);
    Index { columns, sections, notes }
}

/// The stretches, joined.
pub(crate) struct Joined {
    pub(crate) columns: Columns,
    pub(crate) marks: Vec<(usize, usize)>,
    pub(crate) notes: Vec<Note>,
    unclosed_comment: Option<usize>,
    pub(crate) not_utf8: Option<usize>,
}

/// Reads all stretches and joins them.
pub(crate) fn join(bytes: &[u8], stretch: usize) -> Joined {
    let mark = byte_order_mark(bytes);
    let first = Scanner::new(bytes, mark).statement_start(mark);
    let mut starts: Vec<usize> = (1..=bytes.len() / stretch.max(1))
        .into_par_iter()
        .filter_map(|n| guess(bytes, n * stretch, (n + 1) * stretch))
        .filter(|&guess| guess > first)
        .collect();
    starts.insert(0, first);
    let ends = starts.iter().skip(1).copied().chain([bytes.len()]);
    let spans: Vec<(usize, usize)> = starts.iter().copied().zip(ends).collect();
    let chunks: Vec<Option<Chunk<'_>>> = spans
        .par_iter()
        .map(|&(from, until)| {
            chunk::read(bytes, from, until, (from != first).then_some(4 * stretch))
        })
        .collect();

    let mut right = Vec::with_capacity(chunks.len());
    let mut next = first;
    for (chunk, (from, until)) in chunks.into_iter().zip(spans) {
        if next >= until {
            // A statement before it covers the whole stretch.
            continue;
        }
        let chunk = chunk.filter(|_| next == from).or_else(|| {
            // The guess was wrong: read on from where the stretch before ended.
            chunk::read(bytes, next, until, None)
        });
        if let Some(chunk) = chunk {
            next = chunk.next;
            right.push(chunk);
        }
    }
    Joined::new(right)
}

/// Length of the byte order mark some exporters write.
fn byte_order_mark(bytes: &[u8]) -> usize {
    if bytes.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 }
}

/// A place in `from..until` where a record may start.
fn guess(bytes: &[u8], from: usize, until: usize) -> Option<usize> {
    // No further than the stretch: in a file that is mostly empty every stretch would look through
    // all that follows.
    let bytes = bytes.get(..bytes.len().min(until + RECORD_AHEAD))?;
    let mut at = from;
    while at < until {
        at += memchr(b';', bytes.get(at..until.min(bytes.len()))?)? + 1;
        let start = skip_layout(bytes, at);
        if start < until && record_at(bytes, start) {
            return Some(start);
        }
    }
    None
}

impl Joined {
    fn new(chunks: Vec<Chunk<'_>>) -> Self {
        let mut words = Words::default();
        let mut starts = Vec::with_capacity(chunks.len());
        let mut names = Vec::with_capacity(chunks.len());
        let mut keywords = Vec::with_capacity(chunks.len());
        let mut marks = Vec::new();
        let mut notes = Vec::new();
        let mut unclosed_comment = None;
        let mut not_utf8 = None;
        for chunk in chunks {
            let numbers: Vec<u32> =
                chunk.words.into_iter().map(|word| words.number(word)).collect();
            let change =
                move |number: u32| numbers.get(number as usize).copied().unwrap_or_default();
            starts.push(chunk.starts);
            names.push(chunk.names);
            keywords.push((chunk.keywords, change));
            marks.extend(chunk.marks);
            notes.extend(chunk.notes);
            unclosed_comment = unclosed_comment.or(chunk.unclosed_comment);
            not_utf8 = not_utf8.or(chunk.not_utf8);
        }
        let (starts, (names, keywords)) = rayon::join(
            || Column64::join(starts),
            || rayon::join(|| NameColumn::join(names), || Column32::concat(keywords)),
        );
        let columns = Columns {
            starts,
            names,
            keywords,
            words: words.words,
            by_name: Names::default(),
            foreign_names: Vec::new(),
        };
        Self { columns, marks, notes, unclosed_comment, not_utf8 }
    }
}

/// The keywords of the whole file, where case makes no difference.
#[derive(Default)]
struct Words<'a> {
    words: Vec<String>,
    numbers: FxHashMap<Cow<'a, [u8]>, u32>,
}

impl<'a> Words<'a> {
    fn number(&mut self, word: Cow<'a, [u8]>) -> u32 {
        let word = if word.iter().any(u8::is_ascii_lowercase) {
            Cow::Owned(word.to_ascii_uppercase())
        } else {
            word
        };
        // There are fewer keywords than rows, and rows fit in 32 bits.
        let next = self.words.len() as u32;
        *self.numbers.entry(word).or_insert_with_key(|word| {
            self.words.push(String::from_utf8_lossy(word).into_owned());
            next
        })
    }
}

impl Columns {
    /// Takes out what opens with `#` but is no instance of this file: references to other files,
    /// and everything behind the end.
    fn drop_foreign(&mut self, sections: &Sections) {
        let rows = self.starts.len();
        let row_at = |offset: usize| self.starts.below(offset as u64);
        let foreign: Vec<Range<usize>> = sections
            .foreign
            .iter()
            .map(|foreign| row_at(foreign.start)..row_at(foreign.end))
            .filter(|rows| !rows.is_empty())
            .collect();
        let end = row_at(sections.end);
        if !foreign.is_empty() {
            let mut keep = vec![true; rows];
            for rows in foreign {
                self.foreign_names.extend(self.names.iter().skip(rows.start).take(rows.len()));
                keep.get_mut(rows).unwrap_or_default().fill(false);
            }
            keep.get_mut(end..).unwrap_or_default().fill(false);
            self.retain(&keep);
        } else if end < rows {
            self.starts.truncate(end);
            self.names.truncate(end);
            self.keywords.truncate(end);
        }
    }

    fn retain(&mut self, keep: &[bool]) {
        self.starts.retain(keep);
        self.names.retain(keep);
        self.keywords.retain(keep);
    }

    /// Builds the look-up by name and takes out the later instances of each name.
    fn find_names(&mut self, notes: &mut Vec<Note>) {
        let mut duplicates: Vec<(u32, u32)> = Vec::new();
        self.by_name = Names::new(&self.names, |first, later| duplicates.push((first, later)));
        if duplicates.is_empty() {
            return;
        }
        let start = |row: u32| self.starts.get(row as usize).unwrap_or_default();
        let mut keep = vec![true; self.names.len()];
        for &(first, later) in &duplicates {
            let name = self.names.get(first as usize).unwrap_or_default();
            notes.push(Note {
                offset: start(later),
                kind: DiagnosticKind::DuplicateName,
                message: format!(
                    "#{name} stands twice in the file, at bytes {} and {}; the first is kept",
                    start(first),
                    start(later)
                ),
            });
            if let Some(keep) = keep.get_mut(later as usize) {
                *keep = false;
            }
        }
        self.retain(&keep);
        self.by_name = Names::new(&self.names, |_, _| {});
    }
}
