//! Which services make one run: those joined by ports, else with ends within 5 mm, else with axes
//! within 1 mm.

use crate::scene::ServiceBody;
use glam::DVec3;
use rayon::prelude::*;
use smallvec::SmallVec;
use wimble_geom::{Aabb, BroadPhase, Mesh};

/// Ends nearer than this belong together, metres.
const ENDS: f64 = 5e-3;
/// Axes nearer than this belong together, metres.
const AXES: f64 = 1e-3;

/// A number for each service, equal for all of one run; runs are numbered by their first service.
/// `joined` lists pairs that ports (or one element) join.
pub(crate) fn runs(bodies: &[ServiceBody], joined: &[(u32, u32)]) -> Vec<u32> {
    let mut union = Union::new(bodies.len());
    for &(a, b) in joined {
        union.join(a as usize, b as usize);
    }
    by_place(bodies, &mut union);
    let mut number = vec![u32::MAX; bodies.len()];
    let mut next = 0;
    (0..bodies.len())
        .map(|i| {
            let lead = union.lead(i);
            if number[lead] == u32::MAX {
                number[lead] = next;
                next += 1;
            }
            number[lead]
        })
        .collect()
}

/// Joins services whose ends or axes meet.
fn by_place(bodies: &[ServiceBody], union: &mut Union) {
    let places: Vec<Aabb> =
        bodies.par_iter().map(|body| place(body).unwrap_or(Aabb::EMPTY)).collect();
    let tree = BroadPhase::new(&places);
    let pairs: Vec<(usize, usize)> = bodies
        .par_iter()
        .zip(&places)
        .enumerate()
        .filter(|(_, (_, place))| !place.is_empty())
        .flat_map_iter(|(i, (body, place))| {
            let near = tree.near(place.grown(ENDS)).into_iter().map(|other| other as usize);
            near.filter(move |&other| other > i)
                .filter(move |&other| bodies.get(other).is_some_and(|other| meet(body, other)))
                .map(move |other| (i, other))
        })
        .collect();
    for (a, b) in pairs {
        union.join(a, b);
    }
}

/// A box round the axis (of a mesh: round its surface).
fn place(body: &ServiceBody) -> Option<Aabb> {
    match body {
        ServiceBody::Mesh(mesh) => Some(mesh.bounds()),
        _ => Some(Aabb::of(axis(body)?.iter().copied())),
    }
}

/// The axis of a straight body, the points of a line.
fn axis(body: &ServiceBody) -> Option<SmallVec<[DVec3; 2]>> {
    match body {
        ServiceBody::Round { from, to, .. } => Some(SmallVec::from_buf([*from, *to])),
        ServiceBody::Rectangular { frame, half } => {
            let along = half.z * frame.matrix3.z_axis;
            Some(SmallVec::from_buf([frame.translation - along, frame.translation + along]))
        }
        ServiceBody::Line { points } if !points.is_empty() => Some(points.as_slice().into()),
        ServiceBody::Mesh(_) | ServiceBody::Line { .. } => None,
    }
}

fn meet(a: &ServiceBody, b: &ServiceBody) -> bool {
    match (axis(a), axis(b), a, b) {
        (Some(one), Some(other), _, _) => {
            let ends = |line: &[DVec3]| [line.first().copied(), line.last().copied()];
            let near = ends(&one)
                .into_iter()
                .flatten()
                .any(|p| ends(&other).into_iter().flatten().any(|q| p.distance(q) <= ENDS));
            near || one.windows(2).any(|s| {
                other.windows(2).any(|t| segments_apart((s[0], s[1]), (t[0], t[1])) <= AXES)
            })
        }
        (Some(line), None, _, ServiceBody::Mesh(mesh))
        | (None, Some(line), ServiceBody::Mesh(mesh), _) => {
            [line.first(), line.last()].into_iter().flatten().any(|p| is_on(mesh, *p))
        }
        // Two bends or fittings that share a face: a corner of one lies on the other.
        (None, None, ServiceBody::Mesh(one), ServiceBody::Mesh(other)) => {
            let (few, many) =
                if one.points.len() <= other.points.len() { (one, other) } else { (other, one) };
            let bounds = many.bounds().grown(AXES);
            few.points
                .iter()
                .filter(|p| p.cmpge(bounds.min).all() && p.cmple(bounds.max).all())
                .any(|p| surface_distance(many, *p) <= AXES)
        }
        _ => false,
    }
}

/// Whether a point (the end of a pipe) lies within 5 mm of a fitting, or inside its box.
fn is_on(mesh: &Mesh, point: DVec3) -> bool {
    let bounds = mesh.bounds().grown(ENDS);
    let within = point.cmpge(bounds.min).all() && point.cmple(bounds.max).all();
    within && (is_inside(mesh, point) || surface_distance(mesh, point) <= ENDS)
}

