//! The record as a page to print, sign and keep: no scripts, nothing fetched.

use super::rows::{self, CutRow, MemberRow, Record};
use crate::Report;
use crate::drawing::{elevation, escape};
use std::io::{self, Write};
use wimble_model::Verdict;

/// Writes the record as a page.
///
/// # Errors
/// If it cannot be written.
pub fn html<W: Write>(report: &Report, out: &mut W) -> io::Result<()> {
    let record = rows::of(report);
    writeln!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>Record of cuts in timber members</title>\n<style>{STYLE}</style>\n</head>\n<body>"
    )?;
    writeln!(out, "<h1>Record of cuts in timber members</h1>")?;
    writeln!(out, "<p class=\"answer\">{}</p>", escape(&record.answer))?;
    head(&record, out)?;
    for member in &record.members {
        member_page(report, member, out)?;
    }
    list("Assumed", &record.assumptions, out)?;
    list("Not checked", &record.not_checked, out)?;
    list("Bear in mind", &record.cautions, out)?;
    signatures(&record, out)?;
    writeln!(out, "</body>\n</html>")
}

/// Ink on paper, as the drawings have it.
const STYLE: &str = "body{font-family:system-ui,sans-serif;font-variant-numeric:tabular-nums;\
color:#1F2A33;background:#FBF8F1;max-width:60rem;margin:1.5rem auto;padding:0 1rem;line-height:1.45}\
h1{font-size:1.4rem}h2{font-size:1.1rem;border-top:2px solid #1F2A33;padding-top:.6rem;margin-top:1.8rem}\
h3{font-size:1rem;margin-bottom:.2rem}.answer{font-weight:600;font-size:1.1rem}\
table{border-collapse:collapse;width:100%}td,th{border:1px solid #1F2A33;padding:.3rem .5rem;\
text-align:left;vertical-align:top}th{font-weight:600}svg{max-width:100%;height:auto}\
.fail{color:#B3401F;font-weight:600}.refer{color:#8A6D00;font-weight:600}\
.unknown{color:#6B6B6B;font-weight:600}.pass{font-weight:600}\
.sign td{height:2.4rem;width:25%}.hash{word-break:break-all;font-size:.8rem}\
@media print{body{background:#fff;margin:0;max-width:none}section{break-inside:avoid}}";

fn head<W: Write>(record: &Record, out: &mut W) -> io::Result<()> {
    writeln!(out, "<table>")?;
    let mut row =
        |name: &str, text: &str| writeln!(out, "<tr><th>{name}</th><td>{}</td></tr>", escape(text));
    if let Some(measured) = &record.measured {
        row("Measured by", &measured.by)?;
        row("On", &measured.on)?;
        row("With", &measured.with)?;
        row(
            "To within",
            &format!(
                "± {} mm along, ± {} mm in level, ± {} mm in size",
                measured.along_mm, measured.level_mm, measured.size_mm
            ),
        )?;
    } else {
        row("Measured", "no: these are planned cuts")?;
    }
    row("Rules", &record.packs.join("; "))?;
    for file in &record.files {
        row("From", &format!("{} (BLAKE3 {})", file.path, file.blake3))?;
    }
    writeln!(out, "</table>")
}

fn member_page<W: Write>(report: &Report, member: &MemberRow, out: &mut W) -> io::Result<()> {
    writeln!(out, "<section>\n<h2>{} · {}</h2>", escape(&member.name), escape(&member.facts))?;
    if let Some(drawing) = elevation(report, member.ix) {
        writeln!(out, "{}", drawing.svg())?;
    }
    writeln!(
        out,
        "<table>\n<tr><th>No</th><th>Cut</th><th>Where</th><th>Verdict</th><th>Measured, limit, rule and source</th></tr>"
    )?;
    for cut in &member.cuts {
        cut_line(cut, out)?;
    }
    writeln!(out, "</table>")?;
    list("Allowed in this member", &member.allowed, out)?;
    list("Remarks", &member.remarks, out)?;
    writeln!(out, "</section>")
}

fn cut_line<W: Write>(cut: &CutRow, out: &mut W) -> io::Result<()> {
    let mut what = escape(&cut.what);
    if !cut.through.is_empty() {
        what = format!("{what}<br>{}", escape(&cut.through));
    }
    let mut said: Vec<String> = cut
        .said
        .iter()
        .map(|said| {
            let figures = said.figures.as_ref().map(|f| format!("{f}. ")).unwrap_or_default();
            format!(
                "<b>{}</b> {}{} <i>{}</i>",
                escape(&said.rule),
                escape(&figures),
                escape(&said.message),
                escape(&said.source)
            )
        })
        .collect();
    if cut.verdict == Verdict::Pass
        && let Some(margin) = cut.margin_mm
    {
        said.push(format!("{margin} mm to spare"));
    }
    said.extend(cut.fit.iter().map(|fit| format!("Fit: {}", escape(fit))));
    let word = cut.verdict.word();
    writeln!(
        out,
        "<tr><td>{}</td><td>{what}</td><td>{}</td><td class=\"{word}\">{word}</td><td>{}</td></tr>",
        cut.number,
        escape(&cut.place),
        said.join("<br>")
    )
}

fn list<W: Write>(title: &str, lines: &[impl AsRef<str>], out: &mut W) -> io::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    writeln!(out, "<h3>{title}</h3>\n<ul>")?;
    for line in lines {
        writeln!(out, "<li>{}</li>", escape(line.as_ref()))?;
    }
    writeln!(out, "</ul>")
}

fn signatures<W: Write>(record: &Record, out: &mut W) -> io::Result<()> {
    let by = record.measured.as_ref().map(|m| escape(&m.by)).unwrap_or_default();
    writeln!(out, "<h2>Signed</h2>\n<table class=\"sign\">")?;
    writeln!(out, "<tr><th></th><th>Name</th><th>Date</th><th>Signature</th></tr>")?;
    for (role, name) in
        [("Measured by", by.as_str()), ("Cut by", ""), ("Checked by", ""), ("Accepted by", "")]
    {
        writeln!(out, "<tr><th>{role}</th><td>{name}</td><td></td><td></td></tr>")?;
    }
    writeln!(out, "</table>")
}
