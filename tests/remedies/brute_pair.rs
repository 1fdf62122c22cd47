//! What a search on a grid finds for two runs: every pair of shifts along in whole millimetres is
//! asked of the checker.

use crate::building::{Building, gap_mm, shift};
use wimble_cross::{Change, Crosser};
use wimble_model::{CutKind, Frame, MemberIx, ServiceIx, Verdict};
use wimble_recognise::ServiceBody;
use wimble_rules::MemberRules;

/// Around two shifts that count the checker has to say the same this far off.
const STEADY_MM: f64 = 0.1;

/// A search for shifts of two services along one direction.
pub(crate) struct BrutePair<'b> {
    building: &'b Building,
    crosser: Crosser<'b>,
    rules: Vec<MemberRules<'b>>,
    frame: Frame,
    services: [ServiceIx; 2],
}

impl<'b> BrutePair<'b> {
    pub(crate) fn new(building: &'b Building, services: [ServiceIx; 2]) -> Self {
        let rules = building
            .scene
            .members
            .iter()
            .map(|member| MemberRules::of(member, &building.packs, building.rules()));
        let frame = building.scene.members[0].frame;
        let crosser = building.crosser();
        Self { building, crosser, rules: rules.collect(), frame, services }
    }

    /// The least sum of two shifts, below `limit`.
    pub(crate) fn least(&self, limit: f64) -> Option<(f64, [f64; 2])> {
        let sums = (1..).take_while(|sum| f64::from(*sum) < limit);
        sums.flat_map(|sum: i32| {
            (-sum..=sum).flat_map(move |own| {
                let rest = sum - own.abs();
                [[own, rest], [own, -rest]].map(|two| two.map(f64::from))
            })
        })
        .find(|two| self.serves(*two))
        .map(|two| (two[0].abs() + two[1].abs(), two))
    }

    fn serves(&self, [a, b]: [f64; 2]) -> bool {
        let s = STEADY_MM;
        [(0.0, 0.0), (s, 0.0), (-s, 0.0), (0.0, s), (0.0, -s)]
            .iter()
            .all(|(x, y)| self.serves_exactly([a + x, b + y]))
    }

    fn serves_exactly(&self, along_mm: [f64; 2]) -> bool {
        let before = &self.building.scene.service_bodies;
        let mut bodies = before.clone();
        for (service, by) in self.services.iter().zip(along_mm) {
            shift(&mut bodies[service.at()], by / 1000.0 * self.frame.x);
        }
        let change = |s: &ServiceIx| Change::moved(*s, bodies[s.at()].clone());
        let changes: Vec<Change> = self.services.iter().map(change).collect();
        self.keep_clear(&bodies)
            && (0..self.rules.len()).all(|n| self.member_serves(MemberIx::from(n), &changes))
    }

    fn keep_clear(&self, bodies: &[ServiceBody]) -> bool {
        let before = &self.building.scene.service_bodies;
        let gap = |of: &[ServiceBody], a: usize, b: usize| gap_mm(&of[a], &of[b]).expect("round");
        self.services.iter().all(|own| {
            (0..bodies.len()).filter(|n| *n != own.at()).all(|n| {
                let now = gap(bodies, own.at(), n);
                now >= 2.0 * self.building.half_clearance_mm || now >= gap(before, own.at(), n)
            })
        })
    }

    fn member_serves(&self, member: MemberIx, changes: &[Change]) -> bool {
        let before = &self.building;
        let after = self.crosser.recut_changed(member, changes);
        let verdicts = self.rules[member.at()].verdicts(&after, &before.scene.services);
        let kept = self.services.iter().all(|own| {
            before.with(member, &[*own]).is_empty()
                || after.iter().any(|cut| cut.services.contains(own))
        });
        kept && after.iter().zip(verdicts).all(|(cut, verdict)| {
            let most = if cut.services.iter().any(|s| self.services.contains(s)) {
                Verdict::Pass
            } else {
                before.worst_of(member, &cut.services)
            };
            verdict <= most || cut.kind == CutKind::Joinery
        })
    }
}
