//! Convex bodies.

use crate::Plane;
use glam::DVec3;

/// A convex body: points and plane faces (rings of indices, counter-clockwise from outside).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Convex {
    /// Points.
    pub points: Vec<DVec3>,
    /// Faces.
    pub faces: Vec<Vec<u32>>,
}

impl Convex {
    /// The half spaces whose intersection it is.
    #[must_use]
    pub fn planes(&self) -> Vec<Plane> {
        self.faces
            .iter()
            .filter_map(|face| {
                let at = |i: usize| self.points[face[i] as usize];
                (face.len() >= 3)
                    .then(|| Plane::through(at(0), (at(1) - at(0)).cross(at(2) - at(0))))
                    .flatten()
            })
            .collect()
    }
}
