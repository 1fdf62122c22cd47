//! What a solid keeps when others are taken from it, shared with it or added to it.
//!
//! No general boolean of two meshes: one operand is taken apart into convex pieces, and the other
//! is cut by their half spaces, which cannot go wrong on faces that coincide. The work is counted
//! and given up with a reason when it grows without bound.

use crate::clip::cut;
use crate::mesh::Welder;
use crate::{Aabb, Mesh, Plane, Solid, tolerance};
use glam::{DAffine3, DVec3};
use smallvec::SmallVec;

/// Why a boolean was given up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BooleanTrouble {
    /// An operand is not closed, so that it has no inside.
    NotClosed,
    /// The operands are too intricate for the work allowed.
    TooIntricate,
}

impl std::fmt::Display for BooleanTrouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::NotClosed => "an operand is not closed",
            Self::TooIntricate => "the operands are too intricate",
        })
    }
}

impl std::error::Error for BooleanTrouble {}

/// A convex body given by its half spaces; it may reach to infinity.
pub type HalfSpaces = Vec<Plane>;

/// Triangle cuts that one boolean may take before it is given up: a second or so.
const WORK: usize = 4_000_000;

type Triangle = [DVec3; 3];

impl Mesh {
    /// What is left when a convex body, given by its half spaces, is taken away.
    #[must_use]
    pub fn minus_convex(&self, body: &[Plane]) -> Self {
        self.without(body)
    }

    /// What is shared with a convex body, given by its half spaces.
    #[must_use]
    pub fn common_convex(&self, body: &[Plane]) -> Self {
        let mut mesh = self.clone();
        for plane in body {
            if mesh.extent_along(plane.normal).1 > plane.offset {
                mesh = mesh.clipped(plane);
            }
        }
        mesh
    }

    /// Surface fragments outside the body, plus the body's own faces inside the mesh, turned.
    fn without(&self, body: &[Plane]) -> Self {
        let touches = |triangle: &Triangle| {
            !body.iter().any(|plane| {
                triangle.iter().all(|p| plane.distance(*p) >= 0.0) && !lies_in(triangle, plane)
            })
        };
        let mut kept: Vec<Triangle> = Vec::new();
        let mut rest: Vec<Polygon> = Vec::new();
        for &t in &self.triangles {
            let corners = self.corners(t);
            if touches(&corners) {
                rest.push(corners.to_vec());
            } else {
                kept.push(corners);
            }
        }
        if rest.is_empty()
            && body.iter().any(|plane| self.extent_along(plane.normal).0 >= plane.offset)
        {
            return self.clone();
        }
        let mut within: Vec<Polygon> = Vec::new();
        for whole in rest {
            let mut before_any: Vec<Polygon> = Vec::new();
            let mut left = Some(whole.clone());
            for plane in body {
                let Some(polygon) = left.take() else { break };
                let (behind, before) = split(polygon, plane);
                before_any.extend(before);
                left = behind;
            }
            match left {
                // Nothing of it is inside: it stays in one piece.
                None => kept.extend(fan(&whole)),
                Some(inner) => {
                    kept.extend(before_any.iter().flat_map(|polygon| fan(polygon)));
                    within.push(inner);
                }
            }
        }
        let mut caps: Vec<Triangle> = Vec::new();
        for (i, plane) in body.iter().enumerate() {
            let (least, greatest) = self.extent_along(plane.normal);
            if least >= plane.offset || greatest <= plane.offset {
                continue;
            }
            // The section of what stays outside: its material lies in front of the plane.
            let mut faces: Vec<Polygon> =
                cut(self, &plane.flipped()).cap.iter().map(|face| face.to_vec()).collect();
            for (j, other) in body.iter().enumerate() {
                if i == j || faces.is_empty() {
                    continue;
                }
                // Of planes that are one within rounding, as along straight stretches of a
                // profile, the first has the face.
                let alike = plane.normal.dot(other.normal) > 0.0;
                faces = faces
                    .into_iter()
                    .filter_map(|face| {
                        let lies = face.iter().all(|p| other.distance(*p).abs() <= ON_PLANE);
                        if lies { (alike && i < j).then_some(face) } else { split(face, other).0 }
                    })
                    .collect();
            }
            caps.extend(faces.iter().flat_map(|face| fan(face)));
        }
        if within.is_empty() && caps.is_empty() {
            return self.clone();
        }
        let mut welder = Welder::new(1e-7);
        let mut mesh = Self { closed: self.closed, chord: self.chord, ..Self::default() };
        for triangle in kept.iter().chain(&caps) {
            let [a, b, c] = triangle.map(|p| welder.index(p));
            if a != b && b != c && a != c {
                mesh.triangles.push([a, b, c]);
            }
        }
        mesh.points = welder.points;
        mesh
    }
}

