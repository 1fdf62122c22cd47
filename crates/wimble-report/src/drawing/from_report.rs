//! Drawings of a report: every member that needs attention, one under the other.

use super::elevation::{DrawnCut, Elevation};
use super::sheet::WIDTH;
use super::svg::Svg;
use crate::{Report, say};
use std::io::{self, Write};
use wimble_model::{Cut, CutIx, CutKind, Finding, MemberIx, OpeningSource, Verdict};

/// Draws every member that has a cut which does not pass, worst first as in the other reports.
///
/// # Errors
/// If the text cannot be written.
pub fn write<W: Write>(report: &Report, out: &mut W) -> io::Result<()> {
    let mut members: Vec<(std::cmp::Reverse<Verdict>, MemberIx)> = (0..report.members.len())
        .map(MemberIx::from)
        .filter_map(|member| Some((std::cmp::Reverse(worst(report, member)?), member)))
        .filter(|(verdict, _)| verdict.0 > Verdict::Pass)
        .collect();
    members.sort_unstable();
    let mut page = Svg::default();
    let mut y = 0.0;
    for (_, member) in members {
        if let Some(elevation) = elevation(report, member) {
            let (drawing, height) = elevation.draw();
            page.under(y, &drawing);
            y += height;
        }
    }
    let title = "Members with cuts that do not pass";
    out.write_all(page.finish(WIDTH, y.max(1.0), title).as_bytes())
}

/// Elevations one under the other.
#[must_use]
pub fn stacked(elevations: &[Elevation<'_>], title: &str) -> String {
    let mut page = Svg::default();
    let mut y = 0.0;
    for elevation in elevations {
        let (drawing, height) = elevation.draw();
        page.under(y, &drawing);
        y += height;
    }
    page.finish(WIDTH, y.max(1.0), title)
}

fn worst(report: &Report, member: MemberIx) -> Option<Verdict> {
    report.cuts.iter().filter(|cut| cut.member == member).map(|cut| cut.verdict).max()
}

/// One member of a report as an elevation, cuts marked in the order in which they lie; `None` for
/// a member that is not there.
#[must_use]
pub fn elevation(report: &Report, member: MemberIx) -> Option<Elevation<'_>> {
    let drawn = report.members.get(member.at())?;
    let name = say::member_name(drawn);
    let storey = say::storey(report, drawn.storey);
    let cuts = (0..report.cuts.len())
        .map(CutIx::from)
        .filter_map(|ix| Some((ix, report.cuts.get(ix.at())?)))
        .filter(|(_, cut)| cut.member == member && cut.kind != CutKind::Joinery)
        .enumerate()
        .map(|(i, (ix, cut))| DrawnCut {
            cut,
            mark: format!("{name}/{}", i + 1),
            service: services(report, cut),
            broken: broken(report, ix, cut),
            proposal: None,
        })
        .collect();
    Some(Elevation {
        heading: format!("{name} · {} · {storey}", say::member_facts(drawn)),
        member: drawn,
        cuts,
        strips: Vec::new(),
    })
}

/// The services of a cut in the trade's words; the void itself where nothing passes.
fn services(report: &Report, cut: &Cut) -> String {
    let names: Vec<String> = cut
        .services
        .iter()
        .filter_map(|service| report.services.get(service.at()))
        .map(say::service)
        .collect();
    if !names.is_empty() {
        return say::all_of(&names);
    }
    let measured = cut
        .openings
        .iter()
        .filter_map(|opening| report.openings.get(opening.at()))
        .filter(|opening| opening.source == OpeningSource::Measured)
        .find_map(|opening| opening.element.name.as_deref());
    measured.map_or_else(|| "opening in the model".to_owned(), say::plain)
}

/// What breaks, on one line: the figure and its limit where there is one, else the first sentence.
fn broken(report: &Report, ix: CutIx, cut: &Cut) -> Option<String> {
    let decides = |f: &&Finding| f.cuts.contains(&ix) && f.verdict == cut.verdict;
    let finding = report.findings.iter().find(decides).filter(|_| cut.verdict > Verdict::Pass)?;
    let text = say::measured(finding.measured, finding.limit)
        .unwrap_or_else(|| finding.message.split_inclusive(". ").next().unwrap_or("").to_owned());
    let text = text.trim().trim_end_matches('.');
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string())?;
    Some(format!("{first}{}", letters.as_str()))
}
