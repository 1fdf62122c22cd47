//! `wimble inspect`.

use super::check::{settings, with_models};
use super::{CLEAN, screen};
use crate::Settings;
use crate::args::{self, Format};
use crate::check::inspect_with;
use anyhow::Result;
use std::io::{self, BufWriter, Write};
use wimble_report::{json, terminal};

pub(super) fn run(arguments: &args::Inspect) -> Result<u8> {
    let settings = Settings { lines: false, ..settings(&arguments.models)? };
    let report = with_models(&arguments.models, |inputs, stage| {
        Ok(inspect_with(inputs, &settings, stage)?)
    })?;
    let mut out = BufWriter::new(io::stdout().lock());
    match arguments.models.format {
        Format::Json => json::write(&report, &mut out)?,
        Format::Terminal => {
            terminal::inspect(&report, screen::page(arguments.models.all), &mut out)?;
        }
    }
    out.flush()?;
    Ok(CLEAN)
}
