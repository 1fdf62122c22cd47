//! Marking-out sheets: for the one with the pencil, the bit and the saw.
//!
//! [`Marking`] is worked out by the rules beforehand: whole millimetres from one datum for each
//! joist, a bit that there is. [`html`] prints it storey by storey in walking order, [`csv()`]
//! gives the same rows as a table. No rule text and no GlobalIds: a joist that does not pass as a
//! whole is DO NOT CUT with a number to ask about.

mod nails;
mod sheets;
mod table;

pub use table::write as csv;

use crate::page::STYLE;
use crate::{Report, drawing, say};
use askama::Template;
use sheets::Storey;
use std::io::{self, Write};
use wimble_model::{CutIx, End, MemberIx};

/// What the sheets say.
#[derive(Debug, Clone, Default)]
pub struct Marking {
    /// Which issue it is.
    pub issue: Issue,
    /// Members with cuts, in the report's order.
    pub members: Vec<MarkedMember>,
}

/// Number and issue, as the user states them; what is not stated is left to fill in by hand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Issue {
    /// Number of the sheets.
    pub number: String,
    /// Their issue.
    pub issue: String,
    /// What they replace.
    pub replaces: String,
    /// The date, as written.
    pub date: String,
}

/// A face from which distances are measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Datum {
    /// At which end of the member.
    pub end: End,
    /// Where it is along the member.
    pub x_mm: f64,
    /// The bearing whose inner face it is; `None` for the end of the member itself.
    pub bearing: Option<u32>,
}

/// A member with its cuts as they are to be made.
#[derive(Debug, Clone)]
pub struct MarkedMember {
    /// The member.
    pub member: MemberIx,
    /// The one face from which everything is measured.
    pub datum: Datum,
    /// The face from which it is checked.
    pub check: Datum,
    /// The cuts, by place along the member; none if it is not to be cut.
    pub cuts: Vec<MarkedCut>,
    /// What hinders besides verdicts, in words.
    pub ask: Vec<String>,
}

/// A cut as it is to be made; all lengths are whole millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedCut {
    /// The cut.
    pub cut: CutIx,
    /// From the datum: to the middle of a hole, to both sides of a notch.
    pub from_datum_mm: Vec<f64>,
    /// From the top edge: to the middle of a hole; 0 for a notch in the top.
    pub top_mm: f64,
    /// From the bottom edge, likewise.
    pub bottom_mm: f64,
    /// The bit of a hole, or of a notch's root; 0 if a root needs none.
    pub bit_mm: f64,
    /// Whether it is a usual bit.
    pub listed: bool,
    /// Width and depth of a notch.
    pub notch_mm: Option<[f64; 2]>,
    /// To spare before a rule of length breaks.
    pub spare_mm: Option<f64>,
    /// From the datum: past these the middle must not stray.
    pub stops_mm: Option<[f64; 2]>,
}

impl MarkedCut {
    /// A cut that is there already and so is not made.
    #[must_use]
    pub const fn there(cut: CutIx) -> Self {
        Self {
            cut,
            from_datum_mm: Vec::new(),
            top_mm: 0.0,
            bottom_mm: 0.0,
            bit_mm: 0.0,
            listed: false,
            notch_mm: None,
            spare_mm: None,
            stops_mm: None,
        }
    }
}

#[derive(Template)]
#[template(path = "marking.html")]
struct Sheets<'r> {
    version: &'static str,
    issue: &'r Issue,
    storeys: Vec<Storey>,
    asked: Vec<String>,
    models: String,
}

/// Prints the sheets.
///
/// # Errors
/// Those of the writer.
pub fn html(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let none = Marking::default();
    let marking = report.marking.as_ref().unwrap_or(&none);
    let models: Vec<String> = report
        .inputs
        .iter()
        .map(|i| {
            let hash = i.blake3.get(..8).unwrap_or(&i.blake3);
            format!("{} ({hash})", say::plain(&i.path))
        })
        .collect();
    let sheets = Sheets {
        version: env!("CARGO_PKG_VERSION"),
        issue: &marking.issue,
        storeys: sheets::of(report, marking),
        asked: report.assumptions.iter().map(|text| say::sentence(text)).collect(),
        models: models.join(", "),
    };
    sheets.write_into(out)
}

impl Sheets<'_> {
    fn style(&self) -> String {
        format!("{STYLE}{}{}", include_str!("../../templates/marking.css"), drawing::style())
    }

    fn hatchings(&self) -> &'static str {
        drawing::Svg::hatchings()
    }
}

#[cfg(test)]
mod tests;
