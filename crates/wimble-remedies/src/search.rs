//! The least shift of something straight that brings its cuts to what is wanted.
//!
//! A straight service that passes through the whole breadth of a member makes the same cut
//! wherever it is moved to, so that the places where it may be are unions of intervals along the
//! member (asked of the rules), and what changes with its level changes at finitely many levels.
//! What else may stand in the way (other services, members that it does not pass yet) is asked of
//! the checker at the place that is best so far, and taken out as a stretch where it refuses.

use crate::body::moved;
use crate::ranges::Ranges;
use crate::shop::{Fault, Mover, Shop};
use glam::DVec3;
use std::cell::Cell;
use wimble_cross::Change;
use wimble_model::{Cut, CutKind, MemberIx, Verdict};
use wimble_rules::{HOLDS_MM, MemberRules, Turning};

/// How often a stretch is taken out before the search is given up.
const TRIES: usize = 48;
/// How often half a millimetre is taken out where it is not known what is in the way.
const BLIND_TRIES: usize = 6;
/// Envelopes that share more than this in x and in z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;
/// Just past a level at which an edge counts as reached, mm.
const PAST_MM: f64 = 0.02;
/// How finely the end of what is refused is found, mm.
const FINE_MM: f64 = 1e-3;

/// Which ways something may be moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ways {
    Along,
    UpOrDown,
    Both,
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

impl Found {
    pub(crate) fn length(&self) -> f64 {
        self.along_mm.hypot(self.up_mm)
    }
}

/// One member that is passed.
#[derive(Debug)]
struct Crossing<'a> {
    member: MemberIx,
    rules: MemberRules<'a>,
    /// The member's cuts without what moves.
    neighbours: Vec<Cut>,
    /// What its cuts have to come to.
    target: Verdict,
    /// How a shift shifts the cut: along and up for each millimetre of the first and the second
    /// direction; `None` where that is not so simple.
    rates: Option<[[f64; 2]; 2]>,
    /// Extents in depth of the whole service there (bare, and as it is cut), if it passes.
    depth: Option<[(f64, f64); 2]>,
}

/// A search for one mover.
#[derive(Debug)]
pub(crate) struct Search<'s, 'a> {
    shop: &'s Shop<'a>,
    mover: &'s Mover,
    along: DVec3,
    up: DVec3,
    crossings: Vec<Crossing<'a>>,
    /// Whether it was left before every place had been ruled out.
    gave_up: Cell<bool>,
}

impl<'s, 'a> Search<'s, 'a> {
    /// `aims`: the members whose cuts have to come to a verdict; the others passed stay no worse
    /// than they are. Directions are unit vectors in the world.
    pub(crate) fn new(
        shop: &'s Shop<'a>,
        mover: &'s Mover,
        along: DVec3,
        up: DVec3,
        aims: &dyn Fn(MemberIx) -> Option<Verdict>,
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
        // The worst first: where nothing serves it is seen soonest.
        members.sort_by_key(|(member, worst)| (std::cmp::Reverse(*worst), *member));
        let crossings = members
            .into_iter()
            .filter_map(|(member, now)| {
                Crossing::of(shop, mover, member, aims(member).unwrap_or(now), along, up)
            })
            .collect();
        Self { shop, mover, along, up, crossings, gave_up: Cell::new(false) }
    }

    /// Whether every place was ruled out where nothing was found.
    pub(crate) fn is_sure(&self) -> bool {
        !self.gave_up.get()
    }

    /// The changes that a shift is.
    pub(crate) fn changes(&self, along_mm: f64, up_mm: f64) -> Vec<Change> {
        changes(self.shop, self.mover, self.vector_m(along_mm, up_mm))
    }

    pub(crate) fn vector_m(&self, along_mm: f64, up_mm: f64) -> DVec3 {
        (along_mm * self.along + up_mm * self.up) / 1000.0
    }

    /// The least shift; `None` if none was found.
    pub(crate) fn least(&self, ways: Ways) -> Option<Found> {
        match ways {
            Ways::Along => self.least_along(0.0, f64::INFINITY),
            Ways::UpOrDown => self.least_up(),
            Ways::Both => self.least_of_both(),
        }
    }

