//! Two parallel runs moved together, each to a level that is given: the least sum of both shifts
//! along, exactly.
//!
//! What each allows without the other is known as stretches; what the rules want between the two
//! depends on the difference of the shifts alone while each stays in one half of one span. The
//! least sum that all of this allows is asked of the checker, and what it refuses is taken out as a
//! stretch of the one, of the other or of their difference, until it confirms.

use super::crossing::Crossing;
use super::{FINE_MM, PAST_MM, STEADY_MM, Search, TRIES, refused_until};
use crate::least_sum::{Plane, Two};
use crate::ranges::Ranges;
use crate::shop::Aim;
use wimble_cross::Change;
use wimble_model::ServiceIx;

/// Envelopes that share more than this in x and in z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;
/// So much is taken out where the checker refuses for a reason that is not known here, mm.
const STEP_MM: f64 = 1.0;

/// Two searches, each begun without what the other moves.
pub(crate) struct Together<'p, 's, 'a> {
    searches: [&'p Search<'s, 'a>; 2],
    /// How far each is moved up, mm.
    up_mm: [f64; 2],
}

/// Cuts of two runs at one level of a member.
struct Level {
    /// The difference of the shifts at which their middles meet.
    meet_mm: f64,
    /// So far from it they are side by side.
    wide_mm: f64,
}

