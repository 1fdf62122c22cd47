//! Solids as unions of convex pieces that share no inside.

use crate::boolean::{BooleanTrouble, HalfSpaces};
use crate::clip::{NEW_FACE, clip};
use crate::polygon::{triangulate, turn};
use crate::tolerance::SAME_POINT;
use crate::{Mesh, Outline, Plane, Prism, Profile, Solid, tolerance};
use glam::DVec2;
use rustc_hash::FxHashMap;

/// More pieces than this and the solid counts as too intricate.
const MOST_PIECES: usize = 4096;
/// More distinct face planes than this in one piece and it is not looked at closer.
const MOST_PLANES: usize = 6000;
/// A piece smaller than this (a cubic tenth of a millimetre) is rounding.
const LEAST_VOLUME: f64 = 1e-12;
/// Of how many inward bends the planes are tried before a piece counts as convex.
const MOST_TRIES: usize = 12;
/// A face bends inward if a neighbour rises more than this above it.
const FLAT: f64 = 1e-6;

impl Solid {
    /// Convex pieces that fill it, each as its half spaces.
    ///
    /// # Errors
    /// If it is an open mesh, or would need thousands of pieces.
    pub fn convex_pieces(&self) -> Result<Vec<HalfSpaces>, BooleanTrouble> {
        match self {
            Self::Prism(prism) => Ok(prism_pieces(prism)),
            Self::Cylinder(bar) => bar.to_prism().convex_pieces(),
            Self::Mesh(mesh) => mesh_pieces(mesh),
        }
    }
}

fn prism_pieces(prism: &Prism) -> Vec<HalfSpaces> {
    let outline = prism.profile.outline(tolerance::CHORD);
    let rings = match &prism.profile {
        Profile::Rings { .. } => convex_rings(&outline),
        Profile::Circle { inner: Some(_), .. } => tube_rings(&outline),
        _ => vec![outline.outer],
    };
    let z = prism.frame.matrix3.z_axis * prism.height().signum();
    let (low, high) = (prism.frame.translation, prism.frame.translation + prism.sweep);
    let ends = [Plane::through(low, -z), Plane::through(high, z)];
    rings
        .iter()
        .map(|ring| {
            let place = |p: DVec2| prism.frame.transform_point3(p.extend(0.0));
            let sides = (0..ring.len()).filter_map(|i| {
                let (a, b) = (place(ring[i]), place(ring[(i + 1) % ring.len()]));
                Plane::through(a, (b - a).cross(prism.sweep) * prism.height().signum())
            });
            ends.into_iter().flatten().chain(sides).collect()
        })
        .collect()
}

/// A ring between two circles, a quadrilateral for each chord.
fn tube_rings(outline: &Outline) -> Vec<Vec<DVec2>> {
    let outer = &outline.outer;
    let inner: Vec<DVec2> =
        outline.holes.first().map(|h| h.iter().rev().copied().collect()).unwrap_or_default();
    if inner.len() != outer.len() {
        return convex_rings(outline);
    }
    let n = outer.len();
    (0..n).map(|i| vec![inner[i], outer[i], outer[(i + 1) % n], inner[(i + 1) % n]]).collect()
}

/// An area as convex rings: triangles, joined while they stay convex.
#[must_use]
pub fn convex_rings(outline: &Outline) -> Vec<Vec<DVec2>> {
    if outline.holes.is_empty() && is_convex(&outline.outer) {
        return vec![outline.outer.clone()];
    }
    let points: Vec<DVec2> =
        outline.outer.iter().chain(outline.holes.iter().flatten()).copied().collect();
    let at = |i: u32| points[i as usize];
    let mut rings: Vec<Option<Vec<u32>>> =
        triangulate(&outline.outer, &outline.holes).into_iter().map(|t| Some(t.to_vec())).collect();
    let mut owner: FxHashMap<(u32, u32), usize> = FxHashMap::default();
    for (r, ring) in rings.iter().enumerate() {
        for edge in directed(ring.as_deref().unwrap_or_default()) {
            owner.insert(edge, r);
        }
    }
    for r in 0..rings.len() {
        let Some(mut ring) = rings[r].take() else { continue };
        let mut corner = 0;
        while corner < ring.len() {
            let (a, b) = (ring[corner], ring[(corner + 1) % ring.len()]);
            let other = owner.get(&(b, a)).copied().filter(|&o| o != r);
            let joined = other
                .and_then(|o| rings[o].as_deref().map(|other| (o, other)))
                .and_then(|(o, other)| Some((o, join(&ring, corner, other, at)?)));
            if let Some((o, joined)) = joined {
                for edge in directed(rings[o].as_deref().unwrap_or_default()) {
                    owner.insert(edge, r);
                }
                rings[o] = None;
                ring = joined;
                // The edge at this corner is a new one now.
            } else {
                corner += 1;
            }
        }
        rings[r] = Some(ring);
    }
    rings.into_iter().flatten().map(|ring| ring.into_iter().map(at).collect()).collect()
}

