//! JUnit XML for the test pages of build servers: a suite for each storey, a case for each cut.
//!
//! A cut that fails is a failure; `refer` and `unknown` are skipped with their reason, since they
//! are no permission but no broken rule either (the exit code says what a gate makes of them).
//! What could not be read is skipped in a suite of its own. Layout: the de-facto schema of the
//! widest used build server.

use crate::{Names, Report, evidence, say};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{CoverageStatus, Finding, Verdict};

/// How a case ended.
struct Case {
    class: String,
    name: String,
    outcome: Outcome,
}

enum Outcome {
    Pass,
    Failure { rule: String, message: String, body: String },
    Skipped { message: String },
}

/// Writes the suites.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let mut xml = Writer::new_with_indent(out, b' ', 1);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let evidence = evidence(report);
    let mut suites = storeys(report);
    suites.push(("Elements that were not checked".into(), not_checked(report)));
    xml.create_element("testsuites").write_inner_content(|xml| {
        for (name, cases) in suites.iter().filter(|(_, cases)| !cases.is_empty()) {
            suite(xml, name, cases, &evidence)?;
        }
        Ok(())
    })?;
    xml.into_inner().write_all(b"\n")
}

fn suite<W: Write>(
    xml: &mut Writer<W>,
    name: &str,
    cases: &[Case],
    evidence: &[(&str, String)],
) -> io::Result<()> {
    let count = |wanted: fn(&Outcome) -> bool| {
        cases.iter().filter(|case| wanted(&case.outcome)).count().to_string()
    };
    xml.create_element("testsuite")
        .with_attribute(("name", name))
        .with_attribute(("tests", cases.len().to_string().as_str()))
        .with_attribute(("failures", count(|o| matches!(o, Outcome::Failure { .. })).as_str()))
        .with_attribute(("errors", "0"))
        .with_attribute(("skipped", count(|o| matches!(o, Outcome::Skipped { .. })).as_str()))
        .write_inner_content(|xml| {
            xml.create_element("properties").write_inner_content(|xml| {
                for (name, value) in evidence {
                    xml.create_element("property")
                        .with_attribute(("name", *name))
                        .with_attribute(("value", value.as_str()))
                        .write_empty()?;
                }
                Ok(())
            })?;
            for case in cases {
                write_case(xml, case)?;
            }
            Ok(())
        })?;
    Ok(())
}

fn write_case<W: Write>(xml: &mut Writer<W>, case: &Case) -> io::Result<()> {
    let element = xml
        .create_element("testcase")
        .with_attribute(("classname", case.class.as_str()))
        .with_attribute(("name", case.name.as_str()));
    match &case.outcome {
        Outcome::Pass => element.write_empty()?,
        Outcome::Failure { rule, message, body } => element.write_inner_content(|xml| {
            xml.create_element("failure")
                .with_attribute(("type", rule.as_str()))
                .with_attribute(("message", message.as_str()))
                .write_text_content(BytesText::new(body))?;
            Ok(())
        })?,
        Outcome::Skipped { message } => element.write_inner_content(|xml| {
            xml.create_element("skipped")
                .with_attribute(("message", message.as_str()))
                .write_empty()?;
            Ok(())
        })?,
    };
    Ok(())
}

/// Suites in the order of storeys; what is on none comes last.
fn storeys(report: &Report) -> Vec<(String, Vec<Case>)> {
    let names = Names::of(report);
    let spoken = report.findings_of_cuts();
    let mut suites: BTreeMap<(bool, Option<u32>), Vec<Case>> = BTreeMap::new();
    for ((cut, id), spoken) in report.cuts.iter().zip(&names.cuts).zip(spoken.iter()) {
        let Some(member) = report.members.get(cut.member.at()) else { continue };
        let findings: Vec<&Finding> =
            spoken.iter().filter_map(|at| report.findings.get(*at)).collect();
        let storey = say::storey(report, member.storey);
        let case = Case {
            class: format!("{storey}.{}", say::member_name(member).replace('.', "_")),
            // The id keeps names apart: of equal ones only the first would be shown.
            name: format!("{}, {} [{id}]", say::cut(cut), say::place(member, cut)),
            outcome: outcome(cut.verdict, &findings),
        };
        suites.entry((member.storey.is_none(), member.storey)).or_default().push(case);
    }
    suites.into_iter().map(|((_, at), cases)| (say::storey(report, at), cases)).collect()
}

fn outcome(verdict: Verdict, findings: &[&Finding]) -> Outcome {
    let open: Vec<&&Finding> =
        findings.iter().filter(|f| f.verdict > Verdict::Pass && f.waived.is_none()).collect();
    let all_waived = open.is_empty() && findings.iter().any(|f| f.waived.is_some());
    if verdict == Verdict::Pass || all_waived {
        return Outcome::Pass;
    }
    let worst = open.iter().max_by_key(|f| f.verdict);
    let message = worst.map_or_else(String::new, |f| say::sentence(&f.message));
    if verdict != Verdict::Fail {
        return Outcome::Skipped { message: format!("{}: {message}", verdict.word()) };
    }
    let lines: Vec<String> = open
        .iter()
        .map(|f| {
            let next: Vec<String> = f.remedies.iter().map(|r| say::sentence(&r.text)).collect();
            let measured = say::measured(f.measured, f.limit).unwrap_or_default();
            format!(
                "{} {}\n{measured}\nSource: {}\nNext: {}\n",
                f.verdict.word(),
                say::sentence(&f.message),
                say::sentence(&f.source),
                next.join("; or: ")
            )
        })
        .collect();
    Outcome::Failure {
        rule: worst.map(|f| f.rule.to_string()).unwrap_or_default(),
        message,
        body: lines.join("\n"),
    }
}

fn not_checked(report: &Report) -> Vec<Case> {
    let unread = report
        .coverage
        .iter()
        .filter(|row| matches!(row.status, CoverageStatus::Unreadable | CoverageStatus::LayerOnly));
    unread
        .map(|row| Case {
            class: say::plain(&row.class),
            name: format!("{} {}: {}", row.count, say::plain(&row.class), say::plain(&row.reason)),
            outcome: Outcome::Skipped { message: row.status.word().into() },
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    fn text(report: &Report) -> String {
        let mut out = Vec::new();
        write(report, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn cuts_are_cases_in_suites_by_storey() {
        insta::assert_snapshot!(text(&fixture::report()));
    }

    #[test]
    fn a_waived_failure_is_no_failure() {
        let mut report = fixture::report();
        for finding in &mut report.findings {
            finding.waived = Some("agreed by the engineer".into());
        }
        assert!(!text(&report).contains("<failure"));
    }

    #[test]
    fn names_cannot_break_the_markup() {
        let mut report = fixture::report();
        report.members[0].element.name = Some("\"><evil a=\"\u{0}\u{8}&".into());
        let text = text(&report);
        assert!(!text.contains("<evil"), "{text}");
        assert!(!text.contains('\u{0}') && !text.contains('\u{8}'));
    }
}
