//! A straight round bar cut by half spaces: exact extents.

use crate::{Aabb, Cylinder, Plane};
use glam::{DMat3, DVec2, DVec3};
use smallvec::SmallVec;

/// What a round bar (the outer cylinder, solid) and half spaces share.
///
/// The shared body is convex, so its furthest point in a direction is a corner of the half
/// spaces, a point where an edge of them meets the round surface, or the furthest point of the
/// ellipse in which one of them cuts it. All of these have closed forms; the first two do not
/// depend on the direction and are found once. A bar that goes right through a box, as nearly every
/// service does, has neither: [`bar_through_box`](crate::bar_through_box).
#[derive(Debug, Clone)]
pub struct CutBar {
    from: DVec3,
    along: DVec3,
    side: [DVec3; 2],
    radius: f64,
    /// Half spaces from `from`, the two ends of the bar included.
    planes: SmallVec<[Plane; 8]>,
    grain: f64,
    corners: Vec<DVec3>,
}

impl CutBar {
    /// The part of a bar behind all planes. `None` if the bar has no length.
    #[must_use]
    pub fn new(bar: &Cylinder, planes: &[Plane]) -> Option<Self> {
        let length = bar.from.distance(bar.to);
        let along = (bar.to - bar.from).try_normalize()?;
        let (u, v) = along.any_orthonormal_pair();
        // A half space that holds the whole bar takes nothing from it: nearly always all but the
        // two faces that a service passes, and what is below grows with the cube of their number.
        let takes = |p: &Plane| {
            let slant = p.normal.dot(along);
            let out = (p.normal.length_squared() - slant * slant).max(0.0).sqrt();
            (length * slant).max(0.0) + bar.radius * out > p.offset
        };
        let planes: SmallVec<[Plane; 8]> = planes
            .iter()
            .map(|p| Plane { normal: p.normal, offset: p.offset - p.normal.dot(bar.from) })
            .filter(takes)
            .chain([Plane { normal: along, offset: length }, Plane { normal: -along, offset: 0.0 }])
            .collect();
        let mut cut = Self {
            from: bar.from,
            along,
            side: [u, v],
            radius: bar.radius,
            planes,
            grain: 1e-10 * (length + bar.radius),
            corners: Vec::new(),
        };
        cut.corners = cut.fixed_points();
        Some(cut)
    }

    /// The box round what is shared; empty if nothing is.
    #[must_use]
    pub fn extents(&self) -> Aabb {
        let mut found = self.corners.iter().fold(Aabb::EMPTY, |found, p| found.with(*p));
        for axis in DVec3::AXES {
            self.ellipse_points(axis, |p| found = found.with(p));
        }
        Aabb { min: found.min + self.from, max: found.max + self.from }
    }

    /// Corners of the half spaces inside the bar, and where their edges meet its surface.
    #[must_use]
    pub fn corners(&self) -> Vec<DVec3> {
        self.corners.iter().map(|p| *p + self.from).collect()
    }

    /// How far what is shared reaches in a direction (greatest `direction · p`); `None` if nothing
    /// is shared.
    #[must_use]
    pub fn reach(&self, direction: DVec3) -> Option<f64> {
        let mut furthest: Option<f64> = None;
        let mut see = |p: DVec3| {
            let reach = direction.dot(p + self.from);
            furthest = Some(furthest.map_or(reach, |before| before.max(reach)));
        };
        self.corners.iter().copied().for_each(&mut see);
        self.ellipse_points(direction, see);
        furthest
    }

    /// Whether a point is behind all planes but the named ones.
    fn behind(&self, point: DVec3, but: &[usize]) -> bool {
        self.planes
            .iter()
            .enumerate()
            .all(|(i, p)| but.contains(&i) || p.distance(point) <= self.grain)
    }

    fn off_axis(&self, p: DVec3) -> DVec2 {
        DVec2::new(p.dot(self.side[0]), p.dot(self.side[1]))
    }

    /// Corners of the half spaces in the bar, and where their edges meet its surface.
    fn fixed_points(&self) -> Vec<DVec3> {
        let mut found = Vec::new();
        for (i, a) in self.planes.iter().enumerate() {
            for (j, b) in self.planes.iter().enumerate().take(i) {
                let edge = a.normal.cross(b.normal);
                let square = edge.length_squared();
                if square < 1e-18 {
                    continue; // parallel
                }
                let foot =
                    (a.offset * b.normal.cross(edge) + b.offset * edge.cross(a.normal)) / square;
                self.edge_points(foot, edge / square.sqrt(), &[i, j], &mut found);
                for (k, c) in self.planes.iter().enumerate().take(j) {
                    let rows = DMat3::from_cols(a.normal, b.normal, c.normal).transpose();
                    if rows.determinant().abs() < 1e-9 {
                        continue;
                    }
                    let p = rows.inverse() * DVec3::new(a.offset, b.offset, c.offset);
                    if self.off_axis(p).length() <= self.radius + self.grain
                        && self.behind(p, &[i, j, k])
                    {
                        found.push(p);
                    }
                }
            }
        }
        found
    }

