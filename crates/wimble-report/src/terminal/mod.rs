//! The report for a person at a prompt.
//!
//! It reads from the top like a letter: what was checked and assumed, the answer in one sentence,
//! then storey by storey the members that need attention, each with a strip that shows where along
//! it the cuts are, and a block for each finding: verdict, what and where, measured against limit,
//! source, next step. Coverage and cautions close it, and the sentence is said again where the eye
//! is when the command ends.

mod coverage;
mod head;
mod inspect;
mod members;
mod page;
mod strip;
mod tail;

use crate::{Report, Summary};
use page::Page;
use std::io::{self, Write};

/// How the page is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// Columns, at most 100 of which are used.
    pub width: usize,
    /// Whether tones may be used; words and signs say the same without them.
    pub colour: bool,
    /// Nothing folded: passes and notes too.
    pub all: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { width: 100, colour: false, all: false }
    }
}

/// Writes the result of a check.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, options: Options, out: &mut impl Write) -> io::Result<()> {
    let mut page = Page::new(options, out);
    head::write(&mut page, report)?;
    page.answer(&Summary::sentence(report))?;
    head::unanswered(&mut page, report)?;
    head::baseline(&mut page, report)?;
    members::write(&mut page, report)?;
    tail::obligations(&mut page, report)?;
    coverage::write(&mut page, report)?;
    tail::before_cutting(&mut page, report)?;
    page.answer(&Summary::sentence(report))
}

/// Writes what was recognised: members, services, supports, coverage.
///
/// # Errors
/// Those of the writer.
pub fn inspect(report: &Report, options: Options, out: &mut impl Write) -> io::Result<()> {
    let mut page = Page::new(options, out);
    head::write(&mut page, report)?;
    inspect::write(&mut page, report)?;
    coverage::write(&mut page, report)
}

#[cfg(test)]
mod tests;
