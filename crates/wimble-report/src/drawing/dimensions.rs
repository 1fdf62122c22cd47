//! Dimension lines under the member: clear spans, then each cut from the nearer bearing face.

use super::elevation::DrawnCut;
use super::ink;
use super::sheet::Sheet;
use super::svg::{Anchor, Pen, Svg, width_of};
use crate::say::mm;
use wimble_model::{CutKind, Member, Verdict};

const ROW: f64 = 20.0;

/// One dimension.
struct Dimension {
    from_mm: f64,
    to_mm: f64,
    text: String,
    tone: &'static str,
}

/// Draws them in as few rows as keep them apart; gives the page height below.
pub(crate) fn draw(
    svg: &mut Svg,
    sheet: &Sheet,
    member: &Member,
    cuts: &[DrawnCut<'_>],
    top: f64,
) -> f64 {
    let spans = member.spans.iter().map(|s| Dimension {
        from_mm: s.from_mm,
        to_mm: s.to_mm,
        text: format!("clear span {}", mm(s.length_mm())),
        tone: ink::INK,
    });
    let mut rows: Vec<Vec<[f64; 2]>> = Vec::new();
    for dimension in spans.chain(cuts.iter().filter_map(|c| to_cut(member, c))) {
        let (from, to) = (sheet.x(dimension.from_mm), sheet.x(dimension.to_mm));
        if to - from < 1.0 {
            continue;
        }
        let half = f64::max(0.5 * (to - from), 0.5 * width_of(&dimension.text)) + 6.0;
        let middle = f64::midpoint(from, to);
        let taken = [middle - half, middle + half];
        let free = |row: &Vec<[f64; 2]>| row.iter().all(|t| t[1] <= taken[0] || t[0] >= taken[1]);
        let row = rows.iter().position(free).unwrap_or_else(|| {
            rows.push(Vec::new());
            rows.len() - 1
        });
        rows[row].push(taken);
        let row = u32::try_from(row).unwrap_or(u32::MAX);
        line(svg, [from, to], top + ROW * (f64::from(row) + 0.7), &dimension);
    }
    top + ROW * f64::from(u32::try_from(rows.len()).unwrap_or(u32::MAX)) + 6.0
}

/// A hole is measured to its centre, anything else to its nearer side.
fn to_cut(member: &Member, drawn: &DrawnCut<'_>) -> Option<Dimension> {
    let cut = drawn.cut;
    let span = member.spans.get(cut.span? as usize)?;
    let from_left = cut.mid_x_mm() - span.from_mm <= span.to_mm - cut.mid_x_mm();
    let to_centre = matches!(cut.kind, CutKind::Hole | CutKind::WebHole);
    let target = match (to_centre, from_left) {
        (true, _) => cut.mid_x_mm(),
        (false, true) => cut.min_mm.x,
        (false, false) => cut.max_mm.x,
    };
    let (from_mm, to_mm) = if from_left { (span.from_mm, target) } else { (target, span.to_mm) };
    let tone = if cut.verdict == Verdict::Pass { ink::INK } else { ink::tone(cut.verdict) };
    Some(Dimension { from_mm, to_mm, text: mm(to_mm - from_mm), tone })
}

fn line(svg: &mut Svg, [from, to]: [f64; 2], y: f64, dimension: &Dimension) {
    let pen = Pen::fine(dimension.tone);
    svg.line([from, y], [to, y], pen);
    for x in [from, to] {
        svg.line([x, y - 9.0], [x, y + 4.0], pen);
        svg.line([x - 3.0, y + 3.0], [x + 3.0, y - 3.0], Pen::outline(dimension.tone));
    }
    let middle = f64::midpoint(from, to);
    let width = width_of(&dimension.text) + 6.0;
    if width < to - from {
        svg.rectangle([middle - 0.5 * width, y - 8.0], [width, 14.0], ink::PAPER, None);
        svg.text([middle, y + 4.0], Anchor::Middle, dimension.tone, &dimension.text);
    } else {
        svg.text([to + 6.0, y + 4.0], Anchor::Start, dimension.tone, &dimension.text);
    }
}
