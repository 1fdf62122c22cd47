//! The deck, and what stands on it.

use super::ink;
use super::sheet::Sheet;
use super::svg::{Anchor, Pen, Svg};
use wimble_model::{Member, Place};

const DECK: f64 = 5.0;
const BLOCK: f64 = 20.0;

/// Height needed above the member.
pub(crate) fn height(member: &Member) -> f64 {
    let deck = if has_deck(member) { DECK + 2.0 } else { 0.0 };
    deck + if member.loads.is_empty() { 0.0 } else { BLOCK + ink::LINE }
}

/// Only a floor or a flat roof has boards on top.
fn has_deck(member: &Member) -> bool {
    matches!(member.place, Place::Floor | Place::FlatRoof)
}

pub(crate) fn draw(svg: &mut Svg, sheet: &Sheet, member: &Member) {
    let top = sheet.z(0.5 * member.section.depth_mm());
    let mut ground = top;
    if has_deck(member) {
        ground = top - DECK;
        let (left, right) = (sheet.x(sheet.from_mm), sheet.right());
        let pen = Some(Pen::fine(ink::INK));
        svg.rectangle([left, ground], [right - left, DECK], ink::PAPER, pen);
        svg.text([right + 6.0, ground + 6.0], Anchor::Start, ink::INK, "deck");
    }
    for load in &member.loads {
        if load.to_mm < sheet.from_mm || load.from_mm > sheet.to_mm {
            continue;
        }
        let (from, to) = (sheet.x(load.from_mm), sheet.x(load.to_mm));
        let pen = Some(Pen::outline(ink::INK));
        svg.rectangle([from, ground - BLOCK], [(to - from).max(3.0), BLOCK], "none", pen);
        let at = [f64::midpoint(from, to), ground - BLOCK - 4.0];
        svg.text(at, Anchor::Middle, ink::INK, &load.name);
    }
}
