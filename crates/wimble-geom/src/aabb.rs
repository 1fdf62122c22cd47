//! Boxes along the axes.

use glam::DVec3;

/// A box along the axes of whatever frame its points are in. Empty if a `min` exceeds its `max`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aabb {
    /// Least corner.
    pub min: DVec3,
    /// Greatest corner.
    pub max: DVec3,
}

impl Aabb {
    /// Holds no point.
    pub const EMPTY: Self = Self { min: DVec3::INFINITY, max: DVec3::NEG_INFINITY };

    /// The least box round the points; empty for none.
    pub fn of(points: impl IntoIterator<Item = DVec3>) -> Self {
        points.into_iter().fold(Self::EMPTY, Self::with)
    }

    /// The least box round this one and a point.
    #[must_use]
    pub fn with(self, point: DVec3) -> Self {
        Self { min: self.min.min(point), max: self.max.max(point) }
    }

    /// The least box round both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self { min: self.min.min(other.min), max: self.max.max(other.max) }
    }

    /// What both share; empty if nothing.
    #[must_use]
    pub fn intersection(self, other: Self) -> Self {
        Self { min: self.min.max(other.min), max: self.max.min(other.max) }
    }

    /// Grown by `by` on every side.
    #[must_use]
    pub fn grown(self, by: f64) -> Self {
        Self { min: self.min - DVec3::splat(by), max: self.max + DVec3::splat(by) }
    }

    /// Whether it holds no point.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.min.cmpgt(self.max).any()
    }

    /// Whether the two share a point.
    #[must_use]
    pub fn touches(self, other: Self) -> bool {
        self.min.cmple(other.max).all() && other.min.cmple(self.max).all()
    }

    /// Whether all of it is behind a plane.
    #[must_use]
    pub fn is_behind(self, plane: &crate::Plane) -> bool {
        let reach = plane.normal.abs().dot(self.size() / 2.0);
        plane.distance(self.centre()) + reach <= 0.0
    }

    /// Size along each axis.
    #[must_use]
    pub fn size(self) -> DVec3 {
        self.max - self.min
    }

    /// Middle.
    #[must_use]
    pub fn centre(self) -> DVec3 {
        self.min.midpoint(self.max)
    }

    /// The six half spaces whose intersection it is.
    #[must_use]
    pub fn planes(self) -> [crate::Plane; 6] {
        std::array::from_fn(|i| {
            let axis = DVec3::AXES[i / 2];
            if i % 2 == 0 {
                crate::Plane { normal: axis, offset: axis.dot(self.max) }
            } else {
                crate::Plane { normal: -axis, offset: -axis.dot(self.min) }
            }
        })
    }

    /// The eight corners.
    #[must_use]
    pub fn corners(self) -> [DVec3; 8] {
        std::array::from_fn(|i| {
            DVec3::new(
                if i & 1 == 0 { self.min.x } else { self.max.x },
                if i & 2 == 0 { self.min.y } else { self.max.y },
                if i & 4 == 0 { self.min.z } else { self.max.z },
            )
        })
    }
}
