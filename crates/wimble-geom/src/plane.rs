//! Planes and half spaces.

use glam::{DAffine3, DVec3};

/// The half space of the points `p` with `normal · p <= offset`; `normal` is a unit vector and
/// points away from the material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// Unit vector, out of the material.
    pub normal: DVec3,
    /// Distance of the plane from the origin along `normal`.
    pub offset: f64,
}

impl Plane {
    /// The half space behind a plane through `point`. `None` if `normal` has no length.
    #[must_use]
    pub fn through(point: DVec3, normal: DVec3) -> Option<Self> {
        let normal = normal.try_normalize()?;
        Some(Self { normal, offset: normal.dot(point) })
    }

    /// How far a point lies outside (+) or inside (−).
    #[must_use]
    pub fn distance(&self, point: DVec3) -> f64 {
        self.normal.dot(point) - self.offset
    }

    /// The other half.
    #[must_use]
    pub fn flipped(&self) -> Self {
        Self { normal: -self.normal, offset: -self.offset }
    }

    /// Moved by an affine map. `None` if the map flattens space.
    #[must_use]
    pub fn moved(&self, map: &DAffine3) -> Option<Self> {
        let point = map.transform_point3(self.normal * self.offset);
        let normal = map.matrix3.inverse().transpose() * self.normal;
        if normal.is_finite() { Self::through(point, normal) } else { None }
    }
}
