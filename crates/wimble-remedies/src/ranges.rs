//! Unions of closed intervals: where a shift may end.

/// Stretches, sorted and apart. Ends may be infinite.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Ranges(Vec<(f64, f64)>);

impl Ranges {
    pub(crate) fn all() -> Self {
        Self(vec![(f64::NEG_INFINITY, f64::INFINITY)])
    }

    /// Of stretches in any order.
    pub(crate) fn of(stretches: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let mut stretches: Vec<_> = stretches.into_iter().filter(|(a, b)| a <= b).collect();
        stretches.sort_by(|p, q| p.0.total_cmp(&q.0));
        let mut joined: Vec<(f64, f64)> = Vec::with_capacity(stretches.len());
        for (from, to) in stretches {
            match joined.last_mut() {
                Some(last) if from <= last.1 => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        Self(joined)
    }

    pub(crate) const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.0.iter().copied()
    }

    pub(crate) fn and(&self, other: &Self) -> Self {
        let mut both = Vec::new();
        for (a, b) in self.iter() {
            both.extend(other.iter().map(|(c, d)| (a.max(c), b.min(d))).filter(|(f, t)| f <= t));
        }
        Self::of(both)
    }

    pub(crate) fn or(&self, other: &Self) -> Self {
        Self::of(self.iter().chain(other.iter()))
    }

    /// Without the open stretch between two points.
    pub(crate) fn without(&self, from: f64, to: f64) -> Self {
        if from >= to {
            return self.clone();
        }
        let mut rest = Vec::with_capacity(self.0.len() + 1);
        for (a, b) in self.iter() {
            if b <= from || a >= to {
                rest.push((a, b));
                continue;
            }
            if a <= from {
                rest.push((a, from));
            }
            if b >= to {
                rest.push((to, b));
            }
        }
        Self(rest)
    }

    /// The first point at or past `from` one way (`sign`); `None` past the last stretch.
    pub(crate) fn next(&self, from: f64, sign: f64) -> Option<f64> {
        let nearest = |(a, b): (f64, f64)| {
            let point = if sign > 0.0 { from.max(a) } else { from.min(b) };
            (a..=b).contains(&point).then_some(point)
        };
        self.iter()
            .filter_map(nearest)
            .min_by(|a, b| (sign * (a - from)).total_cmp(&(sign * (b - from))))
    }

    /// The stretch between two others in which a point lies; `None` for a point of a stretch.
    pub(crate) fn gap(&self, point: f64) -> Option<(f64, f64)> {
        let mut gap = (f64::NEG_INFINITY, f64::INFINITY);
        for (from, to) in self.iter() {
            if (from..=to).contains(&point) {
                return None;
            }
            if to < point {
                gap.0 = to;
            } else if gap.1 == f64::INFINITY {
                gap.1 = from;
            }
        }
        Some(gap)
    }

    /// The point nearest to zero, with the stretch that it ends.
    pub(crate) fn nearest(&self) -> Option<(f64, (f64, f64))> {
        self.iter()
            .map(|(from, to)| (0.0_f64.clamp(from, to), (from, to)))
            .min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_taken_out_leaves_its_ends() {
        let rest = Ranges::all().without(-10.0, 5.0);
        assert_eq!(rest.iter().count(), 2);
        assert_eq!(rest.nearest().map(|n| n.0), Some(5.0));
        assert_eq!(rest.without(4.0, 20.0).nearest().map(|n| n.0), Some(-10.0));
    }

    #[test]
    fn the_next_point_one_way() {
        let zones = Ranges::of([(20.0, 30.0), (-40.0, -35.0)]);
        assert_eq!(zones.next(0.0, 1.0), Some(20.0));
        assert_eq!(zones.next(25.0, -1.0), Some(25.0));
        assert_eq!(zones.next(10.0, -1.0), Some(-35.0));
        assert_eq!(zones.next(31.0, 1.0), None);
        assert_eq!(zones.gap(0.0), Some((-35.0, 20.0)));
        assert_eq!(zones.gap(25.0), None);
        assert_eq!(zones.gap(40.0), Some((30.0, f64::INFINITY)));
    }

    #[test]
    fn what_both_allow() {
        let zones = Ranges::of([(20.0, 30.0), (-40.0, -35.0)]);
        assert_eq!(zones.and(&Ranges::of([(25.0, 90.0)])), Ranges::of([(25.0, 30.0)]));
        assert!(zones.and(&Ranges::of([(31.0, 32.0)])).is_empty());
    }
}
