//! Curves as chains of straight lines, arcs and chords.

use glam::{DAffine3, DVec3};
use std::f64::consts::TAU;
use wimble_geom::tolerance::SAME_POINT;

/// The widest angle of a chord: a whole circle's area is right to a third of a percent.
const WIDEST: f64 = TAU / 48.0;

/// One stretch of a path.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Piece {
    Line {
        from: DVec3,
        to: DVec3,
    },
    /// `centre + x cos t + y sin t` for t from `start` to `end` (either may be greater).
    Arc {
        centre: DVec3,
        x: DVec3,
        y: DVec3,
        start: f64,
        end: f64,
    },
    /// A curve that is only known by points on it; the way it runs at its ends.
    Chords {
        points: Vec<DVec3>,
        leaves: DVec3,
        arrives: DVec3,
    },
}

impl Piece {
    pub(super) fn from(&self) -> DVec3 {
        self.at(0.0)
    }

    pub(super) fn to(&self) -> DVec3 {
        self.at(1.0)
    }

    /// The point at a share of its parameter.
    pub(super) fn at(&self, share: f64) -> DVec3 {
        match self {
            Self::Line { from, to } => {
                // Ends exactly.
                if share >= 1.0 { *to } else { from.lerp(*to, share) }
            }
            Self::Arc { centre, x, y, start, end } => {
                let (sin, cos) = (start + (end - start) * share).sin_cos();
                centre + *x * cos + *y * sin
            }
            Self::Chords { points, .. } => {
                let last = points.len().saturating_sub(1);
                let place = share.clamp(0.0, 1.0) * last as f64;
                let i = (place.floor() as usize).min(last);
                match (points.get(i), points.get(i + 1)) {
                    (Some(a), Some(b)) => a.lerp(*b, place - i as f64),
                    (Some(a), None) => *a,
                    _ => DVec3::ZERO,
                }
            }
        }
    }

    /// The way it runs at a share of its parameter; zero if it has no length.
    pub(super) fn way(&self, share: f64) -> DVec3 {
        match self {
            Self::Line { from, to } => (to - from).normalize_or_zero(),
            Self::Arc { x, y, start, end, .. } => {
                let (sin, cos) = (start + (end - start) * share).sin_cos();
                ((*y * cos - *x * sin) * (end - start).signum()).normalize_or_zero()
            }
            Self::Chords { points, leaves, arrives } => {
                if share <= 0.0 {
                    return *leaves;
                }
                if share >= 1.0 {
                    return *arrives;
                }
                let last = points.len().saturating_sub(1);
                let i = ((share * last as f64).floor() as usize).min(last.saturating_sub(1));
                match (points.get(i), points.get(i + 1)) {
                    (Some(a), Some(b)) => (b - a).normalize_or_zero(),
                    _ => DVec3::ZERO,
                }
            }
        }
    }

    pub(super) fn reversed(self) -> Self {
        match self {
            Self::Line { from, to } => Self::Line { from: to, to: from },
            Self::Arc { centre, x, y, start, end } => {
                Self::Arc { centre, x, y, start: end, end: start }
            }
            Self::Chords { mut points, leaves, arrives } => {
                points.reverse();
                Self::Chords { points, leaves: -arrives, arrives: -leaves }
            }
        }
    }

    fn moved(&self, map: &DAffine3) -> Self {
        let (point, vector) =
            (|p: DVec3| map.transform_point3(p), |v: DVec3| map.transform_vector3(v));
        match self {
            Self::Line { from, to } => Self::Line { from: point(*from), to: point(*to) },
            Self::Arc { centre, x, y, start, end } => Self::Arc {
                centre: point(*centre),
                x: vector(*x),
                y: vector(*y),
                start: *start,
                end: *end,
            },
            Self::Chords { points, leaves, arrives } => Self::Chords {
                points: points.iter().map(|p| point(*p)).collect(),
                leaves: vector(*leaves).normalize_or_zero(),
                arrives: vector(*arrives).normalize_or_zero(),
            },
        }
    }

    /// The stretch between two shares of its parameter.
    pub(super) fn between(&self, from: f64, to: f64) -> Self {
        match self {
            Self::Line { .. } => Self::Line { from: self.at(from), to: self.at(to) },
            Self::Arc { centre, x, y, start, end } => {
                let at = |share: f64| start + (end - start) * share;
                Self::Arc { centre: *centre, x: *x, y: *y, start: at(from), end: at(to) }
            }
            Self::Chords { points, .. } => {
                let last = points.len().saturating_sub(1) as f64;
                let mut inner = vec![self.at(from)];
                let between = points.iter().enumerate().filter(|(i, _)| {
                    let share = *i as f64 / last.max(1.0);
                    share > from + 1e-12 && share < to - 1e-12
                });
                inner.extend(between.map(|(_, p)| *p));
                inner.push(self.at(to));
                Self::Chords { points: inner, leaves: self.way(from), arrives: self.way(to) }
            }
        }
    }

