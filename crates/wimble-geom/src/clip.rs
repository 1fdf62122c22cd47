//! Cutting a mesh by a half space.

use crate::mesh::{Welder, axes_across};
use crate::polygon::{ring_area, ring_contains, triangulate};
use crate::tolerance::SAME_POINT;
use crate::{Mesh, Plane};
use glam::{DVec2, DVec3};
use rustc_hash::FxHashMap;

/// A point this near to the cutting plane lies on it: far below every other tolerance, far above
/// rounding at ten million metres.
const ON_PLANE: f64 = 1e-7;

/// What a cut leaves, the new faces apart.
pub(crate) struct Cut {
    /// The mesh's own faces behind the plane.
    pub(crate) kept: Mesh,
    /// For each triangle kept the one that it comes from.
    pub(crate) source: Vec<u32>,
    /// The new faces in the plane, normals along the plane's normal; indices into `cap_points`.
    pub(crate) cap: Vec<[DVec3; 3]>,
}

impl Mesh {
    /// The part behind a plane (`normal · p <= offset`), closed by new faces in the plane if the
    /// mesh was closed. Empty if nothing is left.
    #[must_use]
    pub fn clipped(&self, plane: &Plane) -> Self {
        clip(self, plane).0
    }
}

/// A source of [`clip`] that is no triangle of the mesh: a new face in the plane.
pub(crate) const NEW_FACE: u32 = u32::MAX;

/// [`Mesh::clipped`], and for each triangle the one that it comes from.
pub(crate) fn clip(mesh: &Mesh, plane: &Plane) -> (Mesh, Vec<u32>) {
    let Cut { mut kept, source, cap } = cut(mesh, plane);
    if kept.triangles.is_empty() {
        return (Mesh::default(), Vec::new());
    }
    if cap.is_empty() {
        return (kept, source);
    }
    let mut welder = Welder::new(ON_PLANE * 4.0);
    let index: Vec<u32> = kept.points.iter().map(|p| welder.index(*p)).collect();
    let own = kept.triangles.iter().map(|t| t.map(|i| index[i as usize])).zip(source);
    let mut all: Vec<([u32; 3], u32)> = own.collect();
    all.extend(cap.iter().map(|t| (t.map(|p| welder.index(p)), NEW_FACE)));
    all.retain(|([a, b, c], _)| a != b && b != c && a != c);
    kept.points = welder.points;
    kept.triangles = all.iter().map(|(t, _)| *t).collect();
    (kept, all.into_iter().map(|(_, source)| source).collect())
}

/// Cuts a mesh. A face that lies in the plane is kept if its normal points the same way and
/// dropped if it points the other way; new faces close what was cut away, so that a solid that
/// only touches the plane from in front leaves nothing.
pub(crate) fn cut(mesh: &Mesh, plane: &Plane) -> Cut {
    let side: Vec<f64> = mesh
        .points
        .iter()
        .map(|p| {
            let d = plane.distance(*p);
            if d.abs() <= ON_PLANE { 0.0 } else { d }
        })
        .collect();
    let mut kept = Mesh {
        points: mesh.points.clone(),
        triangles: Vec::new(),
        closed: mesh.closed,
        chord: mesh.chord,
    };
    let mut on_edge: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    let mut on_plane: Vec<bool> = side.iter().map(|&d| d == 0.0).collect();
    let mut cut_any = false;
    let mut source = Vec::new();
    for (t, &triangle) in mesh.triangles.iter().enumerate() {
        let t = t as u32;
        let d = triangle.map(|i| side[i as usize]);
        if d.iter().all(|&d| d <= 0.0) {
            let flat = d.iter().all(|&d| d == 0.0);
            if !flat || mesh.normal_area(triangle).dot(plane.normal) > 0.0 {
                kept.triangles.push(triangle);
                source.push(t);
            } else {
                cut_any = true;
            }
            continue;
        }
        cut_any = true;
        if d.iter().all(|&d| d >= 0.0) {
            continue;
        }
        let mut ring: [u32; 4] = [0; 4];
        let mut n = 0;
        for corner in 0..3 {
            let (a, b) = (triangle[corner], triangle[(corner + 1) % 3]);
            let (da, db) = (side[a as usize], side[b as usize]);
            if da <= 0.0 {
                ring[n] = a;
                n += 1;
            }
            if (da < 0.0 && db > 0.0) || (da > 0.0 && db < 0.0) {
                ring[n] = *on_edge.entry((a.min(b), a.max(b))).or_insert_with(|| {
                    // From the lower index to the higher, so that both triangles get the same point.
                    let (low, high) = (a.min(b) as usize, a.max(b) as usize);
                    let point = mesh.points[low]
                        .lerp(mesh.points[high], side[low] / (side[low] - side[high]));
                    kept.points.push(point);
                    on_plane.push(true);
                    kept.points.len() as u32 - 1
                });
                n += 1;
            }
        }
        if n >= 3 {
            kept.triangles.push([ring[0], ring[1], ring[2]]);
            source.push(t);
        }
        if n == 4 {
            kept.triangles.push([ring[0], ring[2], ring[3]]);
            source.push(t);
        }
    }
    let cap = if cut_any && mesh.closed && !kept.triangles.is_empty() {
        let (cap, whole) = cap(&kept, &on_plane, plane);
        kept.closed = whole;
        cap
    } else {
        Vec::new()
    };
    Cut { kept, source, cap }
}

