//! A table for a spreadsheet: a row for each cut, and for each finding about a member alone.

use crate::{Names, Report, evidence_line, say};
use std::io::{self, Write};
use wimble_model::{Cut, Finding, Member, Verdict};

const COLUMNS: [&str; 28] = [
    "verdict",
    "storey",
    "member",
    "member_id",
    "kind",
    "section",
    "material",
    "span_mm",
    "cut",
    "cut_kind",
    "edge",
    "services",
    "service_ids",
    "place",
    "from_bearing_mm",
    "width_mm",
    "height_mm",
    "offset_mm",
    "bit_mm",
    "margin_mm",
    "tight",
    "rules",
    "says",
    "sources",
    "next",
    "obligations",
    "waived",
    "evidence",
];

/// Writes the table: UTF-8 with a byte order mark, so that spreadsheets read names as they are.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let names = Names::of(report);
    out.write_all("\u{feff}".as_bytes())?;
    let mut table = csv::Writer::from_writer(out);
    table.write_record(COLUMNS).map_err(plain_error)?;
    let spoken = report.findings_of_cuts();
    let evidence = evidence_line(report);
    for ((cut, id), spoken) in report.cuts.iter().zip(&names.cuts).zip(spoken.iter()) {
        let findings: Vec<&Finding> =
            spoken.iter().filter_map(|at| report.findings.get(*at)).collect();
        let Some(member) = report.members.get(cut.member.at()) else { continue };
        let member_id = names.member(cut.member);
        let mut row = of_member(report, cut.verdict, member, member_id);
        row.extend(of_cut(report, &names, member, id, cut));
        row.extend(of_findings(&findings));
        row.push(cut.obligations.iter().map(|o| o.text.as_str()).collect::<Vec<_>>().join("; "));
        row.push(waived(&findings));
        row.push(evidence.clone());
        table.write_record(row.iter().map(|cell| harmless(cell))).map_err(plain_error)?;
    }
    for finding in report.findings.iter().filter(|finding| finding.cuts.is_empty()) {
        let Some(member) = report.members.get(finding.member.at()) else { continue };
        let mut row = of_member(report, finding.verdict, member, names.member(finding.member));
        row.extend(vec![String::new(); 13]);
        row.extend(of_findings(&[finding]));
        row.push(String::new());
        row.push(waived(&[finding]));
        row.push(evidence.clone());
        table.write_record(row.iter().map(|cell| harmless(cell))).map_err(plain_error)?;
    }
    table.flush()
}

fn of_member(report: &Report, verdict: Verdict, member: &Member, id: &str) -> Vec<String> {
    let span = match member.spans.as_slice() {
        [one] => figure(one.length_mm()),
        _ => String::new(),
    };
    vec![
        verdict.word().into(),
        say::storey(report, member.storey),
        say::member_name(member),
        id.into(),
        say::member_kind(member),
        say::section(member.section),
        member.material.as_deref().unwrap_or_default().to_owned(),
        span,
    ]
}

fn of_cut(report: &Report, names: &Names, member: &Member, id: &str, cut: &Cut) -> Vec<String> {
    let services: Vec<String> =
        cut.services.iter().filter_map(|s| report.services.get(s.at())).map(say::service).collect();
    let ids: Vec<&str> = cut.services.iter().map(|s| names.service(*s)).collect();
    vec![
        id.into(),
        cut.kind.word().into(),
        match cut.edge {
            wimble_model::Edge::Top => "top",
            wimble_model::Edge::Bottom => "bottom",
            wimble_model::Edge::Full => "full",
            wimble_model::Edge::None => "none",
        }
        .into(),
        services.join("; "),
        ids.join("; "),
        say::place(member, cut),
        cut.from_bearing_mm(member).map(figure).unwrap_or_default(),
        figure(cut.width_mm()),
        figure(cut.height_mm()),
        figure(cut.offset_mm()),
        figure(cut.bit_mm),
        cut.margin_mm.map(figure).unwrap_or_default(),
        if cut.tight { "tight" } else { "" }.into(),
    ]
}

/// Rules, what they say, sources, what next; each once.
fn of_findings(findings: &[&Finding]) -> Vec<String> {
    let once = |texts: Vec<String>| {
        let mut kept: Vec<String> = Vec::new();
        for text in texts {
            if !text.is_empty() && !kept.contains(&text) {
                kept.push(text);
            }
        }
        kept.join(" / ")
    };
    let next = findings.iter().flat_map(|f| f.remedies.iter()).map(|r| r.text.clone()).collect();
    vec![
        once(findings.iter().map(|f| f.rule.to_string()).collect()),
        once(findings.iter().map(|f| f.message.to_string()).collect()),
        once(findings.iter().map(|f| f.source.to_string()).collect()),
        once(next),
    ]
}

fn waived(findings: &[&Finding]) -> String {
    let texts: Vec<&str> = findings.iter().filter_map(|f| f.waived.as_deref()).collect();
    texts.join("; ")
}

/// A figure as the JSON report rounds it; nothing if it could not be worked out.
fn figure(value: f64) -> String {
    if value.is_finite() { crate::Number::mm(value).get().to_string() } else { String::new() }
}

/// A cell that no spreadsheet takes for a formula. Figures of ours may begin with a minus.
pub(crate) fn harmless(cell: &str) -> String {
    let clean = say::sentence(cell);
    let formula = clean.starts_with(['=', '+', '-', '@']) && clean.parse::<f64>().is_err();
    if formula { format!("'{clean}") } else { clean }
}

/// A failing writer keeps its own kind of error.
pub(crate) fn plain_error(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    fn rows(report: &Report) -> Vec<csv::StringRecord> {
        let mut out = Vec::new();
        write(report, &mut out).unwrap();
        let text = out.strip_prefix("\u{feff}".as_bytes()).unwrap();
        csv::Reader::from_reader(text).records().map(Result::unwrap).collect()
    }

    #[test]
    fn every_cut_is_a_row_with_every_column() {
        let rows = rows(&fixture::report());
        assert_eq!(rows.len(), 6);
        assert!(rows.iter().all(|row| row.len() == COLUMNS.len()));
        assert_eq!((&rows[0][0], &rows[0][2], &rows[0][14]), ("pass", "J1", "1089"));
        assert_eq!(&rows[1][21], "uk-solid-joist/hole-size");
    }

    #[test]
    fn a_finding_about_a_member_alone_is_a_row() {
        let mut report = fixture::report();
        report.findings[0].cuts.clear();
        let rows = rows(&report);
        assert_eq!(rows.len(), 7);
        assert!(rows.iter().all(|row| row.len() == COLUMNS.len()));
    }

    #[test]
    fn no_name_is_taken_for_a_formula() {
        assert_eq!(harmless("=1+1"), "'=1+1");
        assert_eq!(harmless("@SUM(A1)"), "'@SUM(A1)");
        assert_eq!(harmless("\t=1"), "'=1");
        assert_eq!(harmless("-77.5"), "-77.5");
        assert_eq!(harmless("J1"), "J1");
    }
}
