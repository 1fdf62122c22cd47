//! Bodies of services: moved, made smaller, and how near they come to each other.

use glam::DVec3;
use wimble_recognise::ServiceBody;

/// The body somewhere else.
pub(crate) fn moved(body: &ServiceBody, by_m: DVec3) -> ServiceBody {
    let mut body = body.clone();
    match &mut body {
        ServiceBody::Round { from, to, .. } => {
            *from += by_m;
            *to += by_m;
        }
        ServiceBody::Rectangular { frame, .. } => frame.translation += by_m,
        ServiceBody::Mesh(mesh) => mesh.points.iter_mut().for_each(|p| *p += by_m),
        ServiceBody::Line { points } => points.iter_mut().for_each(|p| *p += by_m),
    }
    body
}

/// The straight axis of a body, if it has one: its ends.
pub(crate) fn axis(body: &ServiceBody) -> Option<(DVec3, DVec3)> {
    match body {
        ServiceBody::Round { from, to, .. } => Some((*from, *to)),
        ServiceBody::Rectangular { frame, half } => {
            let along = half.z * frame.matrix3.z_axis;
            Some((frame.translation - along, frame.translation + along))
        }
        ServiceBody::Mesh(_) | ServiceBody::Line { .. } => None,
    }
}

/// How far apart two bodies are, mm: exact for round bars with round ends, for others never more
/// than it is. Negative where they run into each other.
pub(crate) fn gap_mm(a: &ServiceBody, b: &ServiceBody) -> f64 {
    if let (
        ServiceBody::Round { from, to, radius },
        ServiceBody::Round { from: from_b, to: to_b, radius: radius_b },
    ) = (a, b)
    {
        return 1000.0 * (between_lines((*from, *to), (*from_b, *to_b)) - radius - radius_b);
    }
    let along = axis(a)
        .or_else(|| axis(b))
        .and_then(|(from, to)| (to - from).try_normalize())
        .unwrap_or(DVec3::X);
    let up = if along.z.abs() > 0.9 { DVec3::X } else { DVec3::Z };
    let aside = along.cross(up).normalize_or(DVec3::Y);
    let gaps = [along, aside, aside.cross(along)].map(|direction| {
        let (low_a, high_a) = reach(a, direction);
        let (low_b, high_b) = reach(b, direction);
        1000.0 * (low_a - high_b).max(low_b - high_a)
    });
    let apart = gaps.iter().map(|gap| gap.max(0.0).powi(2)).sum::<f64>().sqrt();
    if apart > 0.0 { apart } else { gaps.into_iter().fold(f64::NEG_INFINITY, f64::max) }
}

/// How far a body reaches along a direction, both ways, metres.
pub(crate) fn reach(body: &ServiceBody, direction: DVec3) -> (f64, f64) {
    let of_points = |points: &[DVec3]| {
        points
            .iter()
            .map(|p| p.dot(direction))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)))
    };
    match body {
        ServiceBody::Round { from, to, radius } => {
            let (low, high) = of_points(&[*from, *to]);
            let along = (*to - *from).normalize_or_zero().dot(direction);
            let wide = radius * (1.0 - along * along).max(0.0).sqrt();
            (low - wide, high + wide)
        }
        ServiceBody::Rectangular { frame, half } => {
            let middle = frame.translation.dot(direction);
            let axes = [frame.matrix3.x_axis, frame.matrix3.y_axis, frame.matrix3.z_axis];
            let wide: f64 = axes
                .iter()
                .zip(half.to_array())
                .map(|(axis, half)| half * axis.dot(direction).abs())
                .sum();
            (middle - wide, middle + wide)
        }
        ServiceBody::Mesh(mesh) => of_points(&mesh.points),
        ServiceBody::Line { points } => of_points(points),
    }
}

/// Of two parallel round bars: from the axis of the first to that of the second, square to them,
/// and the sum of their radii, mm.
pub(crate) fn side_by_side(a: &ServiceBody, b: &ServiceBody) -> Option<(DVec3, f64)> {
    let (
        ServiceBody::Round { from, to, radius },
        ServiceBody::Round { from: from_b, to: to_b, radius: radius_b },
    ) = (a, b)
    else {
        return None;
    };
    let (along, along_b) = ((*to - *from).try_normalize()?, (*to_b - *from_b).try_normalize()?);
    let arm = *from_b - *from;
    (along.cross(along_b).length() < 1e-6)
        .then(|| (1000.0 * (arm - arm.dot(along) * along), 1000.0 * (radius + radius_b)))
}

/// Least distance of two pieces of line.
fn between_lines((a, b): (DVec3, DVec3), (c, d): (DVec3, DVec3)) -> f64 {
    let (u, v, w) = (b - a, d - c, a - c);
    let (uu, uv, vv, uw, vw) = (u.dot(u), u.dot(v), v.dot(v), u.dot(w), v.dot(w));
    let to_line = |p: DVec3, from: DVec3, along: DVec3, square: f64| {
        let at = if square > 0.0 { ((p - from).dot(along) / square).clamp(0.0, 1.0) } else { 0.0 };
        p.distance(from + at * along)
    };
    let ends = to_line(a, c, v, vv)
        .min(to_line(b, c, v, vv))
        .min(to_line(c, a, u, uu))
        .min(to_line(d, a, u, uu));
    let across = uu * vv - uv * uv;
    if across <= 1e-12 * uu * vv {
        return ends;
    }
    let (s, t) = ((uv * vw - vv * uw) / across, (uu * vw - uv * uw) / across);
    if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
        ends.min((w + s * u - t * v).length())
    } else {
        ends
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::{DAffine3, dvec3};

    fn bar(from: DVec3, to: DVec3) -> ServiceBody {
        ServiceBody::Round { from, to, radius: 0.01 }
    }

    #[test]
    fn bars_that_cross_and_bars_side_by_side() {
        let one = bar(DVec3::ZERO, DVec3::X);
        let over = bar(dvec3(0.5, -1.0, 0.1), dvec3(0.5, 1.0, 0.1));
        let beside = bar(dvec3(0.2, 0.05, 0.0), dvec3(0.8, 0.05, 0.0));
        assert!((gap_mm(&one, &over) - 80.0).abs() < 1e-9);
        assert!((gap_mm(&one, &beside) - 30.0).abs() < 1e-9);
        assert!((gap_mm(&one, &moved(&beside, dvec3(0.0, -0.04, 0.0))) + 10.0).abs() < 1e-9);
    }

    #[test]
    fn a_duct_is_as_far_as_its_side() {
        let frame = DAffine3::from_translation(dvec3(0.5, 0.2, 0.0));
        let duct = ServiceBody::Rectangular { frame: frame.into(), half: dvec3(0.3, 0.1, 0.05) };
        let pipe = bar(DVec3::ZERO, DVec3::X);
        assert!((gap_mm(&pipe, &duct) - 90.0).abs() < 1e-6);
    }
}
