//! The least shift of something straight that brings its cuts to what is wanted.
//!
//! A straight service that passes through the whole breadth of a member makes the same cut
//! wherever it is moved to, so that the places where it may be are unions of intervals along the
//! member (asked of the rules), and what changes with its level changes at finitely many levels.
//! What else may stand in the way (other services, members that it does not pass yet) is asked of
//! the checker at the place that is best so far, and taken out as a stretch where it refuses.

mod crossing;
mod levels;
mod together;

pub(crate) use together::Together;

use crate::body::moved;
use crate::ranges::Ranges;
use crate::shop::{Aim, Fault, Mover, Shop};
use crossing::Crossing;
use glam::DVec3;
use std::cell::Cell;
use wimble_cross::Change;
use wimble_model::{Cut, CutKind, MemberIx, ServiceIx, Verdict};
use wimble_rules::HOLDS_MM;

/// How often a stretch is taken out before the search is given up.
const TRIES: usize = 48;
/// How many millimetres are followed, one after the other, where a member refuses for a reason
/// that its windows do not know.
const BLIND_MM: usize = 800;
/// So far off, along or up, the answer has to be the same: no verdict may turn on a hair, mm.
const STEADY_MM: f64 = 0.02;
/// Just past a level or a place at which something turns, mm.
const PAST_MM: f64 = 0.05;
/// Nothing is moved further than this, mm.
const FAR_MM: f64 = 1e5;
/// How finely the end of what is refused is found, mm.
const FINE_MM: f64 = 1e-3;

/// Which ways something may be moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ways {
    Along,
    UpOrDown,
    Both,
}

/// What a search is for.
pub(crate) struct Goal<'g, 'a> {
    /// What the cuts of what moves have to come to in a member; in those of which nothing is said
    /// they stay no worse than they are.
    pub(crate) aims: &'g dyn Fn(MemberIx) -> Option<Verdict>,
    /// All cuts of these services in this member pass: a shared cut is mended when each of its
    /// parts is.
    pub(crate) all_of: Option<(MemberIx, &'a [ServiceIx])>,
    /// Whether it may leave the members that it passes.
    pub(crate) may_leave: bool,
    /// What is changed besides: another run that has moved already, or is taken away.
    pub(crate) base: Vec<Change>,
}

/// A shift that was found and proved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Found {
    /// In the first direction, mm.
    pub(crate) along_mm: f64,
    /// In the second direction, mm.
    pub(crate) up_mm: f64,
    /// No shorter one does it.
    pub(crate) least: bool,
}

/// Where the limits of all members that are passed allow something, as far as they are known as
/// stretches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Free {
    Nowhere,
    /// The nearest such place, along and up, mm.
    At(f64, f64),
    /// It is not so simple for a member that is passed.
    NotKnown,
}

impl Found {
    pub(crate) fn length(&self) -> f64 {
        self.along_mm.hypot(self.up_mm)
    }
}

/// A search for one mover.
#[derive(Debug)]
pub(crate) struct Search<'s, 'a> {
    shop: &'s Shop<'a>,
    mover: &'s Mover,
    along: DVec3,
    up: DVec3,
    crossings: Vec<Crossing<'a>>,
    may_leave: bool,
    /// What is changed besides: another run that has moved already, or is taken away.
    base: Vec<Change>,
    /// Whether it was left before every place had been ruled out.
    gave_up: Cell<bool>,
    /// Millimetres that may still be followed blindly.
    blind_mm: Cell<usize>,
}

