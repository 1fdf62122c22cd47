//! A checked building, kept ready to be asked what a change would do to it.

use crate::body::{axis, gap_mm};
use crate::reserve::{Reserve, left};
use glam::DVec3;
use rustc_hash::FxHashMap;
use wimble_cross::{Change, CrossSettings, Crosser};
use wimble_model::{Cut, CutIx, CutKind, MemberIx, ServiceIx, ServiceShape, Verdict};
use wimble_recognise::{Scene, ServiceBody};
use wimble_rules::{MemberRules, PackSet, RuleSettings, RulesByMember};

/// Axes of one straight run lie within this of each other, metres.
const IN_LINE: f64 = 1e-3;
/// How much a clearance may be missed, mm.
const HAIR_MM: f64 = 1e-6;

/// A building with its cuts as they are judged.
#[derive(Debug)]
pub(crate) struct Shop<'a> {
    pub(crate) scene: &'a Scene,
    pub(crate) cuts: &'a [Cut],
    pub(crate) crosser: Crosser<'a>,
    pub(crate) packs: &'a PackSet,
    pub(crate) rules: &'a RuleSettings,
    /// The rules of each member, chosen once for those that are alike.
    rules_by_member: RulesByMember<'a>,
    pub(crate) reserves: &'a [Reserve],
    /// Where each member's cuts begin in `cuts`, and one more.
    starts: Vec<usize>,
    /// Services of each run.
    runs: FxHashMap<u32, Vec<ServiceIx>>,
    /// Cuts that each service makes.
    cuts_of: FxHashMap<ServiceIx, Vec<CutIx>>,
}

/// What moves as one: the pieces of a straight run, with what lies inside them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mover {
    /// Sorted.
    pub(crate) pieces: Vec<ServiceIx>,
    /// Unit vector along it; of several side by side that of the first.
    pub(crate) along: DVec3,
}

/// What a change has to bring a member's cuts to.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Aim<'g> {
    /// Those of what is changed; without one they pass.
    pub(crate) verdict: Option<Verdict>,
    /// Services whose cuts have to come to it as well, changed or not.
    pub(crate) also: &'g [ServiceIx],
}

impl Aim<'_> {
    /// The cuts of what is changed.
    pub(crate) const fn of(verdict: Option<Verdict>) -> Self {
        Self { verdict, also: &[] }
    }
}

/// Why a change will not do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    /// A cut of this member would not come to what is wanted.
    Member(MemberIx),
    /// It would come too near to this service.
    Near(ServiceIx),
}

impl<'a> Shop<'a> {
    /// `cuts` by member, as they are crossed and judged.
    pub(crate) fn new(
        scene: &'a Scene,
        cuts: &'a [Cut],
        cross: &CrossSettings,
        packs: &'a PackSet,
        rules: &'a RuleSettings,
        reserves: &'a [Reserve],
    ) -> Self {
        let mut starts = Vec::with_capacity(scene.members.len() + 1);
        let mut at = 0;
        for member in 0..=scene.members.len() {
            while cuts.get(at).is_some_and(|cut| cut.member.at() < member) {
                at += 1;
            }
            starts.push(at);
        }
        let mut runs: FxHashMap<u32, Vec<ServiceIx>> = FxHashMap::default();
        for (n, service) in scene.services.iter().enumerate() {
            runs.entry(service.run).or_default().push(ServiceIx::from(n));
        }
        let mut cuts_of: FxHashMap<ServiceIx, Vec<CutIx>> = FxHashMap::default();
        for (n, cut) in cuts.iter().enumerate() {
            for service in &cut.services {
                cuts_of.entry(*service).or_default().push(CutIx::from(n));
            }
        }
        let crosser = Crosser::new(scene, cross);
        let rules_by_member = RulesByMember::new(packs, rules);
        Self {
            scene,
            cuts,
            crosser,
            packs,
            rules,
            rules_by_member,
            reserves,
            starts,
            runs,
            cuts_of,
        }
    }