    /// Into how many chords it is divided.
    fn chords(&self, chord: f64) -> usize {
        match self {
            Self::Line { .. } => 1,
            Self::Arc { x, y, start, end, .. } => {
                let radius = x.length().max(y.length());
                let sweep = (end - start).abs();
                let step =
                    if radius > chord { 2.0 * (1.0 - chord / radius).acos() } else { WIDEST };
                ((sweep / step.clamp(TAU / 720.0, WIDEST)).ceil() as usize).clamp(1, 20_000)
            }
            Self::Chords { points, .. } => points.len().saturating_sub(1).max(1),
        }
    }

    pub(super) fn length(&self) -> f64 {
        match self {
            Self::Line { from, to } => from.distance(*to),
            Self::Arc { x, y, start, end, .. }
                if (x.length() - y.length()).abs() <= 1e-9 * x.length() =>
            {
                (end - start).abs() * x.length()
            }
            _ => {
                let n = self.chords(1e-6).max(64);
                (0..n)
                    .map(|i| {
                        self.at(i as f64 / n as f64).distance(self.at((i + 1) as f64 / n as f64))
                    })
                    .sum()
            }
        }
    }
}

/// A piece with the length of its parameter, in the file's own terms.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    pub(super) piece: Piece,
    pub(super) parameters: f64,
}

/// A bounded curve.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Path {
    pub(super) stretches: Vec<Stretch>,
}

/// A point of a path with the way it arrives and the way it leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Station {
    pub(super) point: DVec3,
    pub(super) arrives: DVec3,
    pub(super) leaves: DVec3,
}

impl Path {
    pub(super) fn of(piece: Piece, parameters: f64) -> Self {
        Self { stretches: vec![Stretch { piece, parameters }] }
    }

    /// Straight lines through points, one parameter each.
    pub(super) fn polyline(points: &[DVec3]) -> Self {
        let stretches = points
            .windows(2)
            .map(|w| Stretch { piece: Piece::Line { from: w[0], to: w[1] }, parameters: 1.0 })
            .collect();
        Self { stretches }
    }

    pub(super) fn from(&self) -> Option<DVec3> {
        self.stretches.first().map(|s| s.piece.from())
    }

    pub(super) fn to(&self) -> Option<DVec3> {
        self.stretches.last().map(|s| s.piece.to())
    }

    pub(super) fn is_closed(&self, within: f64) -> bool {
        match (self.from(), self.to()) {
            (Some(a), Some(b)) => a.distance(b) <= within,
            _ => false,
        }
    }

    pub(super) fn reversed(self) -> Self {
        let stretches = self
            .stretches
            .into_iter()
            .rev()
            .map(|s| Stretch { piece: s.piece.reversed(), parameters: s.parameters })
            .collect();
        Self { stretches }
    }

    pub(super) fn moved(&self, map: &DAffine3) -> Self {
        let stretches = self
            .stretches
            .iter()
            .map(|s| Stretch { piece: s.piece.moved(map), parameters: s.parameters })
            .collect();
        Self { stretches }
    }

    pub(super) fn length(&self) -> f64 {
        self.stretches.iter().map(|s| s.piece.length()).sum()
    }

    pub(super) fn parameters(&self) -> f64 {
        self.stretches.iter().map(|s| s.parameters).sum()
    }

    /// The part between two parameters (running sum over the stretches).
    pub(super) fn between(&self, from: f64, to: f64) -> Self {
        let sizes: Vec<f64> = self.stretches.iter().map(|s| s.parameters).collect();
        self.cut(&sizes, from, to)
    }

    /// The part between two lengths along it.
    pub(super) fn between_lengths(&self, from: f64, to: f64) -> Self {
        let sizes: Vec<f64> = self.stretches.iter().map(|s| s.piece.length()).collect();
        self.cut(&sizes, from, to)
    }

    fn cut(&self, sizes: &[f64], from: f64, to: f64) -> Self {
        let mut start = 0.0;
        let mut stretches = Vec::new();
        for (stretch, &size) in self.stretches.iter().zip(sizes) {
            let end = start + size;
            if size > 0.0 && end > from && start < to {
                let (a, b) = (
                    ((from - start) / size).clamp(0.0, 1.0),
                    ((to - start) / size).clamp(0.0, 1.0),
                );
                if b - a > 1e-9 {
                    let piece = if a == 0.0 && b == 1.0 {
                        stretch.piece.clone()
                    } else {
                        stretch.piece.between(a, b)
                    };
                    stretches.push(Stretch { piece, parameters: stretch.parameters * (b - a) });
                }
            }
            start = end;
        }
        Self { stretches }
    }

    /// The path's points, chords near enough to it, without repeats. A closed path repeats its
    /// first point at the end.
    pub(super) fn points(&self, chord: f64) -> Vec<DVec3> {
        self.stations(chord).into_iter().map(|s| s.point).collect()
    }

    /// The path's points with the ways it runs there.
    pub(super) fn stations(&self, chord: f64) -> Vec<Station> {
        let mut stations: Vec<Station> = Vec::new();
        for stretch in &self.stretches {
            let piece = &stretch.piece;
            let n = piece.chords(chord);
            for i in 0..=n {
                let share = i as f64 / n as f64;
                let (point, way) = (piece.at(share), chord_way(piece, i, n));
                match stations.last_mut() {
                    Some(last) if last.point.distance(point) <= SAME_POINT => {
                        // A stretch of no length has no say in the way.
                        if way.arrives != DVec3::ZERO && i == 0 {
                            last.leaves = way.leaves;
                        }
                    }
                    _ => stations.push(Station { point, ..way }),
                }
            }
        }
        stations
    }

