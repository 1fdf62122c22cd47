//! The record as data.

use super::rows;
use crate::Report;
use std::io::{self, Write};

/// Writes the record as JSON.
///
/// # Errors
/// If it cannot be written.
pub fn json<W: Write>(report: &Report, out: &mut W) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &rows::of(report)).map_err(io::Error::from)?;
    writeln!(out)
}
