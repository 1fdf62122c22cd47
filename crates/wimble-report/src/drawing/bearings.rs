//! What the member rests on, and the ends of it that hang in the air.

use super::ink;
use super::sheet::Sheet;
use super::svg::{Anchor, Pen, Svg};
use wimble_model::{End, Member};

/// Height of a hatched block.
const BLOCK: f64 = 22.0;

/// Draws the bearings with their names; gives the page height below them.
pub(crate) fn draw(svg: &mut Svg, sheet: &Sheet, member: &Member) -> f64 {
    let underside = sheet.z(-0.5 * member.section.depth_mm());
    for bearing in &member.bearings {
        if bearing.to_mm < sheet.from_mm || bearing.from_mm > sheet.to_mm {
            continue;
        }
        let (from, to) = (sheet.x(bearing.from_mm), sheet.x(bearing.to_mm));
        let middle = f64::midpoint(from, to);
        if to - from < 1.0 {
            // An end face or a hanger: a triangle under the face.
            let points = [
                [middle, underside],
                [middle - 0.5 * BLOCK, underside + BLOCK],
                [middle + 0.5 * BLOCK, underside + BLOCK],
            ];
            svg.polygon(&points, "url(#bearing)", Some(Pen::outline(ink::INK)));
        } else {
            let pen = Pen::outline(ink::INK);
            let pen = if bearing.doubtful { pen.dashed("3 2") } else { pen };
            svg.rectangle([from, underside], [to - from, BLOCK], "url(#bearing)", Some(pen));
        }
        let (anchor, x) = if middle < sheet.x(sheet.from_mm) + 60.0 {
            (Anchor::Start, from.max(sheet.x(sheet.from_mm)))
        } else if middle > sheet.right() - 60.0 {
            (Anchor::End, to.min(sheet.right()))
        } else {
            (Anchor::Middle, middle)
        };
        let name = if bearing.doubtful {
            format!("{} (may not carry)", bearing.name)
        } else {
            bearing.name.to_string()
        };
        svg.text([x, underside + BLOCK + ink::LINE], anchor, ink::INK, &name);
    }
    for end in &member.open_ends {
        let (x_mm, anchor) = match end {
            End::Start => (0.0, Anchor::Start),
            End::Finish => (member.length_mm, Anchor::End),
        };
        if x_mm >= sheet.from_mm && x_mm <= sheet.to_mm {
            let at = [sheet.x(x_mm), underside + BLOCK + ink::LINE];
            svg.text(at, anchor, ink::tone(wimble_model::Verdict::Unknown), "bearing not found");
        }
    }
    underside + BLOCK + 1.6 * ink::LINE
}