fn directed(ring: &[u32]) -> impl Iterator<Item = (u32, u32)> + '_ {
    (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]))
}

/// Two convex rings that share the edge at a corner of the first as one; `None` if that is not
/// convex. Only the edge's two ends need looking at.
fn join(ring: &[u32], corner: usize, other: &[u32], at: impl Fn(u32) -> DVec2) -> Option<Vec<u32>> {
    let (n, m) = (ring.len(), other.len());
    let (a, b) = (ring[corner], ring[(corner + 1) % n]);
    let after_a = other.iter().position(|&i| i == a)?;
    let (before_a, after_b) = (ring[(corner + n - 1) % n], ring[(corner + 2) % n]);
    let (from_a, to_b) = (other[(after_a + 1) % m], other[(after_a + m - 2) % m]);
    let bends_left = |p: u32, q: u32, r: u32| {
        let (p, q, r) = (at(p), at(q), at(r));
        turn(p, q, r) >= -1e-9 * (q - p).length() * (r - q).length()
    };
    if !bends_left(before_a, a, from_a) || !bends_left(to_b, b, after_b) {
        return None;
    }
    // a, then the other ring's points, then b and on.
    let inner = (1..m - 1).map(|i| other[(after_a + i) % m]);
    let mut joined = ring[..=corner].to_vec();
    joined.extend(inner);
    joined.extend_from_slice(&ring[corner + 1..]);
    Some(joined)
}

fn is_convex(ring: &[DVec2]) -> bool {
    let n = ring.len();
    // Every corner to the left, and once round in all.
    let mut turned = 0.0;
    for i in 0..n {
        let (p, q, r) = (ring[i], ring[(i + 1) % n], ring[(i + 2) % n]);
        let (a, b) = (q - p, r - q);
        if a.perp_dot(b) < -1e-9 * a.length() * b.length() {
            return false;
        }
        turned += a.perp_dot(b).atan2(a.dot(b));
    }
    (turned - std::f64::consts::TAU).abs() < 1e-3
}

/// A part of a mesh whose triangles remember the plane that they lie in, so that planes stay as
/// exact as in the whole however often it is cut.
struct Part {
    mesh: Mesh,
    plane_of: Vec<u32>,
}

impl Part {
    /// The part behind a plane.
    fn behind(&self, plane: &Plane, name: u32) -> Self {
        let (mesh, source) = clip(&self.mesh, plane);
        let plane_of = source
            .into_iter()
            .map(|t| if t == NEW_FACE { name } else { self.plane_of[t as usize] })
            .collect();
        Self { mesh, plane_of }
    }

    /// The planes of faces above which a neighbour rises, largest face first; none if convex.
    fn inward_planes(&self, planes: &[Plane]) -> Vec<u32> {
        let mesh = &self.mesh;
        let mut across: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for (t, triangle) in mesh.triangles.iter().enumerate() {
            for corner in 0..3 {
                across.insert((triangle[corner], triangle[(corner + 1) % 3]), t as u32);
            }
        }
        // Parts may lie apart or touch only at edges: convex at each edge, yet not as a whole.
        let apart = mesh.parts().len() > 1;
        let mut found: FxHashMap<u32, f64> = FxHashMap::default();
        let mut order: Vec<u32> = Vec::new();
        for (t, &triangle) in mesh.triangles.iter().enumerate() {
            let name = self.plane_of[t];
            let plane = &planes[name as usize];
            let rises = |i: u32| plane.distance(mesh.points[i as usize]) > FLAT;
            let bends = (0..3).any(|corner| {
                across
                    .get(&(triangle[(corner + 1) % 3], triangle[corner]))
                    .is_some_and(|&other| mesh.triangles[other as usize].into_iter().any(rises))
            });
            if bends || (apart && mesh.extent_along(plane.normal).1 > plane.offset + FLAT) {
                *found.entry(name).or_insert_with(|| {
                    order.push(name);
                    0.0
                }) += mesh.normal_area(triangle).length();
            }
        }
        order.sort_by(|a, b| found[b].total_cmp(&found[a]));
        order.truncate(MOST_TRIES);
        order
    }

    /// Parts that share no point, cavities with the part round them.
    fn separate(self) -> Vec<Self> {
        let parts = self.mesh.parts();
        if parts.len() < 2 {
            return vec![self];
        }
        let mut outers: Vec<Self> = Vec::new();
        let mut cavities: Vec<Self> = Vec::new();
        for list in parts {
            let triangles = list.iter().map(|&t| self.mesh.triangles[t as usize]).collect();
            let mesh = Mesh { triangles, ..self.mesh.clone() };
            let plane_of = list.iter().map(|&t| self.plane_of[t as usize]).collect();
            let part = Self { mesh, plane_of };
            if part.mesh.volume() < 0.0 { cavities.push(part) } else { outers.push(part) }
        }
        for cavity in cavities {
            let bounds = cavity.mesh.bounds();
            let holds = |outer: &Mesh| {
                let b = outer.bounds();
                b.min.cmple(bounds.min).all() && b.max.cmpge(bounds.max).all()
            };
            let home = outers
                .iter_mut()
                .filter(|outer| holds(&outer.mesh))
                .min_by(|a, b| a.mesh.volume().total_cmp(&b.mesh.volume()));
            if let Some(outer) = home {
                // The parts share the whole's list of points.
                outer.mesh.triangles.extend(cavity.mesh.triangles);
                outer.plane_of.extend(cavity.plane_of);
            }
        }
        outers
    }
}

