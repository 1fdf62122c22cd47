//! Convex bodies and their clipping.

use crate::{Aabb, Cylinder, Plane};
use glam::{DAffine3, DVec2, DVec3};

/// A convex body: points and plane faces (rings of indices, counter-clockwise from outside).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Convex {
    /// Points.
    pub points: Vec<DVec3>,
    /// Faces.
    pub faces: Vec<Vec<u32>>,
}

impl Convex {
    /// A box along the axes.
    #[must_use]
    pub fn of_box(bounds: Aabb) -> Self {
        Self::block(&DAffine3::from_translation(bounds.centre()), bounds.size() / 2.0)
    }

    /// A box with its own axes: `frame` places its centre, `half` are its half sizes.
    #[must_use]
    pub fn block(frame: &DAffine3, half: DVec3) -> Self {
        let ring = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(x, y)| frame.transform_point3(DVec3::new(x * half.x, y * half.y, -half.z)));
        Self::swept(&ring, frame.transform_vector3(DVec3::new(0.0, 0.0, 2.0 * half.z)))
    }

    /// A convex ring (counter-clockwise seen against `sweep`) swept along a straight line.
    #[must_use]
    pub fn swept(ring: &[DVec3], sweep: DVec3) -> Self {
        let n = ring.len() as u32;
        let points = ring.iter().copied().chain(ring.iter().map(|p| *p + sweep)).collect();
        let sides = (0..n).map(|i| vec![i, (i + 1) % n, n + (i + 1) % n, n + i]);
        let ends = [(0..n).rev().collect(), (n..2 * n).collect()];
        Self { points, faces: ends.into_iter().chain(sides).collect() }
    }

    /// The prism with `sides` sides inscribed in a round bar (the outer cylinder). Empty if the
    /// bar has no length.
    #[must_use]
    pub fn bar(bar: &Cylinder, sides: usize) -> Self {
        let Some(along) = (bar.to - bar.from).try_normalize() else { return Self::default() };
        let (u, v) = along.any_orthonormal_pair();
        let ring: Vec<DVec3> = (0..sides)
            .map(|i| {
                let a = DVec2::from_angle(std::f64::consts::TAU * i as f64 / sides as f64);
                bar.from + bar.radius * (a.x * u + a.y * v)
            })
            .collect();
        Self::swept(&ring, bar.to - bar.from)
    }

    /// Whether it holds no point.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.points.is_empty()
    }

    /// The box round it.
    #[must_use]
    pub fn bounds(&self) -> Aabb {
        Aabb::of(self.points.iter().copied())
    }

    /// The half spaces whose intersection it is. Faces too small to have a direction are left out.
    #[must_use]
    pub fn planes(&self) -> Vec<Plane> {
        self.faces
            .iter()
            .filter_map(|face| {
                // Newell's normal: not misled by three corners nearly in a line.
                let corners = || face.iter().map(|i| self.points[*i as usize]);
                let first = corners().next()?;
                let normal: DVec3 = corners()
                    .zip(corners().skip(1))
                    .map(|(a, b)| (a - first).cross(b - first))
                    .sum();
                Plane::through(first, normal)
            })
            .collect()
    }

    /// The part behind a plane, closed by a new face. Empty if nothing is left.
    #[must_use]
    pub fn clipped(&self, plane: &Plane) -> Self {
        let bounds = self.bounds();
        let grain = 1e-13
            * bounds.min.abs().max(bounds.max.abs()).max_element().max(bounds.size().max_element());
        let side: Vec<f64> = self
            .points
            .iter()
            .map(|p| {
                let d = plane.distance(*p);
                if d.abs() <= 16.0 * grain { 0.0 } else { d }
            })
            .collect();
        if side.iter().all(|d| *d <= 0.0) {
            return self.clone();
        }
        if side.iter().all(|d| *d >= 0.0) {
            return Self::default();
        }
        let mut cut = Builder::default();
        for face in &self.faces {
            let mut ring = Vec::with_capacity(face.len() + 1);
            for (n, &i) in face.iter().enumerate() {
                let j = face[(n + 1) % face.len()];
                let (a, b) = (side[i as usize], side[j as usize]);
                if a <= 0.0 {
                    ring.push(cut.kept(i, self.points[i as usize], a == 0.0));
                }
                if a * b < 0.0 {
                    ring.push(cut.crossing(i, j, &self.points, &side));
                }
            }
            ring.dedup();
            if ring.len() >= 3 {
                cut.body.faces.push(ring);
            }
        }
        cut.close(plane)
    }
}

