//! The picture of a topic: the place in the round, and the elevation under it.

use super::axonometric::View;
use super::from_report;
use super::sheet::{MARGIN, WIDTH};
use super::svg::{Anchor, Svg};
use super::{PictureError, ink, png};
use crate::{Report, say};
use wimble_geom::Solid;
use wimble_model::{Cut, CutIx, CutKind, Member, MemberIx, Section};

/// Height of the view in the round.
const ROOM: f64 = 330.0;
/// The longest side of a snapshot, dots.
const LONGEST: f64 = 1400.0;
/// Cuts drawn in the elevation: the one looked at and those near it.
const CUTS: usize = 4;
/// Letters in a line of the title.
const TITLE: usize = 105;

/// The picture as PNG; `None` for a member that is not there.
///
/// # Errors
/// If the dots cannot be made.
pub fn snapshot(
    report: &Report,
    member: MemberIx,
    cut: Option<CutIx>,
    title: &str,
) -> Result<Option<Vec<u8>>, PictureError> {
    let Some((svg, height)) = snapshot_svg(report, member, cut, title) else { return Ok(None) };
    #[expect(clippy::cast_possible_truncation, reason = "a scale near 1")]
    let scale = (LONGEST / WIDTH.max(height)) as f32;
    png(&svg, scale).map(Some)
}

/// The picture as SVG, and its height.
#[must_use]
pub fn snapshot_svg(
    report: &Report,
    member: MemberIx,
    cut: Option<CutIx>,
    title: &str,
) -> Option<(String, f64)> {
    let drawn = report.members.get(member.at())?;
    let mut svg = Svg::default();
    let mut y = MARGIN + ink::HEADING;
    for line in textwrap::wrap(&say::sentence(title), TITLE).iter().take(3) {
        svg.heading([MARGIN, y], line);
        y += ink::HEADING + 4.0;
    }
    let looked_at = cut.and_then(|ix| report.cuts.get(ix.at()));
    if let Some(cut) = looked_at {
        let view = view(report, drawn, member, cut);
        y += view.draw(&mut svg, [MARGIN, y + 6.0], [WIDTH - 2.0 * MARGIN, ROOM]) + 6.0;
        if drawn.frame.x.z.abs() > 0.5 {
            let text = "Below, the member is drawn lying, its upper end at the right.";
            svg.text([MARGIN, y], Anchor::Start, ink::INK, text);
            y += ink::LINE;
        }
    }
    let mut elevation = from_report::elevation(report, member)?;
    if let Some(cut) = looked_at {
        elevation.cuts.sort_by(|a, b| {
            let off = |c: &Cut| (c.mid_x_mm() - cut.mid_x_mm()).abs();
            off(a.cut).total_cmp(&off(b.cut))
        });
    }
    let left_out = elevation.cuts.len().saturating_sub(CUTS);
    elevation.cuts.truncate(CUTS);
    elevation.cuts.sort_by(|a, b| a.cut.min_mm.x.total_cmp(&b.cut.min_mm.x));
    let (drawing, height) = elevation.draw();
    svg.under(y, &drawing);
    y += height;
    if left_out > 0 {
        let text = match left_out {
            1 => "1 more cut in this member is not drawn here.".to_owned(),
            n => format!("{n} more cuts in this member are not drawn here."),
        };
        svg.text([MARGIN, y - 8.0], Anchor::Start, ink::INK, &text);
        y += ink::LINE;
    }
    Some((svg.finish(WIDTH, y, title), y))
}

fn view<'a>(report: &'a Report, member: &'a Member, ix: MemberIx, cut: &'a Cut) -> View<'a> {
    // A knock-out of an I-joist is a hole in its web; between open webs there is nothing to draw.
    let is_i = matches!(member.section, Section::IJoist { .. });
    let seen = |c: &&Cut| match c.kind {
        CutKind::Joinery => false,
        CutKind::BetweenWebs => is_i,
        _ => true,
    };
    let cuts: Vec<&Cut> = report.cuts.iter().filter(|c| c.member == ix).filter(seen).collect();
    let services = cuts.iter().flat_map(|cut| &cut.services);
    let mut services: Vec<usize> = services.map(|s| s.at()).collect();
    services.sort_unstable();
    services.dedup();
    let solids: Vec<&Solid> =
        services.iter().filter_map(|at| report.service_solids.get(*at)?.as_ref()).collect();
    let proposal = from_report::elevation(report, ix).and_then(|elevation| {
        let drawn = elevation.cuts.into_iter().find(|drawn| std::ptr::eq(drawn.cut, cut))?;
        drawn.proposal.map(|p| [p.along_mm, p.depth_mm])
    });
    View { member, cut, cuts, services: solids, proposal }
}