impl<'s, 'a> Search<'s, 'a> {
    /// Directions are unit vectors in the world.
    pub(crate) fn new(
        shop: &'s Shop<'a>,
        mover: &'s Mover,
        along: DVec3,
        up: DVec3,
        goal: &Goal<'_, 'a>,
    ) -> Self {
        let mut members: Vec<(MemberIx, Verdict)> = Vec::new();
        for cut in shop.cuts_of(&mover.pieces).iter().filter_map(|ix| shop.cut(*ix)) {
            match members.last_mut() {
                Some((member, worst)) if *member == cut.member => {
                    *worst = (*worst).max(cut.verdict);
                }
                _ => members.push((cut.member, cut.verdict)),
            }
        }
        let mut crossings: Vec<(Verdict, Crossing<'a>)> = members
            .into_iter()
            .filter_map(|(member, now)| {
                let target = (goal.aims)(member).unwrap_or(now);
                let also = goal.all_of.filter(|(own, _)| *own == member);
                let also = also.map_or(&[][..], |(_, services)| services);
                Some((
                    now,
                    Crossing::of(shop, mover, member, (target, also), (along, up), &goal.base)?,
                ))
            })
            .collect();
        // What has to come furthest first: where nothing serves it is seen soonest.
        let mends =
            |now: Verdict, crossing: &Crossing<'_>| now as u8 - (crossing.target.min(now)) as u8;
        crossings.sort_by_key(|(now, c)| (std::cmp::Reverse(mends(*now, c)), c.member));
        let crossings: Vec<Crossing<'a>> = crossings.into_iter().map(|(_, c)| c).collect();
        Self {
            shop,
            mover,
            along,
            up,
            crossings,
            may_leave: goal.may_leave,
            base: goal.base.clone(),
            gave_up: Cell::new(false),
            blind_mm: Cell::new(BLIND_MM),
        }
    }

    /// Whether every place was ruled out where nothing was found.
    pub(crate) fn is_sure(&self) -> bool {
        !self.gave_up.get()
    }

    /// Follows no more than so many millimetres from here on: for what is good to have, but proves
    /// nothing by its absence.
    pub(crate) fn ration(&self, blind_mm: usize) {
        self.blind_mm.set(blind_mm.min(self.blind_mm.get()));
    }

    /// The changes that a shift is, with those that are made already.
    pub(crate) fn changes(&self, along_mm: f64, up_mm: f64) -> Vec<Change> {
        let mut all = self.own_changes(along_mm, up_mm);
        all.extend(self.base.iter().cloned());
        all
    }

    fn own_changes(&self, along_mm: f64, up_mm: f64) -> Vec<Change> {
        changes(self.shop, self.mover, self.vector_m(along_mm, up_mm))
    }

    pub(crate) fn vector_m(&self, along_mm: f64, up_mm: f64) -> DVec3 {
        (along_mm * self.along + up_mm * self.up) / 1000.0
    }

    /// The least shift; `None` if none was found.
    pub(crate) fn least(&self, ways: Ways) -> Option<Found> {
        if self.crossings.iter().any(|crossing| crossing.hopeless) {
            return None;
        }
        match ways {
            Ways::Along => self.least_along(0.0, f64::INFINITY),
            Ways::UpOrDown => self.least_up(),
            Ways::Both => self.least_of_both(),
        }
    }

    /// The least shifts at each level, the shortest first, `most` at most: what two runs may be
    /// tried together from.
    pub(crate) fn choices(&self, most: usize) -> Vec<Found> {
        let mut found: Vec<Found> = Vec::new();
        if self.crossings.iter().any(|crossing| crossing.hopeless) {
            return found;
        }
        for up in std::iter::once(0.0).chain(self.levels(true)) {
            let longest = found.get(most - 1).map_or(f64::INFINITY, Found::length);
            if up.abs() >= longest {
                break;
            }
            let room = (longest * longest - up * up).sqrt();
            found.extend(self.least_along(up, room));
            found.sort_by(|a, b| a.length().total_cmp(&b.length()));
            found.truncate(most);
        }
        found
    }

    /// The least shift that makes another kind of cut of it in a member; `None` if none was found.
    pub(crate) fn least_as(
        &self,
        member: MemberIx,
        wanted: &dyn Fn(CutKind) -> bool,
    ) -> Option<Found> {
        let crossing = self.crossings.iter().find(|c| c.member == member && !c.hopeless)?;
        let rate = crossing.rates?[0][0];
        let mut best: Option<Found> = None;
        for up in self.levels(true) {
            let limit = best.map_or(f64::INFINITY, |b| b.length());
            if up.abs() >= limit {
                break;
            }
            let (_, cuts) = self.shown(crossing, rate, up);
            if cuts.is_empty() || !cuts.iter().all(|cut| wanted(cut.kind)) {
                continue;
            }
            let room = (limit * limit - up * up).sqrt();
            let found = self.least_along(up, room).filter(|found| found.length() < limit);
            best = found.or(best);
        }
        best
    }

    /// Levels by the least shift that they would take if nothing stood in the way but limits: the
    /// first that is proved leaves few of the others to be looked at.
    fn least_of_both(&self) -> Option<Found> {
        let mut best = self.least_along(0.0, f64::INFINITY);
        let longest = best.map_or(f64::INFINITY, |b| b.length());
        let mut levels: Vec<(f64, f64)> = Vec::new();
        for up in self.levels(true) {
            if up.abs() >= longest {
                break;
            }
            if let Some((along, _)) = self.free(up, longest).nearest() {
                levels.push((along.hypot(up), up));
            }
        }
        levels.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (at_least, up) in levels {
            let limit = best.map_or(f64::INFINITY, |b| b.length());
            if at_least >= limit {
                break;
            }
            let room = (limit * limit - up * up).sqrt();
            if let Some(found) = self.least_along(up, room)
                && found.length() < limit
            {
                best = Some(found);
            }
        }
        best
    }

    /// Shifts along at a level that the limits of all members allow, `room` at most.
    fn free(&self, up_mm: f64, room: f64) -> Ranges {
        let mut free = Ranges::of([(-room, room)]);
        for crossing in &self.crossings {
            if free.is_empty() {
                break;
            }
            free = free.and(&self.allowed(crossing, up_mm));
        }
        free
    }

    /// The nearest place that limits allow.
    pub(crate) fn nearest_free(&self) -> Free {
        let simple = |c: &&Crossing<'_>| c.rates.is_some_and(|[along, _]| along[0].abs() > 1e-6);
        let asked = || self.crossings.iter().filter(|c| c.target < Verdict::Fail);
        if asked().count() == 0 || asked().filter(simple).count() < asked().count() {
            return Free::NotKnown;
        }
        let levels = std::iter::once(0.0).chain(self.levels(true));
        levels
            .filter_map(|up| Some((self.free(up, f64::INFINITY).nearest()?.0, up)))
            .min_by(|a, b| a.0.hypot(a.1).total_cmp(&b.0.hypot(b.1)))
            .map_or(Free::Nowhere, |(along, up)| Free::At(along, up))
    }

    /// What refuses a shift, if something does.
    pub(crate) fn fault_at(&self, along_mm: f64, up_mm: f64) -> Option<Fault> {
        self.proved_exactly(along_mm, up_mm).err()
    }

    /// Up or down alone, at the places where it is.
    fn least_up(&self) -> Option<Found> {
        let serves = |up: f64| self.proved(0.0, up).is_ok();
        let found = self.levels(false).into_iter().find(|up| serves(*up))?;
        // Whole millimetres, where they serve as well.
        let whole = found.abs().ceil().copysign(found);
        let up_mm = if whole != found && serves(whole) { whole } else { found };
        Some(Found { along_mm: 0.0, up_mm, least: true })
    }

    /// Along at one level, `room` at most.
    fn least_along(&self, up_mm: f64, room: f64) -> Option<Found> {
        let mut free = self.free(up_mm, room);
        let mut least = true;
        for _ in 0..TRIES {
            let (nearest, stretch) = free.nearest()?;
            let mut refused = None;
            for along_mm in rounded(nearest, stretch) {
                match self.proved(along_mm, up_mm) {
                    Ok(()) => return Some(Found { along_mm, up_mm, least }),
                    Err(fault) => refused = Some((along_mm, fault)),
                }
            }
            let (at, fault) = refused?;
            let (from, to, sure) = self.refused_stretch(at, up_mm, fault, &free);
            least &= sure;
            free = free.without(from.min(nearest - FINE_MM), to.max(nearest + FINE_MM));
            if self.blind_mm.get() == 0 {
                break;
            }
        }
        self.gave_up.set(true);
        None
    }

    fn crossing(&self, member: MemberIx) -> Option<&Crossing<'a>> {
        self.crossings.iter().find(|c| c.member == member)
    }

