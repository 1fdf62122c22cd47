//! The cylinder that a faceted round body stands for.

use crate::{Cylinder, Disc, convex_hull, least_circle};
use glam::{DMat3, DVec2, DVec3};
use rustc_hash::FxHashSet;

/// Fewer corners than this round the axis are a bar with flat sides, not a pipe.
const LEAST_CORNERS: usize = 8;
/// The widest angle between neighbouring corners of a round body, radians.
const WIDEST_GAP: f64 = std::f64::consts::FRAC_PI_3;

/// The circular cylinder with square ends whose surface all points lie on, within `tolerance`
/// (metres; [`crate::tolerance::ROUND_FIT`]): the radius is the largest distance from the axis.
///
/// Points inside are allowed in the planes of the two ends (the middle of a fan of triangles, the
/// bore of a tube). `None` if there is no such cylinder, or if fewer than eight corners go round
/// it or they leave a gap of more than 60°: a square bar's corners lie on a cylinder too.
#[must_use]
pub fn fit_cylinder(points: &[DVec3], tolerance: f64) -> Option<Cylinder> {
    let origin = *points.first()?;
    let points = distinct(points.iter().map(|p| *p - origin));
    if points.len() < 2 * LEAST_CORNERS {
        return None;
    }
    let (axes, values) = principal_axes(&points)?;
    let ambiguous = values.into_iter().fold(f64::INFINITY, f64::min)
        > 0.2 * values.into_iter().fold(0.0, f64::max);
    // In a body about as long as it is wide the principal axes say little: then an edge along it.
    // Only for small bodies: a ball of many points is no pipe.
    let feet = points.iter().take(if ambiguous && points.len() <= 512 { 4 } else { 0 });
    let edges = feet.flat_map(|foot| points.iter().map(move |p| *p - *foot));
    axes.into_iter()
        .find_map(|axis| along(&points, axis, tolerance))
        .or_else(|| {
            edges.filter_map(DVec3::try_normalize).find_map(|edge| check(&points, edge, tolerance))
        })
        .map(|c| Cylinder { from: c.from + origin, to: c.to + origin, ..c })
}

/// Tries a guess and the axes that least squares lead to from it.
fn along(points: &[DVec3], guess: DVec3, tolerance: f64) -> Option<Cylinder> {
    let mut best = None;
    let mut axis = guess;
    // A guess that is off leaves out corners that count: the next round has them.
    for _ in 0..4 {
        let Some(next) = refined(points, axis) else { break };
        best = check(points, next, tolerance);
        if best.is_some() {
            break;
        }
        axis = next;
    }
    best.or_else(|| check(points, guess, tolerance))
}

fn check(points: &[DVec3], direction: DVec3, tolerance: f64) -> Option<Cylinder> {
    let (u, v) = direction.any_orthonormal_pair();
    let flat: Vec<DVec2> = points.iter().map(|p| DVec2::new(p.dot(u), p.dot(v))).collect();
    let hull = convex_hull(flat.clone());
    let circle = least_circle(&hull.iter().copied().map(Disc::point).collect::<Vec<_>>())?;
    let lateral = |p: &DVec2| p.distance(circle.centre) >= circle.radius - tolerance;
    if !hull.iter().all(lateral) {
        return None; // an oval, or an axis that is off
    }
    let heights = || points.iter().map(|p| p.dot(direction));
    let (low, high) =
        (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
    let middle = f64::midpoint(low, high);
    let mut angles = [Vec::new(), Vec::new()];
    for (p, height) in flat.iter().zip(heights()) {
        if lateral(p) {
            angles[usize::from(height > middle)].push((*p - circle.centre).to_angle());
        } else if height - low > tolerance && high - height > tolerance {
            return None;
        }
    }
    let round = angles.into_iter().all(|half| goes_round(half, circle.radius));
    if high - low <= tolerance || circle.radius <= tolerance || !round {
        return None;
    }
    let centre = circle.centre.x * u + circle.centre.y * v;
    Some(Cylinder {
        from: centre + low * direction,
        to: centre + high * direction,
        radius: circle.radius,
        inner: None,
    })
}

/// Whether the corners of one half of the length are many and leave no wide gap.
fn goes_round(mut angles: Vec<f64>, radius: f64) -> bool {
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|a, b| (*a - *b) * radius < crate::tolerance::SAME_POINT);
    let (Some(&first), Some(&last)) = (angles.first(), angles.last()) else { return false };
    let closing = first + std::f64::consts::TAU - last;
    let widest = angles.windows(2).map(|w| w[1] - w[0]).fold(closing, f64::max);
    angles.len() >= LEAST_CORNERS && widest <= WIDEST_GAP + 1e-9
}

