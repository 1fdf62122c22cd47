//! `wimble compare`.

use super::{CLEAN, FINDINGS};
use crate::args::{self, Format};
use anyhow::{Context, Result, bail};
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use wimble_report::compare::Comparison;
use wimble_report::json::{Document, SCHEMA};

pub(super) fn run(arguments: &args::Compare) -> Result<u8> {
    let (old, new) = (text(&arguments.old)?, text(&arguments.new)?);
    let old = document(&arguments.old, &old)?;
    let new = document(&arguments.new, &new)?;
    let comparison = Comparison::of(&old, &new);
    let mut out = BufWriter::new(io::stdout().lock());
    match arguments.format {
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &comparison).map_err(io::Error::from)?;
            writeln!(out)?;
        }
        Format::Terminal => comparison.write(&mut out)?,
    }
    out.flush()?;
    let fail_on = arguments.fail_on.unwrap_or_default();
    Ok(if fail_on.reached_by(comparison.worst_new()) { FINDINGS } else { CLEAN })
}

/// The text of a JSON report.
pub(super) fn text(path: &Path) -> Result<String> {
    let shown = path.display();
    match fs::read(path) {
        Ok(bytes) => String::from_utf8(bytes)
            .map_err(|_| anyhow::anyhow!("{shown}: this is not UTF-8 text, so no JSON report")),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            bail!("{shown}: there is no such report; `wimble check … -o {shown}` writes one")
        }
        Err(error) => Err(error).with_context(|| format!("{shown} cannot be read")),
    }
}

/// Reads a JSON report back.
pub(super) fn document<'a>(path: &Path, text: &'a str) -> Result<Document<'a>> {
    let shown = path.display();
    let document: Document<'a> = serde_json::from_str(text).with_context(|| {
        format!("{shown}: this is no JSON report of `wimble check` (--format json, -o FILE.json)")
    })?;
    if document.schema != SCHEMA {
        bail!("{shown}: the report is `{}`, this program reads `{SCHEMA}`", document.schema);
    }
    Ok(document)
}
