//! `wimble sheet`: one joist and its cuts without a model, asked at the prompt or given by options.

mod answer;
mod ask;
mod plan;
mod said;

use super::limits::table::wrapped;
use super::{CLEAN, FINDINGS, screen};
use crate::args;
use crate::{Settings, source};
use anyhow::{Context, Result, bail};
use said::{Said, SaidCut};
use std::fs;
use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};
use wimble_model::Verdict;

pub(super) fn run(arguments: &args::Sheet) -> Result<u8> {
    let here = [PathBuf::from("./sheet")];
    let mut settings = source::settings(arguments.config.as_deref(), &here)?;
    if let Some(region) = &arguments.region {
        // Told here, before the questions.
        settings.packs.clone().region_set(region)?;
        settings.choice = crate::PackChoice::Region(region.clone());
    }
    let given = [&arguments.pipe, &arguments.depth, &arguments.span];
    let mut out = io::stdout().lock();
    if given.iter().all(|option| option.is_none()) {
        return prompt(&settings, arguments.output.as_deref(), &mut io::stdin().lock(), &mut out);
    }
    let said = by_options(arguments)?;
    let told = answer::of(&said, &settings)?;
    for line in &told.lines {
        for part in wrapped(line, screen::width().unwrap_or(usize::MAX)) {
            writeln!(out, "{part}")?;
        }
    }
    if let Some(path) = &arguments.output {
        save(path, &said)?;
    }
    Ok(code(told.verdict))
}

const fn code(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Pass => CLEAN,
        _ => FINDINGS,
    }
}

fn by_options(arguments: &args::Sheet) -> Result<Said> {
    let (Some(pipe), Some(depth), Some(span)) =
        (&arguments.pipe, &arguments.depth, &arguments.span)
    else {
        bail!(
            "say what goes through, the depth and the clear span: \
             wimble sheet --pipe \"22 mm copper\" --depth 220 --span 3.6m; or nothing, to be asked"
        );
    };
    let mut said = Said::default();
    let size = match &arguments.breadth {
        Some(breadth) => format!("{breadth} x {depth}"),
        None => depth.clone(),
    };
    let told = |option: &str, result: Result<(), String>| {
        result.map_err(|why| anyhow::anyhow!("--{option}: {why}"))
    };
    told("depth", said.size(&size))?;
    told("span", said.span(span))?;
    for cut in &arguments.existing {
        told("existing", said.existing(cut))?;
    }
    let mut cut = SaidCut::default();
    told("pipe", said.through(&mut cut, pipe))?;
    if let Some(at) = &arguments.at {
        let place = format!("{at} {}", arguments.from);
        told("at", said.place(&mut cut, &place))?;
    }
    if let Some(level) = &arguments.level {
        told("level", said.level(&mut cut, level))?;
    }
    if let Some(held) = &arguments.held {
        told("held", said.held(held))?;
    }
    said.flange.clone_from(&arguments.flange);
    said.cuts.push(cut);
    Ok(said)
}

/// Asks for one joist, answers, and goes on with the next cut in it until nothing more is said.
fn prompt(
    settings: &Settings,
    output: Option<&Path>,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
) -> Result<u8> {
    let mut asker = ask::Asker::new(input, out, screen::width());
    let mut said = Said::default();
    let mut worst = Verdict::Pass;
    let mut answered = false;
    asker.joist(&mut said)?;
    loop {
        let mut cut = SaidCut::default();
        if !asker.cut(&mut said, &mut cut, !answered)? {
            break;
        }
        if !answered {
            asker.held(&mut said)?;
        }
        said.cuts.push(cut);
        let told = match answer::of(&said, settings) {
            Ok(told) => told,
            // What cannot be (a hole beyond the end) is said, and asked again.
            Err(error) => {
                said.cuts.pop();
                asker.say(&format!("{error:#}"))?;
                continue;
            }
        };
        asker.blank()?;
        for line in &told.lines {
            asker.say(line)?;
        }
        asker.blank()?;
        worst = worst.max(told.verdict);
        answered = true;
        // A plan has no place yet: it is not kept among the cuts.
        if said.cuts.last().is_some_and(SaidCut::is_plan) {
            said.cuts.pop();
        }
    }
    match output {
        Some(path) => save(path, &said)?,
        None if !said.cuts.is_empty() => {
            if let Some(path) = asker.file()? {
                save(Path::new(&path), &said)?;
                asker.say(&format!("Saved. wimble check {path} gives the whole report."))?;
            }
        }
        None => {}
    }
    Ok(code(worst))
}

fn save(path: &Path, said: &Said) -> Result<()> {
    fs::write(path, said.toml()).with_context(|| format!("{} cannot be written", path.display()))
}
