//! Streaming: a key at a time, a row a line. Long lists are rendered block by block, several
//! blocks side by side, and written in order: the text is never held whole, and the number of
//! threads does not show in it.

use super::line::{self, Written};
use super::row::Row;
use super::rows::Tool;
use super::{SCHEMA, from_report as row, straight};
use crate::{Names, Report, Summary, Warning};
use compact_str::CompactString;
use rayon::Yield;
use serde::Serialize;
use std::collections::VecDeque;
use std::io::{self, Write};
use std::sync::mpsc::{self, Receiver, TryRecvError};
use wimble_model::CutIx;

/// Rows that are rendered in one piece: their text stays in the nearer caches until it is written.
const BLOCK: usize = 128;
/// About how long a row's text is, bytes.
const ROW: usize = 640;
/// Blocks for each thread that are rendered before they are written.
const AHEAD: usize = 4;

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
    let members = &report.members;
    rows(out, "members", members, |text, at, it| {
        Row::append(text, |row| straight::member(row, report, &names, id(&names.members, at), it))
    })?;
    rows(out, "services", &report.services, |text, at, it| {
        Row::append(text, |row| straight::service(row, id(&names.services, at), it))
    })?;
    rows(out, "openings", &report.openings, |text, at, it| {
        line::write(text, &row::opening(&names, id(&names.openings, at), it))
    })?;
    let spoken = report.findings_of_cuts();
    rows(out, "cuts", &report.cuts, |text, at, it| {
        let places = report.places_of(CutIx::from(at));
        let said = spoken.get(at);
        Row::append(text, |row| straight::cut(row, report, &names, at, it, said, places))
    })?;
    drop(spoken);
    rows(out, "findings", &report.findings, |text, at, it| {
        Row::append(text, |row| straight::finding(row, report, &names, at, it))
    })?;
    if !report.plans.is_empty() {
        rows(out, "plans", &report.plans, |text, _, it| line::write(text, &row::plan(&names, it)))?;
    }
    if !report.free.is_empty() {
        rows(out, "free", &report.free, |text, _, it| line::write(text, &row::free(&names, it)))?;
    }
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

/// Ids are parallel to the rows that they name.
fn id(ids: &[CompactString], at: usize) -> &str {
    ids.get(at).map_or("", CompactString::as_str)
}

/// A long list, rendered side by side and written in order. While a block is written, and perhaps
/// waited for by who reads it, others are rendered, into the memory of those before.
fn rows<'a, T: Sync>(
    out: &mut impl Write,
    name: &str,
    rows: &'a [T],
    row: impl Fn(&mut Vec<u8>, usize, &'a T) -> Written + Sync,
) -> io::Result<()> {
    key(out, name)?;
    out.write_all(b"[")?;
    let render = |mut text: Vec<u8>, (block, rows): (usize, &'a [T])| -> io::Result<Vec<u8>> {
        text.clear();
        for (at, it) in (block * BLOCK..).zip(rows) {
            text.extend_from_slice(if at == 0 { b"\n" } else { b",\n" });
            row(&mut text, at, it)?;
        }
        Ok(text)
    };
    let mut blocks = rows.chunks(BLOCK).enumerate();
    rayon::in_place_scope_fifo(|scope| {
        let spawn = |text: Vec<u8>, block: (usize, &'a [T])| {
            let (done, rendered) = mpsc::sync_channel(1);
            let render = &render;
            // Nobody waits for it any more if writing failed.
            scope.spawn_fifo(move |_| drop(done.send(render(text, block))));
            rendered
        };
        let ahead = AHEAD * rayon::current_num_threads();
        let first = blocks.by_ref().take(ahead);
        let mut coming: VecDeque<_> =
            first.map(|block| spawn(Vec::with_capacity(ROW * block.1.len()), block)).collect();
        while let Some(rendered) = coming.pop_front() {
            let text = wait(&rendered)?;
            out.write_all(&text)?;
            coming.extend(blocks.next().map(|block| spawn(text, block)));
        }
        Ok::<_, io::Error>(())
    })?;
    out.write_all(if rows.is_empty() { b"],\n" } else { b"\n],\n" })
}

/// Waits for a block. One of the threads that render lends a hand meanwhile, since it may be the
/// only one.
fn wait(rendered: &Receiver<io::Result<Vec<u8>>>) -> io::Result<Vec<u8>> {
    loop {
        match rendered.try_recv() {
            Ok(text) => return text,
            Err(TryRecvError::Empty) if rayon::yield_now() == Some(Yield::Executed) => {}
            Err(_) => return rendered.recv().map_err(io::Error::other)?,
        }
    }
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