    /// Whether it is one full circle: centre and radius.
    pub(super) fn as_circle(&self) -> Option<(DVec3, f64)> {
        // Two halves of one circle are a circle as well.
        let mut sweep = 0.0;
        let mut found: Option<(DVec3, f64)> = None;
        for stretch in &self.stretches {
            let Piece::Arc { centre, x, y, start, end } = &stretch.piece else { return None };
            let radius = x.length();
            let round = (radius - y.length()).abs() <= 1e-9 * radius.max(1e-3)
                && x.dot(*y).abs() <= 1e-9 * radius * radius;
            let same = found.is_none_or(|(c, r)| {
                c.distance(*centre) <= SAME_POINT && (r - radius).abs() <= SAME_POINT
            });
            if !round || !same {
                return None;
            }
            found = Some((*centre, radius));
            let plane_turn = x.cross(*y).z.signum();
            sweep += (end - start) * if plane_turn == 0.0 { 1.0 } else { plane_turn };
        }
        found.filter(|_| (sweep.abs() - TAU).abs() < 1e-6)
    }
}

fn chord_way(piece: &Piece, i: usize, n: usize) -> Station {
    let share = i as f64 / n as f64;
    let way = match piece {
        // Inside a chain of chords the way is the mean of the two that meet.
        Piece::Chords { points, .. } if i > 0 && i < n => {
            match (points.get(i - 1), points.get(i), points.get(i + 1)) {
                (Some(a), Some(b), Some(c)) => {
                    ((b - a).normalize_or_zero() + (c - b).normalize_or_zero()).normalize_or_zero()
                }
                _ => piece.way(share),
            }
        }
        _ => piece.way(share),
    };
    Station { point: DVec3::ZERO, arrives: way, leaves: way }
}

/// The arc through three points; a straight line if they lie on one.
pub(super) fn arc_through(a: DVec3, b: DVec3, c: DVec3) -> Piece {
    let (ab, ac) = (b - a, c - a);
    let normal = ab.cross(ac);
    let size = normal.length();
    if size <= 1e-9 * ab.length() * ac.length() || size == 0.0 {
        return Piece::Line { from: a, to: c };
    }
    let towards = (normal.cross(ab) * ac.length_squared() + ac.cross(normal) * ab.length_squared())
        / (2.0 * size * size);
    let centre = a + towards;
    let x = a - centre;
    let y = (normal / size).cross(x);
    let angle = |p: DVec3| {
        let t = (p - centre).dot(y).atan2((p - centre).dot(x));
        if t < 0.0 { t + TAU } else { t }
    };
    // By construction a, b, c turn counter-clockwise about the normal.
    Piece::Arc { centre, x, y, start: 0.0, end: angle(c) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn an_arc_through_three_points_goes_by_the_second() {
        let arc = arc_through(DVec3::X, DVec3::Y, DVec3::NEG_X);
        assert!((arc.length() - PI).abs() < 1e-12);
        assert!(arc.at(0.5).distance(DVec3::Y) < 1e-12);
        let back = arc_through(DVec3::X, DVec3::NEG_Y, DVec3::NEG_X);
        assert!(back.at(0.5).distance(DVec3::NEG_Y) < 1e-12);
        assert!(matches!(arc_through(DVec3::ZERO, DVec3::X, DVec3::X * 2.0), Piece::Line { .. }));
    }

    #[test]
    fn a_path_is_cut_by_its_running_parameter() {
        let path = Path::polyline(&[DVec3::ZERO, DVec3::X * 2.0, DVec3::new(2.0, 4.0, 0.0)]);
        let part = path.between(0.5, 1.25);
        assert_eq!(part.points(1e-3), vec![DVec3::X, DVec3::X * 2.0, DVec3::new(2.0, 1.0, 0.0)]);
        let by_length = path.between_lengths(1.0, 3.0);
        assert_eq!(by_length.points(1e-3), part.points(1e-3));
    }

    #[test]
    fn two_halves_of_a_circle_are_a_circle() {
        let half = |start: f64| Stretch {
            piece: Piece::Arc {
                centre: DVec3::Z,
                x: DVec3::X,
                y: DVec3::Y,
                start,
                end: start + PI,
            },
            parameters: PI,
        };
        let path = Path { stretches: vec![half(0.0), half(PI)] };
        assert_eq!(path.as_circle(), Some((DVec3::Z, 1.0)));
        assert!(path.is_closed(1e-9));
    }

    #[test]
    fn corners_keep_both_ways_and_smooth_joints_one() {
        let path = Path::polyline(&[DVec3::ZERO, DVec3::X, DVec3::new(1.0, 1.0, 0.0)]);
        let corner = path.stations(1e-3)[1];
        assert_eq!((corner.arrives, corner.leaves), (DVec3::X, DVec3::Y));
    }
}