/// The body that a cut leaves, while it is made.
#[derive(Default)]
struct Builder {
    body: Convex,
    /// Old corner → new index.
    old: Vec<(u32, u32)>,
    /// Old edge (lesser index first) → new index.
    edges: Vec<([u32; 2], u32)>,
    /// New indices on the plane.
    rim: Vec<u32>,
}

impl Builder {
    fn add(&mut self, point: DVec3, on_plane: bool) -> u32 {
        let index = self.body.points.len() as u32;
        self.body.points.push(point);
        if on_plane {
            self.rim.push(index);
        }
        index
    }

    fn kept(&mut self, corner: u32, point: DVec3, on_plane: bool) -> u32 {
        if let Some((_, index)) = self.old.iter().find(|(old, _)| *old == corner) {
            return *index;
        }
        let index = self.add(point, on_plane);
        self.old.push((corner, index));
        index
    }

    fn crossing(&mut self, i: u32, j: u32, points: &[DVec3], side: &[f64]) -> u32 {
        let edge = [i.min(j), i.max(j)];
        if let Some((_, index)) = self.edges.iter().find(|(old, _)| *old == edge) {
            return *index;
        }
        let [i, j] = edge.map(|k| k as usize);
        let t = side[i] / (side[i] - side[j]);
        let index = self.add(points[i].lerp(points[j], t), true);
        self.edges.push((edge, index));
        index
    }

    /// Adds the face in the plane: its corners in order round their middle.
    fn close(mut self, plane: &Plane) -> Convex {
        if self.rim.len() >= 3 {
            let (u, v) = plane.normal.any_orthonormal_pair();
            let points = &self.body.points;
            let flat = |i: &u32| {
                let p = points[*i as usize];
                DVec2::new(p.dot(u), p.dot(v))
            };
            let middle = self.rim.iter().map(flat).sum::<DVec2>() / self.rim.len() as f64;
            self.rim.sort_by(|a, b| {
                (flat(a) - middle).to_angle().total_cmp(&(flat(b) - middle).to_angle())
            });
            self.body.faces.push(self.rim);
        }
        self.body
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cube() -> Convex {
        Convex::of_box(Aabb { min: DVec3::ZERO, max: DVec3::splat(2.0) })
    }

    fn inside(planes: &[Plane], p: DVec3) -> bool {
        planes.iter().all(|q| q.distance(p) <= 0.0)
    }

    #[test]
    fn a_box_has_six_planes_that_point_outward() {
        let planes = cube().planes();
        assert_eq!(planes.len(), 6);
        assert!(planes.iter().all(|p| (p.distance(DVec3::ONE) + 1.0).abs() < 1e-12));
    }

    #[test]
    fn clipping_cuts_off_a_corner_and_closes_it() {
        let plane = Plane::through(DVec3::splat(1.5), DVec3::ONE).unwrap();
        let cut = cube().clipped(&plane);
        assert_eq!((cut.points.len(), cut.faces.len()), (10, 7));
        assert!(cut.planes().iter().any(|p| p.normal.distance(plane.normal) < 1e-9));
    }

    #[test]
    fn a_plane_in_front_or_behind_leaves_all_or_nothing() {
        let at = |x: f64| Plane::through(DVec3::X * x, DVec3::X).unwrap();
        assert_eq!(cube().clipped(&at(2.0)), cube());
        assert!(cube().clipped(&at(0.0)).is_empty());
    }

    proptest! {
        /// Slow twin: points of a grid are in the clipped body exactly if they are in the box and
        /// behind every plane.
        #[test]
        fn holds_exactly_the_points_behind_all_planes(
            cuts in prop::collection::vec(((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 0.3..1.7f64), 1..5)) {
            let planes: Vec<Plane> = cuts.iter()
                .filter_map(|(n, at)| Plane::through(DVec3::splat(*at), DVec3::from(*n)))
                .collect();
            let body = planes.iter().fold(cube(), |b, p| b.clipped(p));
            let faces = body.planes();
            for i in 0..7 * 7 * 7 {
                let p = DVec3::new(f64::from(i % 7), f64::from(i / 7 % 7), f64::from(i / 49)) / 3.01 + 0.003;
                let expected = inside(&planes, p);
                let clear = planes.iter().all(|q| q.distance(p).abs() > 1e-9);
                if clear {
                    prop_assert_eq!(expected, !body.is_empty() && inside(&faces, p));
                }
            }
            for p in &body.points {
                prop_assert!(planes.iter().all(|q| q.distance(*p) < 1e-9));
            }
        }
    }
}
