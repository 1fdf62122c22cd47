//! What a search on a grid finds: every shift in whole millimetres is asked of the checker.

use crate::building::{Building, gap_mm, shift};
use glam::DVec3;
use wimble_cross::{Change, Crosser};
use wimble_model::{Cut, CutKind, Frame, MemberIx, ServiceIx, Verdict};
use wimble_rules::MemberRules;

/// Around a place that counts the checker has to say the same this far off: one that only the
/// 0.05 mm in favour of a cut let pass is no place to be found.
const STEADY_MM: f64 = 0.1;

/// A search for shifts of one service.
pub(crate) struct Brute<'b> {
    building: &'b Building,
    crosser: Crosser<'b>,
    rules: Vec<MemberRules<'b>>,
    frame: Frame,
    service: ServiceIx,
    /// What is wanted: in this member every cut of these services passes.
    own: Option<(MemberIx, Vec<ServiceIx>)>,
    /// Members that the service may come to, the one in question first.
    members: Vec<MemberIx>,
}

impl<'b> Brute<'b> {
    /// For one cut, or (`cut` of a whole run) for all cuts of the service.
    pub(crate) fn new(building: &'b Building, cut: &Cut, service: ServiceIx, run: bool) -> Self {
        let scene = &building.scene;
        let rules = scene
            .members
            .iter()
            .map(|member| MemberRules::of(member, &building.packs, building.rules()));
        let mut members: Vec<MemberIx> = (0..scene.members.len()).map(MemberIx::from).collect();
        members.sort_by_key(|member| *member != cut.member);
        Self {
            building,
            crosser: building.crosser(),
            rules: rules.collect(),
            frame: scene.members[cut.member.at()].frame,
            service,
            own: (!run).then(|| (cut.member, cut.services.to_vec())),
            members,
        }
    }

    /// Whether this shift serves, a little to every side too.
    pub(crate) fn serves(&self, along_mm: f64, up_mm: f64) -> bool {
        let s = STEADY_MM;
        [(0.0, 0.0), (s, 0.0), (-s, 0.0), (0.0, s), (0.0, -s)]
            .iter()
            .all(|(x, z)| self.serves_exactly(along_mm + x, up_mm + z))
    }

    fn serves_exactly(&self, along_mm: f64, up_mm: f64) -> bool {
        let by: DVec3 = (along_mm * self.frame.x + up_mm * self.frame.z) / 1000.0;
        let scene = &self.building.scene;
        let before = &scene.service_bodies[self.service.at()];
        let mut body = before.clone();
        shift(&mut body, by);
        let near = |other: usize| {
            let beside = &scene.service_bodies[other];
            let gap = gap_mm(&body, beside).expect("only round ones are searched");
            let was = gap_mm(before, beside).expect("only round ones are searched");
            gap < 2.0 * self.building.half_clearance_mm && gap < was
        };
        let changes = [Change::moved(self.service, body.clone())];
        self.members.iter().all(|member| self.member_serves(*member, &changes))
            && !(0..scene.services.len()).any(|n| n != self.service.at() && near(n))
    }

    fn member_serves(&self, member: MemberIx, changes: &[Change]) -> bool {
        let before = &self.building;
        let after = self.crosser.recut_changed(member, changes);
        let services = &before.scene.services;
        let verdicts = self.rules[member.at()].verdicts(&after, services);
        // A run keeps in the depth of the members that it passes.
        let passed = !before.with(member, &[self.service]).is_empty();
        let passes = after.iter().any(|cut| cut.services.contains(&self.service));
        if passed && !passes && self.own.as_ref().is_none_or(|(own, _)| *own == member) {
            return false;
        }
        after.iter().zip(verdicts).all(|(cut, verdict)| {
            let most = match &self.own {
                Some((own, services)) if *own == member => {
                    if cut.services.iter().any(|s| services.contains(s)) {
                        Verdict::Pass
                    } else {
                        before.worst_of(member, &cut.services)
                    }
                }
                None if cut.services.contains(&self.service) => Verdict::Pass,
                _ => before.worst_of(member, &cut.services),
            };
            verdict <= most || cut.kind == CutKind::Joinery
        })
    }

    /// The least shift along, below `limit`.
    pub(crate) fn least_along(&self, limit: f64) -> Option<f64> {
        self.first((1..).map(f64::from).take_while(|d| *d < limit), |d| [(d, 0.0), (-d, 0.0)])
    }

    /// The least shift up or down, below `limit`.
    pub(crate) fn least_up(&self, limit: f64) -> Option<f64> {
        self.first((1..).map(f64::from).take_while(|d| *d < limit), |d| [(0.0, d), (0.0, -d)])
    }

    fn first(
        &self,
        mut steps: impl Iterator<Item = f64>,
        both: impl Fn(f64) -> [(f64, f64); 2],
    ) -> Option<f64> {
        steps.find(|d| both(*d).into_iter().any(|(along, up)| self.serves(along, up)))
    }

    /// The least shift both ways, shorter than `limit`.
    pub(crate) fn least_of_both(&self, limit: f64) -> Option<(f64, f64)> {
        let most = limit.ceil() as i32;
        let mut grid: Vec<(i32, i32)> = (-most..=most)
            .flat_map(|along| (-most..=most).map(move |up| (along, up)))
            .filter(|(along, up)| f64::from(*along).hypot(f64::from(*up)) < limit)
            .filter(|step| *step != (0, 0))
            .collect();
        grid.sort_by_key(|(along, up)| along * along + up * up);
        let found = grid.into_iter().find(|(a, u)| self.serves(f64::from(*a), f64::from(*u)));
        found.map(|(along, up)| (f64::from(along), f64::from(up)))
    }
}
