//! What goes back into IFC: openings in a copy of the structure, and provisions for void.
//!
//! An opening is cut from its host; a provision only asks for one. Both stand where a cut passes
//! and the model has no opening yet: what fails, or cannot be judged, is never cut nor asked for.

mod added;
mod guid;
mod openings;
mod owner;
mod provisions;
mod void;

pub(crate) use openings::openings;
pub(crate) use provisions::provisions;

use wimble_model::{Cut, OpeningSource, Verdict};
use wimble_report::Report;

/// A file that was made, and what should be said of it.
pub(crate) struct NewFile {
    /// Path of the input that it is a copy of, if it is one of several.
    pub(crate) of: Option<String>,
    /// Its bytes.
    pub(crate) bytes: Vec<u8>,
    /// What was left out and why, in sentences.
    pub(crate) remarks: Vec<String>,
}

/// Whether a void may be made here and none is modelled yet.
fn wanted(report: &Report, cut: &Cut) -> bool {
    let modelled = cut
        .openings
        .iter()
        .filter_map(|opening| report.openings.get(opening.at()))
        .any(|opening| opening.source != OpeningSource::Provision);
    cut.verdict == Verdict::Pass && !modelled
}