/// Whether a point lies inside a closed mesh (the end of a pipe in its socket).
fn is_inside(mesh: &Mesh, point: DVec3) -> bool {
    if !mesh.closed {
        return false;
    }
    let angle: f64 = mesh
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = mesh.corners(*t).map(|p| (p - point).normalize_or_zero());
            2.0 * a.dot(b.cross(c)).atan2(1.0 + a.dot(b) + b.dot(c) + c.dot(a))
        })
        .sum();
    angle.abs() > std::f64::consts::TAU
}

fn surface_distance(mesh: &Mesh, point: DVec3) -> f64 {
    mesh.triangles
        .iter()
        .map(|t| to_triangle(point, mesh.corners(*t)))
        .fold(f64::INFINITY, f64::min)
}

/// Distance of a point from a triangle.
fn to_triangle(p: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let normal = (b - a).cross(c - a);
    if let Some(n) = normal.try_normalize() {
        let foot = p - (p - a).dot(n) * n;
        let within = [(a, b), (b, c), (c, a)]
            .into_iter()
            .all(|(s, t)| (t - s).cross(foot - s).dot(n) >= 0.0);
        if within {
            return p.distance(foot);
        }
    }
    [(a, b), (b, c), (c, a)]
        .into_iter()
        .map(|(s, t)| {
            let d = t - s;
            let share =
                if d.length_squared() > 0.0 { (p - s).dot(d) / d.length_squared() } else { 0.0 };
            p.distance(s + share.clamp(0.0, 1.0) * d)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Least distance of two pieces of line.
fn segments_apart((a, b): (DVec3, DVec3), (c, d): (DVec3, DVec3)) -> f64 {
    let (u, v, w) = (b - a, d - c, a - c);
    let (uu, uv, vv) = (u.length_squared(), u.dot(v), v.length_squared());
    let (uw, vw) = (u.dot(w), v.dot(w));
    let det = uu * vv - uv * uv;
    let s = if det > 1e-18 { ((uv * vw - vv * uw) / det).clamp(0.0, 1.0) } else { 0.0 };
    let t = if vv > 0.0 { ((uv * s + vw) / vv).clamp(0.0, 1.0) } else { 0.0 };
    let s = if uu > 0.0 { ((uv * t - uw) / uu).clamp(0.0, 1.0) } else { 0.0 };
    (w + s * u - t * v).length()
}

/// Sets that grow together.
struct Union {
    leader: Vec<usize>,
}

impl Union {
    fn new(len: usize) -> Self {
        Self { leader: (0..len).collect() }
    }

    fn lead(&mut self, mut i: usize) -> usize {
        while self.leader[i] != i {
            self.leader[i] = self.leader[self.leader[i]];
            i = self.leader[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        if a < self.leader.len() && b < self.leader.len() {
            let (a, b) = (self.lead(a), self.lead(b));
            self.leader[a.max(b)] = a.min(b);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pipe(from: [f64; 3], to: [f64; 3]) -> ServiceBody {
        ServiceBody::Round { from: from.into(), to: to.into(), radius: 0.011 }
    }

    #[test]
    fn ends_within_five_millimetres_make_one_run() {
        let bodies = [
            pipe([0.0; 3], [1.0, 0.0, 0.0]),
            pipe([1.004, 0.0, 0.0], [2.0, 0.0, 0.0]),
            pipe([2.006, 0.0, 0.0], [3.0, 0.0, 0.0]),
        ];
        assert_eq!(runs(&bodies, &[]), [0, 0, 1]);
    }

    #[test]
    fn a_branch_that_meets_the_axis_is_of_the_run() {
        let bodies = [
            pipe([0.0; 3], [2.0, 0.0, 0.0]),
            pipe([1.0, 0.000_9, 0.0], [1.0, 1.0, 0.0]),
            pipe([1.5, 0.02, 0.0], [1.5, 1.0, 0.0]),
        ];
        assert_eq!(runs(&bodies, &[]), [0, 0, 1]);
    }

    #[test]
    fn ports_join_what_lies_apart() {
        let bodies = [pipe([0.0; 3], [1.0, 0.0, 0.0]), pipe([9.0, 0.0, 0.0], [9.0, 1.0, 0.0])];
        assert_eq!(runs(&bodies, &[(0, 1)]), [0, 0]);
    }

    #[test]
    fn pipes_side_by_side_are_two_runs() {
        let bodies = [pipe([0.0; 3], [1.0, 0.0, 0.0]), pipe([0.0, 0.03, 0.0], [1.0, 0.03, 0.0])];
        assert_eq!(runs(&bodies, &[]), [0, 1]);
    }
}
