//! What was and was not checked: every element is in one line of this table.

use super::page::{Page, Tone};
use crate::{Report, say};
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{CoverageRow, CoverageStatus};

/// What asks for attention is listed by class and reason; the rest is summed by status.
const ASKS: [CoverageStatus; 5] = [
    CoverageStatus::Unreadable,
    CoverageStatus::LayerOnly,
    CoverageStatus::NoShape,
    CoverageStatus::Duplicate,
    CoverageStatus::Ignored,
];
/// More rows than this of one status are folded.
const ROWS_SHOWN: usize = 8;

pub(super) fn write<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    page.heading("Every element of the files")?;
    if report.coverage.is_empty() {
        return page.text(0, "The files hold no building elements.");
    }
    let mut by_status: BTreeMap<CoverageStatus, Vec<&CoverageRow>> = BTreeMap::new();
    for row in &report.coverage {
        by_status.entry(row.status).or_default().push(row);
    }
    for (status, rows) in by_status {
        let total: u64 = rows.iter().map(|row| u64::from(row.count)).sum();
        let classes = classes(&rows);
        let label = format!("{total:>6}");
        page.labelled(0, Tone::Strong, &label, &format!("{}: {classes}", words(status)))?;
        if page.options.all || ASKS.contains(&status) {
            reasons(page, report, &rows)?;
        }
    }
    Ok(())
}

fn reasons<W: Write>(
    page: &mut Page<'_, W>,
    report: &Report,
    rows: &[&CoverageRow],
) -> io::Result<()> {
    let shown = if page.options.all { rows.len() } else { ROWS_SHOWN };
    for row in rows.iter().take(shown) {
        let file = match report.inputs.get(row.input as usize) {
            Some(input) if report.inputs.len() > 1 => format!(" in {}", say::plain(&input.path)),
            _ => String::new(),
        };
        let examples: Vec<String> = row.examples.iter().map(|guid| say::plain(guid)).collect();
        let examples = match (examples.is_empty(), u32::try_from(examples.len())) {
            (true, _) => String::new(),
            (false, Ok(n)) if n < row.count => format!(" ({}, …)", examples.join(", ")),
            (false, _) => format!(" ({})", examples.join(", ")),
        };
        let (class, reason) = (say::plain(&row.class), say::sentence(&row.reason));
        page.text(14, &format!("{} {class}{file}: {reason}{examples}", row.count))?;
    }
    let more = rows.len().saturating_sub(shown);
    if more > 0 {
        page.text(14, &format!("and {more} more rows (see them with --all)"))?;
    }
    Ok(())
}

/// `IfcBeam, IfcMember`, the most frequent first.
fn classes(rows: &[&CoverageRow]) -> String {
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    for row in rows {
        *counts.entry(&row.class).or_default() += u64::from(row.count);
    }
    let mut classes: Vec<_> = counts.into_iter().collect();
    classes.sort_by_key(|(class, count)| (std::cmp::Reverse(*count), *class));
    let more = classes.len().saturating_sub(4);
    let mut text: Vec<String> = classes
        .iter()
        .take(4)
        .map(|(class, count)| format!("{count} {}", say::plain(class)))
        .collect();
    if more > 0 {
        text.push(format!("{more} other classes"));
    }
    text.join(", ")
}

/// A status as a person says it.
const fn words(status: CoverageStatus) -> &'static str {
    match status {
        CoverageStatus::Member => "timber members",
        CoverageStatus::Service => "services",
        CoverageStatus::Support => "supports",
        CoverageStatus::Opening => "openings",
        CoverageStatus::Covering => "coverings",
        CoverageStatus::Spatial => "storeys, spaces and the like",
        CoverageStatus::PortOrAnnotation => "ports, annotations, grids",
        CoverageStatus::LayerOnly => {
            "timber only as a layer: its members are not modelled, not checked"
        }
        CoverageStatus::Other => "neither timber, service nor support",
        CoverageStatus::Duplicate => "given twice, judged once",
        CoverageStatus::NoShape => "without a shape of their own, not checked",
        CoverageStatus::Unreadable => "shape not readable, not checked",
        CoverageStatus::Ignored => "ignored by your settings",
    }
}
