//! B-splines: points of curves and surfaces from their knots and control points.

use glam::{DVec3, DVec4};
use smallvec::SmallVec;

/// A B-spline curve. Rational ones carry weights other than 1.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spline {
    degree: usize,
    /// Control points times weight, and the weight.
    control: Vec<DVec4>,
    knots: Vec<f64>,
}

/// Knots written once for each multiplicity.
pub(super) fn spread_knots(values: &[f64], multiplicities: &[usize]) -> Vec<f64> {
    values
        .iter()
        .zip(multiplicities)
        .flat_map(|(v, m)| std::iter::repeat_n(*v, (*m).min(64)))
        .collect()
}

/// The knots of a clamped uniform spline, for files that give none.
pub(super) fn uniform_knots(degree: usize, points: usize) -> Vec<f64> {
    let spans = points.saturating_sub(degree);
    let inner = (0..=spans).map(|i| i as f64);
    let (first, last) = (0.0, spans as f64);
    std::iter::repeat_n(first, degree)
        .chain(inner)
        .chain(std::iter::repeat_n(last, degree))
        .collect()
}

fn valid(degree: usize, points: usize, knots: &[f64]) -> bool {
    (1..=32).contains(&degree)
        && points > degree
        && knots.len() == points + degree + 1
        && knots.windows(2).all(|w| w[0] <= w[1])
        && knots[degree] < knots[points]
}

impl Spline {
    /// `None` if degree, points and knots do not belong together.
    pub(super) fn new(
        degree: usize,
        points: &[DVec3],
        weights: Option<&[f64]>,
        knots: Vec<f64>,
    ) -> Option<Self> {
        if !valid(degree, points.len(), &knots) || weights.is_some_and(|w| w.len() != points.len())
        {
            return None;
        }
        let control = weigh(points, weights)?;
        Some(Self { degree, control, knots })
    }

    pub(super) fn domain(&self) -> (f64, f64) {
        (self.knots[self.degree], self.knots[self.control.len()])
    }

    pub(super) fn at(&self, t: f64) -> DVec3 {
        project(evaluate(self.degree, &self.knots, self.control.len(), t, |i| self.control[i]))
    }

    /// The way it runs, by a short difference.
    pub(super) fn way(&self, t: f64) -> DVec3 {
        let (a, b) = self.domain();
        let h = (b - a) * 1e-6;
        (self.at((t + h).min(b)) - self.at((t - h).max(a))).normalize_or_zero()
    }

    /// Points from `from` to `to` such that chords leave the curve by at most `chord`.
    pub(super) fn sample(&self, from: f64, to: f64, chord: f64) -> Vec<DVec3> {
        let (low, high) = (from.min(to), from.max(to));
        let mut stops: Vec<f64> = vec![low];
        stops.extend(self.knots.iter().copied().filter(|k| *k > low && *k < high));
        stops.push(high);
        stops.dedup();
        let mut points = vec![self.at(low)];
        for w in stops.windows(2) {
            // Each knot span is a smooth polynomial: halved until flat.
            let parts = (self.degree * 2).min(8);
            for i in 0..parts {
                let at = |i: usize| w[0] + (w[1] - w[0]) * i as f64 / parts as f64;
                self.refine(at(i), at(i + 1), chord, 12, &mut points);
            }
        }
        if from > to {
            points.reverse();
        }
        points
    }

    fn refine(&self, a: f64, b: f64, chord: f64, depth: u32, points: &mut Vec<DVec3>) {
        let middle = a.midpoint(b);
        let (p, q, m) = (self.at(a), self.at(b), self.at(middle));
        if depth > 0 && m.distance(p.midpoint(q)) > chord {
            self.refine(a, middle, chord, depth - 1, points);
            self.refine(middle, b, chord, depth - 1, points);
        } else {
            points.push(q);
        }
    }

    /// The parameter of the curve's point nearest to a point.
    pub(super) fn nearest(&self, point: DVec3) -> f64 {
        let (a, b) = self.domain();
        let n = (self.control.len() * 8).clamp(32, 2000);
        let at = |i: usize| a + (b - a) * i as f64 / n as f64;
        let best = (0..=n)
            .min_by(|&i, &j| {
                self.at(at(i)).distance(point).total_cmp(&self.at(at(j)).distance(point))
            })
            .unwrap_or(0);
        let (mut low, mut high) = (at(best.saturating_sub(1)), at((best + 1).min(n)));
        for _ in 0..60 {
            let (p, q) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if self.at(p).distance(point) < self.at(q).distance(point) { high = q } else { low = p }
        }
        low.midpoint(high)
    }
}

