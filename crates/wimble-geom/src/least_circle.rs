//! The least circle round discs.

use glam::DVec2;

/// A disc in a plane; a point has radius 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Centre.
    pub centre: DVec2,
    /// Radius, not negative.
    pub radius: f64,
}

impl Disc {
    /// A disc without size.
    #[must_use]
    pub const fn point(centre: DVec2) -> Self {
        Self { centre, radius: 0.0 }
    }

    /// How far `other` stands out of this disc; not positive if it lies wholly inside.
    #[must_use]
    pub fn excess(&self, other: &Self) -> f64 {
        self.centre.distance(other.centre) + other.radius - self.radius
    }
}

/// The least circle that holds every disc, exact but for rounding. `None` for no disc.
///
/// From one disc on, the one that stands out furthest is added and the circle made anew from the
/// few discs that hold it up, until none stands out. The answer does not depend on chance, and on
/// the order of the discs only where two answers are equal.
#[must_use]
pub fn least_circle(discs: &[Disc]) -> Option<Disc> {
    let origin = discs.first()?.centre;
    let shifted = |disc: &Disc| Disc { centre: disc.centre - origin, radius: disc.radius };
    let scale = discs.iter().map(|d| shifted(d).centre.length() + d.radius).fold(0.0, f64::max);
    let grain = scale * 1e-12;

    let mut held: Vec<Disc> = vec![shifted(discs.first()?)];
    let mut circle = *held.first()?;
    // Each round the circle grows strictly; the bound only guards against rounding.
    for _ in 0..discs.len().saturating_mul(4).max(64) {
        let furthest = discs
            .iter()
            .map(shifted)
            .max_by(|a, b| circle.excess(a).total_cmp(&circle.excess(b)))?;
        if circle.excess(&furthest) <= grain {
            break;
        }
        held.push(furthest);
        let (next, support) = of_few(&held, grain);
        held = support;
        if next.radius <= circle.radius {
            break;
        }
        circle = next;
    }
    // Whatever rounding left out is taken in.
    let left_out = discs.iter().map(|d| circle.excess(&shifted(d))).fold(0.0, f64::max);
    Some(Disc { centre: circle.centre + origin, radius: circle.radius + left_out })
}

/// The least circle of at most four discs, with the discs that it touches.
fn of_few(discs: &[Disc], grain: f64) -> (Disc, Vec<Disc>) {
    let mut best: Option<(Disc, Vec<Disc>)> = None;
    let mut offer = |circle: Option<Disc>, support: &[Disc]| {
        let Some(circle) = circle else { return };
        let holds = discs.iter().all(|d| circle.excess(d) <= 8.0 * grain);
        if holds && best.as_ref().is_none_or(|(b, _)| circle.radius < b.radius) {
            best = Some((circle, support.to_vec()));
        }
    };
    for (i, &a) in discs.iter().enumerate() {
        offer(Some(a), &[a]);
        for (j, &b) in discs.iter().enumerate().take(i) {
            offer(round_two(a, b), &[a, b]);
            for &c in discs.iter().take(j) {
                offer(round_three(a, b, c), &[a, b, c]);
            }
        }
    }
    best.unwrap_or_else(|| {
        // Only rounding leads here: a circle that surely holds them, a hair too large.
        let centre = discs.iter().map(|d| d.centre).sum::<DVec2>() / discs.len().max(1) as f64;
        let radius = discs.iter().map(|d| centre.distance(d.centre) + d.radius).fold(0.0, f64::max);
        (Disc { centre, radius }, discs.to_vec())
    })
}

/// The least circle round two discs, neither inside the other.
fn round_two(a: Disc, b: Disc) -> Option<Disc> {
    let apart = a.centre.distance(b.centre);
    if apart <= (a.radius - b.radius).abs() {
        return None;
    }
    let radius = 0.5 * (apart + a.radius + b.radius);
    let centre = a.centre + (b.centre - a.centre) * ((radius - a.radius) / apart);
    Some(Disc { centre, radius })
}

