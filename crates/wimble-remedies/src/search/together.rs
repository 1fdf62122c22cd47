//! Two parallel runs moved along one direction together: the least sum of both shifts, exactly.
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
use wimble_model::{MemberIx, ServiceIx};

/// Envelopes that share more than this in x and in z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;
/// So much is taken out where the checker refuses for a reason that is not known here, mm.
const STEP_MM: f64 = 1.0;

/// Cuts of two runs at one level of a member.
struct Level {
    /// The difference of the shifts at which their middles meet.
    meet_mm: f64,
    /// So far from it they are side by side.
    wide_mm: f64,
}

/// What was found of two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Together {
    /// Both shifts; `None` if none was found.
    pub(crate) shifts: Option<Two>,
    /// Every shorter sum was ruled out.
    pub(crate) sure: bool,
}

impl<'a> Search<'_, 'a> {
    /// The least shifts along of this and of another with which both pass, each search having
    /// been begun without the other. Only sums below `most` are looked at.
    pub(crate) fn least_along_with(&self, other: &Self, most: f64) -> Together {
        let mut sure = !self.may_end_in_one_cut_with(other);
        let (Some(own), Some(theirs)) = (self.turns(other), other.turns(self)) else {
            return Together { shifts: None, sure: false };
        };
        let free = [self.free(0.0, f64::INFINITY), other.free(0.0, f64::INFINITY)];
        let mut plane = Plane::new(free, [own, theirs]);
        for _ in 0..TRIES {
            let Some(least) = plane.least().filter(|least| least.sum() < most) else {
                return Together { shifts: None, sure };
            };
            let mut refused = None;
            for two in rounded(&plane, least) {
                match self.proved_with(other, two) {
                    Ok(()) => return Together { shifts: Some(two), sure },
                    Err(at) => refused = Some((two, at)),
                }
            }
            let Some((two, at)) = refused else { break };
            sure &= self.refuse_with(other, &mut plane, two, at);
        }
        Together { shifts: None, sure: false }
    }

    /// Shifts at which the run comes to another span, or to the other half of one, in a member
    /// that both pass; `None` if the two do not move alike there.
    fn turns(&self, other: &Self) -> Option<Vec<f64>> {
        let mut places = Vec::new();
        for crossing in &self.crossings {
            let [[rate, level], _] = crossing.rates?;
            if rate.abs() < 1e-6 || level.abs() > 1e-6 {
                return None;
            }
            let Some(theirs) = other.crossing(crossing.member) else { continue };
            if (theirs.rates?[0][0] - rate).abs() > 1e-6 {
                return None;
            }
            let member = self.shop.scene.members.get(crossing.member.at())?;
            let (inside, cuts) = self.shown(crossing, rate, 0.0);
            let ends = member.spans.iter().flat_map(|span| [span.from_mm, span.to_mm]);
            // With and without a support that is in doubt: the halves of either.
            let halves = member
                .spans
                .iter()
                .flat_map(|a| member.spans.iter().map(|b| f64::midpoint(a.from_mm, b.to_mm)));
            let turns: Vec<f64> = ends.chain(halves).collect();
            for cut in cuts {
                let middle = cut.mid_x_mm() - inside * rate;
                places.extend(turns.iter().map(|x| (x - middle) / rate));
            }
        }
        Some(places)
    }

    fn crossing(&self, member: MemberIx) -> Option<&Crossing<'a>> {
        self.crossings.iter().find(|c| c.member == member)
    }

    /// Where cuts of the two lie at one level, as they would run into each other along.
    fn level_with(&self, other: &Self) -> Vec<Level> {
        let mut found = Vec::new();
        for crossing in &self.crossings {
            let Some(theirs) = other.crossing(crossing.member) else { continue };
            let Some([[rate, _], _]) = crossing.rates else { continue };
            let (inside, own) = self.shown(crossing, rate, 0.0);
            let (their_inside, beside) = other.shown(theirs, rate, 0.0);
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
    fn may_end_in_one_cut_with(&self, other: &Self) -> bool {
        self.level_with(other).iter().any(|level| {
            let wide = level.wide_mm - 2.0 * OVERLAP_MM;
            let near = |difference: f64| self.near(other, Two([difference, 0.0])).is_some();
            !near(level.meet_mm - wide) || !near(level.meet_mm + wide)
        })
    }

    /// Whether both pass then and no other is worse, and so a hair to every side; else where not.
    fn proved_with(&self, other: &Self, Two([own, theirs]): Two) -> Result<(), Two> {
        let hair = |moved: f64| if moved == 0.0 { 0.0 } else { STEADY_MM };
        let (a, b) = (hair(own), hair(theirs));
        for (x, y) in [(0.0, 0.0), (a, 0.0), (-a, 0.0), (0.0, b), (0.0, -b)] {
            let at = Two([own + x, theirs + y]);
            if (x, y) == (0.0, 0.0) || x != 0.0 || y != 0.0 {
                self.serves_with(other, at).then_some(()).ok_or(at)?;
            }
        }
        Ok(())
    }

    fn serves_with(&self, other: &Self, Two([own, theirs]): Two) -> bool {
        let mut changes = self.own_changes(own, 0.0);
        changes.extend(other.own_changes(theirs, 0.0));
        let keeps = |search: &Self| search.crossings.iter().all(|c| search.keeps_in(c, &changes));
        self.shop.prove(&changes, &|_| Some(Aim::default())).is_ok() && keeps(self) && keeps(other)
    }

    /// Takes out what refuses two shifts; `at` is where, a hair from them. Whether all that is
    /// taken out is sure to be refused.
    fn refuse_with(&self, other: &Self, plane: &mut Plane, two: Two, at: Two) -> bool {
        for (which, search) in [self, other].into_iter().enumerate() {
            let (place, shift) = (at.0[which], two.0[which]);
            if let Err(fault) = search.proved_exactly(place, 0.0) {
                let (from, to, sure) =
                    search.refused_stretch(place, 0.0, fault, &plane.free[which]);
                plane.refuse(which, (from.min(shift - FINE_MM), to.max(shift + FINE_MM)));
                return sure;
            }
        }
        let difference = two.difference();
        let with_it =
            |(from, to): (f64, f64)| (from.min(difference - FINE_MM), to.max(difference + FINE_MM));
        if let Some(stretch) = self.near(other, at) {
            plane.refuse_difference(with_it(stretch));
            return true;
        }
        if let Some((stretch, sure)) = self.refused_between(other, plane, two, at) {
            plane.refuse_difference_at(two, with_it(stretch));
            return sure;
        }
        // Side by side without room between: windows still take both for one cut.
        let touch =
            |level: &Level| (difference - level.meet_mm).abs() <= level.wide_mm + 2.0 * PAST_MM;
        let known = self.level_with(other).iter().any(touch);
        let step = if known { PAST_MM } else { STEP_MM };
        plane.refuse_difference_at(two, (difference - step, difference + step));
        known
    }

    /// The differences at which a piece of one comes too near to a piece of the other, if one does
    /// at these shifts.
    fn near(&self, other: &Self, at: Two) -> Option<(f64, f64)> {
        let theirs = other.own_changes(at.0[1], 0.0);
        for (n, own) in self.own_changes(at.0[0], 0.0).iter().enumerate() {
            for beside in &theirs {
                let refuses = |by: f64| {
                    let moved = self.own_changes(at.0[0] + by, 0.0);
                    moved.get(n).is_some_and(|own| self.shop.too_near_each_other(own, beside))
                };
                if self.shop.too_near_each_other(own, beside) {
                    let end = |sign: f64| refused_until(&|by| refuses(sign * by)) + PAST_MM;
                    let difference = at.difference();
                    return Some((difference - end(-1.0), difference + end(1.0)));
                }
            }
        }
        None
    }

    /// The differences that a member refuses by its rules for the distance of the two, around that
    /// of these shifts; whether they are sure to be refused wherever the two are in these cells.
    fn refused_between(
        &self,
        other: &Self,
        plane: &Plane,
        two: Two,
        at: Two,
    ) -> Option<((f64, f64), bool)> {
        for crossing in &self.crossings {
            let Some(theirs) = other.crossing(crossing.member) else { continue };
            let own =
                self.refused_beside(crossing, other, at.0[1], (two.0[0], at.0[0]), &plane.free[0]);
            let back =
                other.refused_beside(theirs, self, at.0[0], (two.0[1], at.0[1]), &plane.free[1]);
            let own = own.map(|((from, to), sure)| ((from - at.0[1], to - at.0[1]), sure));
            let back = back.map(|((from, to), sure)| ((at.0[0] - to, at.0[0] - from), sure));
            let both = [own, back].into_iter().flatten();
            let hull = both.reduce(|a, b| ((a.0.0.min(b.0.0), a.0.1.max(b.0.1)), a.1 && b.1));
            if hull.is_some() {
                return hull;
            }
        }
        None
    }

    /// The shifts that a member refuses beside another run that is at its place, as far as it would
    /// allow them without; and whether that is the distance from the other alone.
    fn refused_beside(
        &self,
        crossing: &Crossing<'a>,
        other: &Self,
        their_place: f64,
        (shift, place): (f64, f64),
        free: &Ranges,
    ) -> Option<((f64, f64), bool)> {
        let base: Vec<Change> = other.own_changes(their_place, 0.0);
        let wanted = (crossing.target, crossing.also);
        let ways = (self.along, self.up);
        let beside = Crossing::of(self.shop, self.mover, crossing.member, wanted, ways, &base)?;
        let gap = self.allowed(&beside, 0.0).gap(place)?;
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
