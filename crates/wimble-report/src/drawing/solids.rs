//! Bodies of services for a picture: faces cut by planes, the edges that are seen.

use glam::DVec3;
use std::collections::BTreeMap;
use wimble_geom::Solid;
use wimble_model::Frame;

/// How far facets may lie off a round body, metres: finer than a line of the picture.
const CHORD_M: f64 = 0.0004;
/// Two faces that meet more sharply than this show their edge.
const SHARP_DEG: f64 = 40.0;

/// Flat faces of a body in a member's frame, mm; counter-clockwise seen from outside.
#[derive(Debug, Clone, Default)]
pub(crate) struct Piece {
    faces: Vec<Face>,
    /// Faces that cutting opened, with the way out of the body.
    caps: Vec<(DVec3, Vec<DVec3>)>,
}

#[derive(Debug, Clone)]
struct Face {
    points: Vec<DVec3>,
    normal: DVec3,
}

impl Piece {
    /// A solid of the world in a member's frame.
    pub(crate) fn of(solid: &Solid, frame: &Frame) -> Self {
        let mesh = solid.to_mesh(CHORD_M);
        let y = frame.y();
        let local = |p: DVec3| {
            let d = (p - frame.origin_m) * 1000.0;
            DVec3::new(d.dot(frame.x), d.dot(y), d.dot(frame.z))
        };
        let faces = mesh.triangles.iter().filter_map(|triangle| {
            let [a, b, c] = triangle.map(|i| mesh.points.get(i as usize).copied());
            let points = vec![local(a?), local(b?), local(c?)];
            let normal = normal(&points)?;
            Some(Face { points, normal })
        });
        Self { faces: faces.collect(), caps: Vec::new() }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.faces.is_empty()
    }

    /// Middle of its box.
    pub(crate) fn middle(&self) -> DVec3 {
        let points = self.faces.iter().flat_map(|face| &face.points);
        let start = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let (least, most) = points.fold(start, |(a, b), p| (a.min(*p), b.max(*p)));
        if least.is_finite() { least.midpoint(most) } else { DVec3::ZERO }
    }

    /// What lies at or beyond `least` in a direction; the cut is closed by a cap.
    pub(crate) fn beyond(self, direction: DVec3, least: f64) -> Self {
        let height = |p: &DVec3| p.dot(direction) - least;
        let mut rim: Vec<DVec3> = Vec::new();
        let mut kept = Self { faces: Vec::new(), caps: Vec::new() };
        for face in self.faces {
            let points = clipped(&face.points, &height, &mut rim);
            if points.len() > 2 {
                kept.faces.push(Face { points, normal: face.normal });
            }
        }
        let mut unused = Vec::new();
        for (out, cap) in self.caps {
            let cap = clipped(&cap, &height, &mut unused);
            if cap.len() > 2 {
                kept.caps.push((out, cap));
            }
        }
        let cap = hull(&rim, direction);
        if cap.len() > 2 && !kept.faces.is_empty() {
            kept.caps.push((-direction, cap));
        }
        kept
    }

    /// Faces turned to a viewer who looks this way.
    pub(crate) fn seen(&self, looking: DVec3) -> impl Iterator<Item = &[DVec3]> {
        let turned = move |face: &&Face| face.normal.dot(looking) < 0.0;
        self.faces.iter().filter(turned).map(|face| face.points.as_slice())
    }

    /// Caps turned to the viewer.
    pub(crate) fn ends(&self, looking: DVec3) -> impl Iterator<Item = &[DVec3]> {
        let turned = move |cap: &&(DVec3, Vec<DVec3>)| cap.0.dot(looking) < -0.05;
        self.caps.iter().filter(turned).map(|(_, cap)| cap.as_slice())
    }
}