/// The faces that close the kept part: its border in the plane, run backwards. Also whether the
/// border closed.
fn cap(kept: &Mesh, on_plane: &[bool], plane: &Plane) -> (Vec<[DVec3; 3]>, bool) {
    // Borders by place, not by index: after earlier cuts neighbours may hold copies of a point.
    let mut welder = Welder::new(ON_PLANE * 4.0);
    let mut place: FxHashMap<u32, u32> = FxHashMap::default();
    let mut balance: FxHashMap<(u32, u32), i32> = FxHashMap::default();
    let mut order: Vec<(u32, u32)> = Vec::new();
    for triangle in &kept.triangles {
        for corner in 0..3 {
            let (a, b) = (triangle[corner], triangle[(corner + 1) % 3]);
            if !(on_plane[a as usize] && on_plane[b as usize]) {
                continue;
            }
            let mut at =
                |i: u32| *place.entry(i).or_insert_with(|| welder.index(kept.points[i as usize]));
            let (a, b) = (at(a), at(b));
            if a == b {
                continue;
            }
            let key = (a.min(b), a.max(b));
            let step = if a < b { 1 } else { -1 };
            let count = balance.entry(key).or_insert_with(|| {
                order.push(key);
                0
            });
            *count += step;
        }
    }
    let mut border: Vec<(u32, u32)> = Vec::new();
    for key in order {
        let count = balance.get(&key).copied().unwrap_or(0);
        let edge = if count > 0 { (key.1, key.0) } else { key };
        border.extend((0..count.unsigned_abs()).map(|_| edge));
    }
    let border = divide_at_points(&border, &welder.points);
    let mut next: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
    let mut starts = Vec::new();
    for (from, to) in border {
        next.entry(from).or_default().push(to);
        starts.push(from);
    }
    let (x, y) = axes_across(plane.normal);
    let origin = plane.normal * plane.offset;
    let flat: Vec<DVec2> = welder
        .points
        .iter()
        .map(|p| DVec2::new((*p - origin).dot(x), (*p - origin).dot(y)))
        .collect();
    let (rings, whole) = chain(&starts, &mut next, &flat);
    (fill(rings, &flat, &welder.points), whole)
}

/// Where faces meet that were cut apart earlier, one side may run an edge whole and the other in
/// stretches: each edge is divided at the border's own points, and what is run both ways goes.
fn divide_at_points(border: &[(u32, u32)], points: &[DVec3]) -> Vec<(u32, u32)> {
    let mut ends: Vec<u32> = border.iter().flat_map(|&(a, b)| [a, b]).collect();
    ends.sort_unstable();
    ends.dedup();
    if ends.len() * border.len() > 4_000_000 {
        return border.to_vec();
    }
    let mut balance: FxHashMap<(u32, u32), i32> = FxHashMap::default();
    let mut order: Vec<(u32, u32)> = Vec::new();
    for &(a, b) in border {
        let (from, to) = (points[a as usize], points[b as usize]);
        let along = to - from;
        let length = along.length();
        let mut stops: Vec<(f64, u32)> = ends
            .iter()
            .filter(|&&i| i != a && i != b)
            .filter_map(|&i| {
                let way = points[i as usize] - from;
                let place = way.dot(along) / length;
                let off = (way - along * (place / length)).length_squared();
                (place > 0.0 && place < length && off <= SAME_POINT * SAME_POINT)
                    .then_some((place, i))
            })
            .collect();
        stops.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut here = a;
        for i in stops.into_iter().map(|(_, i)| i).chain([b]) {
            let key = (here.min(i), here.max(i));
            *balance.entry(key).or_insert_with(|| {
                order.push(key);
                0
            }) += if here < i { 1 } else { -1 };
            here = i;
        }
    }
    let mut out = Vec::new();
    for key in order {
        let count = balance.get(&key).copied().unwrap_or(0);
        let edge = if count > 0 { key } else { (key.1, key.0) };
        out.extend((0..count.unsigned_abs()).map(|_| edge));
    }
    out
}

