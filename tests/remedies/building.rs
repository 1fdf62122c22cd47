//! A floor as it is crossed and judged, and as a remedy would leave it: by the whole checker, none
//! of the shortcuts that remedies are found with.

use glam::DVec3;
use wimble::Settings;
use wimble_cross::Crosser;
use wimble_dev::floors::{Floor, Style, write};
use wimble_ifc::Model;
use wimble_model::{
    Action, Cut, CutKind, Finding, MemberIx, Remedy, RunPlan, Section, ServiceIx, ServiceShape,
    Verdict,
};
use wimble_recognise::{MemberBody, Part, PartShape, Scene, ServiceBody, Source};
use wimble_remedies::{Proposals, Reserve};
use wimble_rules::{PackSet, RuleSettings, Situation};

/// A building, judged.
pub(crate) struct Building {
    pub(crate) scene: Scene,
    pub(crate) cuts: Vec<Cut>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) packs: PackSet,
    pub(crate) settings: Settings,
    /// Half the clearance of every service, mm: these floors have one for all.
    pub(crate) half_clearance_mm: f64,
}

impl Building {
    /// A random floor's files, read as the command reads them.
    pub(crate) fn of(floor: &Floor) -> Self {
        let text = format!("[cut]\nclearance = \"{} mm\"\n", floor.clearance);
        let settings = Settings::read("wimble.toml", &text, &|_| None).unwrap();
        let packs = settings.packs.clone().choose(&["uk-solid-joist".to_owned()]).unwrap();
        let files = write(floor, &Style::plain());
        let models: Vec<Model<'_>> =
            files.iter().map(|(_, bytes)| Model::open(bytes).unwrap()).collect();
        let sources: Vec<Source<'_, '_>> = models
            .iter()
            .map(|model| Source { input: wimble_recognise::Input::default(), model })
            .collect();
        let scene = wimble_recognise::recognise(&sources, &settings.recognise);
        let half_clearance_mm = floor.clearance / 2.0;
        Self::judged(scene, packs, settings, half_clearance_mm)
    }

    fn judged(scene: Scene, packs: PackSet, settings: Settings, half_clearance_mm: f64) -> Self {
        let mut cuts = wimble_cross::cross(&scene, &settings.cross);
        let situation = Situation {
            members: &scene.members,
            services: &scene.services,
            openings: &scene.openings,
            cuts: &cuts,
        };
        let mut judgement = wimble_rules::check(&situation, &packs, &settings.rules);
        judgement.write_into(&mut cuts);
        let findings = judgement.findings;
        Self { scene, cuts, findings, packs, settings, half_clearance_mm }
    }

    pub(crate) const fn rules(&self) -> &RuleSettings {
        &self.settings.rules
    }

    /// The findings with the remedies that are found for them, and what is said of runs.
    pub(crate) fn with_remedies(&self) -> (Vec<Finding>, Proposals) {
        self.with_remedies_that_keep(&[])
    }

    /// The same where places are kept for a trade.
    pub(crate) fn with_remedies_that_keep(
        &self,
        reserves: &[Reserve],
    ) -> (Vec<Finding>, Proposals) {
        let mut findings = self.findings.clone();
        let Self { scene, packs, cuts, settings, .. } = self;
        let proposals = wimble_remedies::find(
            scene,
            &settings.cross,
            packs,
            self.rules(),
            (cuts, &mut findings),
            reserves,
        );
        (findings, proposals)
    }

    /// The building after a remedy of a cut; `None` for a proposal.
    pub(crate) fn after(&self, member: MemberIx, cut: &Cut, remedy: &Remedy) -> Option<Self> {
        let mut scene = self.scene.clone();
        let frame = scene.members[member.at()].frame;
        let by = match remedy.action {
            Action::MoveAlong { by_mm } | Action::Separate { by_mm } => by_mm / 1000.0 * frame.x,
            Action::MoveDepth { by_mm } => by_mm / 1000.0 * frame.z,
            Action::ShiftRun { vector_m } => DVec3::from_array(vector_m),
            Action::Smaller { to_mm } => {
                for service in &remedy.services {
                    let body = &mut scene.service_bodies[service.at()];
                    let ServiceBody::Round { radius, .. } = body else { panic!("not round") };
                    *radius = to_mm / 2000.0;
                    scene.services[service.at()].shape = ServiceShape::RoundMm(to_mm);
                }
                DVec3::ZERO
            }
            Action::DeeperMember { to_mm } => {
                deepen(&mut scene, member, cut, to_mm);
                DVec3::ZERO
            }
            Action::Turn | Action::TrimOut | Action::Refer => return None,
        };
        for service in &remedy.services {
            shift(&mut scene.service_bodies[service.at()], by);
        }
        let (packs, settings) = (self.packs.clone(), self.settings.clone());
        Some(Self::judged(scene, packs, settings, self.half_clearance_mm))
    }

    /// Cuts of a member in which one of these services has a part.
    pub(crate) fn with(&self, member: MemberIx, services: &[ServiceIx]) -> Vec<&Cut> {
        let has =
            |cut: &&Cut| cut.member == member && cut.services.iter().any(|s| services.contains(s));
        self.cuts.iter().filter(has).collect()
    }

    /// Cuts that are worse than what they were, or were part of, in `before`.
    pub(crate) fn worse_than<'a>(&'a self, before: &'a Self) -> impl Iterator<Item = &'a Cut> {
        self.cuts.iter().filter(|cut| {
            cut.verdict > before.worst_of(cut.member, &cut.services) && cut.kind != CutKind::Joinery
        })
    }

