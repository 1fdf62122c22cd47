//! Plane areas.

use crate::polygon::{clean_ring, ring_area};
use crate::tolerance::SAME_POINT;
use glam::{DAffine2, DVec2};
use std::f64::consts::{PI, TAU};

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

/// A profile as rings: outer counter-clockwise, holes clockwise.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    /// Outer ring.
    pub outer: Ring,
    /// Holes.
    pub holes: Vec<Ring>,
    /// Greatest distance between an arc and its chord, metres.
    pub chord: f64,
}

/// Into how many chords a full circle is divided so that none leaves it by more than `chord`
/// (both in metres). A multiple of four, so that the extremes along the axes are points of it;
/// 48 at least, so that its area is right to a third of a percent; 720 at most.
#[must_use]
pub fn circle_chords(radius: f64, chord: f64) -> usize {
    if !(radius > chord && chord > 0.0) {
        return 48;
    }
    let half_angle = (1.0 - chord / radius).acos();
    let count = (PI / half_angle).ceil().clamp(48.0, 720.0) as usize;
    count.div_ceil(4) * 4
}

/// A circle round the origin as chords, counter-clockwise from +x.
#[must_use]
pub fn circle_ring(radius: f64, chords: usize) -> Ring {
    (0..chords)
        .map(|i| {
            // The quarters exactly, so that a circle's extent is its diameter.
            let quarter = chords / 4;
            let unit = match chords
                .is_multiple_of(4)
                .then_some((i / quarter.max(1), i % quarter.max(1)))
            {
                Some((0, 0)) => DVec2::X,
                Some((1, 0)) => DVec2::Y,
                Some((2, 0)) => DVec2::NEG_X,
                Some((3, 0)) => DVec2::NEG_Y,
                _ => DVec2::from_angle(TAU * i as f64 / chords as f64),
            };
            unit * radius
        })
        .collect()
}

/// How far the middle of a chord lies from its circle.
pub(crate) fn sagitta(radius: f64, chords: usize) -> f64 {
    radius * (1.0 - (PI / chords as f64).cos())
}

impl Profile {
    /// An area from rings run either way. `None` if the outer ring encloses nothing. Holes
    /// that enclose nothing are left out.
    #[must_use]
    pub fn from_rings(outer: &[DVec2], holes: &[Ring], chord: f64) -> Option<Self> {
        let mut outer = clean_ring(outer);
        let area = ring_area(&outer);
        if outer.len() < 3 || area.abs() < SAME_POINT * SAME_POINT {
            return None;
        }
        if area < 0.0 {
            outer.reverse();
        }
        let holes = holes
            .iter()
            .map(|hole| clean_ring(hole))
            .filter(|hole| hole.len() >= 3 && ring_area(hole).abs() > SAME_POINT * SAME_POINT)
            .map(|mut hole| {
                if ring_area(&hole) > 0.0 {
                    hole.reverse();
                }
                hole
            })
            .collect();
        Some(Self::Rings { outer, holes, chord })
    }

    /// Area, square metres.
    #[must_use]
    pub fn area(&self) -> f64 {
        match self {
            Self::Rectangle { x, y } => x * y,
            Self::Circle { radius, inner } => PI * (radius * radius - inner.map_or(0.0, |r| r * r)),
            Self::Rings { outer, holes, .. } => {
                ring_area(outer) + holes.iter().map(|hole| ring_area(hole)).sum::<f64>()
            }
        }
    }

