//! [`StepFile`]: the index over a file's bytes, and what is read through it.

use std::collections::BTreeMap;
use std::sync::{Mutex, OnceLock, PoisonError};

use crate::diagnostic::{Diagnostic, DiagnosticKind, Note};
use crate::head;
use crate::header::Header;
use crate::index::{self, Columns};
use crate::lines::Lines;
use crate::mended::Mended;
use crate::plain;
use crate::record::Record;
use crate::scan::Scanner;
use crate::sections::{DataSection, Sections};

/// How many diagnostics of one kind are told one by one.
const TOLD: usize = 100;

/// The position of an instance in file order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Row(pub(crate) u32);

impl Row {
    /// Position in file order, from 0 to below [`StepFile::len`].
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Why bytes are not a STEP file at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotStep {
    /// There are no bytes, or only blanks.
    #[error("the file is empty")]
    Empty,
    /// Neither the opening mark nor a single instance was found.
    #[error(
        "this is not a STEP file: it does not open with \"ISO-10303-21;\" and holds no records{hint}"
    )]
    NoRecords {
        /// What the file looks like instead, with what to do; may be empty.
        hint: &'static str,
    },
    /// More records than the reader numbers.
    #[error("the file holds more than 4 294 967 294 records")]
    TooManyRecords,
}

/// The index over the bytes of a STEP file. It knows where each record stands, its name and its
/// keyword; records are read when asked for.
#[derive(Debug)]
pub struct StepFile<'a> {
    bytes: &'a [u8],
    columns: Columns,
    sections: Sections,
    header: Header,
    diagnostics: Vec<Diagnostic>,
    lines: Lines,
    by_keyword: OnceLock<ByKeyword>,
    pub(crate) mended: Mended,
    /// Trouble in the records read so far, by row.
    troubles: Mutex<BTreeMap<Row, Vec<Note>>>,
}

/// Rows sorted by keyword; those of keyword `k` are `rows[ends[k - 1]..ends[k]]`.
#[derive(Debug)]
struct ByKeyword {
    rows: Vec<Row>,
    ends: Vec<usize>,
}

impl<'a> StepFile<'a> {
    /// Reads the index of a file. Damage gives [diagnostics](Self::diagnostics), not errors.
    ///
    /// # Errors
    /// When the bytes hold neither the mark of a STEP file nor a record.
    pub fn index(bytes: &'a [u8]) -> Result<Self, NotStep> {
        Self::index_in_stretches(bytes, index::STRETCH)
    }

    pub(crate) fn index_in_stretches(bytes: &'a [u8], stretch: usize) -> Result<Self, NotStep> {
        if bytes.iter().all(u8::is_ascii_whitespace) {
            return Err(NotStep::Empty);
        }
        let index::Index { columns, sections, mut notes } = index::build(bytes, stretch);
        if columns.names.len() >= u32::MAX as usize {
            return Err(NotStep::TooManyRecords);
        }
        if !sections.opened {
            if columns.names.len() == 0 {
                return Err(NotStep::NoRecords { hint: looks_like(bytes) });
            }
            notes.push(Note::new(
                0,
                DiagnosticKind::MissingStart,
                "the file does not open with ISO-10303-21; its records were read all the same",
            ));
        }
        let header = Header::read(bytes, &sections, &mut notes);
        notes.sort_by_key(|note| note.offset);
        let lines = Lines::default();
        let diagnostics = tell(notes, |offset| lines.line(bytes, offset));
        Ok(Self {
            bytes,
            columns,
            sections,
            header,
            diagnostics,
            lines,
            by_keyword: OnceLock::new(),
            mended: Mended::default(),
            troubles: Mutex::default(),
        })
    }

