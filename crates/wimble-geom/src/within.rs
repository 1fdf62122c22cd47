//! What a mesh and a convex body share.

use crate::{Aabb, Convex, Mesh, Plane};
use glam::DVec3;

impl Mesh {
    /// Points whose convex hull is that of what the mesh and a convex body share; none if they
    /// share nothing.
    ///
    /// The corners of the shared body are corners of triangles clipped to the convex body and, if
    /// the mesh is closed, corners of the convex body inside it: a mesh that swallows a corner or
    /// the whole body is not missed. A mesh that is not closed is a sheet and has no inside.
    #[must_use]
    pub fn points_within(&self, body: &Convex) -> Vec<DVec3> {
        if body.is_empty() {
            return Vec::new();
        }
        let (bounds, planes) = (body.bounds(), body.planes());
        let mut found = Vec::new();
        for triangle in &self.triangles {
            let corners = self.corners(*triangle);
            if Aabb::of(corners).touches(bounds) {
                found.extend(clipped_ring(corners.to_vec(), &planes));
            }
        }
        if self.closed {
            found.extend(body.points.iter().copied().filter(|p| self.encloses(*p)));
        }
        found
    }

    /// Whether a point lies inside a closed mesh (by the angle under which the faces are seen;
    /// on the surface the answer is either).
    #[must_use]
    pub fn encloses(&self, point: DVec3) -> bool {
        if !Aabb::of(self.points.iter().copied()).touches(Aabb { min: point, max: point }) {
            return false;
        }
        let angle: f64 = self
            .triangles
            .iter()
            .map(|t| {
                let [a, b, c] = self.corners(*t).map(|p| p - point);
                let (la, lb, lc) = (a.length(), b.length(), c.length());
                let across = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
                2.0 * a.dot(b.cross(c)).atan2(across)
            })
            .sum();
        angle.abs() > std::f64::consts::TAU
    }
}

/// A convex ring clipped to half spaces.
fn clipped_ring(mut ring: Vec<DVec3>, planes: &[Plane]) -> Vec<DVec3> {
    for plane in planes {
        let Some(&last) = ring.last() else { break };
        let mut kept = Vec::with_capacity(ring.len() + 1);
        let mut previous = (last, plane.distance(last));
        for &point in &ring {
            let here = (point, plane.distance(point));
            if previous.1 * here.1 < 0.0 {
                kept.push(previous.0.lerp(point, previous.1 / (previous.1 - here.1)));
            }
            if here.1 <= 0.0 {
                kept.push(point);
            }
            previous = here;
        }
        ring = kept;
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Cylinder;
    use glam::{DAffine3, DQuat};
    use proptest::prelude::*;

    /// A closed mesh of a convex body: fans.
    fn mesh(body: &Convex) -> Mesh {
        let triangles = body
            .faces
            .iter()
            .flat_map(|f| f.windows(2).skip(1).map(|w| [f[0], w[0], w[1]]))
            .collect();
        Mesh { points: body.points.clone(), triangles, closed: true, chord: 0.0 }
    }

    fn cube(min: f64, max: f64) -> Convex {
        Convex::of_box(Aabb { min: DVec3::splat(min), max: DVec3::splat(max) })
    }

    #[test]
    fn a_mesh_that_swallows_the_whole_body_shares_all_of_it() {
        let found = Aabb::of(mesh(&cube(-5.0, 5.0)).points_within(&cube(0.0, 1.0)));
        assert_eq!(found, cube(0.0, 1.0).bounds());
    }

    #[test]
    fn a_mesh_that_swallows_a_corner_shares_that_corner() {
        let found = Aabb::of(mesh(&cube(0.5, 5.0)).points_within(&cube(0.0, 1.0)));
        assert!((found.min - 0.5).length() < 1e-12 && (found.max - 1.0).length() < 1e-12);
    }

    #[test]
    fn apart_they_share_nothing() {
        assert!(mesh(&cube(3.0, 5.0)).points_within(&cube(0.0, 1.0)).is_empty());
    }

    proptest! {
        /// Slow twin: convex bodies clipped by each other's planes.
        #[test]
        fn agrees_with_convex_clipping(
            half in (0.2..3.0f64, 0.2..3.0f64, 0.2..3.0f64), at in (-2.0..2.0f64, -2.0..2.0f64, -2.0..2.0f64),
            axis in (-1.0..1.0f64, -1.0..1.0f64, 0.1..1.0f64), angle in 0.0..3.0f64) {
            let turn = DQuat::from_axis_angle(DVec3::from(axis).normalize(), angle);
            let frame = DAffine3::from_rotation_translation(turn, at.into());
            let block = Convex::block(&frame, half.into());
            let boxed = cube(-1.0, 1.0);
            let fast = Aabb::of(mesh(&block).points_within(&boxed));
            let slow = boxed.planes().iter().fold(block, |b, p| b.clipped(p)).bounds();
            prop_assert_eq!(fast.is_empty(), slow.is_empty());
            if !slow.is_empty() {
                prop_assert!((fast.min - slow.min).abs().max_element() < 1e-9);
                prop_assert!((fast.max - slow.max).abs().max_element() < 1e-9);
            }
        }

        /// A finely faceted bar differs from the exact one by its sagitta at most, along the
        /// section; the ends of the box take their part.
        #[test]
        fn a_faceted_bar_is_within_its_chord_of_the_exact_one(
            dx in -0.6..0.6f64, dz in -0.6..0.6f64, r in 5.0..60.0f64, z in -40.0..40.0f64) {
            let d = DVec3::new(dx, 1.0, dz).normalize();
            let middle = DVec3::new(0.0, 0.0, z);
            let bar = Cylinder { from: middle - 200.0 * d, to: middle + 200.0 * d, radius: r, inner: None };
            let boxed = Convex::of_box(Aabb { min: DVec3::new(-500.0, -23.5, -300.0), max: DVec3::new(500.0, 23.5, 300.0) });
            let exact = crate::CutBar::new(&bar, &boxed.planes()).unwrap().extents();
            let faceted = Aabb::of(mesh(&Convex::bar(&bar, 96)).points_within(&boxed));
            let sagitta = r * (1.0 - (std::f64::consts::PI / 96.0).cos()) / d.y;
            prop_assert!((exact.min - faceted.min).abs().max_element() <= sagitta + 1e-9);
            prop_assert!((exact.max - faceted.max).abs().max_element() <= sagitta + 1e-9);
        }
    }
}