/// Cuts a mesh along the planes of its inward-bending edges until every piece is convex.
fn mesh_pieces(mesh: &Mesh) -> Result<Vec<HalfSpaces>, BooleanTrouble> {
    if !mesh.closed {
        return Err(BooleanTrouble::NotClosed);
    }
    let mesh = mesh.welded(1e-7);
    let (planes, plane_of) = face_planes(&mesh)?;
    // Each plane and, for the other half of a cut, the plane turned round.
    let count = planes.len() as u32;
    let planes: Vec<Plane> =
        planes.iter().copied().chain(planes.iter().map(Plane::flipped)).collect();
    let mut open: Vec<(Part, usize)> = vec![(Part { mesh, plane_of }, 0)];
    let mut pieces = Vec::new();
    let mut work: usize = 4_000_000;
    while let Some((part, depth)) = open.pop() {
        work = work
            .checked_sub(part.mesh.triangles.len() * 8 + part.mesh.points.len())
            .ok_or(BooleanTrouble::TooIntricate)?;
        let candidates = if depth < 400 { part.inward_planes(&planes) } else { Vec::new() };
        let divided = candidates.iter().find_map(|&name| {
            let other = (name + count) % (2 * count);
            let halves = [name, other].map(|name| part.behind(&planes[name as usize], name));
            halves.iter().all(|half| half.mesh.volume() > LEAST_VOLUME).then_some(halves)
        });
        if let Some(halves) = divided {
            for half in halves {
                open.extend(half.separate().into_iter().map(|part| (part, depth + 1)));
            }
        } else {
            // Convex, or what still bends inward is rounding: no plane divides it.
            let mut names = part.plane_of;
            names.sort_unstable();
            names.dedup();
            if names.len() >= 4 {
                pieces.push(names.iter().map(|&name| planes[name as usize]).collect());
            }
        }
        if pieces.len() + open.len() > MOST_PIECES {
            return Err(BooleanTrouble::TooIntricate);
        }
    }
    Ok(pieces)
}

/// The distinct planes of a mesh's faces, and which one each triangle lies in.
fn face_planes(mesh: &Mesh) -> Result<(Vec<Plane>, Vec<u32>), BooleanTrouble> {
    // Larger faces first: their planes are the most exact, and slivers take a neighbour's.
    let mut order: Vec<(f64, u32)> = (0..mesh.triangles.len())
        .map(|t| (mesh.normal_area(mesh.triangles[t]).length(), t as u32))
        .collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut at_point: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
    let mut cells: FxHashMap<[i64; 3], Vec<u32>> = FxHashMap::default();
    let mut planes: Vec<Plane> = Vec::new();
    let mut plane_of = vec![0_u32; mesh.triangles.len()];
    for (area, t) in order {
        let triangle = mesh.triangles[t as usize];
        let corners = mesh.corners(triangle);
        let normal = mesh.normal_area(triangle).normalize_or_zero();
        let longest = corners[0]
            .distance(corners[1])
            .max(corners[1].distance(corners[2]))
            .max(corners[2].distance(corners[0]));
        let sliver = 2.0 * area <= 1e-5 * longest;
        let fits = |name: &u32| {
            let plane: &Plane = &planes[*name as usize];
            corners.iter().all(|p| plane.distance(*p).abs() <= SAME_POINT)
                && (sliver || plane.normal.dot(normal) > 0.999)
        };
        let cell = (normal * 64.0).round().to_array().map(|v| v as i64);
        let near = (-1..=1).flat_map(|x| {
            (-1..=1)
                .flat_map(move |y| (-1..=1).map(move |z| [cell[0] + x, cell[1] + y, cell[2] + z]))
        });
        let known = triangle
            .iter()
            .filter_map(|i| at_point.get(i))
            .flatten()
            .copied()
            .find(|name| fits(name))
            .or_else(|| {
                near.filter_map(|c| cells.get(&c)).flatten().copied().find(|name| fits(name))
            });
        let name = match (known, Plane::through(corners[0], normal)) {
            (Some(name), _) => name,
            (None, Some(plane)) => {
                planes.push(plane);
                let name = planes.len() as u32 - 1;
                cells.entry(cell).or_default().push(name);
                name
            }
            (None, None) => continue,
        };
        if planes.len() > MOST_PLANES {
            return Err(BooleanTrouble::TooIntricate);
        }
        for i in triangle {
            let names = at_point.entry(i).or_default();
            if !names.contains(&name) {
                names.push(name);
            }
        }
        plane_of[t as usize] = name;
    }
    Ok((planes, plane_of))
}

#[cfg(test)]
mod tests;
