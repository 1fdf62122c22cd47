//! Remarks on what is odd in a model: collected as data, never printed on the way.

use std::collections::BTreeSet;
use std::fmt;
use std::sync::{Mutex, PoisonError};

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
pub(crate) struct Diagnostics(Mutex<BTreeSet<Diagnostic>>);

impl Diagnostics {
    pub(crate) fn add(&self, diagnostic: Diagnostic) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(diagnostic);
    }

    pub(crate) fn all(&self) -> Vec<Diagnostic> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).iter().cloned().collect()
    }
}
