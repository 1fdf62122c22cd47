//! A round bar that goes right through a box: the short way of [`CutBar`](crate::CutBar).

use crate::{Aabb, Cylinder};
use glam::DVec3;

/// The box round what a round bar and a box share, where the bar enters by one face, leaves by
/// the opposite one and touches no other, as nearly every service passes a member; `None` where
/// it does not, which says nothing of what they share.
///
/// In each of the two faces the bar takes an ellipse, and what is shared is the hull of the two. With
/// the axis `d` of the bar and `k` across the faces, an ellipse of a bar of radius r reaches along
/// another axis i, j being the third, r·√(1 − dⱼ²)/|dₖ| to both sides of where the bar's axis meets
/// the face (`docs/measuring.md`).
#[must_use]
pub fn bar_through_box(bar: &Cylinder, bounds: Aabb) -> Option<Aabb> {
    let way = bar.to - bar.from;
    let length = way.length();
    let along = way / length;
    // Across y first: in a member's frame that is its breadth.
    between::<1>(bar, along, length, bounds)
        .or_else(|| between::<2>(bar, along, length, bounds))
        .or_else(|| between::<0>(bar, along, length, bounds))
}

/// The same between the two faces across one axis.
fn between<const K: usize>(
    bar: &Cylinder,
    along: DVec3,
    length: f64,
    bounds: Aabb,
) -> Option<Aabb> {
    let (i, j) = ((K + 1) % 3, (K + 2) % 3);
    let per_depth = 1.0 / along[K];
    // Where its axis meets the two faces, as lengths along it.
    let at = |face: f64| (face - bar.from[K]) * per_depth;
    let (first, second) = (at(bounds.min[K]), at(bounds.max[K]));
    let stretched = bar.radius * per_depth.abs();
    let sine = |axis: usize| (1.0 - along[axis] * along[axis]).max(0.0).sqrt();
    // The ends of the bar must be clear of both ellipses.
    let reach = stretched * sine(K);
    let is_clear = |at: f64| reach < at && at < length - reach;
    if !is_clear(first) || !is_clear(second) {
        return None;
    }
    let (enters, leaves) = (bar.from + first * along, bar.from + second * along);
    let mut half = DVec3::ZERO;
    half[i] = stretched * sine(j);
    half[j] = stretched * sine(i);
    let mut found = Aabb { min: enters.min(leaves) - half, max: enters.max(leaves) + half };
    (found.min[K], found.max[K]) = (bounds.min[K], bounds.max[K]);
    let within = found.min.cmpge(bounds.min).all() && found.max.cmple(bounds.max).all();
    within.then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::CutBar;
    use proptest::prelude::*;

    fn bar(from: DVec3, to: DVec3, radius: f64) -> Cylinder {
        Cylinder { from, to, radius, inner: None }
    }

    /// A member of 47 × 220, 4 m long, in its own frame.
    fn joist() -> Aabb {
        Aabb { min: DVec3::new(0.0, -23.5, -110.0), max: DVec3::new(4000.0, 23.5, 110.0) }
    }

    fn close(a: Aabb, b: Aabb) -> bool {
        let off = (a.min - b.min).abs().max((a.max - b.max).abs());
        off.max_element() <= 1e-7
    }

    #[test]
    fn what_touches_another_face_or_ends_inside_takes_the_long_way() {
        let across = |y: [f64; 2], z: f64| {
            let at = |y: f64| DVec3::new(1000.0, y, z);
            bar_through_box(&bar(at(y[0]), at(y[1]), 11.0), joist())
        };
        assert!(across([-200.0, 200.0], 98.9).is_some());
        assert!(across([200.0, -200.0], 98.9).is_some());
        assert_eq!(across([-200.0, 200.0], 99.1), None);
        assert_eq!(across([-200.0, 200.0], 300.0), None);
        assert_eq!(across([-200.0, 20.0], 0.0), None);
        assert_eq!(across([20.0, 20.0], 0.0), None);
        assert_eq!(across([f64::NAN, 20.0], 0.0), None);
        assert_eq!(bar_through_box(&bar(DVec3::ZERO, DVec3::X, 1.0), Aabb::EMPTY), None);
    }

    #[test]
    fn square_or_askew_a_bar_right_through_takes_the_short_way() {
        for way in [DVec3::Y, DVec3::new(0.5, 1.0, 0.1), DVec3::new(-0.2, -1.0, 0.3)] {
            let (middle, way) = (DVec3::new(1000.0, 0.0, 10.0), 200.0 * way.normalize());
            let bar = bar(middle - way, middle + way, 11.0);
            let short = bar_through_box(&bar, joist()).unwrap();
            assert!(close(short, CutBar::new(&bar, &joist().planes()).unwrap().extents()));
        }
    }

    proptest! {
        /// The short way says what the long way says, whichever faces the bar passes.
        #[test]
        fn right_through_it_is_what_the_long_way_finds(
            r in 3.0..70.0f64, x in 100.0..3900.0f64, z in -100.0..100.0f64, reach in 30.0..900.0f64,
            way in (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), across in 0.0..4.0f64) {
            let way = (DVec3::from(way) + across * DVec3::Y).normalize();
            let middle = DVec3::new(x, 0.0, z);
            let bar = bar(middle - reach * way, middle + reach * way, r);
            if let Some(short) = bar_through_box(&bar, joist()) {
                let long = CutBar::new(&bar, &joist().planes()).unwrap().extents();
                prop_assert!(close(short, long), "{short:?} {long:?}");
            }
        }
    }
}
