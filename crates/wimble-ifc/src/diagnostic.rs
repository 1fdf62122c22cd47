//! Remarks on what is odd in a model: collected as data, never printed on the way.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::{Mutex, MutexGuard, PoisonError};
use wimble_step::Row;

/// Something odd in the model that a person should know; reading went on.
///
/// Faults of the file itself (damaged records, duplicate names) are
/// [`StepFile::diagnostics`](wimble_step::StepFile::diagnostics), not these.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Diagnostic {
    /// Line in the file, from 1; `None` if it concerns the file as a whole.
    pub line: Option<u64>,
    /// Instance name, the number behind `#`.
    pub instance: Option<u64>,
    /// For a person: what is so, and what was done about it.
    pub text: String,
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(line) = self.line {
            write!(out, "line {line}: ")?;
        }
        out.write_str(&self.text)
    }
}

/// Collects diagnostics from any thread. They are kept in order and once each, so the order of
/// work does not show.
#[derive(Debug, Default)]
pub(crate) struct Diagnostics {
    all: Mutex<BTreeSet<Diagnostic>>,
    /// Instances with texts that hold directives which cannot be followed, and why the first could
    /// not: exporters that get it wrong do so in every text.
    odd_texts: Mutex<BTreeMap<Row, &'static str>>,
}

impl Diagnostics {
    pub(crate) fn add(&self, diagnostic: Diagnostic) {
        locked(&self.all).insert(diagnostic);
    }

    pub(crate) fn odd_text(&self, row: Row, why: &'static str) {
        locked(&self.odd_texts).entry(row).or_insert(why);
    }

    /// How many instances have odd texts, with the first of them.
    pub(crate) fn odd_texts(&self) -> Option<(usize, Row, &'static str)> {
        let texts = locked(&self.odd_texts);
        let (row, why) = texts.first_key_value()?;
        Some((texts.len(), *row, why))
    }

    pub(crate) fn all(&self) -> Vec<Diagnostic> {
        locked(&self.all).iter().cloned().collect()
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
