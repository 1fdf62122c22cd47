//! A strip of the whole member above a stretch of it: depth exaggerated, no cuts.

use super::ink;
use super::sheet::{MARGIN, SECTION_COLUMN, Sheet, WIDTH};
use super::svg::{Anchor, Pen, Svg};
use wimble_model::Member;

const DEPTH: f64 = 14.0;

/// Draws it at `top`; gives the page height below.
pub(crate) fn draw(svg: &mut Svg, member: &Member, sheet: &Sheet, top: f64) -> f64 {
    let room = WIDTH - 2.0 * MARGIN - SECTION_COLUMN;
    let x = |mm: f64| MARGIN + mm.clamp(0.0, member.length_mm) / member.length_mm * room;
    let pen = Some(Pen::outline(ink::INK));
    svg.rectangle([MARGIN, top], [room, DEPTH], ink::TIMBER, pen);
    for bearing in &member.bearings {
        let (from, to) = (x(bearing.from_mm), x(bearing.to_mm));
        let size = [(to - from).max(3.0), 6.0];
        svg.rectangle([from, top + DEPTH], size, "url(#bearing)", Some(Pen::fine(ink::INK)));
    }
    let (from, to) = (x(sheet.from_mm), x(sheet.to_mm));
    let frame = Some(Pen::outline(ink::ALLOWED));
    svg.rectangle([from, top - 4.0], [to - from, DEPTH + 8.0], "none", frame);
    svg.text(
        [WIDTH - MARGIN - SECTION_COLUMN + 8.0, top + 11.0],
        Anchor::Start,
        ink::INK,
        "not to scale",
    );
    top + DEPTH + 2.0 * ink::LINE
}