    /// Where the line `foot + t·edge` meets the round surface.
    fn edge_points(&self, foot: DVec3, edge: DVec3, planes: &[usize], found: &mut Vec<DVec3>) {
        let (f, e) = (self.off_axis(foot), self.off_axis(edge));
        let slope = e.length_squared();
        if slope < 1e-18 {
            return; // along the bar: its ends are corners
        }
        let middle = -f.dot(e) / slope;
        let past = (f + middle * e).length();
        if past > self.radius + self.grain {
            return;
        }
        let half = ((self.radius * self.radius - past * past).max(0.0) / slope).sqrt();
        for t in [middle - half, middle + half] {
            let p = foot + t * edge;
            if self.behind(p, planes) {
                found.push(p);
            }
        }
    }

    /// The furthest points, both ways, of the ellipses in which the planes cut the bar.
    fn ellipse_points(&self, direction: DVec3, mut found: impl FnMut(DVec3)) {
        for (i, plane) in self.planes.iter().enumerate() {
            let slant = plane.normal.dot(self.along);
            if slant.abs() < 1e-12 {
                continue; // along the bar: two lines, whose ends are corners
            }
            // On the ellipse p = r·a + along·(offset − r·normal·a)/slant with a unit vector a
            // across the bar: direction·p = const + r·a·(direction − normal·(direction·along)/slant).
            let pull =
                self.off_axis(direction - plane.normal * (direction.dot(self.along) / slant));
            let turn = pull.try_normalize().unwrap_or(DVec2::X);
            for a in [turn, -turn] {
                let out = self.radius * (a.x * self.side[0] + a.y * self.side[1]);
                let p = out + self.along * ((plane.offset - plane.normal.dot(out)) / slant);
                if self.behind(p, &[i]) {
                    found(p);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Convex;
    use proptest::prelude::*;

    fn bar(from: [f64; 3], to: [f64; 3], radius: f64) -> Cylinder {
        Cylinder { from: from.into(), to: to.into(), radius, inner: None }
    }

    /// A member of 47 × 220, 4 m long, in its own frame.
    fn joist() -> Aabb {
        Aabb { min: DVec3::new(0.0, -23.5, -110.0), max: DVec3::new(4000.0, 23.5, 110.0) }
    }

    fn close(a: Aabb, b: Aabb, within: f64) -> bool {
        (a.min - b.min).abs().max_element() <= within
            && (a.max - b.max).abs().max_element() <= within
    }

    #[test]
    fn the_bath_waste_of_the_demo_building_is_48_0_by_48_9() {
        // 43 mm with 5 mm clearance, falling 18 mm in a metre, square to the joist in plan.
        let d = DVec3::new(0.0, 1.0, 0.018).normalize();
        let middle = DVec3::new(1100.0, 0.0, -3.6);
        let bar = Cylinder {
            from: middle - 600.0 * d,
            to: middle + 600.0 * d,
            radius: 24.0,
            inner: None,
        };
        let size = CutBar::new(&bar, &joist().planes()).unwrap().extents().size();
        assert!((size.x - 48.0).abs() < 0.01, "{size}");
        assert!((size.z - 48.9).abs() < 0.05, "{size}");
    }

    #[test]
    fn a_tangent_face_still_leaves_the_whole_bar() {
        let bar = bar([100.0, -50.0, 99.0], [100.0, 50.0, 99.0], 11.0);
        let found = CutBar::new(&bar, &joist().planes()).unwrap().extents();
        assert!(close(
            found,
            Aabb { min: DVec3::new(89.0, -23.5, 88.0), max: DVec3::new(111.0, 23.5, 110.0) },
            1e-6
        ));
    }

    #[test]
    fn beside_the_box_nothing_is_shared() {
        let bar = bar([100.0, -50.0, 122.0], [100.0, 50.0, 122.0], 11.0);
        let cut = CutBar::new(&bar, &joist().planes()).unwrap();
        assert!(cut.extents().is_empty());
        assert_eq!(cut.reach(DVec3::X), None);
    }

    #[test]
    fn a_bar_within_the_box_keeps_its_own_extents() {
        let bar = bar([100.0, -5.0, 0.0], [160.0, 5.0, 30.0], 8.0);
        let found = CutBar::new(&bar, &joist().planes()).unwrap().extents();
        let d = (bar.to - bar.from).normalize();
        let out = DVec3::from_array(d.to_array().map(|c| 8.0 * (1.0 - c * c).sqrt()));
        assert!(close(found, Aabb { min: bar.from - out, max: bar.to + out }, 1e-9));
    }

    proptest! {
        /// The closed form of `docs/measuring.md`, for a bar that crosses the full breadth.
        #[test]
        fn across_the_full_breadth_it_is_the_closed_form(
            r in 3.0..70.0f64, dx in -1.0..1.0f64, dz in -0.9..0.9f64, x in 800.0..3000.0f64, z in -90.0..90.0f64) {
            let d = DVec3::new(dx, 1.0, dz).normalize();
            let middle = DVec3::new(x, 0.0, z);
            let bar = Cylinder { from: middle - 900.0 * d, to: middle + 900.0 * d, radius: r, inner: None };
            let open: Vec<_> = joist().planes().into_iter().filter(|p| p.normal.z == 0.0).collect();
            let found = CutBar::new(&bar, &open).unwrap().extents();
            let rx = r * (1.0 - d.z * d.z).sqrt() / d.y.abs();
            let rz = r * (1.0 - d.x * d.x).sqrt() / d.y.abs();
            let (sx, sz) = (23.5 * (d.x / d.y).abs(), 23.5 * (d.z / d.y).abs());
            let expected = Aabb {
                min: DVec3::new(x - sx - rx, -23.5, z - sz - rz),
                max: DVec3::new(x + sx + rx, 23.5, z + sz + rz),
            };
            prop_assert!(close(found, expected, 1e-7), "{found:?} {expected:?}");
        }

        /// Slow twin: the bar as a many-sided prism, inscribed, clipped plane by plane.
        #[test]
        fn it_agrees_with_a_many_sided_prism(
            from in (-200.0..400.0f64, -120.0..120.0f64, -250.0..250.0f64),
            to in (-200.0..400.0f64, -120.0..120.0f64, -250.0..250.0f64),
            r in 2.0..80.0f64,
            end in (0.3..1.0f64, -0.5..0.5f64, -1.0..1.0f64)) {
            let bar = Cylinder { from: from.into(), to: to.into(), radius: r, inner: None };
            prop_assume!(bar.from.distance(bar.to) > 5.0);
            let mut planes = joist().planes().to_vec();
            planes.push(Plane::through(DVec3::new(250.0, 0.0, 0.0), end.into()).unwrap());
            let found = CutBar::new(&bar, &planes).unwrap().extents();
            let n = 720;
            let sides = Convex::bar(&bar, n);
            let slow = planes.iter().fold(sides, |c, p| c.clipped(p)).bounds();
            let sagitta = r * (1.0 - (std::f64::consts::PI / f64::from(n as u32)).cos());
            if slow.is_empty() {
                prop_assert!(found.is_empty() || found.size().min_element() < 1.0);
            } else {
                // Inscribed: never larger; smaller by little unless the cut is nearly along a face.
                prop_assert!((found.min - slow.min).max_element() <= 1e-6);
                prop_assert!((slow.max - found.max).max_element() <= 1e-6);
                if slow.size().min_element() > 1.0 {
                    prop_assert!(close(found, slow, 400.0 * sagitta.max(1e-4)), "{found:?} {slow:?}");
                }
            }
        }

        #[test]
        fn far_from_the_origin_it_is_the_same(
            dx in -1.0..1.0f64, dz in -0.9..0.9f64, r in 3.0..70.0f64) {
            let d = DVec3::new(dx, 1.0, dz).normalize();
            let shift = DVec3::new(2.0e6, -1.0e6, 5.0e3);
            let near = Cylinder { from: -300.0 * d, to: 300.0 * d, radius: r, inner: None };
            let far = Cylinder { from: near.from + shift, to: near.to + shift, ..near };
            let boxed = Aabb { min: DVec3::new(-500.0, -23.5, -110.0), max: DVec3::new(500.0, 23.5, 110.0) };
            let boxed_far = Aabb { min: boxed.min + shift, max: boxed.max + shift };
            let a = CutBar::new(&near, &boxed.planes()).unwrap().extents();
            let b = CutBar::new(&far, &boxed_far.planes()).unwrap().extents();
            let moved = Aabb { min: a.min + shift, max: a.max + shift };
            prop_assert!(close(moved, b, 1e-5));
        }
    }
}
