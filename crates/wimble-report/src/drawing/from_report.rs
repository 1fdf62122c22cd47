//! Drawings of a report: every member that needs attention, one under the other.

use super::elevation::{DrawnCut, Elevation, Proposal, Strip};
use super::sheet::WIDTH;
use super::svg::Svg;
use crate::rows_by::RowsBy;
use crate::{Report, Windows, say};
use std::io::{self, Write};
use wimble_model::{Action, Cut, CutIx, CutKind, Finding, Member, MemberIx, Section, Verdict};

/// Draws every member that needs attention, worst first as in the other reports.
///
/// # Errors
/// If the text cannot be written.
pub fn write<W: Write>(report: &Report, out: &mut W) -> io::Result<()> {
    let rows = RowsBy::of(report);
    let mut page = Svg::default();
    let mut y = 0.0;
    for (member, _) in rows.attention(report) {
        if let Some(elevation) = of_member(report, &rows, member) {
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

/// One member of a report as an elevation, cuts numbered in the order in which they lie; `None`
/// for a member that is not there.
#[must_use]
pub fn elevation(report: &Report, member: MemberIx) -> Option<Elevation<'_>> {
    of_member(report, &RowsBy::of(report), member)
}

/// The same, with the rows looked up once for many members.
pub(crate) fn of_member<'r>(
    report: &'r Report,
    rows: &RowsBy,
    member: MemberIx,
) -> Option<Elevation<'r>> {
    let drawn = report.members.get(member.at())?;
    let name = say::member_name(drawn);
    let storey = say::storey(report, drawn.storey);
    let cuts = (1..)
        .zip(rows.cuts(member))
        .filter_map(|(number, ix)| Some((number, *ix, report.cuts.get(ix.at())?)))
        .filter(|(_, _, cut): &(u32, CutIx, &Cut)| cut.kind != CutKind::Joinery)
        .map(|(number, ix, cut)| {
            let findings: Vec<&Finding> = rows
                .findings_of_cut(ix)
                .iter()
                .filter_map(|at| report.findings.get(*at))
                .filter(|f| f.verdict == cut.verdict && cut.verdict > Verdict::Pass)
                .collect();
            DrawnCut {
                cut,
                mark: format!("{name}/{number}"),
                service: say::services(report, cut),
                broken: findings.first().and_then(|finding| broken(finding)),
                proposal: proposal(&findings),
            }
        })
        .collect();
    let windows = rows.windows(member).iter().filter_map(|at| report.windows.get(*at));
    Some(Elevation {
        heading: format!("{name} · {} · {storey}", say::member_facts(drawn)),
        member: drawn,
        cuts,
        strips: windows.map(|windows| strip(drawn, windows)).collect(),
    })
}

/// The strip of a cut in question: what may be there, in words, and where. A hole is placed by its
/// middle, as it is bored; a notch by its sides, as it is sawn.
fn strip(member: &Member, windows: &Windows) -> Strip {
    let [width, height] = windows.size_mm;
    let hole = matches!(windows.kind, CutKind::Hole | CutKind::WebHole);
    let level = if windows.kind == CutKind::Hole { " at mid-depth" } else { "" };
    let edge = if windows.kind == CutKind::BottomNotch { "the underside" } else { "the top" };
    let named = |width: f64, height: f64| match (hole, say::mm(width), say::mm(height)) {
        (true, w, h) if w == h => format!("hole {w}{level}"),
        (true, w, h) => format!("hole {w} × {h}{level}"),
        (false, w, h) => format!("notch {w} wide and {h} deep in {edge}"),
    };
    let mut title = named(windows.asked_mm[0], windows.asked_mm[1]);
    if windows.size_mm != windows.asked_mm {
        title = format!("{title}: passes nowhere in this member; {}", named(width, height));
    }
    let from = if member.spans.is_empty() { "the nearer end" } else { "the nearer bearing face" };
    let what = if hole { "middle" } else { "sides" };
    let half = if hole { 0.0 } else { 0.5 * width };
    let stretches = windows.middles_mm.iter().map(|[from, to]| [from - half, to + half]).collect();
    let title = if windows.middles_mm.is_empty() {
        title
    } else {
        format!("{title}: {what} where hatched, mm from {from}")
    };
    Strip { title, windows: stretches, nowhere: nowhere(member, windows.best).to_owned() }
}

/// What an empty strip says.
const fn nowhere(member: &Member, best: Verdict) -> &'static str {
    match (best, member.section) {
        (Verdict::Refer, Section::IJoist { .. }) => {
            "where it may be stands in the maker's hole table; none is in force"
        }
        (Verdict::Refer | Verdict::Unknown, Section::OpenWeb { .. }) => {
            "where it may pass the maker of the joist says"
        }
        (Verdict::Refer, _) => "no rule in force lets it pass: an engineer decides",
        (Verdict::Unknown, _) => "a fact is missing: nowhere until it is known",
        _ => "passes nowhere in this member",
    }
}

/// The nearest place that a remedy moves the cut to.
fn proposal(findings: &[&Finding]) -> Option<Proposal> {
    findings.iter().flat_map(|f| f.remedies.iter()).find_map(|remedy| match remedy.action {
        Action::MoveAlong { by_mm } => Some(Proposal { along_mm: by_mm, depth_mm: 0.0 }),
        Action::MoveDepth { by_mm } => Some(Proposal { along_mm: 0.0, depth_mm: by_mm }),
        _ => None,
    })
}

/// What breaks, on one line: the figure and its limit where there is one, else the first sentence.
fn broken(finding: &Finding) -> Option<String> {
    let text = say::measured(finding.measured, finding.limit)
        .unwrap_or_else(|| finding.message.split_inclusive(". ").next().unwrap_or("").to_owned());
    let text = text.trim().trim_end_matches('.');
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string())?;
    Some(format!("{first}{}", letters.as_str()))
}
