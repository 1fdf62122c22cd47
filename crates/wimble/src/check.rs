//! From the bytes of models to a report: every stage in turn.

use crate::region::Place;
use crate::site::{AsBuilt, FromSheet};
use crate::{
    CheckError, Input, LookFor, PackChoice, Settings, Stage, free, marking, places, region, site,
    site_facts, solids, waivers,
};
use glam::DVec3;
use rayon::prelude::*;
use std::borrow::Cow;
use std::sync::Arc;
use wimble_cross::Crosser;
use wimble_geom::Solid;
use wimble_ifc::Model;
use wimble_model::{Cut, CutIx, Element, Few, Finding, Level, RunMove, Verdict};
use wimble_recognise::{Scene, Source};
use wimble_report::{Pack, Report, Rule, Warning};
use wimble_rules::{PackSet, Situation};
use wimble_step::Severity;

/// Checks models together, as one building.
///
/// # Errors
/// A file that cannot be read at all, or a pack that nobody knows. What can be read in part is a
/// report: its input is marked `partial`, and no cut of it is better than `unknown`.
pub fn check(inputs: &[Input<'_>], settings: &Settings) -> Result<Report, CheckError> {
    check_with(inputs, settings, &|_| {})
}

/// What is recognised in models: a report without cuts and findings.
///
/// # Errors
/// As for [`check`].
pub fn inspect(inputs: &[Input<'_>], settings: &Settings) -> Result<Report, CheckError> {
    inspect_with(inputs, settings, &|_| {})
}

pub(crate) fn check_with(
    inputs: &[Input<'_>],
    settings: &Settings,
    stage: &(dyn Fn(Stage) + Sync),
) -> Result<Report, CheckError> {
    Ok(check_all(inputs, None, settings, stage)?.report)
}

/// A report with the packs that it was made by.
pub(crate) struct Checked {
    pub(crate) report: Report,
    pub(crate) packs: PackSet,
    /// What was proposed to move, where it is to be applied.
    pub(crate) moves: Vec<Moved>,
}

/// Checks one site sheet.
pub(crate) fn check_sheet(input: &Input<'_>, settings: &Settings) -> Result<Checked, CheckError> {
    check_all(std::slice::from_ref(input), None, settings, &|_| {})
}

/// Checks models or a site sheet; `as_built` is a sheet of what was measured in the models.
pub(crate) fn check_all(
    inputs: &[Input<'_>],
    as_built: Option<&Input<'_>>,
    settings: &Settings,
    stage: &(dyn Fn(Stage) + Sync),
) -> Result<Checked, CheckError> {
    let recognised = recognise(inputs, settings, stage)?;
    let Recognised { mut scene, packs, assumptions, member_lines, service_lines, headers, site } =
        recognised;
    let mut as_built = as_built.map(|sheet| AsBuilt::read(sheet, &mut scene)).transpose()?;
    stage(Stage::Crossing);
    // What is not crossed but measured is not moved by us.
    let planned = site.is_none() && as_built.is_none();
    let (mut cuts, put_in) = {
        let crosser = Crosser::new(&scene, &settings.cross);
        let cuts = crosser.cuts();
        let put_in = planned.then(|| wimble_remedies::put_in(&scene, &crosser, &cuts));
        (cuts, put_in.unwrap_or_default())
    };

    if let Some(site) = &site {
        site.building.name_services(&mut cuts);
    }
    if let Some(as_built) = &mut as_built {
        cuts = as_built.replace(&mut scene, &settings.cross, cuts);
    }
    scene.warnings.extend(site::untouched(&scene, &cuts));
    let survey = site.as_ref().and_then(|site| site.survey.clone());
    let survey = survey.or_else(|| as_built.as_ref().and_then(|there| there.survey.clone()));
    let mut rules = settings.rules.clone();
    if let Some(survey) = &survey {
        rules.site = site::tolerance(survey);
    }
    stage(Stage::Judging);
    let whereabouts = Whereabouts::of(&scene, settings.strips);
    if !settings.looks_at_bodies_again() {
        scene.let_go_of_bodies();
    }
    let situation = Situation {
        members: &scene.members,
        services: &scene.services,
        openings: &scene.openings,
        cuts: &cuts,
    };
    let put_in = put_in.iter().map(|noted| noted.finding(&scene));
    let mut judgement = wimble_rules::check_beside(&situation, &packs, &rules, put_in);
    judgement.write_into(&mut cuts);
    let reserves = free::reserves(&scene, settings);
    let wanting = wimble_remedies::wanting(&cuts);
    if let (LookFor::UpTo(most), true) = (settings.remedies, planned)
        && wanting > most
    {
        judgement.assumptions.push(format!(
            "Remedies: not looked for, since {wanting} cuts do not pass (more than {most}); \
             --remedies looks for them all the same"
        ));
    }
    let proposals = if planned && settings.remedies.serves(wanting) {
        stage(Stage::Remedies);
        let (cross, said) = (&settings.cross, (&*cuts, &mut *judgement.findings));
        wimble_remedies::find(&scene, cross, &packs, &rules, said, &reserves)
    } else {
        wimble_remedies::Proposals::default()
    };
    let moves = if settings.apply && planned {
        moves(&scene, wimble_remedies::settle(&scene, &settings.cross, &packs, &rules, &reserves))
    } else {
        Vec::new()
    };
    let (free, kept) = free::windows(&scene, &cuts, &packs, &rules, settings);
    judgement.findings.extend(kept);
    let mut report = report(scene, whereabouts, &packs, assumptions, settings);
    report.free = free;
    report.assumptions.extend(judgement.assumptions);
    report.member_lines = member_lines;
    report.service_lines = service_lines;
    tell_headers(&mut report, headers);
    report.cuts = cuts;
    report.findings = judgement.findings;
    report.places = proposals.places;
    report.plans = proposals.plans;
    if let Some(there) = &as_built {
        there.tell(&mut report);
    }
    if let Some(survey) = &survey {
        let measured = |cut: &Cut| as_built.as_ref().is_none_or(|there| there.is_measured(cut));
        site::doubt(&mut report, &packs, &rules, &measured);
        report.survey = Some(survey.clone());
    }
    if site.is_some() || as_built.is_some() {
        site::tell_limits(&mut report, &packs, &rules);
    }
    site_facts::tell(&mut report, settings);
    doubt_partial(&mut report);
    if settings.strips {
        places::fill(&mut report, &packs, &rules);
    }
    report.sort();
    waivers::apply(&mut report, settings);
    if let Some(issue) = &settings.marking {
        marking::fill(&mut report, &packs, &rules, issue.clone());
    }
    Ok(Checked { report, packs, moves })
}

/// What a service's placement is to be moved by, world, metres.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Moved {
    pub(crate) element: Element,
    pub(crate) vector_m: DVec3,
}

/// Moves by element.
fn moves(scene: &Scene, moves: Vec<RunMove>) -> Vec<Moved> {
    let services = moves.iter().flat_map(|m| m.services.iter().map(|s| (*s, m.vector_m)));
    services
        .filter_map(|(service, vector)| {
            let element = scene.services.get(service.at())?.element.clone();
            Some(Moved { element, vector_m: DVec3::from_array(vector) })
        })
        .collect()
}

pub(crate) fn inspect_with(
    inputs: &[Input<'_>],
    settings: &Settings,
    stage: &(dyn Fn(Stage) + Sync),
) -> Result<Report, CheckError> {
    let Recognised { scene, packs, assumptions, member_lines, .. } =
        recognise(inputs, settings, stage)?;
    let whereabouts = Whereabouts::of(&scene, settings.strips);
    Ok(Report { member_lines, ..report(scene, whereabouts, &packs, assumptions, settings) })
}

/// The building, and the packs that its place asks for.
struct Recognised {
    scene: Scene,
    packs: PackSet,
    assumptions: Vec<String>,
    member_lines: Vec<Option<u64>>,
    service_lines: Vec<Option<u64>>,
    headers: Vec<Header>,
    /// What only a site sheet says.
    site: Option<FromSheet>,
}

/// What a file says of itself: GlobalId of its project, and when it was written.
type Header = (Option<String>, String);

fn header(model: &Model<'_>) -> Header {
    let project = model.project().map(|row| model.guid(row)).filter(|guid| !guid.is_empty());
    (project, model.step().header().time_stamp.clone())
}

fn tell_headers(report: &mut Report, headers: Vec<Header>) {
    for (input, (project, written)) in report.inputs.iter_mut().zip(headers) {
        (input.project, input.written) = (project, written);
    }
}

/// Line of an element in its file.
fn line(models: &[Model<'_>], element: &Element) -> Option<u64> {
    let step = models.get(element.input as usize)?.step();
    step.find(element.instance).map(|row| step.line(row))
}

fn recognise(
    inputs: &[Input<'_>],
    settings: &Settings,
    stage: &(dyn Fn(Stage) + Sync),
) -> Result<Recognised, CheckError> {
    if inputs.is_empty() {
        return Err(CheckError::NothingGiven);
    }
    stage(Stage::Reading);
    if let Some(sheets) = site::among(inputs)? {
        let (packs, said) = sheets.packs(settings)?;
        let survey = sheets.survey()?;
        let mut building = sheets.building(inputs)?;
        let scene = std::mem::take(&mut building.scene);
        let member_lines = std::mem::take(&mut building.member_lines);
        let site = Some(FromSheet { building, survey });
        return Ok(Recognised {
            scene,
            packs,
            assumptions: vec![said],
            member_lines,
            service_lines: Vec::new(),
            headers: Vec::new(),
            site,
        });
    }
    let unpacked = inputs.iter().map(unpack).collect::<Result<Vec<_>, _>>()?;
    let mut models: Vec<Model<'_>> = inputs
        .par_iter()
        .zip(&unpacked)
        .map(|(input, bytes)| open(input, bytes))
        .collect::<Result<_, _>>()?;
    let (facts, ()) = rayon::join(
        || inputs.par_iter().zip(&models).map(|(input, model)| facts(input, model)).collect(),
        || models.par_iter().for_each(Model::read_ahead),
    );
    let facts: Vec<wimble_recognise::Input> = facts;
    let (packs, assumptions) = choose(settings, &models)?;
    let sources: Vec<Source<'_, '_>> =
        facts.into_iter().zip(&models).map(|(input, model)| Source { input, model }).collect();
    let elements = wimble_recognise::read(&sources, &settings.recognise, &|| stage(Stage::Reading));
    // Records are read when they are asked for: what was wrong with them is known only now.
    let damage = damage(&models);
    let partial: Vec<bool> =
        models.iter().map(|model| is_damage(&model.step().record_diagnostics())).collect();
    let headers = models.iter().map(header).collect();
    // The index of a large file takes nearly half as much room as the file.
    if !settings.lines {
        models.clear();
    }
    stage(Stage::Recognising);
    let mut scene = elements.scene(&settings.recognise);
    scene.warnings.extend(damage);
    for (input, partial) in scene.inputs.iter_mut().zip(partial) {
        input.partial |= partial;
    }
    let (mut member_lines, mut service_lines) = (Vec::new(), Vec::new());
    if settings.lines {
        let line = |element: &Element| line(&models, element);
        member_lines = scene.members.par_iter().map(|m| line(&m.element)).collect();
        service_lines = scene.services.par_iter().map(|s| line(&s.element)).collect();
    }
    Ok(Recognised { scene, packs, assumptions, member_lines, service_lines, headers, site: None })
}

pub(crate) fn open<'a>(input: &Input<'_>, bytes: &'a [u8]) -> Result<Model<'a>, CheckError> {
    Model::open(bytes).map_err(|reason| CheckError::Open { path: input.path.clone(), reason })
}

/// The model inside a zip archive, or the bytes as they are.
pub(crate) fn unpack<'a>(input: &'a Input<'_>) -> Result<Cow<'a, [u8]>, CheckError> {
    if wimble_ifc::is_zip(&input.bytes) {
        return wimble_ifc::unzip(&input.bytes)
            .map(Cow::Owned)
            .map_err(|reason| CheckError::Zip { path: input.path.clone(), reason });
    }
    Ok(Cow::Borrowed(&input.bytes))
}

fn facts(input: &Input<'_>, model: &Model<'_>) -> wimble_recognise::Input {
    let step = model.step();
    wimble_recognise::Input {
        path: input.path.clone(),
        blake3: blake3::Hasher::new().update_rayon(&input.bytes).finalize().to_hex().to_string(),
        schema: model.schema_name().to_owned(),
        length_unit: model.units().length_name.clone(),
        instances: step.len() as u64,
        partial: is_damage(step.diagnostics()),
    }
}

fn is_damage(faults: &[wimble_step::Diagnostic]) -> bool {
    faults.iter().any(|fault| fault.kind.severity() == Severity::Error)
}

/// What was wrong with the files themselves; recognition tells what is odd in the models.
fn damage(models: &[Model<'_>]) -> Vec<wimble_recognise::Warning> {
    let of_file = |(at, model): (u32, &Model<'_>)| {
        let mut faults = model.step().diagnostics().to_vec();
        faults.extend(model.step().record_diagnostics());
        faults.into_iter().map(move |fault| wimble_recognise::Warning {
            input: Some(at),
            line: Some(fault.line),
            text: fault.message,
        })
    };
    (0..).zip(models).flat_map(of_file).collect()
}

/// The packs in force, with the sentence that says whence.
fn choose(settings: &Settings, models: &[Model<'_>]) -> Result<(PackSet, Vec<String>), CheckError> {
    let packs = settings.packs.clone();
    match &settings.choice {
        PackChoice::Named(ids) => {
            let packs = packs.choose(ids)?;
            Ok((packs, vec![format!("Rules: {} (stated)", ids.join(", "))]))
        }
        PackChoice::Region(code) => {
            let packs = packs.region_set(code)?;
            Ok((packs, vec![format!("Rules: {} (stated)", region::name_of(code))]))
        }
        PackChoice::BySite => {
            let place = Place::of(models.iter().map(Model::site_region));
            let packs = packs.region_set(place.code)?;
            Ok((packs, vec![place.sentence]))
        }
    }
}

/// Where services lie (parallel to them), world, metres: what reports ask of their bodies.
struct Whereabouts {
    centres_m: Vec<DVec3>,
    axes_m: Vec<Option<[DVec3; 2]>>,
}

impl Whereabouts {
    /// Axes only where services are drawn.
    fn of(scene: &Scene, drawn: bool) -> Self {
        let bodies = scene.service_bodies.par_iter();
        let axes_m = drawn.then(|| bodies.clone().map(site_facts::axis_m).collect());
        Self {
            centres_m: bodies.map(site_facts::centre_m).collect(),
            axes_m: axes_m.unwrap_or_default(),
        }
    }
}

/// The report of a scene, without cuts.
fn report(
    scene: Scene,
    whereabouts: Whereabouts,
    packs: &PackSet,
    assumptions: Vec<String>,
    settings: &Settings,
) -> Report {
    let (member_solids, service_solids) =
        if settings.solids { solids_of(&scene) } else { Default::default() };
    let inputs = scene.inputs.into_iter().map(|input| wimble_report::Input {
        path: input.path,
        blake3: input.blake3,
        schema: input.schema,
        length_unit: input.length_unit,
        instances: input.instances,
        partial: input.partial,
        ..wimble_report::Input::default()
    });
    let packs = packs.in_force().map(|pack| Pack {
        id: pack.id().into(),
        version: pack.version().into(),
        title: pack.title().into(),
        sources: pack.sources().iter().map(ToString::to_string).collect(),
        rules: pack.rule_ids().iter().filter_map(|id| packs.explain(id).ok()).map(rule).collect(),
    });
    let mut warnings: Vec<Warning> = scene
        .warnings
        .into_iter()
        .map(|w| Warning { input: w.input, line: w.line, text: w.text })
        .collect();
    warnings.sort();
    warnings.dedup();
    Report {
        inputs: inputs.collect(),
        packs: packs.collect(),
        assumptions: assumptions.into_iter().chain(scene.assumptions).collect(),
        warnings,
        storeys: scene.storeys,
        members: scene.members,
        service_centres_m: whereabouts.centres_m,
        service_axes_m: whereabouts.axes_m,
        services: scene.services,
        member_solids,
        service_solids,
        openings: scene.openings,
        coverage: scene.coverage,
        issue: settings.issue.clone(),
        ..Report::default()
    }
}

/// A rule as every report explains it.
fn rule(told: wimble_rules::Explanation) -> Rule {
    let sources = told.sources.iter().map(|source| ("Source".into(), source.to_string()));
    let more = [
        ("Only for", told.when),
        ("Else", told.otherwise),
        ("Why", told.why),
        ("Worked", told.example),
        ("Clause", told.clause.unwrap_or_default()),
    ];
    let more = more.into_iter().filter(|(_, text)| !text.is_empty());
    Rule {
        id: told.id,
        what: told.what,
        more: more.map(|(title, text)| (title.to_owned(), text)).chain(sources).collect(),
    }
}

/// Solids of members and of services, for outputs in space.
fn solids_of(scene: &Scene) -> (Vec<Vec<Solid>>, Vec<Option<Solid>>) {
    let members = scene.members.par_iter().zip(&scene.member_bodies);
    (
        members.map(|(member, body)| solids::of_member(body, &member.frame)).collect(),
        scene.service_bodies.iter().map(solids::of_service).collect(),
    )
}

/// A file that was read only in part may hide what a pass depends on: no cut of it is better than
/// `unknown`.
fn doubt_partial(report: &mut Report) {
    if !report.inputs.iter().any(|input| input.partial) {
        return;
    }
    let partial = |input: u32| report.inputs.get(input as usize).is_some_and(|i| i.partial);
    let mut doubts = Vec::new();
    for (at, cut) in report.cuts.iter().enumerate() {
        let of_member = report.members.get(cut.member.at()).map(|m| m.element.input);
        let of_services = cut.services.iter().filter_map(|s| report.services.get(s.at()));
        let files = of_member.into_iter().chain(of_services.map(|s| s.element.input));
        let worst = files.filter(|input| partial(*input)).min();
        if let Some(input) = worst.and_then(|i| report.inputs.get(i as usize)) {
            doubts.push((at, input.path.clone()));
        }
    }
    for (at, path) in doubts {
        let Some(cut) = report.cuts.get_mut(at) else { continue };
        if cut.verdict != Verdict::Pass {
            continue;
        }
        cut.verdict = Verdict::Unknown;
        cut.tight = false;
        report.findings.push(Finding {
            rule: "input/read-in-part".into(),
            level: Level::of(Verdict::Unknown),
            verdict: Verdict::Unknown,
            member: cut.member,
            cuts: Few::from_iter([CutIx::from(at)]),
            services: cut.services.iter().copied().collect(),
            measured: None,
            limit: None,
            message: format!(
                "What was read of {path} passes, but only a part of that file could be read. \
                 Export it again and check the whole."
            )
            .into(),
            source: "".into(),
            waived: None,
            remedies: Arc::default(),
        });
    }
}
