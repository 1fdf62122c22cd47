//! `wimble init` and `wimble settings`: a `wimble.toml` to start from, and what is in force.

use super::CLEAN;
use crate::{Expected, FailOn, PackChoice, Settings, args, source};
use anyhow::{Context, Result, bail};
use std::fmt::Write as _;
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::PathBuf;
use wimble_cross::{Clearance, LaggingMode};

/// The file that a project's settings are in.
const FILE: &str = "wimble.toml";

/// Writes a `wimble.toml` that says every default, to change what differs.
pub(super) fn init(arguments: &args::Init) -> Result<u8> {
    let mut settings = Settings::default();
    if let Some(region) = &arguments.region {
        settings.packs.clone().region_set(region)?;
        settings.choice = PackChoice::Region(region.trim().to_uppercase());
    }
    let path = arguments.folder.join(FILE);
    let shown = path.display();
    let mut file = match OpenOptions::new().write(true).create_new(true).open(&path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            bail!("{shown} is there already; it is left as it is")
        }
        Err(error) => return Err(error).with_context(|| format!("{shown} cannot be written")),
    };
    let head = "# What this project decides once. Every line says the default: keep those that differ.\n\
                # `wimble schema settings` lists all keys, `wimble rules` the packs.\n";
    file.write_all(format!("{head}{}", text(&settings)).as_bytes())
        .with_context(|| format!("{shown} cannot be written"))?;
    writeln!(io::stdout().lock(), "{shown} is written: change what differs in this project.")?;
    Ok(CLEAN)
}

/// Prints what is in force here, as the settings that would say it.
pub(super) fn show(arguments: &args::ShowSettings) -> Result<u8> {
    let beside = [arguments.folder.join("model")];
    let config = arguments.config.as_deref();
    let found = match config {
        Some(path) => Some(path.to_path_buf()),
        None => Some(arguments.folder.join(FILE)).filter(|path| path.is_file()),
    };
    let settings = source::settings(config, &beside.map(PathBuf::from))?;
    let mut out = io::stdout().lock();
    match found {
        Some(path) => writeln!(out, "# In force by {}", path.display())?,
        None => writeln!(out, "# No wimble.toml here: the defaults are in force")?,
    }
    out.write_all(text(&settings).as_bytes())?;
    Ok(CLEAN)
}

/// Settings as text that reads back as the same.
fn text(settings: &Settings) -> String {
    let mut text = String::new();
    let quoted = |word: &str| toml::Value::String(word.to_owned()).to_string();
    let mm = |value: f64| quoted(&format!("{value} mm"));
    let mut line = |written: String| {
        text.push_str(&written);
        text.push('\n');
    };
    line("\n[rules]".into());
    match &settings.choice {
        PackChoice::Named(ids) => {
            let ids: Vec<String> = ids.iter().map(|id| quoted(id)).collect();
            line(format!("packs = [{}]", ids.join(", ")));
        }
        PackChoice::Region(code) => line(format!("region = {}", quoted(code))),
        PackChoice::BySite => line(
            "# region = \"GB\"        # not said: by the models' site, else the United Kingdom is assumed"
                .into(),
        ),
    }
    match settings.rules.domestic {
        Some(true) => line("use = \"domestic\"".into()),
        Some(false) => line("use = \"other\"".into()),
        None => line("# use = \"domestic\"      # not said: domestic is assumed".into()),
    }
    for name in settings.packs.switches() {
        let on = settings.rules.allow.contains(&name);
        line(format!("allow.{name} = {on}"));
    }
    line("\n[cut]".into());
    let lagging = match settings.cross.lagging {
        LaggingMode::Bare => "bare",
        LaggingMode::Wrap => "wrap",
        LaggingMode::Through => "through",
    };
    line(format!("lagging = {}", quoted(lagging)));
    line("\n[cut.clearance]                # on the diameter; a duct's on each way".into());
    for (kind, value) in clearances(&settings.cross.clearance) {
        line(format!("{kind} = {}", mm(value)));
    }
    line("\n[supports]".into());
    let recognise = &settings.recognise;
    line(format!("accept-member-ends = {}", recognise.accept_member_ends));
    line(format!("assume-bearing = {}", recognise.assume_bearing));
    line(format!("least-bearing = {}", mm(recognise.least_bearing_mm)));
    line("\n[model]".into());
    let align = if recognise.align_map { "map" } else { "placement" };
    line(format!("align = {}", quoted(align)));
    line("\n[check]".into());
    let fail_on = match settings.fail_on {
        FailOn::Fail => "fail",
        FailOn::Refer => "refer",
        FailOn::Unknown => "unknown",
        FailOn::Never => "never",
    };
    line(format!("fail-on = {}", quoted(fail_on)));
    let expect: Vec<String> =
        settings.expect.iter().map(|expected: &Expected| quoted(expected.word())).collect();
    line(format!("expect = [{}]", expect.join(", ")));
    line("\n[check.site-tolerance]".into());
    let site = settings.rules.site;
    for (name, value) in
        [("along", site.along_mm), ("level", site.level_mm), ("size", site.size_mm)]
    {
        line(format!("{name} = {}", mm(value)));
    }
    let (maps, stated) = (recognise.mapping.len(), recognise.stated.len());
    if maps + stated > 0 {
        let _ = write!(
            text,
            "\n# and {maps} entries of model.map and model.ignore, {stated} of supports.stated, as the file has them\n"
        );
    }
    text
}

/// Clearances by the words of the settings.
const fn clearances(clearance: &Clearance) -> [(&'static str, f64); 9] {
    [
        ("pipe", clearance.pipe_mm),
        ("pipe-plastic", clearance.pipe_plastic_mm),
        ("waste", clearance.waste_mm),
        ("soil", clearance.soil_mm),
        ("duct", clearance.duct_mm),
        ("cable", clearance.cable_mm),
        ("conduit", clearance.conduit_mm),
        ("carrier", clearance.carrier_mm),
        ("other", clearance.other_mm),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_printed_reads_back_as_the_same() {
        let text_of = |written: &str| {
            let settings = Settings::read("wimble.toml", written, &|_| None).unwrap();
            super::text(&settings)
        };
        let own = "[rules]\nregion = \"US\"\nuse = \"other\"\nallow = { bottom-notch = true }\n\
                   [cut]\nlagging = \"wrap\"\nclearance = { pipe = \"6 mm\", cable = \"1/4 in\" }\n\
                   [supports]\naccept-member-ends = true\n[model]\nalign = \"map\"\n\
                   [check]\nfail-on = \"refer\"\nexpect = [\"gas\"]\nsite-tolerance = { size = \"1 mm\" }\n";
        for written in ["", own, "[rules]\npacks = [\"uk-stud\"]\n"] {
            let once = text_of(written);
            assert_eq!(text_of(&once), once, "{once}");
        }
    }
}