    fn aim(&self, member: MemberIx) -> Aim<'a> {
        self.crossing(member)
            .map_or_else(Aim::default, |c| Aim { verdict: Some(c.target), also: c.also })
    }

    /// Whether a shift comes to what is wanted, and would a hair further along or up, too.
    fn proved(&self, along_mm: f64, up_mm: f64) -> Result<(), Fault> {
        self.proved_exactly(along_mm, up_mm)?;
        let (along, up) = (STEADY_MM, STEADY_MM);
        if along_mm != 0.0 {
            self.proved_exactly(along_mm + along, up_mm)?;
            self.proved_exactly(along_mm - along, up_mm)?;
        }
        if up_mm != 0.0 {
            self.proved_exactly(along_mm, up_mm + up)?;
            self.proved_exactly(along_mm, up_mm - up)?;
        }
        Ok(())
    }

    fn proved_exactly(&self, along_mm: f64, up_mm: f64) -> Result<(), Fault> {
        let changes = self.changes(along_mm, up_mm);
        // Those that it crosses first: most places fall through there.
        for crossing in &self.crossings {
            let aim = Aim { verdict: Some(crossing.target), also: crossing.also };
            if !self.shop.serves(crossing.member, &changes, aim)
                || !self.keeps_in(crossing, &changes)
            {
                return Err(Fault::Member(crossing.member));
            }
        }
        let crossed = |member: MemberIx| self.crossings.iter().any(|c| c.member == member);
        self.shop.prove(&changes, &|member| (!crossed(member)).then(Aim::default))
    }

    /// Out of the floor, above or below, is no place for it.
    fn keeps_in(&self, crossing: &Crossing<'_>, changes: &[Change]) -> bool {
        self.may_leave || crossing.target == Verdict::Fail || {
            let own = |c: &&Change| self.mover.pieces.contains(&c.service);
            let own: Vec<Change> = changes.iter().filter(own).cloned().collect();
            !self.shop.crosser.alone(crossing.member, &own).is_empty()
        }
    }

    /// The stretch of shifts along that a fault refuses, and whether that is all there is to it.
    fn refused_stretch(
        &self,
        at: f64,
        up_mm: f64,
        fault: Fault,
        free: &Ranges,
    ) -> (f64, f64, bool) {
        match fault {
            Fault::Near(other) => {
                let refuses = |along_mm: f64| {
                    self.changes(along_mm, up_mm).iter().any(|c| {
                        c.body.as_ref().is_some_and(|body| {
                            !self.shop.of_one_run(other, c.service)
                                && self.shop.nearer_than_allowed(c.service, body, other)
                        })
                    })
                };
                let end = |sign: f64| refused_until(&|by: f64| refuses(at + sign * by)) + PAST_MM;
                (at - end(-1.0), at + end(1.0), true)
            }
            Fault::Member(member) => {
                if let Some((from, to)) = self.refused_by_another(at, up_mm, member) {
                    return (from, to, true);
                }
                let (from, sure_back) = self.follow(at, -1.0, up_mm, member, free);
                let (to, sure_on) = self.follow(at, 1.0, up_mm, member, free);
                (from, to, sure_back && sure_on)
            }
        }
    }

    /// The stretch that a member refuses which is not passed yet, by its windows and its length;
    /// `None` where these do not tell.
    fn refused_by_another(&self, at: f64, up_mm: f64, member: MemberIx) -> Option<(f64, f64)> {
        if self.crossings.iter().any(|c| c.member == member) {
            return None;
        }
        let timber = self.shop.scene.members.get(member.at())?;
        let direction = timber.frame.turn(self.mover.along);
        let [rate, level] = crossing::rate(direction, timber.frame.turn(self.along))?;
        let cuts = self.shop.crosser.alone(member, &self.own_changes(at, up_mm));
        let [cut] = cuts.as_slice() else { return None };
        if rate.abs() < 1e-6 || level.abs() > 1e-6 || cut.kind == CutKind::EndCut {
            return None;
        }
        let (_, beside) = self.shop.cuts_in(member);
        let rules = self.shop.rules_of(member)?;
        let services = &self.shop.scene.services;
        let half = cut.width_mm() / 2.0 + PAST_MM;
        let places = Ranges::of(rules.windows(cut, beside, services, Verdict::Pass));
        let away = [(f64::NEG_INFINITY, -half), (timber.length_mm + half, f64::INFINITY)];
        let middle = cut.mid_x_mm();
        let (from, to) = places.or(&Ranges::of(away)).gap(middle)?;
        let by = |x: f64| at + (x - middle) / rate;
        Some((by(from).min(by(to)), by(from).max(by(to))))
    }

    /// Why a member refuses its windows do not tell: the next whole millimetre one way at which
    /// it does not, and whether it was come to.
    fn follow(
        &self,
        at: f64,
        sign: f64,
        up_mm: f64,
        member: MemberIx,
        free: &Ranges,
    ) -> (f64, bool) {
        let crossing = self.crossing(member);
        let serves = |along_mm: f64| {
            let changes = self.changes(along_mm, up_mm);
            self.shop.serves(member, &changes, self.aim(member))
                && crossing.is_none_or(|c| self.keeps_in(c, &changes))
        };
        let mut place = if sign > 0.0 { at.floor() } else { at.ceil() };
        loop {
            place += sign;
            let Some(next) = free.next(place, sign) else { return (place, true) };
            // What is not free needs no question.
            if (next - place).abs() >= 1.0 {
                place = if sign > 0.0 { next.ceil() } else { next.floor() };
            }
            if serves(place) {
                return (place, true);
            }
            let left = self.blind_mm.get();
            if left == 0 || place.abs() > FAR_MM {
                return (place, false);
            }
            self.blind_mm.set(left - 1);
        }
    }

    /// Shifts along that a crossing allows at a level.
    fn allowed(&self, crossing: &Crossing<'_>, up_mm: f64) -> Ranges {
        if crossing.target == Verdict::Fail {
            return Ranges::all();
        }
        let Some([rate, _]) = crossing.rates else { return Ranges::all() };
        let straight = rate[0].abs() > 1e-6 && rate[1].abs() < 1e-6;
        let (inside, cuts) = self.shown(crossing, rate[0], up_mm);
        if up_mm != 0.0 && cuts.is_empty() {
            return Ranges::default();
        }
        if !straight {
            return Ranges::all();
        }
        cuts.iter().fold(Ranges::all(), |all, cut| {
            let here = crossing.windows(self.shop, cut);
            let middle = cut.mid_x_mm() - inside * rate[0];
            let shifts = here.iter().map(|(from, to)| {
                let (a, b) = ((from - middle) / rate[0], (to - middle) / rate[0]);
                (a.min(b), a.max(b))
            });
            all.and(&Ranges::of(shifts))
        })
    }

    /// The cuts that it makes at another level, as they are away from the ends of the member; and
    /// how far along it was moved for that.
    fn shown(&self, crossing: &Crossing<'_>, rate: f64, up_mm: f64) -> (f64, Vec<Cut>) {
        let alone =
            |along: f64| self.shop.crosser.alone(crossing.member, &self.own_changes(along, up_mm));
        let cuts = alone(0.0);
        let at_end = cuts.iter().find(|cut| cut.kind == CutKind::EndCut);
        let length = self.shop.scene.members.get(crossing.member.at()).map(|m| m.length_mm);
        match (at_end, length) {
            (Some(cut), Some(length)) if rate.abs() > 1e-6 => {
                let inside = (length / 2.0 - cut.mid_x_mm()) / rate;
                (inside, alone(inside))
            }
            _ => (0.0, cuts),
        }
    }
}