    /// The bytes the index was made from.
    #[must_use]
    pub fn bytes(&self) -> &'a [u8] {
        self.bytes
    }

    /// The header.
    #[must_use]
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Number of instances.
    #[must_use]
    pub fn len(&self) -> usize {
        self.columns.names.len()
    }

    /// Whether the file holds no instances.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// All rows in file order.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = Row> + DoubleEndedIterator + use<> {
        // Checked by `index`: rows fit in 32 bits.
        (0..self.columns.names.len() as u32).map(Row)
    }

    /// The row of the instance `#name`.
    #[must_use]
    pub fn find(&self, name: u64) -> Option<Row> {
        self.columns.by_name.find(name).map(Row)
    }

    /// The name of an instance: 12 of `#12`.
    #[must_use]
    pub fn name(&self, row: Row) -> u64 {
        self.columns.names.get(row.index()).unwrap_or_default()
    }

    /// The largest name in use, 0 in a file without instances. New names start above it.
    #[must_use]
    pub fn largest_name(&self) -> u64 {
        let columns = &self.columns;
        columns.names.iter().chain(columns.foreign_names.iter().copied()).max().unwrap_or_default()
    }

    /// The keyword of an instance in capitals; empty for a complex instance.
    #[must_use]
    pub fn keyword(&self, row: Row) -> &str {
        self.columns.words.get(self.word(row)).map_or("", String::as_str)
    }

    /// The number of an instance's keyword among [`StepFile::words`].
    #[must_use]
    pub fn word(&self, row: Row) -> usize {
        self.columns.keywords.get(row.index()).unwrap_or_default() as usize
    }

    /// The file's keywords as [`StepFile::keywords`] gives them, by number; that of complex
    /// instances is empty.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        self.columns.words.iter().map(String::as_str)
    }

    /// All instances with a keyword (written in capitals), in file order.
    #[must_use]
    pub fn rows_of(&self, keyword: &str) -> &[Row] {
        let words = &self.columns.words;
        let Some(number) = words.iter().position(|word| word == keyword) else {
            return &[];
        };
        let by_keyword = self.by_keyword.get_or_init(|| ByKeyword::new(&self.columns));
        by_keyword.rows_of(number)
    }

    /// The distinct keywords, in the order in which the file first uses them.
    pub fn keywords(&self) -> impl Iterator<Item = &str> {
        self.columns.words.iter().map(String::as_str).filter(|word| !word.is_empty())
    }

    /// Reads a record. Trouble in it is told by [`Record::trouble`].
    #[must_use]
    pub fn record(&self, row: Row) -> Record<'_> {
        Record::read(self, row)
    }

    /// The two or three numbers of an instance that is nothing but a list of them, the third of two
    /// being 0: points and directions are many. `None` leaves the question to its record.
    #[must_use]
    pub fn triple(&self, row: Row) -> Option<[f64; 3]> {
        let text = self.reach(row);
        plain::triple(text, head::read(text, 0)?.end)
    }

    /// The text that an instance begins with, where it is plain ASCII as it stands. `None` leaves the
    /// question to its record.
    #[must_use]
    pub fn leading_text(&self, row: Row) -> Option<&'a str> {
        let text = self.reach(row);
        plain::leading_text(text, head::read(text, 0)?.end)
    }

    /// Byte offset of the `#` of an instance.
    #[must_use]
    pub fn offset(&self, row: Row) -> u64 {
        self.columns.starts.get(row.index()).unwrap_or_default()
    }

    /// The line (from 1) on which an instance begins.
    #[must_use]
    pub fn line(&self, row: Row) -> u64 {
        self.line_at(self.offset(row))
    }

    /// The line (from 1) of a byte offset.
    #[must_use]
    pub fn line_at(&self, offset: u64) -> u64 {
        self.lines.line(self.bytes, offset)
    }

    /// The record as it stands in the file, from `#` to `;`.
    #[must_use]
    pub fn raw(&self, row: Row) -> &'a [u8] {
        let start = self.start(row);
        let (end, _) = Scanner::new(self.bytes, start).statement_end(start, start);
        self.bytes.get(start..end).unwrap_or_default()
    }

    /// What was wrong with the file, in file order. Of each kind the first hundred are told one by
    /// one, the rest as a number.
    #[must_use]
    pub fn diagnostics(&self) -> &[Diagnostic] {
        &self.diagnostics
    }

    /// What was wrong with the records that have been read so far, in file order. Of each kind the
    /// first hundred are told one by one, the rest as a number. A record that nobody reads is not
    /// looked at.
    #[must_use]
    pub fn record_diagnostics(&self) -> Vec<Diagnostic> {
        let troubles = self.troubles.lock().unwrap_or_else(PoisonError::into_inner);
        tell(troubles.values().flatten().cloned().collect(), |offset| self.line_at(offset))
    }

    /// Keeps the trouble of a record.
    pub(crate) fn keep(&self, row: Row, trouble: &[Diagnostic]) {
        let notes = trouble.iter().map(|diagnostic| Note {
            offset: diagnostic.offset,
            kind: diagnostic.kind,
            message: diagnostic.message.clone(),
        });
        let mut troubles = self.troubles.lock().unwrap_or_else(PoisonError::into_inner);
        troubles.insert(row, notes.collect());
    }

    pub(crate) fn start(&self, row: Row) -> usize {
        self.offset(row) as usize
    }

    /// The bytes from a record's `#` to the next record's: what a complete record cannot exceed.
    pub(crate) fn reach(&self, row: Row) -> &'a [u8] {
        let next = self
            .columns
            .starts
            .get(row.index() + 1)
            .map_or(self.bytes.len(), |start| start as usize);
        self.bytes.get(self.start(row)..next).unwrap_or_default()
    }

    /// Whether a name is taken, by an instance here or by a reference to another file.
    pub(crate) fn uses(&self, name: u64) -> bool {
        self.find(name).is_some() || self.columns.foreign_names.contains(&name)
    }

    pub(crate) fn last_data_section(&self) -> Option<&DataSection> {
        self.sections.data.last()
    }

    pub(crate) fn is_signed(&self) -> bool {
        self.sections.signed
    }
}

