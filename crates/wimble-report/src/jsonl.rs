//! The rows of the JSON report as JSON Lines: one object a line, each with its `row` first.
//!
//! The rows and their order are those of [`json`](crate::json); the counts come last.

use crate::json::line::Written;
use crate::json::row::{Row, key};
use crate::json::{SCHEMA, from_report as row, straight};
use crate::{Names, Report, Summary};
use serde::Serialize;
use std::io::{self, Write};
use wimble_model::CutIx;

/// A row with the word that says what it is.
#[derive(Serialize)]
struct Line<T> {
    row: &'static str,
    #[serde(flatten)]
    value: T,
}

#[derive(Serialize)]
struct Head {
    schema: &'static str,
    tool: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct Sentence<'a> {
    text: &'a str,
}

/// Writes the rows.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let names = Names::of(report);
    let head = Head { schema: SCHEMA, tool: "wimble", version: env!("CARGO_PKG_VERSION") };
    lines(out, "report", [head])?;
    lines(out, "input", report.inputs.iter().map(row::input))?;
    lines(out, "pack", report.packs.iter().map(row::pack))?;
    lines(out, "issue", [row::issue(&report.issue)])?;
    lines(out, "assumption", report.assumptions.iter().map(|text| Sentence { text }))?;
    let members = names.members.iter().zip(&report.members);
    written(out, "member", members, |row, (id, it)| straight::member(row, report, &names, id, it))?;
    let services = names.services.iter().zip(&report.services);
    written(out, "service", services, |row, (id, it)| straight::service(row, id, it))?;
    let openings = names.openings.iter().zip(&report.openings);
    lines(out, "opening", openings.map(|(id, opening)| row::opening(&names, id, opening)))?;
    let spoken = report.findings_of_cuts();
    let cuts = report.cuts.iter().zip(spoken.iter()).enumerate();
    written(out, "cut", cuts, |row, (at, (it, said))| {
        let places = report.places_of(CutIx::from(at));
        straight::cut(row, report, &names, at, it, said, places)
    })?;
    let findings = report.findings.iter().enumerate();
    written(out, "finding", findings, |row, (at, it)| {
        straight::finding(row, report, &names, at, it)
    })?;
    lines(out, "plan", report.plans.iter().map(|plan| row::plan(&names, plan)))?;
    lines(out, "coverage", report.coverage.iter().map(row::coverage))?;
    lines(out, "warning", report.warnings.iter().map(row::warning))?;
    lines(out, "unanswered", report.unanswered.iter().map(|text| Sentence { text }))?;
    lines(out, "summary", [Summary::of(report)])
}

fn lines(
    out: &mut impl Write,
    row: &'static str,
    values: impl IntoIterator<Item: Serialize>,
) -> io::Result<()> {
    for value in values {
        serde_json::to_writer(&mut *out, &Line { row, value })?;
        out.write_all(b"\n")?;
    }
    Ok(())
}

/// Rows that are written straight.
fn written<T>(
    out: &mut impl Write,
    word: &'static str,
    values: impl IntoIterator<Item = T>,
    write: impl Fn(&mut Row<'_>, T) -> Written,
) -> io::Result<()> {
    let mut line = Vec::new();
    for value in values {
        line.clear();
        Row::append(&mut line, |row| {
            row.text(key!("row"), word);
            write(row, value)
        })?;
        line.push(b'\n');
        out.write_all(&line)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use serde_json::Value;

    #[test]
    fn each_line_is_a_row_that_says_what_it_is() {
        let mut out = Vec::new();
        write(&fixture::report(), &mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        let rows: Vec<Value> =
            text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        let count = |word: &str| rows.iter().filter(|row| row["row"] == word).count();
        assert_eq!((count("member"), count("cut"), count("finding")), (5, 6, 5));
        assert_eq!(rows[0]["schema"], SCHEMA);
        assert_eq!(rows.last().unwrap()["verdicts"]["fail"], 2);
    }

    #[test]
    fn a_row_is_the_row_of_the_json_report() {
        let (mut lines, mut whole) = (Vec::new(), Vec::new());
        write(&fixture::report(), &mut lines).unwrap();
        crate::json::write(&fixture::report(), &mut whole).unwrap();
        let whole: Value = serde_json::from_slice(&whole).unwrap();
        let lines = String::from_utf8(lines).unwrap();
        let cuts = lines.lines().filter(|line| line.starts_with("{\"row\":\"cut\""));
        for (line, cut) in cuts.zip(whole["cuts"].as_array().unwrap()) {
            let mut row: Value = serde_json::from_str(line).unwrap();
            row.as_object_mut().unwrap().remove("row");
            assert_eq!(&row, cut);
        }
    }
}
