//! The section at the worst cut, with the wood that is left.

use super::ink;
use super::sheet::{MARGIN, SECTION_COLUMN, Sheet, WIDTH};
use super::svg::{Anchor, Pen, Svg};
use crate::say::mm;
use wimble_model::{Cut, Member, Section};

/// Greatest height and width of the section on the page.
const ROOM: [f64; 2] = [60.0, 110.0];

pub(crate) fn draw(svg: &mut Svg, sheet: &Sheet, member: &Member, cut: Option<&Cut>) {
    let (b, h) = (member.section.breadth_mm(), member.section.depth_mm());
    if !(b > 0.0 && h > 0.0) {
        return;
    }
    let scale = (ROOM[0] / b).min(ROOM[1] / h);
    let left = WIDTH - MARGIN - SECTION_COLUMN + 46.0;
    let z = |mm: f64| sheet.axis - mm * scale;
    let y = |mm: f64| left + (mm + 0.5 * b) * scale;
    wood(svg, member.section, &z, &y);
    let sizes = format!("{} × {}", mm(b), mm(h));
    let under = [y(0.0), z(-0.5 * h) + ink::LINE];
    svg.text(under, Anchor::Middle, ink::INK, &sizes);
    let Some(cut) = cut else { return };
    let pen = Pen::outline(ink::tone(cut.verdict)).dashed("3 2");
    let corner = [y(cut.min_mm.y), z(cut.max_mm.z)];
    let size = [(cut.max_mm.y - cut.min_mm.y) * scale, cut.height_mm() * scale];
    svg.rectangle(corner, size, ink::PAPER, Some(pen));
    let right = y(0.5 * b) + 10.0;
    let parts = [
        (0.5 * h, cut.max_mm.z, "above"),
        (cut.max_mm.z, cut.min_mm.z, "cut"),
        (cut.min_mm.z, -0.5 * h, "below"),
    ];
    for (upper, lower, what) in parts {
        if upper - lower < 0.5 {
            continue;
        }
        let pen = Pen::fine(ink::INK);
        svg.line([right, z(upper)], [right, z(lower)], pen);
        for level in [upper, lower] {
            svg.line([right - 4.0, z(level)], [right + 4.0, z(level)], pen);
        }
        let text = format!("{} {what}", mm(upper - lower));
        let at = [right + 7.0, z(f64::midpoint(upper, lower)) + 4.0];
        svg.text(at, Anchor::Start, ink::INK, &text);
    }
}

/// The wood itself, made up as it is.
fn wood(svg: &mut Svg, section: Section, z: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) {
    let (b, h) = (section.breadth_mm(), section.depth_mm());
    let mut part = |from: [f64; 2], to: [f64; 2], dash: Option<&'static str>| {
        let pen = Pen { dash, ..Pen::outline(ink::INK) };
        let size = [y(to[0]) - y(from[0]), z(from[1]) - z(to[1])];
        svg.rectangle([y(from[0]), z(to[1])], size, ink::TIMBER, Some(pen));
    };
    match section {
        Section::Round { .. } => {
            let radius = z(0.0) - z(0.5 * h);
            svg.circle([y(0.0), z(0.0)], radius, ink::TIMBER, Some(Pen::outline(ink::INK)));
        }
        Section::IJoist { flange_mm, web_mm, .. } => {
            part([-0.5 * web_mm, flange_mm - 0.5 * h], [0.5 * web_mm, 0.5 * h - flange_mm], None);
            part([-0.5 * b, 0.5 * h - flange_mm], [0.5 * b, 0.5 * h], None);
            part([-0.5 * b, -0.5 * h], [0.5 * b, flange_mm - 0.5 * h], None);
        }
        Section::OpenWeb { chord_mm, .. } => {
            part([-0.5 * b, 0.5 * h - chord_mm], [0.5 * b, 0.5 * h], None);
            part([-0.5 * b, -0.5 * h], [0.5 * b, chord_mm - 0.5 * h], None);
        }
        Section::Rectangle { .. } => part([-0.5 * b, -0.5 * h], [0.5 * b, 0.5 * h], None),
        Section::Other { .. } | Section::Unknown { .. } => {
            part([-0.5 * b, -0.5 * h], [0.5 * b, 0.5 * h], Some("3 2"));
        }
    }
}