/// Least squares over the axis' direction and place and the radius, from a first guess; points
/// well inside (ends' middles, bores) are left out.
fn refined(points: &[DVec3], guess: DVec3) -> Option<DVec3> {
    let (u, v) = guess.any_orthonormal_pair();
    let local: Vec<DVec3> =
        points.iter().map(|p| DVec3::new(p.dot(u), p.dot(v), p.dot(guess))).collect();
    let discs: Vec<Disc> = local.iter().map(|p| Disc::point(p.truncate())).collect();
    let circle = least_circle(&discs)?;
    let outer: Vec<DVec3> = local
        .into_iter()
        .filter(|p| p.truncate().distance(circle.centre) >= 0.8 * circle.radius)
        .collect();
    let span = outer.iter().map(|p| p.z.abs()).fold(0.0, f64::max);
    if span <= 0.0 {
        return None;
    }
    // Axis through (a, b, 0) with slopes (s, t) per `span`: all five unknowns are lengths.
    let mut x = [circle.centre.x, circle.centre.y, 0.0, 0.0, circle.radius];
    for _ in 0..12 {
        let mut normal = [[0.0; 6]; 5];
        for p in &outer {
            let h = p.z / span;
            let arm = DVec2::new(p.x - x[0] - x[2] * h, p.y - x[1] - x[3] * h);
            let reach = arm.length();
            if reach <= 0.0 {
                return None;
            }
            let (cx, cy) = (arm.x / reach, arm.y / reach);
            let row = [cx, cy, cx * h, cy * h, 1.0, reach - x[4]];
            for (i, line) in normal.iter_mut().enumerate() {
                for (j, cell) in line.iter_mut().enumerate() {
                    *cell += row[i] * row[j];
                }
            }
        }
        let step = solve(normal)?;
        for (unknown, by) in x.iter_mut().zip(step) {
            *unknown += by;
        }
        if step.iter().all(|s| s.abs() < 1e-12) {
            break;
        }
    }
    (guess * span + u * x[2] + v * x[3]).try_normalize()
}

/// Gauss elimination with pivots; the last column is the right-hand side.
fn solve(mut rows: [[f64; 6]; 5]) -> Option<[f64; 5]> {
    for i in 0..5 {
        let pivot = (i..5).max_by(|&a, &b| rows[a][i].abs().total_cmp(&rows[b][i].abs()))?;
        rows.swap(i, pivot);
        let head = rows[i];
        if head[i].abs() < 1e-12 {
            return None;
        }
        for (k, row) in rows.iter_mut().enumerate() {
            if k != i {
                let factor = row[i] / head[i];
                for (cell, above) in row.iter_mut().zip(head) {
                    *cell -= factor * above;
                }
            }
        }
    }
    Some(std::array::from_fn(|i| rows[i][5] / rows[i][i]))
}

/// Points nearer than [`crate::tolerance::SAME_POINT`] are one (told by a grid: two that straddle a line of
/// it stay two, which harms nothing here).
fn distinct(points: impl Iterator<Item = DVec3>) -> Vec<DVec3> {
    let mut seen = FxHashSet::default();
    points
        .filter(|p| {
            let cell = (*p / crate::tolerance::SAME_POINT).round();
            seen.insert([cell.x as i64, cell.y as i64, cell.z as i64])
        })
        .collect()
}