    /// Least and greatest value of `direction · p` over the area.
    #[must_use]
    pub fn extent_along(&self, direction: DVec2) -> (f64, f64) {
        let half = match self {
            Self::Rectangle { x, y } => {
                (direction.x * x).abs() / 2.0 + (direction.y * y).abs() / 2.0
            }
            Self::Circle { radius, .. } => direction.length() * radius,
            Self::Rings { outer, .. } => {
                return outer
                    .iter()
                    .map(|p| direction.dot(*p))
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), d| {
                        (lo.min(d), hi.max(d))
                    });
            }
        };
        (-half, half)
    }

    /// Corners of the box along x and y.
    #[must_use]
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let (x, y) = (self.extent_along(DVec2::X), self.extent_along(DVec2::Y));
        (DVec2::new(x.0, y.0), DVec2::new(x.1, y.1))
    }

    /// The area as rings; arcs leave their chords by at most `chord` metres.
    #[must_use]
    pub fn outline(&self, chord: f64) -> Outline {
        match self {
            Self::Rectangle { x, y } => {
                let (x, y) = (x / 2.0, y / 2.0);
                let outer = vec![
                    DVec2::new(-x, -y),
                    DVec2::new(x, -y),
                    DVec2::new(x, y),
                    DVec2::new(-x, y),
                ];
                Outline { outer, ..Outline::default() }
            }
            Self::Circle { radius, inner } => {
                let chords = circle_chords(*radius, chord);
                let holes = inner
                    .iter()
                    .map(|r| circle_ring(*r, chords).into_iter().rev().collect())
                    .collect();
                Outline {
                    outer: circle_ring(*radius, chords),
                    holes,
                    chord: sagitta(*radius, chords),
                }
            }
            Self::Rings { outer, holes, chord } => {
                Outline { outer: outer.clone(), holes: holes.clone(), chord: *chord }
            }
        }
    }

    /// The area under a plane affine map, as exactly as can be: the profile in its own frame and
    /// the rigid map (a turn and a shift) that places it. A mirror becomes part of the profile.
    /// `None` if the map flattens the plane.
    #[must_use]
    pub fn moved(&self, map: &DAffine2) -> Option<(Self, DAffine2)> {
        let (x, y) = (map.matrix2.x_axis, map.matrix2.y_axis);
        let (sx, sy) = (x.length(), y.length());
        if !(sx > 1e-12 && sy > 1e-12) || map.matrix2.determinant().abs() < 1e-12 * sx * sy {
            return None;
        }
        let angle = x.y.atan2(x.x);
        let rigid = DAffine2::from_angle_translation(angle, map.translation);
        let square = (x.dot(y) / (sx * sy)).abs() < 1e-9;
        match self {
            Self::Rectangle { x, y } if square => {
                Some((Self::Rectangle { x: x * sx, y: y * sy }, rigid))
            }
            Self::Circle { radius, inner } if square && (sx - sy).abs() < 1e-9 * sx => {
                Some((Self::Circle { radius: radius * sx, inner: inner.map(|r| r * sx) }, rigid))
            }
            _ => {
                let local = rigid.inverse() * *map;
                let grows = sx.max(sy);
                let outline = self.outline(crate::tolerance::CHORD / grows.max(1.0));
                let ring = |points: &Ring| {
                    points.iter().map(|p| local.transform_point2(*p)).collect::<Ring>()
                };
                let holes: Vec<Ring> = outline.holes.iter().map(ring).collect();
                Self::from_rings(&ring(&outline.outer), &holes, outline.chord * grows)
                    .map(|profile| (profile, rigid))
            }
        }
    }

    /// Four corners at right angles, however they were written, are a rectangle. Gives the
    /// profile and the rigid map that places it.
    #[must_use]
    pub fn simplified(self) -> (Self, DAffine2) {
        if let Self::Rings { outer, holes, .. } = &self
            && holes.is_empty()
        {
            let corners = without_straight_points(outer);
            if let [a, b, c, d] = corners[..] {
                let (side, up) = (b - a, d - a);
                let right_angle = side.dot(up).abs() <= SAME_POINT * side.length().min(up.length());
                if right_angle
                    && (a + c).distance(b + d) <= 2.0 * SAME_POINT
                    && side.perp_dot(up) > 0.0
                {
                    let place =
                        DAffine2::from_angle_translation(side.y.atan2(side.x), a.midpoint(c));
                    return (Self::Rectangle { x: side.length(), y: up.length() }, place);
                }
            }
        }
        (self, DAffine2::IDENTITY)
    }
}

/// A ring's corners: without the points that lie on the straight line of their neighbours.
pub(crate) fn without_straight_points(ring: &[DVec2]) -> Vec<DVec2> {
    let n = ring.len();
    (0..n)
        .filter(|&i| {
            let (before, here, after) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            let along = after - before;
            (here - before).perp_dot(along).abs() > SAME_POINT * along.length()
        })
        .map(|i| ring[i])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_as_chords_keeps_its_extent_and_its_stated_chord() {
        let circle = Profile::Circle { radius: 0.05, inner: Some(0.04) };
        let outline = circle.outline(1e-4);
        assert!(outline.chord <= 1e-4);
        assert_eq!(circle.bounds(), (DVec2::splat(-0.05), DVec2::splat(0.05)));
        assert!(outline.outer.contains(&DVec2::new(0.0, 0.05)));
        let area = ring_area(&outline.outer) + ring_area(&outline.holes[0]);
        assert!((area / circle.area() - 1.0).abs() < 0.005);
    }

    #[test]
    fn four_right_angles_are_a_rectangle_wherever_the_ring_starts() {
        let turn = DAffine2::from_angle_translation(0.3, DVec2::new(5.0, 7.0));
        let ring: Ring = [(0.0, 0.0), (0.05, 0.0), (0.1, 0.0), (0.1, 0.2), (0.0, 0.2)]
            .iter()
            .map(|&(x, y)| turn.transform_point2(DVec2::new(x, y)))
            .collect();
        let (profile, place) = Profile::from_rings(&ring, &[], 0.0)
            .map(Profile::simplified)
            .unwrap_or_else(|| unreachable!());
        let Profile::Rectangle { x, y } = profile else { panic!("not a rectangle: {profile:?}") };
        assert!((x - 0.1).abs() < 1e-9 && (y - 0.2).abs() < 1e-9);
        assert!(place.translation.distance(turn.transform_point2(DVec2::new(0.05, 0.1))) < 1e-9);
    }

    #[test]
    fn a_mirror_and_a_scale_keep_a_rectangle_and_a_shear_does_not() {
        let rectangle = Profile::Rectangle { x: 2.0, y: 1.0 };
        let mirror = DAffine2::from_cols(DVec2::NEG_X, DVec2::new(0.0, 3.0), DVec2::ONE);
        let (moved, _) = rectangle.moved(&mirror).unwrap_or_else(|| unreachable!());
        assert_eq!(moved, Profile::Rectangle { x: 2.0, y: 3.0 });
        let shear = DAffine2::from_cols(DVec2::X, DVec2::ONE, DVec2::ZERO);
        let (sheared, _) = rectangle.moved(&shear).unwrap_or_else(|| unreachable!());
        assert!(matches!(sheared, Profile::Rings { .. }));
        assert!((sheared.area() - 2.0).abs() < 1e-12);
    }
}
