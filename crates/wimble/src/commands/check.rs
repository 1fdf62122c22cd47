//! `wimble check`.

use super::{CLEAN, FINDINGS, NOT_CHECKED, screen};
use crate::args::{self, Align, Format, Models};
use crate::output::Output;
use crate::source::{self, Source};
use crate::{Settings, check::check_all};
use anyhow::{Context, Result};
use std::io::{self, BufWriter, Write};
use wimble_report::{Report, json, terminal};

pub(super) fn run(arguments: &args::Check) -> Result<u8> {
    // A mistake in what is asked is told before the work, not after it.
    let outputs =
        arguments.outputs.iter().map(|given| Output::parse(given)).collect::<Result<Vec<_>>>()?;
    let mut settings = settings(&arguments.models)?;
    settings.fail_on = arguments.fail_on.unwrap_or(settings.fail_on);
    if outputs.iter().any(Output::is_marking) {
        settings.marking = Some(settings.issue.clone());
    }
    let as_built = arguments.as_built.as_deref().map(Source::open).transpose()?;
    let as_built = as_built.as_ref().map(Source::input);
    settings.solids |= outputs.iter().any(Output::is_in_space);
    let report = with_models(&arguments.models, |inputs, stage| {
        let report = check_all(inputs, as_built.as_ref(), &settings, stage)?.report;
        for output in &outputs {
            for remark in output.write(&report, inputs, &settings)? {
                let _ = writeln!(io::stderr(), "note: {remark}");
            }
        }
        Ok(report)
    })?;
    let mut out = BufWriter::new(io::stdout().lock());
    match arguments.models.format {
        Format::Json => json::write(&report, &mut out)?,
        Format::Terminal => {
            terminal::write(&report, screen::page(arguments.models.all), &mut out)?;
        }
    }
    out.flush()?;
    if !arguments.allow_partial && tell_partial(&report) {
        return Ok(NOT_CHECKED);
    }
    Ok(if settings.fail_on.reached_by(report.worst()) { FINDINGS } else { CLEAN })
}

/// Settings with what the command line says over them.
pub(super) fn settings(models: &Models) -> Result<Settings> {
    let mut settings = source::settings(models.config.as_deref(), &models.models)?;
    if let Some(align) = models.align {
        settings.recognise.align_map = align == Align::Map;
    }
    Ok(settings)
}

/// Opens the models and does the work on them, showing how far it is.
pub(super) fn with_models<T>(
    models: &Models,
    work: impl FnOnce(&[crate::Input<'_>], &dyn Fn(crate::Stage)) -> Result<T>,
) -> Result<T> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(models.threads)
        .build_global()
        .context("the threads could not be started")?;
    let sources =
        models.models.iter().map(|path| Source::open(path)).collect::<Result<Vec<_>>>()?;
    let inputs: Vec<_> = sources.iter().map(Source::input).collect();
    let progress = screen::Progress::start();
    work(&inputs, &|stage| progress.stage(stage))
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
