//! `wimble check`.

use super::{CLEAN, FINDINGS, NOT_CHECKED, apply, compare, limits, named, screen};
use crate::args::{self, Align, Format, Models};
use crate::check::Checked;
use crate::output::Output;
use crate::source::{self, Source};
use crate::{LookFor, Settings, Stage, check::check_all, free, moment, pipe};
use anyhow::{Context, Result};
use std::io::{self, BufWriter, Write};
use std::path::Path;
use wimble_report::{Baseline, Report, bcf, drawing, json, terminal};

/// Above so many cuts that do not pass, remedies have to be asked for: with them a check would take
/// minutes.
const MOST_WITH_REMEDIES: usize = 2000;

pub(super) fn run(arguments: &args::Check) -> Result<u8> {
    // A mistake in what is asked is told before the work, not after it.
    let outputs =
        arguments.outputs.iter().map(|given| Output::parse(given)).collect::<Result<Vec<_>>>()?;
    if !arguments.drawn.is_empty() && !outputs.iter().any(Output::is_drawing) {
        anyhow::bail!(
            "--member {}: say where to draw it: -o FILE.svg or -o FILE.png",
            arguments.drawn[0]
        );
    }
    let mut settings = settings(&arguments.models)?;
    settings.fail_on = arguments.fail_on.unwrap_or(settings.fail_on);
    if outputs.iter().any(Output::is_marking) {
        settings.marking = Some(settings.sheets.clone());
    }
    settings.issue.time = moment::of_issue(arguments.time.as_deref())?;
    settings.today = Some(moment::day(settings.issue.time));
    topics(&arguments.topics, &mut settings)?;
    // A baseline that cannot be read is told before the work, too.
    let old = arguments.baseline.as_deref();
    let old: Option<(&Path, String)> =
        old.map(|path| anyhow::Ok((path, compare::text(path)?))).transpose()?;
    let baseline = match &old {
        Some((path, text)) => Some((*path, compare::document(path, text)?)),
        None => None,
    };
    settings.remedies = match (arguments.no_remedies, arguments.remedies) {
        (true, _) => LookFor::Nothing,
        (_, true) => LookFor::Everything,
        _ => LookFor::UpTo(MOST_WITH_REMEDIES),
    };
    settings.free = arguments.room;
    let as_built = arguments.as_built.as_deref().map(Source::open).transpose()?;
    let as_built = as_built.as_ref().map(Source::input);
    settings.strips = outputs.iter().any(Output::draws);
    settings.lines = outputs.iter().any(Output::names_lines);
    settings.solids |= outputs.iter().any(Output::is_in_space);
    settings.apply = arguments.apply_remedies.is_some();
    let report = with_models(&arguments.models, |inputs, stage| {
        let mut checked = check_all(inputs, as_built.as_ref(), &settings, stage)?;
        if let Some((path, old)) = &baseline {
            checked.report.baseline =
                Some(Baseline::of(&checked.report, &path.display().to_string(), old));
        }
        let drawn = match arguments.drawn.as_slice() {
            [] => None,
            names => Some(drawing(&checked, &settings, names)?),
        };
        for output in &outputs {
            if let Some(svg) = drawn.as_ref().filter(|_| output.is_drawing()) {
                output.draw(svg)?;
                continue;
            }
            for remark in output.write(&checked.report, inputs, &settings)? {
                let _ = writeln!(io::stderr(), "note: {remark}");
            }
        }
        if let Some(file) = &arguments.apply_remedies {
            apply::write(file, inputs, &checked, &settings)?;
        }
        Ok(checked.report)
    })?;
    let stdout = io::stdout();
    pipe::widen(&stdout);
    let mut out = BufWriter::new(stdout.lock());
    match arguments.models.format {
        Format::Json => json::write(&report, &mut out)?,
        Format::Terminal => {
            terminal::write(&report, screen::page(arguments.models.all), &mut out)?;
            if arguments.room {
                free::write(&report, &mut out)?;
            }
        }
    }
    out.flush()?;
    let partial = !arguments.allow_partial && tell_partial(&report);
    let code = if settings.fail_on.reached_by(report.worst()) { FINDINGS } else { CLEAN };
    // The process ends here: to give back a large report row by row takes as long as to write it.
    std::mem::forget(report);
    Ok(if partial { NOT_CHECKED } else { code })
}

/// The members of these names, drawn one under the other. Where no cut of a member is in question
/// its strips tell what may be cut in it.
fn drawing(checked: &Checked, settings: &Settings, names: &[String]) -> Result<String> {
    let report = &checked.report;
    let mut elevations = Vec::new();
    for name in names {
        let ix = named::one(report, name)?;
        let Some(mut elevation) = drawing::elevation(report, ix) else { continue };
        if elevation.strips.is_empty() {
            let told = wimble_rules::limits(elevation.member, &checked.packs, &settings.rules);
            elevation.strips =
                limits::drawing::strips(elevation.member, &told, wimble_sheet::TapeUnit::Mm);
        }
        elevations.push(elevation);
    }
    Ok(drawing::stacked(&elevations, &names.join(", ")))
}

/// How topics are made, with what the command line says over the settings; an earlier file of
/// topics that cannot be carried on is told before the work.
fn topics(arguments: &args::Topics, settings: &mut Settings) -> Result<()> {
    let told = &mut settings.issue.topics;
    if let Some(version) = &arguments.bcf {
        told.version = bcf::Version::of(version);
    }
    if let Some(group) = arguments.group {
        told.group = group.into();
    }
    if let Some(path) = &arguments.update {
        let shown = path.display();
        let bytes = std::fs::read(path).with_context(|| {
            format!("{shown}: the earlier file of topics cannot be read; check the path")
        })?;
        told.before = Some(bytes);
        bcf::look(told).with_context(|| format!("{shown} cannot be carried on"))?;
    }
    Ok(())
}

/// Settings with what the command line says over them.
pub(super) fn settings(models: &Models) -> Result<Settings> {
    let mut settings = source::settings(models.config.as_deref(), &models.models)?;
    if let Some(align) = models.align {
        settings.recognise.align_map = align == Align::Map;
        settings
            .issue
            .settings
            .push(format!("--align {}", if align == Align::Map { "map" } else { "placement" }));
    }
    Ok(settings)
}

/// Opens the models and does the work on them, showing how far it is.
pub(super) fn with_models<T>(
    models: &Models,
    work: impl FnOnce(&[crate::Input<'_>], &(dyn Fn(crate::Stage) + Sync)) -> Result<T>,
) -> Result<T> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(models.threads)
        .build_global()
        .context("the threads could not be started")?;
    let sources =
        models.models.iter().map(|path| Source::open(path)).collect::<Result<Vec<_>>>()?;
    let inputs: Vec<_> = sources.iter().map(Source::input).collect();
    let progress = screen::Progress::start();
    work(&inputs, &|stage| {
        if matches!(stage, Stage::Reading | Stage::Recognising) {
            // What was read is not looked at again, or seldom: the memory is for what was found.
            sources.iter().for_each(Source::let_go);
        }
        progress.stage(stage);
    })
}

/// Says which files could be read only in part; whether there are any.
pub(super) fn tell_partial(report: &Report) -> bool {
    let mut any = false;
    for input in report.inputs.iter().filter(|input| input.partial) {
        any = true;
        let _ = writeln!(
            io::stderr(),
            "error: {}: only a part of the file could be read (the report's warnings say where); \
             export it again, or take what there is with --allow-partial",
            input.path
        );
    }
    any
}