    /// The cuts of a member, with the index of the first.
    pub(crate) fn cuts_in(&self, member: MemberIx) -> (usize, &'a [Cut]) {
        let (from, to) = match self.starts.get(member.at()..member.at() + 2) {
            Some(&[from, to]) => (from, to),
            _ => (0, 0),
        };
        (from, self.cuts.get(from..to).unwrap_or_default())
    }

    /// The cuts in which one of some services has a part, sorted.
    pub(crate) fn cuts_of(&self, services: &[ServiceIx]) -> Vec<CutIx> {
        let found = services.iter().filter_map(|s| self.cuts_of.get(s)).flatten();
        let mut found: Vec<CutIx> = found.copied().collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    pub(crate) fn cut(&self, ix: CutIx) -> Option<&'a Cut> {
        self.cuts.get(ix.at())
    }

    pub(crate) fn body(&self, service: ServiceIx) -> Option<&'a ServiceBody> {
        self.scene.service_bodies.get(service.at())
    }

    pub(crate) fn rules_of(&self, member: MemberIx) -> Option<MemberRules<'a>> {
        let member = self.scene.members.get(member.at())?;
        Some(self.rules_by_member.of(member))
    }

    /// Services of the same run, sorted.
    pub(crate) fn run_of(&self, service: ServiceIx) -> &[ServiceIx] {
        let run = self.scene.services.get(service.at()).map(|s| s.run);
        run.and_then(|run| self.runs.get(&run)).map_or(&[], Vec::as_slice)
    }

    /// The straight run that a service is a piece of; `None` for a bend or a shape that is not
    /// straight, and for a service without a size.
    pub(crate) fn mover(&self, service: ServiceIx) -> Option<Mover> {
        let (from, to) = axis(self.body(service)?)?;
        let along = (to - from).try_normalize()?;
        let in_line = |point: DVec3| {
            let arm = point - from;
            (arm - arm.dot(along) * along).length() <= IN_LINE
        };
        let mut pieces: Vec<ServiceIx> = self
            .run_of(service)
            .iter()
            .copied()
            .filter(|piece| {
                let axis = self.body(*piece).and_then(axis);
                axis.is_some_and(|(a, b)| in_line(a) && in_line(b))
            })
            .collect();
        // What lies inside goes with it.
        let inside = self.cuts_of(&pieces);
        let inside =
            inside.iter().filter_map(|cut| self.cut(*cut)).flat_map(|cut| &cut.besides.inside);
        pieces.extend(inside.copied());
        pieces.sort_unstable();
        pieces.dedup();
        Some(Mover { pieces, along })
    }

    /// Movers of a cut's services, who moves first in front; `None` if one of them is not
    /// straight or they are not side by side.
    pub(crate) fn movers(&self, cut: &Cut) -> Option<Vec<Mover>> {
        let mut movers: Vec<Mover> = Vec::new();
        for service in cut.services.iter().filter(|s| !cut.besides.inside.contains(s)) {
            if movers.iter().any(|mover| mover.pieces.contains(service)) {
                continue;
            }
            movers.push(self.mover(*service)?);
        }
        movers.sort_by_key(|mover| std::cmp::Reverse(self.rank(mover)));
        (!movers.is_empty()).then_some(movers)
    }

    /// All of them as one, if they are parallel.
    pub(crate) fn together(&self, movers: &[Mover]) -> Option<Mover> {
        let first = movers.first()?;
        let parallel = movers.iter().all(|m| m.along.cross(first.along).length() < 1e-6);
        let mut pieces: Vec<ServiceIx> =
            movers.iter().flat_map(|m| m.pieces.iter().copied()).collect();
        pieces.sort_unstable();
        pieces.dedup();
        parallel.then_some(Mover { pieces, along: first.along })
    }

    /// Who moves: the greater moves first. By trade (`docs/practice.md`, remedies), then the
    /// smaller, then the later of two.
    pub(crate) fn rank(&self, mover: &Mover) -> (u8, std::cmp::Reverse<u32>, ServiceIx) {
        let first = mover.pieces.first().copied().unwrap_or(ServiceIx(0));
        let services = mover.pieces.iter().filter_map(|s| self.scene.services.get(s.at()));
        let trade = services.clone().map(|s| s.trade as u8).min().unwrap_or(0);
        let size = services
            .map(|s| match s.shape {
                ServiceShape::RoundMm(d) => tenths(d),
                ServiceShape::RectangleMm([a, _]) => tenths(a),
                ServiceShape::Mesh | ServiceShape::Unknown => 0,
            })
            .max()
            .unwrap_or(0);
        (trade, std::cmp::Reverse(size), first)
    }

    /// The worst verdict of what a mover cuts in a member; `None` if it does not cut it.
    pub(crate) fn now(&self, member: MemberIx, mover: &Mover) -> Option<Verdict> {
        let (_, cuts) = self.cuts_in(member);
        let own = |cut: &&Cut| cut.services.iter().any(|s| mover.pieces.contains(s));
        cuts.iter().filter(own).map(|cut| cut.verdict).max()
    }

    /// Applies changes: the cuts of every member that is touched come to what is wanted (those of
    /// a changed service to `aim`, no other worse than it is; `None`: it has been asked already),
    /// and nothing comes too near to another service.
    pub(crate) fn prove(
        &self,
        changes: &[Change],
        aim: &dyn Fn(MemberIx) -> Option<Aim<'a>>,
    ) -> Result<(), Fault> {
        if let Some(service) = self.too_near(changes) {
            return Err(Fault::Near(service));
        }
        for member in self.touched(changes) {
            if aim(member).is_some_and(|aim| !self.serves(member, changes, aim)) {
                return Err(Fault::Member(member));
            }
        }
        Ok(())
    }

    /// Members that changes may have to do with, sorted.
    pub(crate) fn touched(&self, changes: &[Change]) -> Vec<MemberIx> {
        let mut members: Vec<MemberIx> = Vec::new();
        for change in changes {
            let cuts = self.cuts_of.get(&change.service).into_iter().flatten();
            members.extend(cuts.filter_map(|c| self.cut(*c)).map(|c| c.member));
            if let Some(body) = &change.body {
                members.extend(self.crosser.members_near(body));
            }
        }
        members.sort_unstable();
        members.dedup();
        members
    }

    /// Whether all cuts of a member in which one of a cut's services has a part pass after
    /// changes: a shared cut may come apart.
    pub(crate) fn all_pass(&self, cut: &Cut, changes: &[Change]) -> bool {
        self.serves(cut.member, changes, Aim { verdict: Some(Verdict::Pass), also: &cut.services })
    }

    /// Whether one member comes to what is wanted.
    pub(crate) fn serves(&self, member: MemberIx, changes: &[Change], aim: Aim<'_>) -> bool {
        let after = self.crosser.recut_changed(member, changes);
        let Some(rules) = self.rules_of(member) else { return false };
        let verdicts = rules.verdicts(&after, &self.scene.services);
        self.no_worse(member, changes, aim, &after, &verdicts)
            && (self.reserves.is_empty() || left(self, member, changes, &after))
    }

    /// Whether cuts with their verdicts are no worse than those that the member has.
    pub(crate) fn no_worse(
        &self,
        member: MemberIx,
        changes: &[Change],
        aim: Aim<'_>,
        after: &[Cut],
        verdicts: &[Verdict],
    ) -> bool {
        let (_, before) = self.cuts_in(member);
        after.iter().zip(verdicts).all(|(cut, verdict)| {
            let changed = changes.iter().any(|c| cut.services.contains(&c.service));
            let most = if changed || cut.services.iter().any(|s| aim.also.contains(s)) {
                aim.verdict.unwrap_or_default()
            } else {
                // The same cut, or what it was a part of.
                let part = |old: &&Cut| {
                    old.services.iter().any(|s| cut.services.contains(s))
                        || old.openings.iter().any(|o| cut.openings.contains(o))
                };
                before.iter().filter(part).map(|old| old.verdict).max().unwrap_or_default()
            };
            *verdict <= most || cut.kind == CutKind::Joinery
        })
    }

    /// A service that something changed comes too near to: nearer than both keep their clearance,
    /// and nearer than it is.
    fn too_near(&self, changes: &[Change]) -> Option<ServiceIx> {
        self.too_near_but(changes, &[], 0.0)
    }

    /// The same, but by so much nearer to some.
    pub(crate) fn too_near_but(
        &self,
        changes: &[Change],
        some: &[ServiceIx],
        by_mm: f64,
    ) -> Option<ServiceIx> {
        if let Some(service) = self.too_near_together(changes) {
            return Some(service);
        }
        let changed = |s: ServiceIx| changes.iter().any(|c| c.service == s);
        for change in changes {
            let Some(body) = &change.body else { continue };
            let own = self.crosser.reach_mm(change.service);
            for other in self.crosser.services_near(body, own) {
                if changed(other) || self.of_one_run(other, change.service) {
                    continue;
                }
                let by_mm = if some.contains(&other) { by_mm } else { 0.0 };
                if self.nearer_by(by_mm, change.service, body, other) {
                    return Some(other);
                }
            }
        }
        None
    }

    /// Of services that are changed together one that comes too near to another of them.
    fn too_near_together(&self, changes: &[Change]) -> Option<ServiceIx> {
        let mut rest = changes;
        while let [change, others @ ..] = rest {
            rest = others;
            if let Some(other) = others.iter().find(|o| self.too_near_each_other(change, o)) {
                return Some(other.service);
            }
        }
        None
    }

    /// Whether two services that are both changed come too near to each other.
    pub(crate) fn too_near_each_other(&self, a: &Change, b: &Change) -> bool {
        let (Some(body), Some(beside)) = (&a.body, &b.body) else { return false };
        let (Some(before), Some(was)) = (self.body(a.service), self.body(b.service)) else {
            return false;
        };
        if self.of_one_run(a.service, b.service) {
            return false;
        }
        let needs = self.crosser.reach_mm(a.service) + self.crosser.reach_mm(b.service);
        let gap = gap_mm(body, beside);
        gap < needs - HAIR_MM && gap < gap_mm(before, was) - HAIR_MM
    }

    /// Whether a body of a service comes too near to another service.
    pub(crate) fn nearer_than_allowed(
        &self,
        service: ServiceIx,
        body: &ServiceBody,
        other: ServiceIx,
    ) -> bool {
        self.nearer_by(0.0, service, body, other)
    }

    /// Whether it misses its clearance by more than this.
    fn nearer_by(
        &self,
        by_mm: f64,
        service: ServiceIx,
        body: &ServiceBody,
        other: ServiceIx,
    ) -> bool {
        let (Some(beside), Some(before)) = (self.body(other), self.body(service)) else {
            return false;
        };
        let needs = self.crosser.reach_mm(service) + self.crosser.reach_mm(other);
        let gap = gap_mm(body, beside);
        gap < needs - by_mm - HAIR_MM && gap < gap_mm(before, beside) - HAIR_MM
    }

    pub(crate) fn of_one_run(&self, a: ServiceIx, b: ServiceIx) -> bool {
        let run = |s: ServiceIx| self.scene.services.get(s.at()).map(|s| s.run);
        run(a) == run(b)
    }
}

/// Tenths of a millimetre, to compare sizes by.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
fn tenths(mm: f64) -> u32 {
    (mm * 10.0).round() as u32
}
