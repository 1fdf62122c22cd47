//! The member's frame: which side is its depth, and which way is up.

use glam::{DVec2, DVec3};
use wimble_geom::least_area_rectangle;

/// Fixes the sense of x and of level depths: it breaks at no azimuth that anyone builds at.
const K: DVec3 = DVec3::new(0.935, 0.353, 0.05);
/// Sine of 60.5 degrees: steeper members are studs and posts.
const STEEP: f64 = 0.870_355_695_938_749_7;
/// Two side directions whose vertical components differ by less than this are equally upright.
const UPRIGHT: f64 = 0.01;
/// Sides within this of each other are equal, metres.
const EQUAL_SIDES: f64 = 1e-3;

/// The direction across the wall that a steep member stands in, if it is known.
pub(crate) type Across = Option<DVec3>;

/// Turned into the sense in which its product with `k` is not negative.
pub(super) fn toward_k(direction: DVec3) -> DVec3 {
    if direction.dot(K) < 0.0 { -direction } else { direction }
}

/// Whether a member along `x` is steep: a stud or post.
pub(super) fn is_steep(x: DVec3) -> bool {
    x.z.abs() > STEEP
}

/// The side directions of a cross-section, the longer first, with their lengths.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sides {
    pub(super) longer: (DVec3, f64),
    pub(super) shorter: (DVec3, f64),
}

/// The sides of the least-area rectangle round points seen along `x`.
pub(super) fn sides(points: &[DVec3], x: DVec3) -> Option<Sides> {
    let (u, v) = x.any_orthonormal_pair();
    let flat: Vec<DVec2> = points.iter().map(|p| DVec2::new(p.dot(u), p.dot(v))).collect();
    let rectangle = least_area_rectangle(&flat)?;
    let longer = (rectangle.along.x * u + rectangle.along.y * v).try_normalize()?;
    Some(Sides {
        longer: (longer, rectangle.long),
        shorter: (longer.cross(x).try_normalize()?, rectangle.short),
    })
}

/// z of a round member: the vertical made square to x; for a steep one, k made square to x.
pub(super) fn round_depth(x: DVec3, across: Across) -> Option<DVec3> {
    let guide = if is_steep(x) { across.unwrap_or(K) } else { DVec3::Z };
    let z = (guide - guide.dot(x) * x).try_normalize()?;
    Some(if is_steep(x) { toward_k(z) } else { z })
}

/// z of a member with the given sides.
pub(super) fn depth(x: DVec3, sides: &Sides, across: Across) -> DVec3 {
    let (longer, shorter) = (sides.longer.0, sides.shorter.0);
    if is_steep(x) {
        let z = if let Some(across) = across {
            if longer.dot(across).abs() >= shorter.dot(across).abs() { longer } else { shorter }
        } else if sides.longer.1 - sides.shorter.1 > EQUAL_SIDES
            || toward_k(longer).dot(K) >= toward_k(shorter).dot(K)
        {
            longer
        } else {
            shorter
        };
        return toward_k(z);
    }
    let lead = longer.z.abs() - shorter.z.abs();
    let z = if lead > -UPRIGHT { longer } else { shorter };
    if z.z < 0.0 { -z } else { z }
}

/// Across a wall: the shorter side of its plan. `None` if its sides are about equal.
pub(crate) fn sides_of_plan(figure: &super::Figure) -> Option<DVec3> {
    let plan = sides(&figure.points(), DVec3::Z)?;
    (plan.longer.1 > 1.5 * plan.shorter.1).then_some(plan.shorter.0)
}