impl<'p, 's, 'a> Together<'p, 's, 'a> {
    pub(crate) const fn new(searches: [&'p Search<'s, 'a>; 2], up_mm: [f64; 2]) -> Self {
        Self { searches, up_mm }
    }

    /// The same for the second and the first.
    const fn turned(&self) -> Self {
        let ([a, b], [up, their_up]) = (self.searches, self.up_mm);
        Self { searches: [b, a], up_mm: [their_up, up] }
    }

    /// How far both move in all, mm.
    pub(crate) fn length(&self, Two([a, b]): Two) -> f64 {
        a.hypot(self.up_mm[0]) + b.hypot(self.up_mm[1])
    }

    /// No two shifts with this sum along are shorter than this in all, mm.
    fn at_least(&self, along: Two) -> f64 {
        along.sum().hypot(self.up_mm[0].abs() + self.up_mm[1].abs())
    }

    /// The least shifts along with which both pass, `None` if none was found, and whether every
    /// shorter sum was ruled out. Only what may be shorter in all than `most` is looked at.
    pub(crate) fn least(&self, most: f64) -> (Option<Two>, bool) {
        let (Some(own), Some(theirs)) = (self.turns(), self.turned().turns()) else {
            return (None, false);
        };
        let [a, b] = self.searches;
        let free = [a.free(self.up_mm[0], f64::INFINITY), b.free(self.up_mm[1], f64::INFINITY)];
        let mut plane = Plane::new(free, [own, theirs]);
        let mut sure = !self.may_end_in_one_cut();
        for _ in 0..TRIES {
            let Some(least) = plane.least().filter(|least| self.at_least(*least) < most) else {
                return (None, sure);
            };
            let mut refused = None;
            for two in rounded(&plane, least) {
                match self.proved(two) {
                    Ok(()) => return (Some(two), sure),
                    Err(at) => refused = Some((two, at)),
                }
            }
            let Some((two, at)) = refused else { break };
            sure &= self.refuse(&mut plane, two, at);
        }
        (None, false)
    }

    /// Shifts at which the first comes to another span, or to the other half of one, in a member
    /// that both pass; `None` if the two do not move alike there.
    fn turns(&self) -> Option<Vec<f64>> {
        let [search, other] = self.searches;
        let mut places = Vec::new();
        for crossing in &search.crossings {
            let [[rate, level], _] = crossing.rates?;
            if rate.abs() < 1e-6 || level.abs() > 1e-6 {
                return None;
            }
            let Some(theirs) = other.crossing(crossing.member) else { continue };
            if (theirs.rates?[0][0] - rate).abs() > 1e-6 {
                return None;
            }
            let member = search.shop.scene.members.get(crossing.member.at())?;
            let spans = &member.spans;
            let ends = spans.iter().flat_map(|span| [span.from_mm, span.to_mm]);
            // With and without a support that is in doubt: the halves of either.
            let halves =
                spans.iter().flat_map(|a| spans.iter().map(|b| f64::midpoint(a.from_mm, b.to_mm)));
            let turns: Vec<f64> = ends.chain(halves).collect();
            let (inside, cuts) = search.shown(crossing, rate, self.up_mm[0]);
            for cut in cuts {
                let middle = cut.mid_x_mm() - inside * rate;
                places.extend(turns.iter().map(|x| (x - middle) / rate));
            }
        }
        Some(places)
    }

    /// Where cuts of the two lie at one level, as they would run into each other along.
    fn levels(&self) -> Vec<Level> {
        let [search, other] = self.searches;
        let mut found = Vec::new();
        for crossing in &search.crossings {
            let Some(theirs) = other.crossing(crossing.member) else { continue };
            let Some([[rate, _], _]) = crossing.rates else { continue };
            let (inside, own) = search.shown(crossing, rate, self.up_mm[0]);
            let (their_inside, beside) = other.shown(theirs, rate, self.up_mm[1]);
            for (a, b) in own.iter().flat_map(|a| beside.iter().map(move |b| (a, b))) {
                if a.max_mm.z.min(b.max_mm.z) - a.min_mm.z.max(b.min_mm.z) > OVERLAP_MM {
                    let apart = b.mid_x_mm() - a.mid_x_mm() - (their_inside - inside) * rate;
                    let wide = f64::midpoint(a.width_mm(), b.width_mm()) / rate.abs();
                    found.push(Level { meet_mm: apart / rate, wide_mm: wide });
                }
            }
        }
        found
    }

    /// Whether the two might lie in one hole or notch without coming nearer than they may.
    fn may_end_in_one_cut(&self) -> bool {
        self.levels().iter().any(|level| {
            let wide = level.wide_mm - 2.0 * OVERLAP_MM;
            let near = |difference: f64| self.near(Two([difference, 0.0])).is_some();
            !near(level.meet_mm - wide) || !near(level.meet_mm + wide)
        })
    }

    /// Whether both pass then and no other is worse, and so a hair to every side; else where not.
    fn proved(&self, Two([own, theirs]): Two) -> Result<(), Two> {
        let [up, their_up] = self.up_mm;
        let serves = |own: f64, theirs: f64, up_mm: [f64; 2]| {
            let there = Self { up_mm, ..*self };
            let at = Two([own, theirs]);
            there.serves(at).then_some(()).ok_or(at)
        };
        serves(own, theirs, self.up_mm)?;
        for hair in [STEADY_MM, -STEADY_MM] {
            if own != 0.0 {
                serves(own + hair, theirs, self.up_mm)?;
            }
            if theirs != 0.0 {
                serves(own, theirs + hair, self.up_mm)?;
            }
            if up != 0.0 {
                serves(own, theirs, [up + hair, their_up])?;
            }
            if their_up != 0.0 {
                serves(own, theirs, [up, their_up + hair])?;
            }
        }
        Ok(())
    }

    fn serves(&self, at: Two) -> bool {
        let [a, b] = self.searches;
        let mut changes = self.moved(at);
        changes.extend(self.turned().moved(Two([at.0[1], at.0[0]])));
        let keeps = |search: &Search<'_, '_>| {
            search.crossings.iter().all(|crossing| search.keeps_in(crossing, &changes))
        };
        a.shop.prove(&changes, &|_| Some(Aim::default())).is_ok() && keeps(a) && keeps(b)
    }

    /// The first where it is moved to.
    fn moved(&self, at: Two) -> Vec<Change> {
        self.searches[0].own_changes(at.0[0], self.up_mm[0])
    }

    /// Takes out what refuses two shifts; `at` is where, a hair from them. Whether all that is
    /// taken out is sure to be refused.
    fn refuse(&self, plane: &mut Plane, two: Two, at: Two) -> bool {
        for (which, search) in self.searches.into_iter().enumerate() {
            let (place, shift, up) = (at.0[which], two.0[which], self.up_mm[which]);
            if let Err(fault) = search.proved_exactly(place, up) {
                let (from, to, sure) = search.refused_stretch(place, up, fault, &plane.free[which]);
                plane.refuse(which, (from.min(shift - FINE_MM), to.max(shift + FINE_MM)));
                return sure;
            }
        }
        let difference = two.difference();
        let with_it =
            |(from, to): (f64, f64)| (from.min(difference - FINE_MM), to.max(difference + FINE_MM));
        if let Some(stretch) = self.near(at) {
            plane.refuse_difference(with_it(stretch));
            return true;
        }
        if let Some((stretch, sure)) = self.refused_between(plane, two, at) {
            plane.refuse_difference_at(two, with_it(stretch));
            return sure;
        }
        // Side by side without room between: windows still take both for one cut.
        let touch =
            |level: &Level| (difference - level.meet_mm).abs() <= level.wide_mm + 2.0 * PAST_MM;
        let known = self.levels().iter().any(touch);
        let step = if known { PAST_MM } else { STEP_MM };
        plane.refuse_difference_at(two, (difference - step, difference + step));
        known
    }

    /// The differences at which a piece of one comes too near to a piece of the other, if one does
    /// at these shifts.
    fn near(&self, at: Two) -> Option<(f64, f64)> {
        let shop = self.searches[0].shop;
        let theirs = self.turned().moved(Two([at.0[1], at.0[0]]));
        let own = self.moved(at);
        let pairs = own.iter().enumerate().flat_map(|own| theirs.iter().map(move |b| (own, b)));
        let (n, beside) = pairs
            .filter(|((_, own), beside)| shop.too_near_each_other(own, beside))
            .map(|((n, _), beside)| (n, beside))
            .next()?;
        let refuses = |by: f64| {
            let moved = self.moved(Two([at.0[0] + by, at.0[1]]));
            moved.get(n).is_some_and(|own| shop.too_near_each_other(own, beside))
        };
        let end = |sign: f64| refused_until(&|by| refuses(sign * by)) + PAST_MM;
        let difference = at.difference();
        Some((difference - end(-1.0), difference + end(1.0)))
    }

    /// The differences that a member refuses by its rules for the distance of the two, around that
    /// of these shifts; whether they are sure to be refused wherever the two are in these cells.
    fn refused_between(&self, plane: &Plane, two: Two, at: Two) -> Option<((f64, f64), bool)> {
        let [search, other] = self.searches;
        let [a, b] = at.0;
        for crossing in &search.crossings {
            let Some(theirs) = other.crossing(crossing.member) else { continue };
            let own = self.refused_beside(crossing, b, (two.0[0], a), &plane.free[0]);
            let back = self.turned().refused_beside(theirs, a, (two.0[1], b), &plane.free[1]);
            let own = own.map(|((from, to), sure)| ((from - b, to - b), sure));
            let back = back.map(|((from, to), sure)| ((a - to, a - from), sure));
            let hull = [own, back]
                .into_iter()
                .flatten()
                .reduce(|p, q| ((p.0.0.min(q.0.0), p.0.1.max(q.0.1)), p.1 && q.1));
            if hull.is_some() {
                return hull;
            }
        }
        None
    }

    /// The shifts of the first that a member refuses beside the second at its place, as far as it
    /// would allow them without; and whether that is the distance of the two alone.
    fn refused_beside(
        &self,
        crossing: &Crossing<'a>,
        their_place: f64,
        (shift, place): (f64, f64),
        free: &Ranges,
    ) -> Option<((f64, f64), bool)> {
        let [search, other] = self.searches;
        let base = other.own_changes(their_place, self.up_mm[1]);
        let wanted = (crossing.target, crossing.also);
        let ways = (search.along, search.up);
        let beside = Crossing::of(search.shop, search.mover, crossing.member, wanted, ways, &base)?;
        let gap = search.allowed(&beside, self.up_mm[0]).gap(place)?;
        let own = free.iter().find(|(from, to)| (*from..=*to).contains(&shift))?;
        // What is one cut with a third does not keep its shape.
        let theirs = |s: &ServiceIx| other.mover.pieces.contains(s);
        let alone = beside
            .neighbours
            .iter()
            .filter(|cut| cut.services.iter().any(theirs))
            .all(|cut| cut.services.iter().all(theirs) && cut.openings.is_empty());
        let (from, to) = (gap.0.max(own.0), gap.1.min(own.1));
        (from <= to).then_some(((from, to), alone))
    }
}

/// The figures to try: whole millimetres where they take little more, else tenths, else as they
/// are.
fn rounded(plane: &Plane, least: Two) -> Vec<Two> {
    let mut tries: Vec<Two> = [1.0, 0.1]
        .into_iter()
        .filter_map(|step| Some((step, plane.least_in_steps(step)?)))
        .filter(|(step, two)| two.sum() < least.sum() + 2.0 * step)
        .map(|(_, two)| two)
        .collect();
    tries.push(least);
    tries.dedup();
    tries
}
