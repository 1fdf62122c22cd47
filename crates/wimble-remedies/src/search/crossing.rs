//! One member that is passed: where along it the cut may be at a level.

use super::PAST_MM;
use crate::ranges::Ranges;
use crate::shop::{Mover, Shop};
use glam::DVec3;
use wimble_cross::Change;
use wimble_model::{Cut, CutKind, MemberIx, ServiceIx, Verdict};
use wimble_rules::MemberRules;

/// Envelopes that share more than this in x and in z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;

/// One member that is passed.
#[derive(Debug)]
pub(super) struct Crossing<'a> {
    pub(super) member: MemberIx,
    pub(super) rules: MemberRules<'a>,
    /// The member's cuts without what moves.
    pub(super) neighbours: Vec<Cut>,
    /// What its cuts have to come to.
    pub(super) target: Verdict,
    /// Services whose cuts have to come to it besides.
    pub(super) also: &'a [ServiceIx],
    /// One of those would not even without what moves.
    pub(super) hopeless: bool,
    /// How a shift shifts the cut: along and up for each millimetre of the first and the second
    /// direction; `None` where that is not so simple.
    pub(super) rates: Option<[[f64; 2]; 2]>,
    /// Extents in depth of the whole service there (bare, and as it is cut), if it passes.
    pub(super) depth: Option<[(f64, f64); 2]>,
}

impl<'a> Crossing<'a> {
    pub(super) fn of(
        shop: &Shop<'a>,
        mover: &Mover,
        ix: MemberIx,
        (target, also): (Verdict, &'a [ServiceIx]),
        (along, up): (DVec3, DVec3),
        base: &[Change],
    ) -> Option<Self> {
        let member = shop.scene.members.get(ix.at())?;
        let (_, cuts) = shop.cuts_in(ix);
        let own = |cut: &&Cut| cut.services.iter().any(|s| mover.pieces.contains(s));
        let whole = |cut: &Cut| {
            cut.openings.is_empty() && cut.services.iter().all(|s| mover.pieces.contains(s))
        };
        let neighbours = if base.is_empty() && cuts.iter().filter(own).all(whole) {
            cuts.iter().filter(|cut| !own(cut)).cloned().collect()
        } else {
            let gone = mover.pieces.iter().map(|s| Change::gone(*s));
            let changes: Vec<Change> = base.iter().cloned().chain(gone).collect();
            shop.crosser.recut_changed(ix, &changes)
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
        let rules = shop.rules_of(ix)?;
        let others = also.iter().filter(|s| !mover.pieces.contains(s));
        let hopeless = others.count() > 0 && {
            let verdicts = rules.verdicts(&neighbours, &shop.scene.services);
            neighbours.iter().zip(verdicts).any(|(cut, verdict)| {
                verdict > target && cut.services.iter().any(|s| also.contains(s))
            })
        };
        Some(Self { member: ix, rules, neighbours, target, also, hopeless, rates, depth })
    }

    /// Where the middle of a cut of what moves may be; with those places where it would run into a
    /// neighbour and be one cut with it, which only the checker can tell, and those in an opening
    /// that takes it.
    pub(super) fn windows(&self, shop: &Shop<'_>, cut: &Cut) -> Ranges {
        let services = &shop.scene.services;
        let mut places =
            Ranges::of(self.rules.windows(cut, &self.neighbours, services, self.target));
        let half = cut.width_mm() / 2.0;
        for other in self.neighbours.iter().filter(|n| n.kind != CutKind::BetweenWebs) {
            let deep = cut.max_mm.z.min(other.max_mm.z) - cut.min_mm.z.max(other.min_mm.z);
            if deep <= OVERLAP_MM {
                continue;
            }
            let reach = half + PAST_MM;
            let (from, to) = (other.min_mm.x - reach, other.max_mm.x + reach);
            places = places.without(from, to);
            if self.may_share(shop, cut, other, &places) {
                places = places.or(&Ranges::of([(from, to)]));
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

impl Crossing<'_> {
    /// Whether a cut and a neighbour may be one cut that serves: both of a kind that is shared,
    /// and this one alone would have a place, at mid-depth for a hole (shared, its level is that
    /// of the circle round both).
    fn may_share(&self, shop: &Shop<'_>, cut: &Cut, other: &Cut, places: &Ranges) -> bool {
        use CutKind::{BottomNotch, Hole, TopNotch, WebHole};
        let shared = |c: &Cut| matches!(c.kind, Hole | WebHole | TopNotch | BottomNotch);
        if !shared(cut) || !shared(other) {
            return false;
        }
        if !places.is_empty() {
            return true;
        }
        if !matches!(cut.kind, Hole | WebHole) {
            return false;
        }
        let mut middle = cut.clone();
        let by = cut.offset_mm();
        (middle.min_mm.z, middle.max_mm.z) = (cut.min_mm.z - by, cut.max_mm.z - by);
        !self.rules.windows(&middle, &[], &shop.scene.services, self.target).is_empty()
    }
}

/// How a cut moves along and up for each millimetre that a service with this direction moves that
/// way (both in the member's frame); `None` where it would not stay as it is.
pub(super) fn rate(direction: DVec3, way: DVec3) -> Option<[f64; 2]> {
    if way.y.abs() < 1e-9 {
        return Some([way.x, way.z]);
    }
    (direction.y.abs() > 0.2).then(|| {
        let back = way.y / direction.y;
        [way.x - back * direction.x, way.z - back * direction.z]
    })
}
