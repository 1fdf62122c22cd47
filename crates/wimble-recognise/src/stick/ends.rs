//! The planes that cut the ends of a straight piece.

use super::slice::Local;
use glam::DVec3;
use thin_vec::ThinVec;
use wimble_geom::Plane;

/// A face whose normal leans less than this from a side or a square end is that side or end (sine
/// of about 0.06 degrees).
const SQUARE: f64 = 1e-3;
/// All corners lie behind a plane that bounds the body, within this, mm.
const BEHIND: f64 = 0.05;
/// Two planes this near are one: normal apart, and offset in mm.
const SAME: (f64, f64) = (1e-3, 0.05);
/// No end has more faces than this together with the other: a rounded one stays a mesh.
const MOST: usize = 8;

/// The skew and plumb faces that bound a body and are not sides of its box: half spaces that hold
/// the material. Faces with material in front (seats, notches, holes) are left out: they bound
/// voids. `None` if there are so many that the end is rounded.
pub(super) fn ends(body: &Local) -> Option<ThinVec<Plane>> {
    let mut planes: ThinVec<Plane> = ThinVec::new();
    for [a, b, c] in body.faces() {
        let Some(plane) = Plane::through(a, (b - a).cross(c - a)) else { continue };
        let n = plane.normal;
        let along_an_axis =
            [n.x, n.y, n.z].into_iter().any(|part| 1.0 - part.abs() < SQUARE * SQUARE);
        if along_an_axis || n.x.abs() < SQUARE {
            continue;
        }
        let known = planes
            .iter()
            .any(|p| p.normal.distance(n) < SAME.0 && (p.offset - plane.offset).abs() < SAME.1);
        if known || body.points.iter().any(|p| plane.distance(*p) > BEHIND) {
            continue;
        }
        if planes.len() == MOST {
            return None;
        }
        planes.push(plane);
    }
    planes.sort_by(|a, b| key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal));
    Some(planes)
}

fn key(plane: &Plane) -> [f64; 4] {
    let DVec3 { x, y, z } = plane.normal;
    [x, plane.offset, z, y]
}
