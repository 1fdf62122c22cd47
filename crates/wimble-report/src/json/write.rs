//! Streaming: a key at a time, a row a line.

use super::{SCHEMA, from_report as row, rows::Tool};
use crate::{Names, Report, Summary, Warning};
use serde::Serialize;
use std::io::{self, Write};

/// Writes the report. The text is the same for the same report, byte for byte.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let names = Names::of(report);
    let tool = Tool { name: "wimble".into(), version: env!("CARGO_PKG_VERSION").into() };

    out.write_all(b"{\n")?;
    value(out, "schema", &SCHEMA)?;
    value(out, "tool", &tool)?;
    list(out, "inputs", report.inputs.iter().map(row::input))?;
    list(out, "packs", report.packs.iter().map(row::pack))?;
    value(out, "issue", &row::issue(&report.issue))?;
    list(out, "assumptions", &report.assumptions)?;
    let members = names.members.iter().zip(&report.members);
    list(out, "members", members.map(|(id, member)| row::member(report, &names, id, member)))?;
    let services = names.services.iter().zip(&report.services);
    list(out, "services", services.map(|(id, service)| row::service(id, service)))?;
    let openings = names.openings.iter().zip(&report.openings);
    list(out, "openings", openings.map(|(id, opening)| row::opening(&names, id, opening)))?;
    let spoken = report.findings_of_cuts();
    let cuts = names.cuts.iter().zip(&report.cuts).zip(&spoken);
    list(out, "cuts", cuts.map(|((id, cut), findings)| row::cut(&names, id, cut, findings)))?;
    let findings = report.findings.iter().enumerate();
    list(out, "findings", findings.map(|(at, finding)| row::finding(&names, at, finding)))?;
    list(out, "coverage", report.coverage.iter().map(row::coverage))?;
    let missing: Vec<Warning> = report
        .unanswered
        .iter()
        .cloned()
        .chain(report.figures_missing())
        .map(|text| Warning { input: None, line: None, text })
        .collect();
    list(out, "warnings", report.warnings.iter().chain(&missing).map(row::warning))?;
    key(out, "summary")?;
    json(out, &Summary::of(report))?;
    out.write_all(b"\n}\n")
}

fn key(out: &mut impl Write, key: &str) -> io::Result<()> {
    write!(out, "\"{key}\": ")
}

fn value(out: &mut impl Write, name: &str, value: &impl Serialize) -> io::Result<()> {
    key(out, name)?;
    json(out, value)?;
    out.write_all(b",\n")
}

fn list(
    out: &mut impl Write,
    name: &str,
    rows: impl IntoIterator<Item: Serialize>,
) -> io::Result<()> {
    key(out, name)?;
    out.write_all(b"[")?;
    let mut first = true;
    for row in rows {
        out.write_all(if first { b"\n" } else { b",\n" })?;
        first = false;
        json(out, &row)?;
    }
    out.write_all(if first { b"],\n" } else { b"\n],\n" })
}

/// A failing writer keeps its own kind of error (a broken pipe must be seen as one).
fn json(out: &mut impl Write, value: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(out, value).map_err(io::Error::from)
}
