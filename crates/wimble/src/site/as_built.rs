//! What was really cut, against what was planned.
//!
//! In a member that was measured, the verdicts are those of the cuts that are there. Each is set
//! beside the nearest planned one; what nobody planned is for the designer to see, what is planned
//! and not there is listed.

use super::Given;
use crate::{CheckError, Input};
use std::sync::Arc;
use wimble_cross::{CrossSettings, Crosser};
use wimble_model::{
    Cut, CutIx, Finding, Level, MemberIx, Note, Opening, OpeningIx, Service, ServiceIx, Survey,
    Verdict,
};
use wimble_recognise::Scene;
use wimble_report::Report;
use wimble_sheet::MeasuredOn;

/// A measured cut further than this from every planned one is not it (our own figure), mm.
const SAME_MM: f64 = 250.0;

/// What was measured, laid over the model.
pub(crate) struct AsBuilt {
    measured: MeasuredOn,
    pub(crate) survey: Option<Survey>,
    /// Index of the first measured opening among the scene's.
    first: usize,
    /// Services that only the sheet knows, with the opening they pass.
    services: Vec<(usize, Service)>,
    differences: Vec<Difference>,
}

/// Something to say of a member that was measured.
struct Difference {
    rule: &'static str,
    member: MemberIx,
    /// The measured cut, by its opening.
    opening: Option<OpeningIx>,
    services: Vec<ServiceIx>,
    verdict: Verdict,
    message: String,
}

impl AsBuilt {
    /// Reads a sheet and lays it over a scene, as a further input of it.
    pub(crate) fn read(input: &Input<'_>, scene: &mut Scene) -> Result<Self, CheckError> {
        let given = Given::read(input)?;
        let at = u32::try_from(scene.inputs.len()).unwrap_or(u32::MAX);
        let measured = given.sheet.measured_on(scene, at).map_err(|error| given.trouble(error))?;
        scene.inputs.push(wimble_recognise::Input {
            path: input.path.clone(),
            blake3: blake3::hash(&input.bytes).to_hex().to_string(),
            schema: "site sheet".to_owned(),
            length_unit: "mm".to_owned(),
            instances: given.sheet.members.iter().map(|m| 1 + m.cuts.len() as u64).sum(),
            partial: false,
        });
        scene.assumptions.extend(given.sheet.assumptions.iter().cloned());
        Ok(Self {
            measured,
            survey: given.sheet.survey.clone(),
            first: scene.openings.len(),
            services: Vec::new(),
            differences: Vec::new(),
        })
    }

    /// Puts the measured cuts in place of the planned ones.
    pub(crate) fn replace(
        &mut self,
        scene: &mut Scene,
        settings: &CrossSettings,
        planned: Vec<Cut>,
    ) -> Vec<Cut> {
        let there = self.cuts(scene, settings);
        for laid in &self.measured.laid {
            scene.openings.push(laid.opening.clone());
            scene.opening_bodies.push(laid.body.clone());
        }
        let (of_measured, mut cuts): (Vec<Cut>, Vec<Cut>) =
            planned.into_iter().partition(|cut| self.measured.members.contains(&cut.member));
        for member in self.measured.members.clone() {
            let planned: Vec<&Cut> = of_measured.iter().filter(|c| c.member == member).collect();
            let mut there: Vec<Cut> =
                there.iter().filter(|cut| cut.member == member).cloned().collect();
            self.compare(&planned, &mut there);
            cuts.extend(there);
        }
        for (member, said) in &self.measured.differ {
            self.differences.push(Difference {
                rule: "as-built/member",
                member: *member,
                opening: None,
                services: Vec::new(),
                verdict: Verdict::Refer,
                message: format!("This is not the member of the model: {said}. The cuts are judged in the model's."),
            });
        }
        self.add_services(scene, &mut cuts);
        cuts.sort_by(|a, b| {
            let x = a.min_mm.x.total_cmp(&b.min_mm.x);
            let z = a.min_mm.z.total_cmp(&b.min_mm.z);
            a.member.cmp(&b.member).then(x).then(z).then(a.kind.cmp(&b.kind))
        });
        cuts
    }

    /// The measured cuts alone.
    fn cuts(&self, scene: &Scene, settings: &CrossSettings) -> Vec<Cut> {
        let alone = Scene {
            members: scene.members.clone(),
            member_bodies: scene.member_bodies.clone(),
            openings: self.measured.laid.iter().map(|laid| laid.opening.clone()).collect(),
            opening_bodies: self.measured.laid.iter().map(|laid| laid.body.clone()).collect(),
            ..Scene::default()
        };
        let crosser = Crosser::new(&alone, settings);
        let members = self.measured.members.iter();
        let mut cuts: Vec<Cut> = members.flat_map(|m| crosser.recut(*m, &[])).collect();
        for cut in &mut cuts {
            for opening in cut.openings.iter_mut().chain(&mut cut.besides.too_small) {
                *opening = OpeningIx::from(opening.at() + self.first);
            }
        }
        cuts
    }

    fn laid(&self, cut: &Cut) -> Option<(OpeningIx, &Opening, Option<&Service>)> {
        cut.openings.iter().find_map(|ix| {
            let laid = self.measured.laid.get(ix.at().checked_sub(self.first)?)?;
            Some((*ix, &laid.opening, laid.service.as_ref()))
        })
    }