const ON_PLANE: f64 = 1e-7;

/// Whether a triangle lies in a plane and looks its way: it then bounds what lies behind.
fn lies_in(triangle: &Triangle, plane: &Plane) -> bool {
    triangle.iter().all(|p| plane.distance(*p).abs() <= ON_PLANE) && looks_along(triangle, plane)
}

/// Whether the polygon's normal points the plane's way.
fn looks_along(polygon: &[DVec3], plane: &Plane) -> bool {
    fan(polygon).map(|[a, b, c]| (b - a).cross(c - a)).sum::<DVec3>().dot(plane.normal) > 0.0
}

/// A plane convex polygon.
type Polygon = Vec<DVec3>;

/// Parts of a polygon behind and before a plane. One in the plane lies behind if it looks the
/// plane's way, before if it looks the other way.
fn split(polygon: Polygon, plane: &Plane) -> (Option<Polygon>, Option<Polygon>) {
    let d: SmallVec<[f64; 8]> = polygon
        .iter()
        .map(|p| {
            let d = plane.distance(*p);
            if d.abs() <= ON_PLANE { 0.0 } else { d }
        })
        .collect();
    let (least, greatest) =
        d.iter().fold((0.0_f64, 0.0_f64), |(lo, hi), d| (lo.min(*d), hi.max(*d)));
    if least == 0.0 && greatest == 0.0 {
        return if looks_along(&polygon, plane) {
            (Some(polygon), None)
        } else {
            (None, Some(polygon))
        };
    }
    if greatest <= 0.0 {
        return (Some(polygon), None);
    }
    if least >= 0.0 {
        return (None, Some(polygon));
    }
    let n = polygon.len();
    let (mut behind, mut before) = (Polygon::with_capacity(n + 1), Polygon::with_capacity(n + 1));
    for corner in 0..n {
        let next = (corner + 1) % n;
        let (a, b, da, db) = (polygon[corner], polygon[next], d[corner], d[next]);
        if da <= 0.0 {
            behind.push(a);
        }
        if da >= 0.0 {
            before.push(a);
        }
        if da * db < 0.0 {
            // From the lower side up, whichever way the edge is run.
            let point = if da < db { a.lerp(b, da / (da - db)) } else { b.lerp(a, db / (db - da)) };
            behind.push(point);
            before.push(point);
        }
    }
    ((behind.len() >= 3).then_some(behind), (before.len() >= 3).then_some(before))
}

fn fan(polygon: &[DVec3]) -> impl Iterator<Item = Triangle> + '_ {
    (2..polygon.len()).map(|i| [polygon[0], polygon[i - 1], polygon[i]])
}

