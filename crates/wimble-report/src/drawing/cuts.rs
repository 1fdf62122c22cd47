//! Cuts in true shape.

use super::elevation::{DrawnCut, Proposal};
use super::ink;
use super::sheet::Sheet;
use super::svg::{Anchor, Pen, Svg};
use wimble_model::{Cut, CutShape, Edge, Member, Verdict};

pub(crate) fn draw(svg: &mut Svg, sheet: &Sheet, member: &Member, cuts: &[DrawnCut<'_>]) {
    let axis_from = sheet.x(0.0);
    let axis_to = sheet.x(member.length_mm);
    let centre_line = Pen::fine(ink::INK).dashed("14 3 2 3");
    svg.line([axis_from, sheet.z(0.0)], [axis_to, sheet.z(0.0)], centre_line);
    for drawn in cuts {
        let tone = ink::tone(drawn.cut.verdict);
        let dash = (drawn.cut.verdict == Verdict::Unknown).then_some("3 2");
        let pen = Pen { tone, width: ink::OUTLINE + 0.4, dash };
        outline(svg, sheet, drawn.cut, Proposal { along_mm: 0.0, depth_mm: 0.0 }, ink::PAPER, pen);
        if let Some(place) = drawn.proposal {
            let pen = Pen::outline(ink::ALLOWED).dashed("4 2");
            outline(svg, sheet, drawn.cut, place, "none", pen);
            moved(svg, sheet, drawn.cut, place);
        }
    }
}

/// How far a cut is to be moved, beside its new outline.
fn moved(svg: &mut Svg, sheet: &Sheet, cut: &Cut, by: Proposal) {
    let (x0, x1) = (cut.min_mm.x + by.along_mm, cut.max_mm.x + by.along_mm);
    if x0 < sheet.from_mm || x1 > sheet.to_mm {
        return;
    }
    let level = sheet.z(cut.offset_mm() + by.depth_mm);
    let far = by.along_mm.abs().max(by.depth_mm.abs());
    let text = format!("moved {}", crate::say::mm(far));
    // On the side away from where the cut is now.
    let (at, anchor) = if by.along_mm < 0.0 {
        (sheet.x(x0) - 6.0, Anchor::End)
    } else {
        (sheet.x(x1) + 6.0, Anchor::Start)
    };
    svg.text([at, level + 11.0], anchor, ink::ALLOWED, &text);
}

/// The outline of a cut, moved.
fn outline(svg: &mut Svg, sheet: &Sheet, cut: &Cut, by: Proposal, fill: &str, pen: Pen) {
    let (x0, x1) = (cut.min_mm.x + by.along_mm, cut.max_mm.x + by.along_mm);
    let (z0, z1) = (cut.min_mm.z + by.depth_mm, cut.max_mm.z + by.depth_mm);
    if x1 < sheet.from_mm || x0 > sheet.to_mm {
        return;
    }
    if let Some(circle) = &cut.besides.circle {
        let centre = [sheet.x(circle.x_mm + by.along_mm), sheet.z(circle.z_mm + by.depth_mm)];
        svg.circle(centre, 0.5 * circle.diameter_mm * sheet.scale, fill, Some(pen));
    } else if cut.shape == CutShape::Round && cut.edge == Edge::None {
        let centre = [sheet.x(f64::midpoint(x0, x1)), sheet.z(f64::midpoint(z0, z1))];
        let r = [0.5 * (x1 - x0) * sheet.scale, 0.5 * (z1 - z0) * sheet.scale];
        svg.ellipse(centre, r, fill, Some(pen));
    } else {
        let size = [sheet.x(x1) - sheet.x(x0), (z1 - z0) * sheet.scale];
        svg.rectangle([sheet.x(x0), sheet.z(z1)], size, fill, Some(pen));
    }
}