    /// Pairs what is there with what was planned, the nearest first, and says how they differ.
    fn compare(&mut self, planned: &[&Cut], there: &mut [Cut]) {
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for (p, plan) in planned.iter().enumerate() {
            for (t, cut) in there.iter().enumerate() {
                let far =
                    (plan.mid_x_mm() - cut.mid_x_mm()).hypot(plan.offset_mm() - cut.offset_mm());
                if far <= SAME_MM {
                    pairs.push((far, p, t));
                }
            }
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        let mut of_plan = vec![None; planned.len()];
        let mut of_cut = vec![None; there.len()];
        for (_, p, t) in pairs {
            if let (Some(plan @ None), Some(cut @ None)) = (of_plan.get_mut(p), of_cut.get_mut(t)) {
                (*plan, *cut) = (Some(t), Some(p));
            }
        }
        for (t, cut) in there.iter_mut().enumerate() {
            let plan = of_cut.get(t).copied().flatten().and_then(|p| planned.get(p));
            let Some((opening, row, service)) = self.laid(cut) else { continue };
            let name = row.element.name.clone().unwrap_or_default();
            let service = service.cloned();
            let difference = match plan {
                Some(plan) => {
                    cut.services.clone_from(&plan.services);
                    cut.shared = plan.shared.max(1);
                    changed(plan, cut).map(|said| ("as-built/changed", Verdict::Pass, said))
                }
                None => Some((
                    "as-built/unplanned",
                    Verdict::Refer,
                    format!("Nobody planned this cut ({name}). Ask the designer what it is for."),
                )),
            };
            if plan.is_none()
                && let Some(service) = service
            {
                self.services.push((opening.at(), service));
            }
            cut.besides.notes.push(Note::from("measured"));
            if let Some((rule, verdict, message)) = difference {
                self.differences.push(Difference {
                    rule,
                    member: cut.member,
                    opening: Some(opening),
                    services: cut.services.to_vec(),
                    verdict,
                    message,
                });
            }
        }
        for (plan, found) in planned.iter().zip(&of_plan) {
            if found.is_none() {
                self.differences.push(Difference {
                    rule: "as-built/missing",
                    member: plan.member,
                    opening: None,
                    services: plan.services.to_vec(),
                    verdict: Verdict::Pass,
                    message: format!(
                        "Planned and not there: {}. It is not judged here.",
                        say(plan)
                    ),
                });
            }
        }
    }

    /// Services that only the sheet names, for the rules that ask what passes.
    fn add_services(&self, scene: &mut Scene, cuts: &mut [Cut]) {
        for (opening, service) in &self.services {
            let ix = ServiceIx::from(scene.services.len());
            let mut service = service.clone();
            if let Some(opening) = scene.openings.get(*opening) {
                service.element = opening.element.clone();
                service.element.class = "SiteService".into();
                service.element.guid.push_str(" service");
            }
            service.run =
                scene.services.iter().map(|s| s.run).max().map_or(0, |run| run.saturating_add(1));
            scene.services.push(service);
            scene.service_bodies.push(wimble_recognise::ServiceBody::Line { points: Vec::new() });
            for cut in cuts.iter_mut() {
                if cut.openings.iter().any(|ix| ix.at() == *opening) {
                    cut.services.push(ix);
                    cut.shared = cut.shared.max(1);
                }
            }
        }
    }

    /// Whether a cut was measured.
    pub(crate) fn is_measured(&self, cut: &Cut) -> bool {
        self.measured.members.contains(&cut.member)
    }

    /// Says the differences.
    pub(crate) fn tell(&self, report: &mut Report) {
        let count = self.measured.members.len();
        report.assumptions.push(format!(
            "As built: {count} member{} measured; the cuts of the others are those planned",
            if count == 1 { "" } else { "s" }
        ));
        for difference in &self.differences {
            let cut = difference.opening.and_then(|opening| {
                report.cuts.iter().position(|cut| cut.openings.contains(&opening))
            });
            if let Some(cut) = cut.and_then(|at| report.cuts.get_mut(at)) {
                cut.verdict = cut.verdict.max(difference.verdict);
            }
            report.findings.push(Finding {
                rule: difference.rule.into(),
                level: Level::of(difference.verdict),
                verdict: difference.verdict,
                member: difference.member,
                cuts: cut.map(CutIx::from).into_iter().collect(),
                services: difference.services.iter().copied().collect(),
                measured: None,
                limit: None,
                message: difference.message.as_str().into(),
                source: "Wimble, practice (our own figure)".into(),
                waived: None,
                remedies: Arc::default(),
            });
        }
    }
}

/// Differences smaller than this are not worth a word, mm.
const SAID_MM: f64 = 2.0;

/// How a cut differs from its plan, if by more than a hair.
fn changed(plan: &Cut, cut: &Cut) -> Option<String> {
    let along = cut.mid_x_mm() - plan.mid_x_mm();
    let level = cut.offset_mm() - plan.offset_mm();
    let size = cut.height_mm() - plan.height_mm();
    let wide = cut.width_mm() - plan.width_mm();
    let mut said = Vec::new();
    if plan.kind != cut.kind {
        said.push(format!("a {} in place of a {}", cut.kind.word(), plan.kind.word()));
    }
    let mut figure = |mm: f64, more: &str, less: &str| {
        if mm.abs() > SAID_MM {
            said.push(format!("{:.0} mm {}", mm.abs(), if mm > 0.0 { more } else { less }));
        }
    };
    figure(along, "further right", "further left");
    figure(size, "higher or deeper", "less high or deep");
    figure(wide, "wider", "narrower");
    if plan.kind == cut.kind
        && !matches!(cut.edge, wimble_model::Edge::Top | wimble_model::Edge::Bottom)
    {
        figure(level, "up", "down");
    }
    if said.is_empty() {
        return None;
    }
    Some(format!("Planned: {}. Measured: {}: {}.", say(plan), say(cut), said.join(", ")))
}

fn say(cut: &Cut) -> String {
    format!(
        "{} {:.0} × {:.0} at {:.0} mm along the member",
        cut.kind.word(),
        cut.width_mm(),
        cut.height_mm(),
        cut.mid_x_mm()
    )
}