fn weigh(points: &[DVec3], weights: Option<&[f64]>) -> Option<Vec<DVec4>> {
    let control: Vec<DVec4> = points
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let w = weights.map_or(1.0, |weights| weights[i]);
            (*p * w).extend(w)
        })
        .collect();
    control.iter().all(|p| p.is_finite() && p.w > 0.0).then_some(control)
}

fn project(p: DVec4) -> DVec3 {
    p.truncate() / p.w
}

/// De Boor's scheme.
fn evaluate(
    degree: usize,
    knots: &[f64],
    points: usize,
    t: f64,
    control: impl Fn(usize) -> DVec4,
) -> DVec4 {
    let t = t.clamp(knots[degree], knots[points]);
    // The span that holds t; at the end the last that has a length.
    let span = knots[degree..points].partition_point(|k| *k <= t) + degree - 1;
    let span = if t >= knots[points] {
        (degree..points).rev().find(|&i| knots[i] < knots[i + 1]).unwrap_or(degree)
    } else {
        span.clamp(degree, points - 1)
    };
    let mut d: SmallVec<[DVec4; 8]> = (0..=degree).map(|j| control(j + span - degree)).collect();
    for r in 1..=degree {
        for j in (r..=degree).rev() {
            let i = j + span - degree;
            let width = knots[i + degree + 1 - r] - knots[i];
            let share = if width > 0.0 { (t - knots[i]) / width } else { 0.0 };
            d[j] = d[j - 1] * (1.0 - share) + d[j] * share;
        }
    }
    d[degree]
}

/// A B-spline surface.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SplineSurface {
    degrees: (usize, usize),
    /// Rows of control points along v, one row for each along u.
    control: Vec<Vec<DVec4>>,
    knots: (Vec<f64>, Vec<f64>),
}

impl SplineSurface {
    /// `None` if degrees, points and knots do not belong together.
    pub(super) fn new(
        degrees: (usize, usize),
        points: &[Vec<DVec3>],
        weights: Option<&[Vec<f64>]>,
        knots: (Vec<f64>, Vec<f64>),
    ) -> Option<Self> {
        let columns = points.first()?.len();
        let fits = points.iter().all(|row| row.len() == columns)
            && weights.is_none_or(|w| {
                w.len() == points.len() && w.iter().all(|row| row.len() == columns)
            })
            && valid(degrees.0, points.len(), &knots.0)
            && valid(degrees.1, columns, &knots.1);
        if !fits {
            return None;
        }
        let control: Option<Vec<Vec<DVec4>>> = points
            .iter()
            .enumerate()
            .map(|(i, row)| weigh(row, weights.map(|w| w[i].as_slice())))
            .collect();
        Some(Self { degrees, control: control?, knots })
    }

    pub(super) fn domain(&self) -> ((f64, f64), (f64, f64)) {
        let (u, v) = (&self.knots.0, &self.knots.1);
        let columns = self.control[0].len();
        ((u[self.degrees.0], u[self.control.len()]), (v[self.degrees.1], v[columns]))
    }

    pub(super) fn at(&self, u: f64, v: f64) -> DVec3 {
        let columns = self.control[0].len();
        project(evaluate(self.degrees.0, &self.knots.0, self.control.len(), u, |i| {
            evaluate(self.degrees.1, &self.knots.1, columns, v, |j| self.control[i][j])
        }))
    }

    /// Whether it closes on itself along u and along v.
    pub(super) fn is_round(&self) -> (bool, bool) {
        let (u, v) = self.domain();
        let shares = [0.0, 0.21, 0.5, 0.83, 1.0];
        let meets = |a: DVec3, b: DVec3| a.distance(b) <= 1e-5;
        let along_u = shares.iter().all(|s| {
            let t = v.0 + (v.1 - v.0) * s;
            meets(self.at(u.0, t), self.at(u.1, t))
        });
        let along_v = shares.iter().all(|s| {
            let t = u.0 + (u.1 - u.0) * s;
            meets(self.at(t, v.0), self.at(t, v.1))
        });
        // One that has shrunk to a line closes in no useful way.
        let middle = |s: f64| (u.0 + (u.1 - u.0) * s, v.0 + (v.1 - v.0) * s);
        let ((a, b), (c, _)) = (middle(0.5), middle(0.0));
        let wide = !meets(self.at(a, b), self.at(c, b));
        (along_u && wide, along_v && !meets(self.at(a, b), self.at(a, middle(0.0).1)))
    }

