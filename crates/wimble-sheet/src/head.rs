//! What a sheet says of itself: units, rules, and who measured, with what.

use crate::error::SheetError;
use crate::row::{Cell, Row};
use crate::tape::TapeUnit;
use wimble_model::Survey;

/// Keys at the top of a sheet.
pub(crate) const HEAD_KEYS: &[&str] = &["title", "units", "region", "packs"];
/// Keys of `[measured]`.
pub(crate) const MEASURED_KEYS: &[&str] = &["by", "on", "with", "along", "level", "size"];

/// Words for the unit of bare figures.
pub(crate) const UNITS: [(&str, TapeUnit); 4] = [
    ("mm", TapeUnit::Mm),
    ("inch", TapeUnit::Inch),
    ("in", TapeUnit::Inch),
    ("ft-in", TapeUnit::Inch),
];

/// Errors of a tape and a rule used with care (our own figures), mm: along, level, size.
const TOLERANCE_MM: [f64; 3] = [3.0, 2.0, 1.0];

/// The head, read.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Head {
    pub(crate) title: String,
    pub(crate) unit: TapeUnit,
    pub(crate) region: Option<Cell>,
    pub(crate) packs: Vec<Cell>,
}

pub(crate) fn head(mut row: Row) -> Result<Head, SheetError> {
    row.keys(HEAD_KEYS)?;
    let unit = match row.take("units") {
        Some(cell) => cell.word("unit", &UNITS)?,
        None => TapeUnit::Mm,
    };
    let head = Head {
        title: row.take("title").map(|cell| cell.text).unwrap_or_default(),
        unit,
        region: row.take("region"),
        packs: row.take_all("packs"),
    };
    if let (Some(region), false) = (&head.region, head.packs.is_empty()) {
        let help = "name the packs, or the region whose usual packs you want";
        return region.wrong("`packs` and `region` are both given", help);
    }
    row.done()?;
    Ok(head)
}

pub(crate) fn survey(mut row: Row, unit: TapeUnit) -> Result<Survey, SheetError> {
    row.keys(MEASURED_KEYS)?;
    let Some(by) = row.take("by").map(|cell| cell.text).filter(|by| !by.trim().is_empty()) else {
        return row.lacks("`measured` does not say by whom", "add by = \"…\"");
    };
    let mut word = |key: &str| row.take(key).map(|cell| cell.text).unwrap_or_default();
    let (on, with) = (word("on"), word("with"));
    let given = [row.take("along"), row.take("level"), row.take("size")];
    let tolerance_assumed = given.iter().any(Option::is_none);
    let mut mm = TOLERANCE_MM;
    for (into, cell) in mm.iter_mut().zip(&given) {
        if let Some(cell) = cell {
            *into = cell.length(unit)?;
        }
    }
    row.done()?;
    let [along_mm, level_mm, size_mm] = mm;
    Ok(Survey { by, on, with, along_mm, level_mm, size_mm, tolerance_assumed })
}