/// Follows directed edges into closed rings. At a point where several go on, the sharpest left
/// turn is taken, so that rings that only touch stay apart.
fn chain(
    starts: &[u32],
    next: &mut FxHashMap<u32, Vec<u32>>,
    flat: &[DVec2],
) -> (Vec<Vec<u32>>, bool) {
    let mut rings = Vec::new();
    let mut open: Vec<Vec<u32>> = Vec::new();
    for &start in starts {
        if next.get(&start).is_none_or(Vec::is_empty) {
            continue;
        }
        let mut ring = vec![start];
        let mut here = start;
        loop {
            let before = ring.len().checked_sub(2).map(|i| flat[ring[i] as usize]);
            let Some(choices) = next.get_mut(&here).filter(|c| !c.is_empty()) else { break };
            let pick = match before {
                Some(before) if choices.len() > 1 => {
                    let at = flat[here as usize];
                    let back = before - at;
                    let angle = |to: u32| {
                        // Clockwise from the way back: the greatest is the sharpest left turn.
                        let way = flat[to as usize] - at;
                        let turn = back.perp_dot(way).atan2(back.dot(way));
                        if turn <= 0.0 { -turn } else { std::f64::consts::TAU - turn }
                    };
                    (0..choices.len())
                        .max_by(|&i, &j| angle(choices[i]).total_cmp(&angle(choices[j])))
                        .unwrap_or(0)
                }
                _ => 0,
            };
            here = choices.swap_remove(pick);
            // A ring that comes by one of its own points is closed off there.
            if let Some(at) = ring.iter().position(|&p| p == here) {
                let tail = ring.split_off(at);
                if tail.len() >= 3 {
                    rings.push(tail);
                }
                if ring.is_empty() {
                    break;
                }
            }
            ring.push(here);
        }
        if ring.len() >= 2 {
            open.push(ring);
        }
    }
    let whole = close_up(open, flat, &mut rings);
    (rings, whole)
}

/// How far apart the ends of a broken border may lie to be joined: rounding of a tenth of a
/// millimetre in the model.
const BROKEN: f64 = 1e-4;

/// Joins open chains end to start, nearest first; whether all of them closed.
fn close_up(mut open: Vec<Vec<u32>>, flat: &[DVec2], rings: &mut Vec<Vec<u32>>) -> bool {
    if open.len() > 400 {
        return false;
    }
    let mut whole = true;
    while let Some(chain) = open.pop() {
        let (Some(&start), Some(&end)) = (chain.first(), chain.last()) else { continue };
        let gap = |to: u32| flat[end as usize].distance(flat[to as usize]);
        let next = (0..open.len())
            .filter_map(|i| open[i].first().map(|&s| (gap(s), i)))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match next {
            Some((distance, i)) if distance <= BROKEN && distance < gap(start) => {
                let mut joined = chain;
                joined.extend(open.swap_remove(i));
                open.push(joined);
            }
            _ if gap(start) <= BROKEN => {
                if chain.len() >= 3 {
                    rings.push(chain);
                }
            }
            _ => whole = false,
        }
    }
    whole
}

/// An outer ring with its place in the plane and the holes that lie in it.
type Outline = (Vec<u32>, Vec<DVec2>, Vec<Vec<u32>>);

