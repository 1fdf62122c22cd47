//! One record: its parameters cut, its trouble told.

use std::borrow::Cow;

use crate::diagnostic::{Diagnostic, DiagnosticKind};
use crate::file::{Row, StepFile};
use crate::grammar::{self, Spans};
use crate::layout;
use crate::recover;
use crate::value::{List, Value};

/// A record of the file. Parameters are counted from 0.
#[derive(Debug, Clone)]
pub struct Record<'f> {
    row: Row,
    name: u64,
    keyword: &'f str,
    spans: Spans<'f>,
    trouble: Vec<Diagnostic>,
}

impl<'f> Record<'f> {
    pub(crate) fn read(file: &'f StepFile<'_>, row: Row) -> Self {
        let mut record = Record {
            row,
            name: file.name(row),
            keyword: file.keyword(row),
            spans: Spans::new(),
            trouble: Vec::new(),
        };
        if grammar::instance(file.reach(row), &mut record.spans).is_err() {
            record.mend(file);
        }
        record
    }

    /// The name of the instance: 12 of `#12`.
    #[must_use]
    pub fn name(&self) -> u64 {
        self.name
    }

    /// The row of the instance.
    #[must_use]
    pub fn row(&self) -> Row {
        self.row
    }

    /// The keyword in capitals; empty for a complex instance.
    #[must_use]
    pub fn keyword(&self) -> &'f str {
        self.keyword
    }

    /// Number of parameters. Of a complex instance: number of its partial records, which are given
    /// as [typed](Value::Typed) values.
    #[must_use]
    pub fn len(&self) -> usize {
        self.spans.len()
    }

    /// Whether there are no parameters.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.spans.is_empty()
    }

    /// A parameter; [`Value::Unset`] behind the end, for files of a slightly other schema.
    #[must_use]
    #[inline]
    pub fn get(&self, place: usize) -> Value<'f> {
        self.spans.get(place).map_or(Value::Unset, |span| Value::of(span))
    }

    /// A parameter that is declared as a list: a single value in its place is a list of one, an
    /// unset one an empty list.
    #[must_use]
    pub fn list(&self, place: usize) -> List<'f> {
        self.get(place).as_list()
    }

    /// The parameters in order.
    pub fn values(&self) -> impl ExactSizeIterator<Item = Value<'f>> {
        self.spans.iter().map(|span| Value::of(span))
    }

    /// What could not be read, or only by guessing. The file keeps it, too
    /// ([`StepFile::record_diagnostics`]). Directives in strings are asked for by
    /// [`Text::faults`](crate::Text::faults).
    #[must_use]
    pub fn trouble(&self) -> &[Diagnostic] {
        &self.trouble
    }

    /// Reads a record that the grammar refused as it stands.
    fn mend(&mut self, file: &'f StepFile<'_>) {
        let raw = file.raw(self.row);
        let text: &'f [u8] = match layout::clean(raw) {
            Cow::Borrowed(text) => text,
            Cow::Owned(text) => file.mended.get(self.row.0, || text),
        };
        self.spans.clear();
        if grammar::instance(text, &mut self.spans).is_ok() {
            return;
        }
        let moved = text.len() != raw.len();
        let offset = |at: usize| file.offset(self.row) + if moved { 0 } else { at as u64 };
        let mut trouble: Vec<(usize, DiagnosticKind, String)> = Vec::new();
        let mut tell = |at, kind, message| trouble.push((at, kind, message));
        self.spans = recover::parameters(self.name, text, &mut tell);
        self.trouble = trouble
            .into_iter()
            .map(|(at, kind, message)| Diagnostic {
                line: file.line_at(offset(at)),
                offset: offset(at),
                kind,
                message,
            })
            .collect();
        file.keep(self.row, &self.trouble);
    }
}
