//! What a cross-section is.

use super::slice::Slice;
use glam::DVec2;
use wimble_geom::{Disc, convex_hull, least_circle};
use wimble_model::Section;

/// A section that fills this much of its box is a rectangle (eased arrises take a little).
const FULL: f64 = 0.97;
/// Corners of a round section lie this near to its circle, mm.
const ROUND: f64 = 0.5;
/// A web is at most this much of the breadth of its flanges.
const THIN_WEB: f64 = 0.6;

/// What a slice of the given breadth and depth (mm) is.
pub(super) fn section(slice: &Slice, breadth_mm: f64, depth_mm: f64) -> Section {
    if let Some(diameter_mm) = round(slice, breadth_mm, depth_mm) {
        return Section::Round { diameter_mm };
    }
    let area = slice.area();
    if area <= 0.0 {
        return Section::Unknown { breadth_mm, depth_mm };
    }
    if area >= FULL * breadth_mm * depth_mm && area <= 1.01 * breadth_mm * depth_mm {
        return Section::Rectangle { breadth_mm, depth_mm };
    }
    i_section(slice, breadth_mm, depth_mm).unwrap_or(Section::Other { breadth_mm, depth_mm })
}

/// Diameter of a round section.
fn round(slice: &Slice, breadth_mm: f64, depth_mm: f64) -> Option<f64> {
    if (breadth_mm - depth_mm).abs() > 0.02 * depth_mm {
        return None;
    }
    let hull = convex_hull(slice.points());
    let discs: Vec<Disc> = hull.iter().copied().map(Disc::point).collect();
    let circle = least_circle(&discs)?;
    let near = |p: &DVec2| (p.distance(circle.centre) - circle.radius).abs() < ROUND;
    let full = slice.area() > 0.9 * std::f64::consts::PI * circle.radius * circle.radius;
    (hull.len() >= 8 && hull.iter().all(near) && full).then_some(2.0 * circle.radius)
}

/// Two flanges and one thin web between them.
fn i_section(slice: &Slice, breadth_mm: f64, depth_mm: f64) -> Option<Section> {
    let levels = slice.levels();
    let (bottom, top) = (*levels.first()?, *levels.last()?);
    // From the bottom up: height of each step and the one stretch of material in it.
    let steps: Vec<(f64, f64, [f64; 2])> = levels
        .windows(2)
        .map(|pair| {
            let widths = slice.widths(f64::midpoint(pair[0], pair[1]));
            let [stretch] = widths.as_slice() else { return None };
            Some((pair[0], pair[1], *stretch))
        })
        .collect::<Option<_>>()?;
    let is_thin = |s: &[f64; 2]| s[1] - s[0] < THIN_WEB * breadth_mm;
    let first = steps.iter().position(|(_, _, s)| is_thin(s))?;
    let last = steps.iter().rposition(|(_, _, s)| is_thin(s))?;
    let web = steps.get(first..=last)?;
    if first == 0 || last + 1 == steps.len() || !web.iter().all(|(_, _, s)| is_thin(s)) {
        return None;
    }
    let web_mm = web.iter().map(|(_, _, s)| s[1] - s[0]).fold(f64::INFINITY, f64::min);
    let flange_mm = (web.first()?.0 - bottom).max(top - web.last()?.1);
    Some(Section::IJoist { breadth_mm, depth_mm, flange_mm, web_mm })
}