    /// The worst verdict of a member's cuts that these services have a part in.
    pub(crate) fn worst_of(&self, member: MemberIx, services: &[ServiceIx]) -> Verdict {
        self.with(member, services).iter().map(|cut| cut.verdict).max().unwrap_or_default()
    }

    /// Whether moved services keep their clearance to all others, or are no nearer than before; what
    /// then lies in one hole or notch may be by a millimetre nearer, so that it is one.
    pub(crate) fn keeps_clear(&self, before: &Self, moved: &[ServiceIx]) -> bool {
        let gap = |of: &Self, a: ServiceIx, b: ServiceIx| {
            gap_mm(&of.scene.service_bodies[a.at()], &of.scene.service_bodies[b.at()])
        };
        let in_one = |a, b| {
            self.cuts.iter().any(|cut| cut.services.contains(&a) && cut.services.contains(&b))
        };
        let services = || (0..self.scene.services.len()).map(ServiceIx::from);
        let clear = |a: ServiceIx, b: ServiceIx| match (gap(self, a, b), gap(before, a, b)) {
            (Some(now), Some(was)) => {
                let least = 2.0 * self.half_clearance_mm - if in_one(a, b) { 1.05 } else { 0.0 };
                now >= least - 1e-5 || now >= was - 1e-5
            }
            _ => true,
        };
        moved.iter().all(|&a| services().filter(|b| !moved.contains(b)).all(|b| clear(a, b)))
    }

    /// Which way a service runs.
    pub(crate) fn direction(&self, service: ServiceIx) -> DVec3 {
        let axis = match &self.scene.service_bodies[service.at()] {
            ServiceBody::Round { from, to, .. } => *to - *from,
            ServiceBody::Rectangular { frame, .. } => frame.matrix3.z_axis,
            ServiceBody::Mesh(_) | ServiceBody::Line { .. } => DVec3::ZERO,
        };
        axis.normalize_or_zero()
    }

    /// The building after a plan's moves.
    pub(crate) fn after_plan(&self, plan: &RunPlan) -> Self {
        let mut scene = self.scene.clone();
        for moved in &plan.moves {
            for service in &moved.services {
                let by = DVec3::from_array(moved.vector_m);
                shift(&mut scene.service_bodies[service.at()], by);
            }
        }
        let (packs, settings) = (self.packs.clone(), self.settings.clone());
        Self::judged(scene, packs, settings, self.half_clearance_mm)
    }

    /// Whether a plan's moves make every cut of its run pass.
    pub(crate) fn run_passes_after(&self, plan: &RunPlan) -> bool {
        let after = self.after_plan(plan);
        let own = |cut: &&Cut| cut.services.iter().any(|s| plan.services.contains(s));
        after.cuts.iter().filter(own).all(|cut| cut.verdict == Verdict::Pass)
    }

    pub(crate) fn crosser(&self) -> Crosser<'_> {
        Crosser::new(&self.scene, &self.settings.cross)
    }
}

/// A deeper member on the same supports: a hole stays as far from mid-depth as it is, a notch as
/// deep.
fn deepen(scene: &mut Scene, member: MemberIx, cut: &Cut, to_mm: f64) {
    let body: &mut MemberBody = &mut scene.member_bodies[member.at()];
    let member = &mut scene.members[member.at()];
    let Section::Rectangle { depth_mm, .. } = &mut member.section else { panic!("no rectangle") };
    let more = to_mm - *depth_mm;
    *depth_mm = to_mm;
    let lower = match cut.kind {
        CutKind::TopNotch => more / 2.0,
        CutKind::BottomNotch => -more / 2.0,
        _ => 0.0,
    };
    member.frame.origin_m -= lower / 1000.0 * member.frame.z;
    let [Part { shape: PartShape::Box { bounds, .. }, .. }] = body.parts.as_mut_slice() else {
        panic!("no box")
    };
    (bounds.min.z, bounds.max.z) = (-to_mm / 2.0, to_mm / 2.0);
}

pub(crate) fn shift(body: &mut ServiceBody, by: DVec3) {
    match body {
        ServiceBody::Round { from, to, .. } => {
            *from += by;
            *to += by;
        }
        ServiceBody::Rectangular { frame, .. } => frame.translation += by,
        ServiceBody::Mesh(mesh) => mesh.points.iter_mut().for_each(|p| *p += by),
        ServiceBody::Line { points } => points.iter_mut().for_each(|p| *p += by),
    }
}

/// How far two round bars are apart, mm, by projecting points of one on the other; `None` where
/// one is not round.
pub(crate) fn gap_mm(a: &ServiceBody, b: &ServiceBody) -> Option<f64> {
    let ServiceBody::Round { from: a0, to: a1, radius: ra } = *a else { return None };
    let ServiceBody::Round { from: b0, to: b1, radius: rb } = *b else { return None };
    let away = |t: f64| {
        let p = a0.lerp(a1, t);
        let s = ((p - b0).dot(b1 - b0) / (b1 - b0).length_squared()).clamp(0.0, 1.0);
        p.distance(b0.lerp(b1, s))
    };
    // The distance to a piece of line from a point that runs along another is convex.
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..100 {
        let (p, q) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if away(p) < away(q) { high = q } else { low = p }
    }
    let least = [0.0, 1.0, low].into_iter().map(away).fold(f64::INFINITY, f64::min);
    Some(1000.0 * (least - ra - rb))
}
