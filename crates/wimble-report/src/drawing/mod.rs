//! Drawings: a joiner's, from the member's side.
//!
//! [`Elevation`] is one member drawn side on with its bearings, its cuts in true shape and the
//! places where a cut may be; [`write_plan`] draws the storeys from above, members as lines. Every picture is SVG text first; [`png()`] turns any of them into
//! dots with the shipped font, so that a picture is the same on every machine.
//!
//! Tones, weights and lettering are in `ink`; nothing else names a colour.

mod axonometric;
mod bearings;
mod cuts;
mod dimensions;
mod elevation;
mod from_report;
mod ink;
mod labels;
mod lean;
mod loads;
mod overview;
mod plan;
mod png;
mod section;
mod sheet;
mod snapshot;
mod solids;
mod strips;
mod svg;

pub use elevation::{DrawnCut, Elevation, Proposal, Strip};
pub use from_report::{elevation, stacked, write};
pub use plan::write as write_plan;
pub use png::{PictureError, png};
pub use snapshot::{snapshot, snapshot_svg};
pub(crate) use svg::escape;

pub(crate) use from_report::of_member;
pub(crate) use ink::{INK, PAPER, TIMBER, tone};
pub(crate) use lean::style;
pub(crate) use plan::{NailStrip, Plan};
pub(crate) use svg::{Anchor, Pen, Svg};

#[cfg(test)]
mod golden;
#[cfg(test)]
mod tests;