/// The circle that three discs touch from inside.
fn round_three(a: Disc, b: Disc, c: Disc) -> Option<Disc> {
    let (u, v) = (b.centre - a.centre, c.centre - a.centre);
    let det = u.perp_dot(v);
    if det.abs() <= 1e-12 * u.length() * v.length() {
        return None;
    }
    // |p| = R − ra, |p − u| = R − rb, |p − v| = R − rc with p from a's centre: the differences are
    // linear, p = k + m·R.
    let constant = |d: DVec2, r: f64| 0.5 * (d.length_squared() - r * r + a.radius * a.radius);
    let solve = |s: f64, t: f64| DVec2::new(s * v.y - t * u.y, u.x * t - v.x * s) / det;
    let k = solve(constant(u, b.radius), constant(v, c.radius));
    let m = solve(b.radius - a.radius, c.radius - a.radius);
    let (qa, qb, qc) =
        (m.length_squared() - 1.0, k.dot(m) + a.radius, k.length_squared() - a.radius * a.radius);
    let least = a.radius.max(b.radius).max(c.radius);
    let roots = if qa.abs() < 1e-14 {
        if qb == 0.0 { [f64::NAN; 2] } else { [-0.5 * qc / qb, f64::NAN] }
    } else {
        let root = (qb * qb - qa * qc).max(0.0).sqrt();
        // The form that does not cancel.
        let q = -(qb + root.copysign(qb));
        [q / qa, if q == 0.0 { f64::NAN } else { qc / q }]
    };
    let radius =
        roots.into_iter().filter(|r| r.is_finite() && *r >= least).min_by(f64::total_cmp)?;
    Some(Disc { centre: a.centre + k + m * radius, radius })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn disc(x: f64, y: f64, radius: f64) -> Disc {
        Disc { centre: DVec2::new(x, y), radius }
    }

    /// Slow twin: the function is convex, so narrowing round the least sample finds it.
    fn by_search(discs: &[Disc]) -> f64 {
        let reach =
            |c: DVec2| discs.iter().map(|d| c.distance(d.centre) + d.radius).fold(0.0, f64::max);
        let mut centre = discs[0].centre;
        let mut step = reach(centre).max(1.0);
        while step > 1e-10 {
            let next = (0..16)
                .map(|i| {
                    centre + step * DVec2::from_angle(f64::from(i) * std::f64::consts::FRAC_PI_8)
                })
                .min_by(|a, b| reach(*a).total_cmp(&reach(*b)))
                .unwrap();
            if reach(next) < reach(centre) { centre = next } else { step *= 0.6 }
        }
        reach(centre)
    }

    #[test]
    fn one_disc_is_its_own_circle() {
        assert_eq!(least_circle(&[disc(3.0, 4.0, 2.0)]), Some(disc(3.0, 4.0, 2.0)));
        assert_eq!(least_circle(&[]), None);
    }

    #[test]
    fn two_discs_touch_it_at_opposite_ends() {
        let circle = least_circle(&[disc(0.0, 0.0, 6.0), disc(28.0, 0.0, 6.0)]).unwrap();
        assert!((circle.radius - 20.0).abs() < 1e-9 && (circle.centre.x - 14.0).abs() < 1e-9);
    }

    #[test]
    fn a_disc_inside_another_adds_nothing() {
        let circle = least_circle(&[disc(1.0, 0.0, 1.0), disc(0.0, 0.0, 6.0)]).unwrap();
        assert!((circle.radius - 6.0).abs() < 1e-12);
    }

    #[test]
    fn three_cables_in_a_row_need_only_the_outer_two() {
        // The demo building: 12 mm cables at 1336, 1350, 1364: 40 round them.
        let row: Vec<_> = [1336.0, 1350.0, 1364.0].map(|x| disc(x, 0.0, 6.0)).to_vec();
        assert!((2.0 * least_circle(&row).unwrap().radius - 40.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn agrees_with_a_search(discs in prop::collection::vec(
            (-50.0..50.0f64, -50.0..50.0f64, 0.0..20.0f64).prop_map(|(x, y, r)| disc(x, y, r)), 1..14)) {
            let circle = least_circle(&discs).unwrap();
            for d in &discs {
                prop_assert!(circle.excess(d) <= 1e-9);
            }
            prop_assert!(circle.radius <= by_search(&discs) + 1e-6);
        }

        #[test]
        fn far_from_the_origin_it_is_the_same(discs in prop::collection::vec(
            (-50i32..50, -50i32..50, 0i32..9).prop_map(|(x, y, r)|
                disc(f64::from(x), f64::from(y), f64::from(r))), 1..9)) {
            let far = DVec2::new(4.0e6, -7.0e6);
            let there: Vec<_> = discs.iter()
                .map(|d| Disc { centre: d.centre + far, radius: d.radius }).collect();
            let (a, b) = (least_circle(&discs).unwrap(), least_circle(&there).unwrap());
            prop_assert!((a.radius - b.radius).abs() < 1e-7);
        }
    }
}
