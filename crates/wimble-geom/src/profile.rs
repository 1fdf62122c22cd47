//! Plane areas.

use glam::DVec2;

/// A closed ring of points, without the first repeated at the end.
pub type Ring = Vec<DVec2>;

/// A plane area in its own x–y frame, metres. Exact shapes are kept as such and centred on the
/// origin: an offset or a turn belongs to the frame that places the profile.
#[derive(Debug, Clone, PartialEq)]
pub enum Profile {
    /// Full sizes along x and y.
    Rectangle {
        /// Along x.
        x: f64,
        /// Along y.
        y: f64,
    },
    /// A disc, or a ring if `inner` is given.
    Circle {
        /// Outer radius.
        radius: f64,
        /// Inner radius of a hollow one.
        inner: Option<f64>,
    },
    /// Any other area: outer ring counter-clockwise, holes clockwise; arcs as chords.
    Rings {
        /// Outer ring.
        outer: Ring,
        /// Holes.
        holes: Vec<Ring>,
        /// Greatest distance between an arc and its chord, metres; 0 if all edges are straight.
        chord: f64,
    },
}
