//! How far along x a solid has points in a region of a member's frame.

use crate::stick::{Figure, Points};
use glam::DVec3;
use smallvec::SmallVec;
use wimble_geom::{Aabb, Plane};
use wimble_model::Frame;

/// Corners this near to their box's corners make a box along the axes, mm.
const SQUARE_MM: f64 = 0.05;

/// A solid in a member's frame, millimetres.
pub(crate) enum Shape {
    /// A box along the axes: most walls, beams and plates are.
    Box(Aabb),
    /// Anything else.
    Mesh {
        /// Its box.
        bounds: Aabb,
        /// Corners of its triangles.
        faces: Vec<[DVec3; 3]>,
        /// Whether it encloses a volume.
        closed: bool,
    },
}

impl Shape {
    /// A figure in a frame.
    pub(crate) fn of(figure: &Figure, frame: &Frame) -> Self {
        let local = |p: DVec3| frame.local_mm(p + figure.base);
        match figure.points() {
            Points::Corners(corners) => Self::through(figure, &corners.map(local)),
            Points::List(list) => {
                let points: Vec<DVec3> = list.iter().map(|p| local(*p)).collect();
                Self::through(figure, &points)
            }
        }
    }

    /// A figure whose points lie here in the frame.
    fn through(figure: &Figure, points: &[DVec3]) -> Self {
        let bounds = Aabb::of(points.iter().copied());
        let at_corner = |p: &DVec3| {
            (*p - bounds.min).abs().min((*p - bounds.max).abs()).max_element() < SQUARE_MM
        };
        if points.len() == 8 && figure.triangles().len() == 12 && points.iter().all(at_corner) {
            return Self::Box(bounds);
        }
        let corner = |at: u32| points.get(at as usize).copied().unwrap_or_default();
        Self::Mesh {
            bounds,
            faces: figure.triangles().iter().map(|t| t.map(corner)).collect(),
            closed: figure.is_closed(),
        }
    }

    /// Its box.
    pub(crate) const fn bounds(&self) -> Aabb {
        match self {
            Self::Box(bounds) | Self::Mesh { bounds, .. } => *bounds,
        }
    }
}

/// A convex region of a member's frame: a box, and half spaces besides.
pub(crate) struct Region<'a> {
    /// The box.
    pub(crate) within: Aabb,
    /// Half spaces (skew ends).
    pub(crate) and: &'a [Plane],
}

impl Region<'_> {
    fn holds(&self, p: DVec3) -> bool {
        self.and.iter().all(|plane| plane.distance(p) <= 0.0)
    }
}

/// Least and greatest x of the points that the solid has in the region.
pub(crate) fn reach(shape: &Shape, region: &Region<'_>) -> Option<[f64; 2]> {
    let common = shape.bounds().intersection(region.within);
    if common.is_empty() {
        return None;
    }
    match shape {
        Shape::Box(_) if region.and.is_empty() => Some([common.min.x, common.max.x]),
        Shape::Box(bounds) => {
            let corners = bounds.corners();
            let faces: SmallVec<[[DVec3; 3]; 12]> = crate::stick::BOX_TRIANGLES
                .iter()
                .map(|t| t.map(|at| corners[at as usize & 7]))
                .collect();
            general(&faces, true, region)
        }
        Shape::Mesh { faces, closed, .. } => general(faces, *closed, region),
    }
}

/// The extremes lie where a face meets the region, or at corners of the region inside the solid.
fn general(faces: &[[DVec3; 3]], closed: bool, region: &Region<'_>) -> Option<[f64; 2]> {
    let mut reach: Option<[f64; 2]> = None;
    let mut add = |x: f64| {
        reach = Some(match reach {
            None => [x, x],
            Some([low, high]) => [low.min(x), high.max(x)],
        });
    };
    let sides = sides(&region.within);
    for face in faces {
        if !Aabb::of(face.iter().copied()).touches(region.within) {
            continue;
        }
        let mut ring: SmallVec<[DVec3; 12]> = SmallVec::from_slice(face);
        for plane in sides.iter().chain(region.and) {
            ring = behind(&ring, plane);
            if ring.is_empty() {
                break;
            }
        }
        ring.iter().for_each(|p| add(p.x));
    }
    if closed {
        let corners = region.within.corners();
        corners.iter().filter(|c| region.holds(**c) && inside(faces, **c)).for_each(|c| add(c.x));
    }
    reach
}

fn sides(within: &Aabb) -> [Plane; 6] {
    [
        Plane { normal: DVec3::X, offset: within.max.x },
        Plane { normal: DVec3::NEG_X, offset: -within.min.x },
        Plane { normal: DVec3::Y, offset: within.max.y },
        Plane { normal: DVec3::NEG_Y, offset: -within.min.y },
        Plane { normal: DVec3::Z, offset: within.max.z },
        Plane { normal: DVec3::NEG_Z, offset: -within.min.z },
    ]
}

/// The part of a convex ring behind a plane.
fn behind(ring: &[DVec3], plane: &Plane) -> SmallVec<[DVec3; 12]> {
    let mut kept = SmallVec::new();
    for (i, &here) in ring.iter().enumerate() {
        let next = ring.get(i + 1).or(ring.first()).copied().unwrap_or(here);
        let (a, b) = (plane.distance(here), plane.distance(next));
        if a <= 0.0 {
            kept.push(here);
        }
        if (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0) {
            kept.push(here + (next - here) * (a / (a - b)));
        }
    }
    kept
}

/// Whether a point lies inside a closed surface: an odd number of faces on a ray from it. The ray
/// runs along no axis, so that it does not slide along faces.
fn inside(faces: &[[DVec3; 3]], point: DVec3) -> bool {
    const RAY: DVec3 = DVec3::new(0.571_348_2, 0.617_934_1, 0.540_132_7);
    let crossings = faces
        .iter()
        .filter(|[a, b, c]| {
            let (u, v) = (*b - *a, *c - *a);
            let p = RAY.cross(v);
            let det = u.dot(p);
            if det.abs() < 1e-12 {
                return false;
            }
            let s = point - *a;
            let first = s.dot(p) / det;
            let q = s.cross(u);
            let second = RAY.dot(q) / det;
            first >= 0.0 && second >= 0.0 && first + second <= 1.0 && v.dot(q) / det > 0.0
        })
        .count();
    crossings % 2 == 1
}
