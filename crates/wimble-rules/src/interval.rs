//! Unions of closed intervals on one axis: what a check allows.

use smallvec::{SmallVec, smallvec};

/// A union of closed intervals, sorted and apart. Ends may be infinite.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Intervals(SmallVec<[(f64, f64); 3]>);

impl Intervals {
    /// Nothing.
    pub(crate) fn none() -> Self {
        Self(SmallVec::new())
    }

    /// Everything.
    pub(crate) fn all() -> Self {
        Self(smallvec![(f64::NEG_INFINITY, f64::INFINITY)])
    }

    /// One interval; nothing if its ends are the wrong way round.
    pub(crate) fn one(from: f64, to: f64) -> Self {
        if from <= to { Self(smallvec![(from, to)]) } else { Self::none() }
    }

    /// From a figure upwards.
    pub(crate) fn at_least(from: f64) -> Self {
        Self::one(from, f64::INFINITY)
    }

    /// Up to a figure.
    pub(crate) fn at_most(to: f64) -> Self {
        Self::one(f64::NEG_INFINITY, to)
    }

    /// Everything but the open interval: its ends stay allowed. An interval of no length still
    /// parts the axis, so that nothing may straddle it.
    pub(crate) fn without(from: f64, to: f64) -> Self {
        Self(smallvec![(f64::NEG_INFINITY, from), (to.max(from), f64::INFINITY)])
    }

    /// The intervals, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.0.iter().copied()
    }

    /// Whether nothing is allowed.
    #[cfg(test)]
    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How far the ends of these lie from those of others, at most; `None` if they do not pair off,
    /// or one lies at infinity and the other does not.
    pub(crate) fn shift(&self, other: &Self) -> Option<f64> {
        let ends =
            |of: &Self| -> SmallVec<[f64; 6]> { of.iter().flat_map(<[f64; 2]>::from).collect() };
        let (ours, others) = (ends(self), ends(other));
        if ours.len() != others.len() {
            return None;
        }
        // Of two ends at infinity the difference is no number.
        ours.into_iter().zip(others).try_fold(0.0_f64, |most, (a, b)| {
            let apart = if a == b { 0.0 } else { (a - b).abs() };
            apart.is_finite().then(|| most.max(apart))
        })
    }

    /// What both allow. Intervals that only touch stay apart: nothing may straddle the point.
    pub(crate) fn and(&self, other: &Self) -> Self {
        let mut met = SmallVec::new();
        for &(a, b) in &self.0 {
            for &(c, d) in &other.0 {
                let (from, to) = (a.max(c), b.min(d));
                if from <= to {
                    met.push((from, to));
                }
            }
        }
        met.sort_by(|p: &(f64, f64), q| p.0.total_cmp(&q.0).then(p.1.total_cmp(&q.1)));
        Self(met)
    }

    /// What either allows.
    pub(crate) fn or(&self, other: &Self) -> Self {
        let mut all: SmallVec<[(f64, f64); 3]> = self.iter().chain(other.iter()).collect();
        all.sort_by(|p, q| p.0.total_cmp(&q.0));
        let mut joined: SmallVec<[(f64, f64); 3]> = SmallVec::new();
        for (from, to) in all {
            match joined.last_mut() {
                Some(last) if from <= last.1 => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        Self(joined)
    }

    /// Where the middle of a thing may be that reaches `below` under and `above` over it.
    pub(crate) fn shrunk(&self, below: f64, above: f64) -> Self {
        Self(
            self.iter()
                .map(|(from, to)| (from + below, to - above))
                .filter(|(from, to)| from <= to)
                .collect(),
        )
    }

    /// How far `[lo, hi]` lies inside the interval that suits it best; negative by how far it
    /// sticks out. `None` if nothing is allowed at all.
    pub(crate) fn slack(&self, lo: f64, hi: f64) -> Option<f64> {
        self.iter().map(|(from, to)| (lo - from).min(to - hi)).reduce(f64::max)
    }

    /// The interval that suits `[lo, hi]` best.
    pub(crate) fn nearest(&self, lo: f64, hi: f64) -> Option<(f64, f64)> {
        let fit = |&(from, to): &(f64, f64)| (lo - from).min(to - hi);
        self.iter().reduce(|best, next| if fit(&next) > fit(&best) { next } else { best })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slack_is_measured_to_the_nearer_end_of_the_best_interval() {
        let zones = Intervals::one(900.0, 1440.0).or(&Intervals::one(2160.0, 2700.0));
        assert_eq!(zones.slack(1076.0, 1124.0), Some(176.0));
        assert_eq!(zones.slack(1500.0, 1510.0), Some(-70.0));
        assert_eq!(Intervals::none().slack(0.0, 1.0), None);
    }

    #[test]
    fn a_shift_is_that_of_the_end_that_moves_furthest_and_none_where_ends_do_not_pair_off() {
        let zone = |from, to| Intervals::one(from, to);
        assert_eq!(zone(900.0, 1440.0).shift(&zone(890.0, 1465.0)), Some(25.0));
        assert_eq!(Intervals::at_least(5.0).shift(&Intervals::at_least(7.0)), Some(2.0));
        assert_eq!(Intervals::all().shift(&Intervals::all()), Some(0.0));
        assert_eq!(Intervals::all().shift(&Intervals::at_least(7.0)), None);
        assert_eq!(zone(0.0, 1.0).shift(&zone(0.0, 1.0).or(&zone(2.0, 3.0))), None);
    }

    #[test]
    fn overlapping_intervals_join_and_apart_ones_stay() {
        let joined = Intervals::one(0.0, 10.0).or(&Intervals::one(5.0, 20.0));
        assert_eq!(joined, Intervals::one(0.0, 20.0));
        assert!(Intervals::one(0.0, 1.0).and(&Intervals::one(2.0, 3.0)).is_empty());
    }

    #[test]
    fn nothing_may_straddle_a_face_of_no_thickness() {
        let face = Intervals::without(100.0, 100.0);
        assert_eq!(face.slack(90.0, 130.0), Some(-10.0));
        assert_eq!(face.slack(100.0, 130.0), Some(0.0));
        let both = face.and(&Intervals::without(300.0, 400.0));
        assert_eq!(both.iter().count(), 3);
    }

    #[test]
    fn the_middle_of_a_wide_thing_has_less_room() {
        let zone = Intervals::one(900.0, 1440.0);
        assert_eq!(zone.shrunk(24.0, 24.0), Intervals::one(924.0, 1416.0));
        assert!(zone.shrunk(300.0, 300.0).is_empty());
    }
}