    fn least_of_both(&self) -> Option<Found> {
        let mut best = self.least_along(0.0, f64::INFINITY);
        for up in self.levels(true) {
            let limit = best.map_or(f64::INFINITY, |b| b.length());
            if up.abs() >= limit {
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

    /// Up or down alone, at the places where it is.
    fn least_up(&self) -> Option<Found> {
        let serves = |up: f64| {
            self.crossings.iter().all(|c| self.holds_at(c, up)) && self.proved(0.0, up).is_ok()
        };
        let found = self.levels(false).into_iter().find(|up| serves(*up))?;
        // Whole millimetres, where they serve as well.
        let whole = found.abs().ceil().copysign(found);
        let up_mm = if whole != found && serves(whole) { whole } else { found };
        Some(Found { along_mm: 0.0, up_mm, least: true })
    }

    /// Along at one level, `room` at most.
    fn least_along(&self, up_mm: f64, room: f64) -> Option<Found> {
        let mut free = Ranges::of([(-room, room)]);
        for crossing in &self.crossings {
            free = free.and(&self.allowed(crossing, up_mm));
            if free.is_empty() {
                return None;
            }
        }
        let (mut least, mut blind) = (true, 0);
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
            let (from, to, sure) = self.refused_stretch(at, up_mm, fault);
            least &= sure;
            blind += usize::from(!sure);
            if blind > BLIND_TRIES {
                break;
            }
            free = free.without(from.min(nearest - FINE_MM), to.max(nearest + FINE_MM));
        }
        self.gave_up.set(true);
        None
    }

    fn target(&self, member: MemberIx) -> Option<Verdict> {
        self.crossings.iter().find(|c| c.member == member).map(|c| c.target)
    }

    fn proved(&self, along_mm: f64, up_mm: f64) -> Result<(), Fault> {
        self.shop.prove(&self.changes(along_mm, up_mm), &|member| self.target(member))
    }

    /// The stretch of shifts along that a fault refuses, and whether that is all there is to it.
    fn refused_stretch(&self, at: f64, up_mm: f64, fault: Fault) -> (f64, f64, bool) {
        let refuses = |along_mm: f64| {
            let changes = self.changes(along_mm, up_mm);
            match fault {
                Fault::Near(other) => changes.iter().any(|c| {
                    c.body.as_ref().is_some_and(|body| {
                        !self.shop.of_one_run(other, c.service)
                            && self.shop.nearer_than_allowed(c.service, body, other)
                    })
                }),
                Fault::Member(member) => !self.shop.serves(member, &changes, self.target(member)),
            }
        };
        let known = match fault {
            Fault::Near(_) => true,
            // Where windows are known, they have told already: something else is the matter.
            Fault::Member(member) => {
                !self.crossings.iter().any(|c| c.member == member && c.rates.is_some())
            }
        };
        if !known {
            return (at - 0.5, at + 0.5, false);
        }
        let end = |sign: f64| {
            let (mut inside, mut step) = (0.0, 1.0);
            while refuses(at + sign * (inside + step)) {
                inside += step;
                step *= 2.0;
                if inside > 1e5 {
                    return f64::INFINITY;
                }
            }
            let mut outside = inside + step;
            while outside - inside > FINE_MM {
                let middle = f64::midpoint(inside, outside);
                if refuses(at + sign * middle) {
                    inside = middle;
                } else {
                    outside = middle;
                }
            }
            outside
        };
        (at - end(-1.0), at + end(1.0), true)
    }

    /// Shifts along that a crossing allows at a level.
    fn allowed(&self, crossing: &Crossing<'_>, up_mm: f64) -> Ranges {
        if crossing.target == Verdict::Fail {
            return Ranges::all();
        }
        let Some([rate, _]) = crossing.rates else { return Ranges::all() };
        let changes = self.changes(0.0, up_mm);
        let cuts = self.shop.crosser.alone(crossing.member, &changes);
        if up_mm != 0.0 && cuts.is_empty() {
            return Ranges::default();
        }
        if rate[0].abs() < 1e-6 || rate[1].abs() > 1e-6 {
            return Ranges::all();
        }
        cuts.iter().fold(Ranges::all(), |all, cut| {
            let here = crossing.windows(self.shop, cut);
            let middle = cut.mid_x_mm();
            let shifts = here.iter().map(|(from, to)| {
                let (a, b) = ((from - middle) / rate[0], (to - middle) / rate[0]);
                (a.min(b), a.max(b))
            });
            all.and(&Ranges::of(shifts))
        })
    }

    /// Whether a crossing comes to what is wanted at another level, moved neither way along.
    fn holds_at(&self, crossing: &Crossing<'_>, up_mm: f64) -> bool {
        if crossing.target == Verdict::Fail {
            return true;
        }
        let changes = self.changes(0.0, up_mm);
        // Out of the floor above or below is no place for it.
        !self.shop.crosser.alone(crossing.member, &changes).is_empty()
            && self.shop.serves(crossing.member, &changes, Some(crossing.target))
    }

    /// Every shift up or down at which something changes, the least first. `with_along`: for a
    /// search both ways.
    fn levels(&self, with_along: bool) -> Vec<f64> {
        let mut found: Vec<f64> = Vec::new();
        for crossing in self.crossings.iter().filter(|c| c.target < Verdict::Fail) {
            self.levels_of(crossing, with_along, &mut found);
        }
        let mut exact: Vec<f64> = found
            .iter()
            .flat_map(|up| [*up, up.floor(), up.ceil()])
            .filter(|up| up.is_finite() && up.abs() > 1e-6)
            .collect();
        exact.sort_by(|a, b| a.abs().total_cmp(&b.abs()).then(a.total_cmp(b)));
        exact.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        exact
    }

    fn levels_of(&self, crossing: &Crossing<'_>, with_along: bool, found: &mut Vec<f64>) {
        let (Some([_, up]), Some([bare, whole])) = (crossing.rates, crossing.depth) else { return };
        let Some(member) = self.shop.scene.members.get(crossing.member.at()) else { return };
        if up[1].abs() < 1e-6 {
            return;
        }
        let half = member.section.depth_mm() / 2.0;
        let middle = f64::midpoint(whole.0, whole.1);
        // A shift that brings the whole service from one level to another.
        let by = |from: f64, to: f64| (to - from) / up[1];
        let flush = [by(bare.1, half), by(bare.0, -half)];
        let reached = [by(whole.1, half - 1.0), by(whole.0, 1.0 - half)];
        found.extend([by(bare.1, half + 1.0), by(bare.0, -half - 1.0)]);
        found.extend(flush);
        found.extend(reached);
        found.extend([by(whole.1, half - 1.0 + PAST_MM), by(whole.0, 1.0 - half - PAST_MM)]);
        for n in &crossing.neighbours {
            found.extend([
                by(whole.0, n.max_mm.z - OVERLAP_MM),
                by(whole.1, n.min_mm.z + OVERLAP_MM),
            ]);
        }
        for shown in [by(middle, 0.0), flush[0], flush[1]] {
            let changes = self.changes(0.0, shown);
            for cut in self.shop.crosser.alone(crossing.member, &changes) {
                let neighbours = &crossing.neighbours;
                let services = &self.shop.scene.services;
                let turnings = crossing.rules.turnings(&cut, neighbours, services);
                let mut circles = Vec::new();
                for turning in turnings {
                    match turning {
                        Turning::Middle(z) => found.push(by(middle, z)),
                        Turning::Lower(z) => found.push(by(whole.0, z)),
                        Turning::Upper(z) => found.push(by(whole.1, z)),
                        Turning::Circle { x_mm, z_mm, radius_mm } => {
                            circles.push([x_mm - cut.mid_x_mm(), z_mm, radius_mm]);
                        }
                    }
                }
                let ends: Vec<f64> = if with_along && !circles.is_empty() {
                    let windows = crossing.windows(self.shop, &cut);
                    windows.iter().flat_map(|(a, b)| [a, b]).map(|x| x - cut.mid_x_mm()).collect()
                } else {
                    Vec::new()
                };
                around(&circles, middle, &ends, with_along, &mut |z| found.push(by(middle, z)));
            }
        }
    }
}

/// Levels of the middle that circles round neighbours (x from the cut, z, radius) make: their
/// tops, where the cut stands, the point nearest to it, and where they meet each other and the
/// ends of windows.
fn around(
    circles: &[[f64; 3]],
    middle: f64,
    ends: &[f64],
    with_along: bool,
    give: &mut dyn FnMut(f64),
) {
    let at = |[x, z, r]: [f64; 3], here: f64, give: &mut dyn FnMut(f64)| {
        let left = r * r - (here - x) * (here - x);
        if left >= 0.0 {
            give(z + left.sqrt());
            give(z - left.sqrt());
        }
    };
    for (n, &circle) in circles.iter().enumerate() {
        let [x, z, r] = circle;
        at(circle, 0.0, give);
        give(z + r);
        give(z - r);
        if !with_along {
            continue;
        }
        for &end in ends {
            at(circle, end, give);
        }
        let away = x.hypot(middle - z);
        if away > 1e-9 {
            give(z + r * (middle - z) / away);
        }
        for &[x2, z2, r2] in circles.iter().skip(n + 1) {
            let (dx, dz) = (x2 - x, z2 - z);
            let d = dx.hypot(dz);
            if d < 1e-9 || d > r + r2 || d < (r - r2).abs() {
                continue;
            }
            let a = (d * d + r * r - r2 * r2) / (2.0 * d);
            let h = (r * r - a * a).max(0.0).sqrt();
            give(z + a * dz / d + h * dx / d);
            give(z + a * dz / d - h * dx / d);
        }
    }
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

impl<'a> Crossing<'a> {
    fn of(
        shop: &Shop<'a>,
        mover: &Mover,
        ix: MemberIx,
        target: Verdict,
        along: DVec3,
        up: DVec3,
    ) -> Option<Self> {
        let member = shop.scene.members.get(ix.at())?;
        let (_, cuts) = shop.cuts_in(ix);
        let own = |cut: &&Cut| cut.services.iter().any(|s| mover.pieces.contains(s));
        let whole = |cut: &Cut| {
            cut.openings.is_empty() && cut.services.iter().all(|s| mover.pieces.contains(s))
        };
        let neighbours = if cuts.iter().filter(own).all(whole) {
            cuts.iter().filter(|cut| !own(cut)).cloned().collect()
        } else {
            let gone: Vec<Change> = mover.pieces.iter().map(|s| Change::gone(*s)).collect();
            shop.crosser.recut_changed(ix, &gone)
        };
        let direction = member.frame.turn(mover.along);
        let rates = match (
            rate(direction, member.frame.turn(along)),
            rate(direction, member.frame.turn(up)),
        ) {
            (Some(along), Some(up)) => Some([along, up]),
            _ => None,
        };
        let depth = mover
            .pieces
            .iter()
            .filter_map(|s| shop.crosser.extents(ix, *s, shop.body(*s)?))
            .map(|both| both.map(|bounds| (bounds.min.z, bounds.max.z)))
            .reduce(|a, b| [0, 1].map(|n| (a[n].0.min(b[n].0), a[n].1.max(b[n].1))));
        Some(Self { member: ix, rules: shop.rules_of(ix)?, neighbours, target, rates, depth })
    }

    /// Where the middle of a cut of what moves may be, those where it would run into a neighbour
    /// left out, those in an opening that takes it put in.
    fn windows(&self, shop: &Shop<'_>, cut: &Cut) -> Ranges {
        let services = &shop.scene.services;
        let mut places =
            Ranges::of(self.rules.windows(cut, &self.neighbours, services, self.target));
        let half = cut.width_mm() / 2.0;
        for other in self.neighbours.iter().filter(|n| n.kind != CutKind::BetweenWebs) {
            let deep = cut.max_mm.z.min(other.max_mm.z) - cut.min_mm.z.max(other.min_mm.z);
            if deep > OVERLAP_MM {
                let reach = half - OVERLAP_MM;
                places = places.without(other.min_mm.x - reach, other.max_mm.x + reach);
            }
        }
        for hole in self.neighbours.iter().filter(|n| !n.openings.is_empty()) {
            let fits = hole.min_mm.z <= cut.min_mm.z && cut.max_mm.z <= hole.max_mm.z;
            if fits && hole.verdict <= self.target && hole.kind != CutKind::Joinery {
                places = places.or(&Ranges::of([(hole.min_mm.x + half, hole.max_mm.x - half)]));
            }
        }
        places
    }
}

/// How a cut moves along and up for each millimetre that a service with this direction moves that
/// way (both in the member's frame); `None` where it would not stay as it is.
fn rate(direction: DVec3, way: DVec3) -> Option<[f64; 2]> {
    if way.y.abs() < 1e-9 {
        return Some([way.x, way.z]);
    }
    (direction.y.abs() > 0.2).then(|| {
        let back = way.y / direction.y;
        [way.x - back * direction.x, way.z - back * direction.z]
    })
}
