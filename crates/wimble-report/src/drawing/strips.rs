//! The ruler under the member: where a cut may be.

use super::elevation::Strip;
use super::ink;
use super::sheet::Sheet;
use super::svg::{Anchor, Pen, Svg, width_of};
use crate::say::mm;
use wimble_model::Member;

const STRIP: f64 = 12.0;

/// Draws a strip for each kind of cut, figures at the ends of every window; gives the page height
/// below. An empty strip says in words who decides.
pub(crate) fn draw(
    svg: &mut Svg,
    sheet: &Sheet,
    member: &Member,
    strips: &[Strip],
    top: f64,
) -> f64 {
    let mut y = top;
    for strip in strips {
        y += ink::LINE;
        svg.text([sheet.x(sheet.from_mm), y], Anchor::Start, ink::ALLOWED, &strip.title);
        y += 5.0;
        let whole = [sheet.right() - sheet.x(sheet.from_mm), STRIP];
        let edge = Some(Pen::fine(ink::ALLOWED));
        svg.rectangle([sheet.x(sheet.from_mm), y], whole, "none", edge);
        let mut last = f64::NEG_INFINITY;
        for &[from_mm, to_mm] in &strip.windows {
            if to_mm < sheet.from_mm || from_mm > sheet.to_mm {
                continue;
            }
            let (from, to) = (sheet.x(from_mm), sheet.x(to_mm));
            let pen = Some(Pen::outline(ink::ALLOWED));
            svg.rectangle([from, y], [to - from, STRIP], "url(#allowed)", pen);
            for (x_mm, x) in [(from_mm, from), (to_mm, to)] {
                let text = mm(from_face(member, x_mm));
                if x - last > width_of(&text) + 6.0 {
                    svg.text([x, y + STRIP + 13.0], Anchor::Middle, ink::ALLOWED, &text);
                    last = x;
                }
            }
        }
        if strip.windows.is_empty() {
            let at = [f64::midpoint(sheet.x(sheet.from_mm), sheet.right()), y + STRIP + 13.0];
            svg.text(at, Anchor::Middle, ink::ALLOWED, &strip.nowhere);
        }
        y += STRIP + ink::LINE;
    }
    y
}

/// How far a place is from the nearer face of its span, else from the nearer end.
fn from_face(member: &Member, x_mm: f64) -> f64 {
    let nearer = |from: f64, to: f64| (x_mm - from).min(to - x_mm);
    let inside = member.spans.iter().find(|s| s.from_mm <= x_mm && x_mm <= s.to_mm);
    inside.map_or_else(|| nearer(0.0, member.length_mm), |s| nearer(s.from_mm, s.to_mm))
}