impl Solid {
    /// What is left when the others are taken away, in order; `None` if nothing. Exact while the
    /// others miss.
    ///
    /// # Errors
    /// If a solid is open or too intricate.
    pub fn minus(&self, others: &[&Self]) -> Result<Option<Self>, BooleanTrouble> {
        let mut work = WORK;
        let mut result: Option<Mesh> = None;
        let near = shift_to(self.bounds());
        for other in others {
            let bounds = result.as_ref().map_or_else(|| self.bounds(), Mesh::bounds);
            let _ = bounds;
            if !self.bounds().touches(other.bounds()) {
                continue;
            }
            let Some(other) = other.transformed(&near) else { continue };
            let mut mesh = match result.take() {
                Some(mesh) => mesh,
                None => closed_mesh(self)?.transformed(&near),
            };
            for piece in other.convex_pieces()? {
                work = work
                    .checked_sub(mesh.triangles.len() * piece.len().max(1) / 4 + 1)
                    .ok_or(BooleanTrouble::TooIntricate)?;
                mesh = mesh.minus_convex(&piece);
                if mesh.triangles.is_empty() {
                    return Ok(None);
                }
            }
            result = Some(mesh);
        }
        let back = near.inverse();
        Ok(Some(result.map_or_else(|| self.clone(), |mesh| Self::Mesh(mesh.transformed(&back)))))
    }

    /// What both share; `None` if nothing.
    ///
    /// # Errors
    /// If a solid is open or too intricate.
    pub fn common(&self, other: &Self) -> Result<Option<Self>, BooleanTrouble> {
        if !self.bounds().touches(other.bounds()) {
            return Ok(None);
        }
        let near = shift_to(self.bounds());
        let mesh = closed_mesh(self)?.transformed(&near);
        let Some(other) = other.transformed(&near) else { return Ok(None) };
        let mut shared = Mesh { closed: true, ..Mesh::default() };
        let mut work = WORK;
        for piece in other.convex_pieces()? {
            work = work
                .checked_sub(mesh.triangles.len() * piece.len().max(1) / 4 + 1)
                .ok_or(BooleanTrouble::TooIntricate)?;
            let part = mesh.common_convex(&piece);
            if !part.triangles.is_empty() {
                shared.append(&part);
            }
        }
        Ok((!shared.triangles.is_empty()).then(|| Self::Mesh(shared.transformed(&near.inverse()))))
    }

    /// Both together, what they share counted once.
    ///
    /// # Errors
    /// If a solid is open or too intricate.
    pub fn plus(&self, other: &Self) -> Result<Self, BooleanTrouble> {
        // The simpler of the two is taken out of the other.
        let (kept, cut) =
            if other.intricacy() <= self.intricacy() { (other, self) } else { (self, other) };
        let mut mesh = closed_mesh(kept)?;
        if let Some(rest) = cut.minus(&[kept])? {
            mesh.append(&closed_mesh(&rest)?);
        }
        Ok(Self::Mesh(mesh))
    }

    /// A rough measure of the convex pieces that it would take.
    fn intricacy(&self) -> usize {
        match self {
            Self::Cylinder(bar) => {
                if bar.inner.is_some() {
                    60
                } else {
                    1
                }
            }
            Self::Prism(prism) => match &prism.profile {
                crate::Profile::Rectangle { .. } => 0,
                crate::Profile::Circle { inner, .. } => {
                    if inner.is_some() {
                        60
                    } else {
                        1
                    }
                }
                crate::Profile::Rings { outer, holes, .. } => {
                    outer.len() + holes.iter().map(Vec::len).sum::<usize>()
                }
            },
            Self::Mesh(mesh) => 10 * mesh.triangles.len(),
        }
    }
}

fn closed_mesh(solid: &Solid) -> Result<Mesh, BooleanTrouble> {
    if solid.is_closed() {
        Ok(solid.to_mesh(tolerance::CHORD))
    } else {
        Err(BooleanTrouble::NotClosed)
    }
}

/// The map that brings a box's middle to the origin.
fn shift_to(bounds: Aabb) -> DAffine3 {
    if bounds.is_empty() {
        DAffine3::IDENTITY
    } else {
        DAffine3::from_translation(-bounds.centre())
    }
}
