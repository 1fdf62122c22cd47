//! One file per report format, all made from the same report value.
//!
//! A [`Report`] holds what was read, recognised, cut and judged. [`Names`] gives its rows the
//! names that the outside sees (ids, fingerprints, places); every format uses the same names.
//!
//! * [`json`]: the contract of `docs/report.md`, streamed, with its JSON Schema.
//! * [`terminal`]: for a person at a prompt.
//! * [`jsonl`], [`csv`]: row by row, for pipes and spreadsheets.
//! * [`bcf`]: topics for modelling tools.
//! * [`junit`], [`sarif`]: for the pages of build servers and code hosts.
//! * [`summary_page`]: Markdown for a comment on a change.
//! * [`record`]: member by member what was measured, its limit and verdict, to sign.
//! * [`compare`]: two JSON reports, what is new, fixed, moved, unchanged.
//! * [`marking`]: sheets for the one with the pencil, the bit and the saw.
//! * [`page`]: one HTML page that opens offline: drawings, what to do, schedules.
//! * [`gltf`]: the building in space, coloured by verdict, for any viewer.
//! * [`drawing`]: a member side on with its cuts, as SVG and PNG, for every format with pictures.
//!
//! ```
//! use wimble_report::{Report, json};
//! let mut text = Vec::new();
//! json::write(&Report::default(), &mut text)?;
//! assert!(text.starts_with(b"{\n\"schema\": \"wimble-report/1\""));
//! # Ok::<(), std::io::Error>(())
//! ```
//!
//! Not here: how anything was computed, files, the clock.

pub mod bcf;
pub mod compare;
pub mod csv;
pub mod drawing;
pub mod gltf;
mod grouped;
pub mod json;
pub mod jsonl;
pub mod junit;
pub mod marking;
pub mod page;
pub mod record;
pub mod sarif;
pub mod summary_page;
pub mod terminal;

mod baseline;
mod cautions;
mod issue;
mod names;
mod number;
mod report;
mod rows_by;
mod say;
mod summary;

pub use baseline::{Baseline, Gone, Since};
pub use issue::{Issue, evidence, evidence_line};
pub use names::{Hex, Names};
pub use number::Number;
pub use report::{Input, MemberLimits, Pack, Report, Rule, Warning, Windows};
pub use summary::Summary;

#[cfg(test)]
mod fixture;
