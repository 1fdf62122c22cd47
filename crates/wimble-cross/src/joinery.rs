//! Openings that are joints, not cuts for services.

use crate::kind::Reach;
use crate::merge::Merged;
use crate::timber::{CROSSING_MM, Timber};
use wimble_geom::{Aabb, Convex};

/// What an opening without a service is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    /// The shape of an end: material missing over the full depth.
    EndShape,
    /// A joint: part-depth, at an end or a bearing, or with another member in it.
    Joint,
    /// A cut like any other.
    Cut,
}

/// Where a merged cut is, as far as joinery asks. `neighbours`: other members as convex bodies in
/// this member's frame; `fastened`: a hanger, plate or bolt lies in one of its openings or touches
/// it.
pub(crate) fn place(
    timber: &Timber<'_>,
    merged: &Merged<'_>,
    neighbours: &[Convex],
    fastened: bool,
) -> Place {
    if merged.shared() > 0 || !merged.inside().is_empty() || !merged.has_openings() {
        return Place::Cut;
    }
    let full = Reach::of(&merged.envelope()).both_edges();
    if merged.end && full {
        // Several that only together take an end off and reach deep into the span are no shape of
        // an end: they must be seen.
        let one = merged.removals.len() == 1;
        let short = merged.bounds.size().x <= merged.section.depth;
        return if one || short { Place::EndShape } else { Place::Cut };
    }
    if full {
        return Place::Cut;
    }
    let Aabb { min, max } = merged.bounds;
    let at_bearing = timber
        .member
        .bearings
        .iter()
        .any(|b| b.from_mm <= max.x + CROSSING_MM && min.x - CROSSING_MM <= b.to_mm);
    let filled = || {
        neighbours.iter().any(|body| {
            let planes = merged.bounds.planes();
            let within = planes.iter().fold(body.clone(), |b, p| b.clipped(p)).bounds();
            !within.is_empty() && within.size().min_element() > CROSSING_MM
        })
    };
    if merged.end || at_bearing || fastened || filled() { Place::Joint } else { Place::Cut }
}
