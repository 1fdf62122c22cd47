//! What is written at each cut, above the member, in rows that do not overlap.

use super::elevation::DrawnCut;
use super::ink;
use super::sheet::Sheet;
use super::svg::{Anchor, Pen, Svg, width_of};
use crate::say;
use wimble_model::{Member, Verdict};

const GAP: f64 = 14.0;

/// A label with its place.
pub(crate) struct Label {
    head: String,
    place: String,
    verdict: Verdict,
    says: String,
    /// Left side, units.
    left: f64,
    width: f64,
    /// 0 is the row next to the member.
    row: u32,
    /// Where its cut is: middle, and how high in the member its leader ends (mm).
    target: [f64; 2],
}

/// Chooses a place for every label: over its cut if it can be, in the lowest row that is free.
pub(crate) fn place(sheet: &Sheet, member: &Member, cuts: &[DrawnCut<'_>]) -> Vec<Label> {
    let mut ends: Vec<f64> = Vec::new();
    cuts.iter()
        .map(|drawn| {
            let cut = drawn.cut;
            let head = format!("{} · {} · {}", drawn.mark, say::cut(cut), drawn.service);
            let place = say::place(member, cut);
            let says = match &drawn.broken {
                Some(broken) => format!("{}: {broken}", cut.verdict.word()),
                None => cut.verdict.word().to_owned(),
            };
            let width = [&head, &place].map(|t| width_of(t)).into_iter().fold(0.0, f64::max);
            let width = width.max(width_of(&says) + 18.0) * 1.04;
            let middle = sheet.x(cut.mid_x_mm());
            let least = sheet.x(sheet.from_mm);
            let most = (super::sheet::WIDTH - super::sheet::MARGIN - width).max(least);
            let left = (middle - 0.5 * width).clamp(least, most);
            let row = ends.iter().position(|end| end + GAP <= left).unwrap_or(ends.len());
            if row == ends.len() {
                ends.push(left + width);
            } else {
                ends[row] = left + width;
            }
            let row = u32::try_from(row).unwrap_or(u32::MAX);
            let target = [middle, sheet_top(cut.max_mm.z, member)];
            Label { head, place, verdict: cut.verdict, says, left, width, row, target }
        })
        .collect()
}

/// Leaders end on the cut, but never above the top edge.
fn sheet_top(z_mm: f64, member: &Member) -> f64 {
    z_mm.min(0.5 * member.section.depth_mm())
}

const ROW: f64 = 3.0 * ink::LINE + 8.0;

/// Height that the rows need.
pub(crate) fn height(labels: &[Label]) -> f64 {
    labels.iter().map(|l| f64::from(l.row) + 1.0).fold(0.0, f64::max) * ROW + 20.0
}

/// Leaders first, so that the labels' own ground covers those that pass behind them.
pub(crate) fn leaders(svg: &mut Svg, sheet: &Sheet, labels: &[Label], bottom: f64) {
    for label in labels {
        let from = bottom - 20.0 - ROW * f64::from(label.row);
        let end = [label.target[0], sheet.z(label.target[1])];
        svg.line([label.target[0], from], end, Pen::fine(ink::tone(label.verdict)));
    }
}

/// The labels themselves; `bottom` is the page height under the lowest row.
pub(crate) fn draw(svg: &mut Svg, labels: &[Label], bottom: f64) {
    for label in labels {
        let top = bottom - 20.0 - ROW * (f64::from(label.row) + 1.0);
        svg.rectangle([label.left - 3.0, top], [label.width + 6.0, ROW - 2.0], ink::PAPER, None);
        let at = |line: f64| [label.left, top + line * ink::LINE - 3.0];
        svg.strong(at(1.0), Anchor::Start, ink::INK, &label.head);
        svg.text(at(2.0), Anchor::Start, ink::INK, &label.place);
        let [x, y] = at(3.0);
        svg.mark([x + 6.0, y - 4.0], label.verdict);
        svg.strong([x + 18.0, y], Anchor::Start, ink::tone(label.verdict), &label.says);
    }
}