/// Edges that a viewer sees: where the body turns away, and where it is sharp.
pub(crate) fn edges(piece: &Piece, looking: DVec3) -> Vec<[DVec3; 2]> {
    type Key = [i64; 3];
    #[expect(clippy::cast_possible_truncation, reason = "tenths of a millimetre near a member")]
    let key = |p: DVec3| -> Key { (p * 100.0).round().to_array().map(|v| v as i64) };
    let mut meeting: BTreeMap<(Key, Key), ([DVec3; 2], Vec<DVec3>)> = BTreeMap::new();
    for face in &piece.faces {
        let next = face.points.iter().cycle().skip(1);
        for (a, b) in face.points.iter().zip(next) {
            let (ka, kb) = (key(*a), key(*b));
            if ka == kb {
                continue;
            }
            let place = if ka < kb { (ka, kb) } else { (kb, ka) };
            meeting.entry(place).or_insert_with(|| ([*a, *b], Vec::new())).1.push(face.normal);
        }
    }
    let sharp = SHARP_DEG.to_radians().cos();
    let turned = |normal: &DVec3| normal.dot(looking) < 0.0;
    meeting
        .into_values()
        .filter(|(_, normals)| match normals.as_slice() {
            [one] => turned(one),
            [a, b] => turned(a) != turned(b) || (turned(a) && a.dot(*b) < sharp),
            _ => false,
        })
        .map(|(edge, _)| edge)
        .collect()
}

fn normal(points: &[DVec3]) -> Option<DVec3> {
    let [a, b, c, ..] = points else { return None };
    (b - a).cross(c - a).try_normalize()
}

/// A convex face cut by a plane; points on the plane are added to the rim.
fn clipped(points: &[DVec3], height: &dyn Fn(&DVec3) -> f64, rim: &mut Vec<DVec3>) -> Vec<DVec3> {
    let mut kept = Vec::with_capacity(points.len() + 1);
    for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
        let (ha, hb) = (height(a), height(b));
        if ha >= 0.0 {
            kept.push(*a);
        }
        if (ha > 0.0 && hb < 0.0) || (ha < 0.0 && hb > 0.0) {
            let on = a.lerp(*b, ha / (ha - hb));
            kept.push(on);
            rim.push(on);
        }
    }
    kept
}

/// The points round their middle, in order: enough for the ends of pipes and ducts.
fn hull(rim: &[DVec3], direction: DVec3) -> Vec<DVec3> {
    let Some(first) = rim.first() else { return Vec::new() };
    let (least, most) = rim.iter().fold((*first, *first), |(a, b), p| (a.min(*p), b.max(*p)));
    let middle = least.midpoint(most);
    let (u, v) = direction.any_orthonormal_pair();
    let angle = |p: &DVec3| (*p - middle).dot(v).atan2((*p - middle).dot(u));
    let mut points = rim.to_vec();
    points.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    points.dedup_by(|a, b| a.distance(*b) < 0.01);
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use wimble_geom::Cylinder;

    fn pipe() -> Piece {
        let bar = Cylinder {
            from: DVec3::new(0.5, -1.0, 0.0),
            to: DVec3::new(0.5, 1.0, 0.0),
            radius: 0.05,
            inner: None,
        };
        let frame = Frame { origin_m: DVec3::ZERO, x: DVec3::X, z: DVec3::Z };
        Piece::of(&Solid::Cylinder(bar), &frame)
    }

    #[test]
    fn cutting_closes_the_end() {
        let half = pipe().beyond(DVec3::Y, 0.0);
        let cap: Vec<_> = half.ends(DVec3::Y).collect();
        assert_eq!(cap.len(), 1);
        assert!(cap[0].iter().all(|p| p.y.abs() < 1e-9));
        assert!(
            cap[0].iter().all(|p| (p.distance(DVec3::new(500.0, 0.0, 0.0)) - 50.0).abs() < 0.5)
        );
        assert!(half.ends(-DVec3::Y).next().is_none());
        assert!(pipe().beyond(DVec3::Y, 2000.0).is_empty());
    }

    #[test]
    fn a_pipe_shows_its_two_sides_and_an_end() {
        let seen = edges(&pipe(), DVec3::new(1.0, 1.0, -1.0).normalize());
        let long = seen.iter().filter(|[a, b]| a.distance(*b) > 1900.0).count();
        assert_eq!(long, 2);
    }
}