impl ByKeyword {
    /// Sorts by counting.
    fn new(columns: &Columns) -> Self {
        let mut ends = vec![0usize; columns.words.len() + 1];
        for keyword in columns.keywords.iter() {
            if let Some(count) = ends.get_mut(keyword as usize + 1) {
                *count += 1;
            }
        }
        let mut sum = 0;
        for end in &mut ends {
            sum += *end;
            *end = sum;
        }
        let mut rows = vec![Row(0); columns.keywords.len()];
        for (keyword, row) in columns.keywords.iter().zip(0u32..) {
            if let Some(next) = ends.get_mut(keyword as usize) {
                if let Some(place) = rows.get_mut(*next) {
                    *place = Row(row);
                }
                *next += 1;
            }
        }
        // Each start has moved to its end.
        Self { rows, ends }
    }

    fn rows_of(&self, keyword: usize) -> &[Row] {
        let end = self.ends.get(keyword).copied().unwrap_or_default();
        let start =
            keyword.checked_sub(1).and_then(|before| self.ends.get(before)).copied().unwrap_or(0);
        self.rows.get(start..end).unwrap_or_default()
    }
}

/// Gives notes their lines, and sums up what is too much of one kind.
fn tell(notes: Vec<Note>, line: impl Fn(u64) -> u64) -> Vec<Diagnostic> {
    let mut counts = BTreeMap::new();
    let mut told = Vec::new();
    for note in notes {
        let (count, last) = counts.entry(note.kind).or_insert((0usize, 0u64));
        *count += 1;
        *last = note.offset;
        if *count <= TOLD {
            told.push(Diagnostic {
                line: line(note.offset),
                offset: note.offset,
                kind: note.kind,
                message: note.message,
            });
        }
    }
    for (kind, (count, offset)) in counts {
        if count > TOLD {
            told.push(Diagnostic {
                line: line(offset),
                offset,
                kind,
                message: format!("{} more faults of this kind, the last one here", count - TOLD),
            });
        }
    }
    told.sort_by_key(|diagnostic| diagnostic.offset);
    told
}

/// What a file that is no STEP file looks like, with what to do.
fn looks_like(bytes: &[u8]) -> &'static str {
    let text = bytes.get(crate::layout::skip_layout(bytes, 0)..).unwrap_or_default();
    let text = text.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(text);
    match text {
        [b'P', b'K', 3, 4, ..] => ". It is a zip archive: unpack it first",
        [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => {
            ". It is text in UTF-16: save it as plain text (UTF-8 or ASCII)"
        }
        [b'<', ..] => ". It looks like XML: export as IFC in STEP format (.ifc) instead",
        [b'{', ..] | [b'[', ..] => {
            ". It looks like JSON: export as IFC in STEP format (.ifc) instead"
        }
        _ => "",
    }
}
