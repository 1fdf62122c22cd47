//! The JSON report: the contract of `docs/report.md`, version 1.
//!
//! Every key is always there; what is unknown is null, and an empty list means known to be none.
//! [`write()`] streams row by row, one row a line, with the summary last, and never holds the whole
//! text. [`Document`] is the same contract as one value: for reading a report back, and for the
//! JSON Schema, so that what is written, read and described cannot drift apart.

mod figure;
pub(crate) mod from_report;
pub(crate) mod line;
pub(crate) mod row;
mod rows;
pub(crate) mod straight;
mod write;

pub use rows::{
    BearingRow, CoverageRow, CutRow, Document, FindingRow, FrameRow, FreeRow, InputRow, IssueRow,
    LimitRow, MeasuredRow, MemberRow, MoveRow, ObligationRow, OpeningRow, PackRow, PlanRow,
    RemedyRow, SectionRow, ServiceRow, ShapeRow, SpanRow, Tool, WarningRow,
};
pub use write::write;

/// The name and version of the contract.
pub const SCHEMA: &str = "wimble-report/1";

/// The JSON Schema (draft 2020-12) of the report.
#[must_use]
pub fn schema() -> serde_json::Value {
    // As written, not as read: a key that is always written is always required.
    let settings = schemars::generate::SchemaSettings::draft2020_12().for_serialize();
    let mut schema = settings.into_generator().into_root_schema_for::<Document<'_>>();
    schema.insert("$id".into(), SCHEMA.into());
    schema.insert("title".into(), "Report of Wimble".into());
    schema.to_value()
}

#[cfg(test)]
mod tests;
