//! The rectangle of least area round points.

use glam::DVec2;

/// A rectangle that lies at any angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// Middle.
    pub centre: DVec2,
    /// Unit vector along the longer side.
    pub along: DVec2,
    /// The longer side.
    pub long: f64,
    /// The shorter side; 0 if the points lie on a line.
    pub short: f64,
}

impl Rectangle {
    /// The four corners, counter-clockwise.
    #[must_use]
    pub fn corners(&self) -> [DVec2; 4] {
        let (u, v) = (0.5 * self.long * self.along, 0.5 * self.short * self.along.perp());
        [self.centre - u - v, self.centre + u - v, self.centre + u + v, self.centre - u + v]
    }
}

/// The rectangle of least area round the points; of several with the same area (to one part in
/// 10⁹) the one with the least girth. `None` for fewer than two different points.
///
/// One of its sides lies along a side of the convex hull, so each of those is tried.
#[must_use]
pub fn least_area_rectangle(points: &[DVec2]) -> Option<Rectangle> {
    let origin = *points.first()?;
    let hull = convex_hull(points.iter().map(|p| *p - origin).collect());
    let mut best: Option<Rectangle> = None;
    for (i, &corner) in hull.iter().enumerate() {
        let next = hull.get(i + 1).or(hull.first()).copied().unwrap_or(corner);
        let Some(side) = (next - corner).try_normalize() else { continue };
        let found = round_at(&hull, side);
        if best.as_ref().is_none_or(|b| better(&found, b)) {
            best = Some(found);
        }
    }
    best.map(|r| Rectangle { centre: r.centre + origin, ..r })
}

fn better(a: &Rectangle, b: &Rectangle) -> bool {
    let (area_a, area_b) = (a.long * a.short, b.long * b.short);
    let same = (area_a - area_b).abs() <= 1e-9 * area_a.max(area_b);
    let (girth_a, girth_b) = (a.long + a.short, b.long + b.short);
    if same { girth_a < girth_b * (1.0 - 1e-12) } else { area_a < area_b }
}

/// The box of the points in the axes `side` and its perpendicular.
fn round_at(points: &[DVec2], side: DVec2) -> Rectangle {
    let mut min = DVec2::INFINITY;
    let mut max = DVec2::NEG_INFINITY;
    for p in points {
        let q = DVec2::new(p.dot(side), p.dot(side.perp()));
        min = min.min(q);
        max = max.max(q);
    }
    let middle = min.midpoint(max);
    let centre = middle.x * side + middle.y * side.perp();
    let size = max - min;
    if size.x >= size.y {
        Rectangle { centre, along: side, long: size.x, short: size.y }
    } else {
        Rectangle { centre, along: side.perp(), long: size.y, short: size.x }
    }
}

/// Convex hull, counter-clockwise, without points on its sides. Fewer than three points if they
/// lie on a line.
#[must_use]
pub fn convex_hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if turn(a, b, p) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    if points.len() < 2 {
        return points;
    }
    let mut hull = half(&mut points.iter().copied());
    hull.extend(half(&mut points.iter().rev().copied()));
    hull
}

/// Twice the signed area of a triangle; its sign is exact.
fn turn(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    let coord = |p: DVec2| robust::Coord { x: p.x, y: p.y };
    robust::orient2d(coord(a), coord(b), coord(c))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn turned(rectangle: [f64; 2], angle: f64, at: DVec2) -> Vec<DVec2> {
        let [x, y] = rectangle;
        [(-x, -y), (x, -y), (x, y), (-x, y)]
            .map(|(x, y)| at + DVec2::from_angle(angle).rotate(DVec2::new(x / 2.0, y / 2.0)))
            .to_vec()
    }

    #[test]
    fn a_turned_section_is_found_with_its_sides() {
        let found =
            least_area_rectangle(&turned([0.22, 0.047], 0.4, DVec2::new(5.0, 1.0))).unwrap();
        assert!((found.long - 0.22).abs() < 1e-12 && (found.short - 0.047).abs() < 1e-12);
        assert!(found.along.perp_dot(DVec2::from_angle(0.4)).abs() < 1e-12);
        assert!(found.centre.distance(DVec2::new(5.0, 1.0)) < 1e-12);
    }

    #[test]
    fn points_on_a_line_have_no_short_side() {
        let line = [DVec2::ZERO, DVec2::new(3.0, 4.0), DVec2::new(1.5, 2.0)];
        let found = least_area_rectangle(&line).unwrap();
        assert!((found.long - 5.0).abs() < 1e-12 && found.short.abs() < 1e-12);
    }

    #[test]
    fn one_point_has_no_rectangle() {
        assert_eq!(least_area_rectangle(&[DVec2::ONE, DVec2::ONE]), None);
        assert_eq!(least_area_rectangle(&[]), None);
    }

    proptest! {
        #[test]
        fn holds_all_points_and_no_turned_box_is_less(
            points in prop::collection::vec((-9.0..9.0f64, -9.0..9.0f64)
                .prop_map(|(x, y)| DVec2::new(x, y)), 3..40)) {
            let found = least_area_rectangle(&points).unwrap();
            for p in &points {
                let q = *p - found.centre;
                prop_assert!(q.dot(found.along).abs() <= found.long / 2.0 + 1e-9);
                prop_assert!(q.perp_dot(found.along).abs() <= found.short / 2.0 + 1e-9);
            }
            // Slow twin: every angle in turn.
            for i in 0..720 {
                let other = round_at(&points, DVec2::from_angle(f64::from(i).to_radians() / 8.0));
                prop_assert!(found.long * found.short <= other.long * other.short + 1e-9);
            }
        }
    }
}
