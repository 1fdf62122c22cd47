//! `wimble rules`.

use super::CLEAN;
use crate::settings::near;
use crate::{PackChoice, Settings, args, source};
use anyhow::{Result, bail};
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;
use wimble_rules::{Explanation, Pack, PackSet};

pub(super) fn run(arguments: &args::Rules) -> Result<u8> {
    let here = [PathBuf::from("./model")];
    let settings = source::settings(arguments.config.as_deref(), &here)?;
    let text = match &arguments.id {
        Some(id) => explain(&settings.packs, id)?,
        None => list(&settings)?,
    };
    let mut out = BufWriter::new(io::stdout().lock());
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(CLEAN)
}

/// All packs, those in force marked.
fn list(settings: &Settings) -> Result<String> {
    let packs = settings.packs.clone();
    let (packs, why) = match &settings.choice {
        PackChoice::Named(ids) => (packs.choose(ids)?, "named in the settings".to_owned()),
        PackChoice::Region(code) => {
            (packs.region_set(code)?, format!("the set of {}", crate::region::name_of(code)))
        }
        PackChoice::BySite => (
            packs.region_set("GB")?,
            "the set of the United Kingdom, unless the models say otherwise".to_owned(),
        ),
    };
    let mut text = format!("In force ({why}):\n");
    for pack in packs.in_force() {
        text.push_str(&row(pack));
    }
    let rest: Vec<&Pack> =
        packs.known().filter(|p| !packs.in_force().any(|q| q.id() == p.id())).collect();
    if !rest.is_empty() {
        text.push_str("\nOnly when named:\n");
        for pack in rest {
            text.push_str(&row(pack));
        }
    }
    text.push_str("\nwimble rules PACK or PACK/RULE says more.\n");
    Ok(text)
}

fn row(pack: &Pack) -> String {
    format!("  {:<20} {}\n", pack.id(), pack.title())
}

fn explain(packs: &PackSet, id: &str) -> Result<String> {
    if let Some(pack) = packs.get(id) {
        let mut text = format!("{}\n{}\n\nRules:\n", pack.id(), pack.title());
        for rule in pack.rule_ids() {
            text.push_str(&format!("  {rule}\n"));
        }
        text.push_str("\nSources:\n");
        for source in pack.sources() {
            text.push_str(&format!("  {source}\n"));
        }
        return Ok(text);
    }
    if let Ok(told) = packs.explain(id) {
        return Ok(explained(&told));
    }
    let known: Vec<String> = packs
        .known()
        .flat_map(|pack| std::iter::once(pack.id().to_owned()).chain(pack.rule_ids()))
        .collect();
    match near(id, known.iter().map(String::as_str)).as_slice() {
        [] => bail!("there is no pack or rule `{id}`; `wimble rules` lists the packs"),
        names => bail!("there is no pack or rule `{id}`; did you mean {}?", names.join(" or ")),
    }
}

/// A rule: what, why, worked with numbers, and by which source.
fn explained(told: &Explanation) -> String {
    let mut text = format!("{}\n{}\n\nWhat     {}.\n", told.id, told.pack, told.what);
    let mut line = |name: &str, said: &str| {
        if !said.is_empty() {
            text.push_str(&format!("{name:<8} {said}\n"));
        }
    };
    line("Only for", &told.when);
    line("Else", &told.otherwise);
    line("Why", &told.why);
    line("Worked", &told.example);
    line("Clause", told.clause.as_deref().unwrap_or_default());
    for source in &told.sources {
        line("Source", &source.to_string());
    }
    text
}