/// How far from where it is something starts to be refused no more, by doubling and halving: what
/// is refused is one stretch.
fn refused_until(refuses: &dyn Fn(f64) -> bool) -> f64 {
    let (mut inside, mut step) = (0.0, 1.0);
    while refuses(inside + step) {
        inside += step;
        step *= 2.0;
        if inside > FAR_MM {
            return f64::INFINITY;
        }
    }
    let mut outside = inside + step;
    while outside - inside > FINE_MM {
        let middle = f64::midpoint(inside, outside);
        if refuses(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    outside
}

/// The changes that moving something by a vector is.
pub(crate) fn changes(shop: &Shop<'_>, mover: &Mover, by_m: DVec3) -> Vec<Change> {
    mover
        .pieces
        .iter()
        .filter_map(|piece| Some(Change::moved(*piece, moved(shop.body(*piece)?, by_m))))
        .collect()
}

/// The figures to try for a shift whose least is known: whole millimetres if they serve, else
/// tenths, else as it is.
fn rounded(nearest: f64, (from, to): (f64, f64)) -> Vec<f64> {
    if nearest == 0.0 {
        return vec![0.0];
    }
    let size = nearest.abs();
    let mut tries = Vec::with_capacity(4);
    // Limits are exact, the checker gives a hair: a whole figure within it serves too.
    if size.fract() > 0.0 && size.fract() <= HOLDS_MM {
        tries.push(size.floor().copysign(nearest));
    }
    for steps in [1.0, 10.0] {
        let up = ((size * steps - 1e-9).ceil() / steps).copysign(nearest);
        if (from..=to).contains(&up) && !tries.contains(&up) {
            tries.push(up);
        }
    }
    if !tries.contains(&nearest) {
        tries.push(nearest);
    }
    tries
}