    /// How far apart grid lines may be for facets to stay within `chord`; a hundred lines at most
    /// each way.
    pub(super) fn steps(&self, chord: f64) -> (f64, f64) {
        let (u, v) = self.domain();
        let (wide, high) = (u.1 - u.0, v.1 - v.0);
        let (nu, nv) =
            ((self.control.len() * 2).clamp(6, 24), (self.control[0].len() * 2).clamp(6, 24));
        let (hu, hv) = (wide / (2 * nu) as f64, high / (2 * nv) as f64);
        let (mut bend_u, mut bend_v, mut twist) = (0.0_f64, 0.0_f64, 0.0_f64);
        for i in 0..nu {
            for j in 0..nv {
                let (a, b) = (
                    u.0 + wide * (i as f64 + 0.5) / nu as f64,
                    v.0 + high * (j as f64 + 0.5) / nv as f64,
                );
                let here = self.at(a, b) * 2.0;
                bend_u = bend_u
                    .max((self.at(a - hu, b) + self.at(a + hu, b) - here).length() / (hu * hu));
                bend_v = bend_v
                    .max((self.at(a, b - hv) + self.at(a, b + hv) - here).length() / (hv * hv));
                let across =
                    self.at(a + hu, b + hv) - self.at(a + hu, b - hv) - self.at(a - hu, b + hv)
                        + self.at(a - hu, b - hv);
                twist = twist.max(across.length() / (4.0 * hu * hv));
            }
        }
        // Straight both ways, a surface may still be twisted like a propeller: a cell leaves its
        // two triangles by an eighth of the twist over it.
        let twisted = (twist * wide * high / (8.0 * chord)).sqrt().max(1.0);
        let step = |bend: f64, whole: f64| {
            let bent = if bend > 0.0 { (8.0 * chord / bend).sqrt() } else { f64::INFINITY };
            bent.min(whole / twisted).max(whole / 100.0)
        };
        (step(bend_u, wide), step(bend_v, high))
    }

    /// Inner knots: across them the surface may bend sharply.
    pub(super) fn creases(&self) -> [Vec<f64>; 2] {
        let inner = |knots: &[f64], (low, high): (f64, f64)| {
            let mut inner: Vec<f64> =
                knots.iter().copied().filter(|k| *k > low && *k < high).collect();
            inner.dedup();
            inner.truncate(200);
            inner
        };
        let (u, v) = self.domain();
        [inner(&self.knots.0, u), inner(&self.knots.1, v)]
    }

    /// Number of control points along u and v.
    pub(super) fn size(&self) -> (usize, usize) {
        (self.control.len(), self.control[0].len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quadratic_spline_with_a_weight_is_a_circle() {
        let w = std::f64::consts::FRAC_1_SQRT_2;
        let points = [DVec3::X, DVec3::new(1.0, 1.0, 0.0), DVec3::Y];
        let knots = spread_knots(&[0.0, 1.0], &[3, 3]);
        let quarter = Spline::new(2, &points, Some(&[1.0, w, 1.0]), knots).unwrap();
        for p in quarter.sample(0.0, 1.0, 1e-4) {
            assert!((p.length() - 1.0).abs() < 1e-12);
        }
        assert_eq!(quarter.at(1.0), DVec3::Y);
        let middle = quarter.nearest(DVec3::new(0.6, 0.8, 0.0));
        assert!(quarter.at(middle).distance(DVec3::new(0.6, 0.8, 0.0)) < 1e-6);
        assert!(quarter.way(0.0).distance(DVec3::Y) < 1e-3);
    }

    #[test]
    fn a_spline_whose_knots_do_not_fit_is_refused() {
        assert!(Spline::new(2, &[DVec3::ZERO; 3], None, vec![0.0, 1.0]).is_none());
        assert!(Spline::new(3, &[DVec3::ZERO; 3], None, uniform_knots(3, 3)).is_none());
        assert!(Spline::new(1, &[DVec3::ZERO, DVec3::X], None, uniform_knots(1, 2)).is_some());
    }

    #[test]
    fn a_bilinear_surface_is_its_corners_mean_in_the_middle() {
        let rows = [vec![DVec3::ZERO, DVec3::Y], vec![DVec3::X, DVec3::ONE]];
        let knots = (uniform_knots(1, 2), uniform_knots(1, 2));
        let surface = SplineSurface::new((1, 1), &rows, None, knots).unwrap();
        assert_eq!(surface.at(0.5, 0.5), DVec3::new(0.5, 0.5, 0.25));
    }
}
