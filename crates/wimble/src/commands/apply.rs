//! `wimble check --apply-remedies FILE`: the services model with the runs shifted as proposed.

use crate::check::{Checked, Moved, check_with};
use crate::moved::moved;
use crate::{Input, LookFor, Settings};
use anyhow::{Context, Result, bail};
use glam::DVec3;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use wimble_model::Verdict;
use wimble_report::Report;

/// Writes the moved model, checks it in place of the given one, and says on standard error what
/// came of it. Where services of several models move, each is written, the model's name added.
pub(super) fn write(
    file: &Path,
    inputs: &[Input<'_>],
    checked: &Checked,
    settings: &Settings,
) -> Result<()> {
    if settings.recognise.align_map {
        bail!("--apply-remedies moves placements: it needs align = \"placement\"");
    }
    let mut by_input: BTreeMap<u32, Vec<(u64, DVec3)>> = BTreeMap::new();
    for Moved { element, vector_m } in &checked.moves {
        let moves = by_input.entry(element.input).or_default();
        // An element of several items is moved once.
        if !moves.iter().any(|(name, _)| *name == element.instance) {
            moves.push((element.instance, *vector_m));
        }
    }
    if by_input.is_empty() {
        tell("no shift of a run is proposed: nothing was written");
        return Ok(());
    }
    let several = by_input.len() > 1;
    let mut after: Vec<Input<'_>> = inputs.to_vec();
    for (at, moves) in &by_input {
        let Some(input) = after.get_mut(*at as usize) else { continue };
        let target = if several { beside(file, &input.path) } else { file.to_path_buf() };
        let plain = crate::check::unpack(input)?.into_owned();
        let bytes = moved(&plain, moves)
            .with_context(|| format!("{}: the moved copy cannot be made", input.path))?;
        fs::write(&target, &bytes)
            .with_context(|| format!("{} cannot be written", target.display()))?;
        let many = if moves.len() == 1 { "service" } else { "services" };
        tell(&format!("{}: {} with {} {many} moved", target.display(), input.path, moves.len()));
        *input = Input::new(target.display().to_string(), bytes);
    }
    let quick = Settings { remedies: LookFor::Nothing, apply: false, ..settings.clone() };
    let report = check_with(&after, &quick, &|_| {})?;
    tell(&format!("checked again: {} (before: {})", counts(&report), counts(&checked.report)));
    Ok(())
}

/// `moved.ifc` for `services.ifc` becomes `moved-services.ifc`.
fn beside(file: &Path, model: &str) -> PathBuf {
    let stem = |path: &Path| path.file_stem().map(|s| s.to_string_lossy().into_owned());
    let own = stem(file).unwrap_or_default();
    let of = stem(Path::new(model)).unwrap_or_default();
    let ending = file.extension().map_or_else(|| "ifc".into(), |e| e.to_string_lossy());
    file.with_file_name(format!("{own}-{of}.{ending}"))
}

fn counts(report: &Report) -> String {
    let of = |verdict: Verdict| report.cuts.iter().filter(|cut| cut.verdict == verdict).count();
    Verdict::WORST_FIRST
        .into_iter()
        .map(|verdict| format!("{} {}", of(verdict), verdict.word()))
        .collect::<Vec<_>>()
        .join(", ")
}

fn tell(text: &str) {
    let _ = writeln!(io::stderr(), "{text}");
}