/// Axes of the points' spread and the spread along each, by Jacobi rotations.
fn principal_axes(points: &[DVec3]) -> Option<([DVec3; 3], [f64; 3])> {
    let n = points.len() as f64;
    let mean = points.iter().sum::<DVec3>() / n;
    let mut a = [[0.0f64; 3]; 3];
    for p in points {
        let d = (*p - mean).to_array();
        for (i, line) in a.iter_mut().enumerate() {
            for (j, cell) in line.iter_mut().enumerate() {
                *cell += d[i] * d[j] / n;
            }
        }
    }
    let mut turned = DMat3::IDENTITY;
    let scale = a[0][0] + a[1][1] + a[2][2];
    if !(scale.is_finite() && scale > 0.0) {
        return None;
    }
    for _ in 0..40 {
        let (p, q) = [(0, 1), (0, 2), (1, 2)]
            .into_iter()
            .max_by(|s, t| a[s.0][s.1].abs().total_cmp(&a[t.0][t.1].abs()))?;
        if a[p][q].abs() <= 1e-15 * scale {
            break;
        }
        let angle = 0.5 * (2.0 * a[p][q]).atan2(a[q][q] - a[p][p]);
        let (sin, cos) = angle.sin_cos();
        let mut r = DMat3::IDENTITY.to_cols_array_2d();
        r[p][p] = cos;
        r[q][q] = cos;
        r[q][p] = sin;
        r[p][q] = -sin;
        let r = DMat3::from_cols_array_2d(&r);
        let m = DMat3::from_cols_array_2d(&a);
        a = (r.transpose() * m * r).to_cols_array_2d();
        turned *= r;
    }
    let axes = turned.to_cols_array_2d().map(DVec3::from_array);
    Some((axes, [a[0][0], a[1][1], a[2][2]]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tolerance::ROUND_FIT;
    use glam::DQuat;
    use proptest::prelude::*;

    /// Corners of a faceted pipe along Z from 0 to `length`.
    fn pipe(radius: f64, length: f64, corners: usize) -> Vec<DVec3> {
        (0..corners)
            .flat_map(|i| {
                let a = std::f64::consts::TAU * i as f64 / corners as f64;
                let p = DVec2::from_angle(a) * radius;
                [p.extend(0.0), p.extend(length)]
            })
            .collect()
    }

    fn placed(points: &[DVec3], turn: DQuat, at: DVec3) -> Vec<DVec3> {
        points.iter().map(|p| turn * *p + at).collect()
    }

    #[test]
    fn a_faceted_pipe_is_its_cylinder() {
        let at = DVec3::new(2.0e6, 5.0e6, 3.0);
        let turn = DQuat::from_axis_angle(DVec3::new(1.0, 2.0, 0.5).normalize(), 1.0);
        let found = fit_cylinder(&placed(&pipe(0.011, 3.2, 16), turn, at), ROUND_FIT).unwrap();
        assert!((found.radius - 0.011).abs() < 1e-8);
        assert!((found.from.distance(found.to) - 3.2).abs() < 1e-8);
        let axis = turn * DVec3::Z;
        assert!((found.to - found.from).normalize().cross(axis).length() < 1e-7);
    }

    #[test]
    fn the_middle_of_a_fan_and_the_bore_of_a_tube_are_allowed_at_the_ends() {
        let mut points = pipe(0.05, 1.0, 24);
        points.extend([DVec3::ZERO, DVec3::Z]);
        assert!((fit_cylinder(&points, ROUND_FIT).unwrap().radius - 0.05).abs() < 1e-9);
        points.extend(pipe(0.045, 1.0, 24));
        assert!((fit_cylinder(&points, ROUND_FIT).unwrap().radius - 0.05).abs() < 1e-9);
        points.push(DVec3::new(0.01, 0.0, 0.5));
        assert_eq!(fit_cylinder(&points, ROUND_FIT), None);
    }

    #[test]
    fn a_square_bar_is_not_round_though_its_corners_lie_on_a_circle() {
        assert_eq!(fit_cylinder(&pipe(0.05, 1.0, 4), ROUND_FIT), None);
        assert_eq!(fit_cylinder(&pipe(0.05, 1.0, 6), ROUND_FIT), None);
        // Nor with its sides divided.
        let divided: Vec<_> = (0..10)
            .flat_map(|i| pipe(0.05, 1.0, 4).into_iter().map(move |p| p + DVec3::Z * f64::from(i)))
            .collect();
        assert_eq!(fit_cylinder(&divided, ROUND_FIT), None);
    }

    #[test]
    fn an_oval_a_half_round_and_a_cone_are_not_round() {
        let oval: Vec<_> =
            pipe(0.05, 1.0, 24).iter().map(|p| *p * DVec3::new(1.0, 1.02, 1.0)).collect();
        assert_eq!(fit_cylinder(&oval, ROUND_FIT), None);
        let half: Vec<_> = pipe(0.05, 1.0, 48).into_iter().filter(|p| p.x >= -1e-9).collect();
        assert_eq!(fit_cylinder(&half, ROUND_FIT), None);
        let cone: Vec<_> = pipe(0.05, 1.0, 24)
            .iter()
            .map(|p| DVec3::new(p.x * (1.0 + 0.1 * p.z), p.y * (1.0 + 0.1 * p.z), p.z))
            .collect();
        assert_eq!(fit_cylinder(&cone, ROUND_FIT), None);
    }

    proptest! {
        #[test]
        fn any_pipe_in_any_attitude_with_uneven_corners(
            radius in 0.004..0.2f64, slender in 0.3..60.0f64,
            axis in (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), angle in 0.0..6.0f64,
            corners in 10usize..40, extra in prop::collection::vec(0.0..6.2f64, 0..6),
            noise in 0.0..0.00004f64, far in prop::bool::ANY) {
            prop_assume!(DVec3::from(axis).length() > 0.1);
            let length = radius * slender;
            let mut points = pipe(radius, length, corners);
            points.extend(extra.iter().map(|a| (DVec2::from_angle(*a) * radius).extend(length)));
            let jitter = |i: usize| noise * (((i * 7919) % 13) as f64 / 6.5 - 1.0);
            for (i, p) in points.iter_mut().enumerate() {
                let out = p.truncate().normalize().extend(0.0);
                *p += out * jitter(i);
            }
            let turn = DQuat::from_axis_angle(DVec3::from(axis).normalize(), angle);
            let at = if far { DVec3::new(6.0e6, -3.0e6, 40.0) } else { DVec3::ZERO };
            let found = fit_cylinder(&placed(&points, turn, at), ROUND_FIT);
            prop_assert!(found.is_some());
            let found = found.unwrap();
            prop_assert!((found.radius - radius).abs() < 2e-4);
            for p in placed(&points, turn, at) {
                let d = (found.to - found.from).normalize();
                prop_assert!((p - found.from).reject_from(d).length() <= found.radius + 1e-8);
            }
        }
    }
}