/// Triangles for rings that run counter-clockwise round material and clockwise round holes.
fn fill(rings: Vec<Vec<u32>>, flat: &[DVec2], points: &[DVec3]) -> Vec<[DVec3; 3]> {
    let mut outers: Vec<Outline> = Vec::new();
    let mut holes: Vec<(Vec<u32>, Vec<DVec2>)> = Vec::new();
    for ring in rings {
        let place: Vec<DVec2> = ring.iter().map(|&i| flat[i as usize]).collect();
        let area = ring_area(&place);
        if area.abs() <= ON_PLANE * ON_PLANE {
            continue;
        }
        if area > 0.0 { outers.push((ring, place, Vec::new())) } else { holes.push((ring, place)) }
    }
    for (hole, place) in holes {
        // Inside of the smallest outer ring that holds it; a hole's point may lie on a ring, so
        // the middle of its first edges are asked.
        let inside = |ring: &[DVec2]| {
            let mut votes = 0_i32;
            for i in 0..place.len().min(7) {
                let middle = place[i].midpoint(place[(i + 1) % place.len()]);
                votes += if ring_contains(ring, middle) { 1 } else { -1 };
            }
            votes > 0
        };
        let home = (0..outers.len())
            .filter(|&i| inside(&outers[i].1))
            .min_by(|&i, &j| ring_area(&outers[i].1).total_cmp(&ring_area(&outers[j].1)));
        if let Some(home) = home {
            outers[home].2.push(hole);
        }
    }
    let mut out = Vec::new();
    for (ring, place, holes) in outers {
        let flat_holes: Vec<Vec<DVec2>> =
            holes.iter().map(|h| h.iter().map(|&i| flat[i as usize]).collect()).collect();
        let all: Vec<u32> = ring.iter().chain(holes.iter().flatten()).copied().collect();
        out.extend(
            triangulate(&place, &flat_holes)
                .into_iter()
                .map(|t| t.map(|i| points[all[i as usize] as usize])),
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Prism, Profile, Solid};
    use glam::DAffine3;
    use proptest::prelude::*;

    fn tube() -> Mesh {
        Solid::Prism(Prism {
            frame: DAffine3::from_translation(DVec3::new(2e6, 5e6, 0.0)),
            profile: Profile::Circle { radius: 0.2, inner: Some(0.1) },
            sweep: DVec3::Z,
        })
        .to_mesh(1e-3)
    }

    fn step() -> Mesh {
        let outer = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)]
            .map(DVec2::from)
            .to_vec();
        Solid::Prism(Prism {
            frame: DAffine3::IDENTITY,
            profile: Profile::Rings { outer, holes: vec![], chord: 0.0 },
            sweep: DVec3::Z,
        })
        .to_mesh(1e-3)
    }

    fn plane(normal: DVec3, point: DVec3) -> Plane {
        Plane::through(point, normal).unwrap()
    }

    #[test]
    fn a_face_in_the_plane_is_kept_or_dropped_by_its_side() {
        // The step's inner face y = 1 looks up: behind the plane it stays, and closes the rest.
        let below = step().clipped(&plane(DVec3::Y, DVec3::Y));
        assert!(below.oriented().closed && (below.volume() - 2.0).abs() < 1e-9);
        let above = step().clipped(&plane(DVec3::NEG_Y, DVec3::Y));
        assert!(above.oriented().closed && (above.volume() - 1.0).abs() < 1e-9);
        assert_eq!(above.bounds().size(), DVec3::ONE);
        assert!(step().clipped(&plane(DVec3::X, DVec3::ZERO)).triangles.is_empty());
    }

    proptest! {
        #[test]
        fn both_parts_of_a_cut_are_closed_and_their_volumes_add_up(
            normal in prop::array::uniform3(-1.0..1.0_f64),
            through in prop::array::uniform3(-0.1..0.1_f64),
            stepped in any::<bool>(),
        ) {
            let mesh = if stepped { step() } else { tube() };
            let normal = DVec3::from_array(normal);
            prop_assume!(normal.length() > 0.1);
            let plane = plane(normal, mesh.bounds().centre() + DVec3::from_array(through));
            let (a, b) = (mesh.clipped(&plane), mesh.clipped(&plane.flipped()));
            prop_assert!(a.closed && b.closed);
            prop_assert!((a.volume() + b.volume() - mesh.volume()).abs() < 1e-6, "{} {} {}", a.volume(), b.volume(), mesh.volume());
            for p in &a.points { let used = true; prop_assert!(!used || plane.distance(*p) < 10.0); }
            prop_assert!(a.extent_along(plane.normal).1 <= plane.offset + 1e-6);
        }
    }
}
