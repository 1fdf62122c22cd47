//! SARIF 2.1.0 for code hosts: a result for each finding that is no mere note.
//!
//! A result points at the line of the member's element in its IFC file, names member and storey as
//! logical locations, carries the fingerprint, and is suppressed where it is waived.

use crate::summary_page::markdown;
use crate::{Gone, Names, Report, Since, evidence, say};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{Finding, Verdict};

/// Code hosts keep a hundred locations of a result.
const MOST_RELATED: usize = 50;

/// Writes the log.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &log(report))?;
    out.write_all(b"\n")
}

fn log(report: &Report) -> Value {
    let names = Names::of(report);
    let findings: Vec<(usize, &Finding)> =
        report.findings.iter().enumerate().filter(|(_, f)| f.verdict > Verdict::Pass).collect();
    let rules = rules(report, &findings);
    let index: BTreeMap<&str, usize> = rules.keys().copied().zip(0..).collect();
    let mut results: Vec<Value> =
        findings.iter().map(|(at, finding)| result(report, &names, &index, *at, finding)).collect();
    let gone = report.baseline.iter().flat_map(|baseline| &baseline.gone);
    results.extend(gone.map(|gone| absent(&index, gone)));
    let artifacts: Vec<Value> = report
        .inputs
        .iter()
        .map(|input| {
            json!({
                "location": { "uri": uri(&input.path) },
                "properties": { "blake3": input.blake3, "schema": input.schema },
            })
        })
        .collect();
    let trouble: Vec<Value> = report
        .warnings
        .iter()
        .map(|warning| json!({ "level": "warning", "message": { "text": say::sentence(&warning.text) } }))
        .collect();
    json!({
        "$schema": "https://json.schemastore.org/sarif-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "wimble",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules.values().collect::<Vec<_>>(),
            } },
            "columnKind": "unicodeCodePoints",
            "artifacts": artifacts,
            "invocations": [{
                "executionSuccessful": !report.inputs.iter().any(|input| input.partial),
                "toolExecutionNotifications": trouble,
            }],
            "results": results,
            "properties": {
                "assumptions": report.assumptions,
                "evidence": evidence(report).into_iter()
                    .map(|(title, text)| format!("{title}: {text}")).collect::<Vec<_>>(),
            },
        }],
    })
}

/// The rules of which a finding speaks, by id.
fn rules<'a>(report: &Report, findings: &[(usize, &'a Finding)]) -> BTreeMap<&'a str, Value> {
    let mut rules = BTreeMap::new();
    for (_, finding) in findings {
        rules.entry(&*finding.rule).or_insert_with(|| {
            let (pack, rule) = finding.rule.split_once('/').unwrap_or(("", &finding.rule));
            let in_force = report.packs.iter().find(|p| p.id == pack);
            let title = in_force.map_or(pack, |p| &p.title);
            let words = rule.replace('-', " ");
            let told = report.packs.iter().flat_map(|p| &p.rules).find(|r| *r.id == *finding.rule);
            let what = told.map_or(words.as_str(), |rule| &rule.what);
            let mut lines = vec![("Rule", &*finding.rule), ("Pack", title)];
            match told {
                Some(rule) => {
                    lines.extend(rule.more.iter().map(|(t, text)| (t.as_str(), text.as_str())));
                }
                None => lines.push(("Source", &finding.source)),
            }
            lines.push(("Mind", "A check of geometry against published rules, not a structural design."));
            json!({
                "id": finding.rule,
                "name": rule,
                "shortDescription": { "text": words },
                "fullDescription": { "text": closed(what) },
                "defaultConfiguration": { "level": "error" },
                "help": {
                    "text": help(what, &lines, |t, text| format!("{t}: {text}")),
                    "markdown": help(what, &lines, |t, text| format!("- **{t}**: {}", markdown(text))),
                },
                "properties": { "tags": ["timber", pack] },
            })
        });
    }
    rules
}

/// The rule in full: what it asks, then its reasons and sources a line each.
fn help(what: &str, lines: &[(&str, &str)], line: impl Fn(&str, &str) -> String) -> String {
    let lines = lines.iter().map(|(title, text)| line(title, &closed(text)));
    std::iter::once(closed(what))
        .chain(std::iter::once(String::new()))
        .chain(lines)
        .collect::<Vec<_>>()
        .join("\n")
}

/// A sentence that ends as one.
fn closed(text: &str) -> String {
    let text = say::sentence(text);
    if text.ends_with(['.', '?', '!']) { text } else { format!("{text}.") }
}

/// A finding of the baseline that is no more.
fn absent(index: &BTreeMap<&str, usize>, gone: &Gone) -> Value {
    let mut value = json!({
        "ruleId": gone.rule,
        "kind": "fail",
        "level": if gone.verdict == Verdict::Fail { "error" } else { "warning" },
        "message": { "text": format!("{}: {}", say::plain(&gone.member), say::sentence(&gone.message)) },
        "partialFingerprints": { "elements/v1": gone.fingerprint },
        "suppressions": [],
        "baselineState": "absent",
        "properties": { "verdict": gone.verdict.word() },
    });
    if let (Some(at), Some(object)) = (index.get(gone.rule.as_str()), value.as_object_mut()) {
        object.insert("ruleIndex".into(), (*at).into());
    }
    value
}

fn result(
    report: &Report,
    names: &Names,
    index: &BTreeMap<&str, usize>,
    at: usize,
    finding: &Finding,
) -> Value {
    let mut message = say::sentence(&finding.message);
    if let Some(measured) = say::measured(finding.measured, finding.limit) {
        message = format!("{message} {measured}");
    }
    let next: Vec<String> = finding.remedies.iter().map(|r| say::sentence(&r.text)).collect();
    if !next.is_empty() {
        message = format!("{message} Next: {}", next.join("; or: "));
    }
    let suppressions: Vec<Value> = finding
        .waived
        .iter()
        .map(|why| json!({ "kind": "external", "status": "accepted", "justification": why }))
        .collect();
    let mut value = json!({
        "ruleId": finding.rule,
        "ruleIndex": index.get(&*finding.rule),
        "kind": "fail",
        "level": if finding.verdict == Verdict::Fail { "error" } else { "warning" },
        "message": { "text": message },
        "locations": [location(report, names, finding)],
        "partialFingerprints": {
            "elements/v1": names.fingerprint(at),
            "place/v1": names.place(report, finding),
        },
        "suppressions": suppressions,
        "properties": { "verdict": finding.verdict.word(),
            "cuts": finding.cuts.iter().map(|c| names.cut(*c)).collect::<Vec<_>>() },
    });
    let related = services(report, finding);
    if let Some(object) = value.as_object_mut() {
        if !related.is_empty() {
            object.insert("relatedLocations".into(), related.into());
        }
        if let Some(baseline) = &report.baseline {
            let state = match baseline.of_finding(at) {
                Since::New => "new",
                Since::Worse | Since::Moved => "updated",
                Since::Unchanged => "unchanged",
            };
            object.insert("baselineState".into(), state.into());
        }
    }
    value
}

/// Where the services of a finding stand in their files.
fn services(report: &Report, finding: &Finding) -> Vec<Value> {
    let services = finding.services.iter().filter_map(|ix| {
        let service = report.services.get(ix.at())?;
        let line = report.service_lines.get(ix.at()).copied().flatten()?;
        Some((service, line))
    });
    (1..)
        .zip(services.take(MOST_RELATED))
        .map(|(id, (service, line))| {
            let input = service.element.input;
            let path = report.inputs.get(input as usize).map_or("", |i| &i.path);
            json!({
                "id": id,
                "message": { "text": say::service(service) },
                "physicalLocation": {
                    "artifactLocation": { "uri": uri(path), "index": input },
                    "region": { "startLine": line },
                },
            })
        })
        .collect()
}

fn location(report: &Report, names: &Names, finding: &Finding) -> Value {
    let Some(member) = report.members.get(finding.member.at()) else {
        return json!({});
    };
    let line = report.member_lines.get(finding.member.at()).copied().flatten().unwrap_or(1);
    let input = member.element.input;
    let path = report.inputs.get(input as usize).map_or("", |i| &i.path);
    let storey = say::storey(report, member.storey);
    let name = say::member_name(member);
    json!({
        "physicalLocation": {
            "artifactLocation": { "uri": uri(path), "index": input },
            "region": { "startLine": line },
        },
        "logicalLocations": [{
            "name": name,
            "fullyQualifiedName": format!("{storey}/{}", names.member(finding.member)),
            "kind": "element",
        }],
    })
}

/// A path as a relative reference: what a URI does not allow is percent-encoded.
fn uri(path: &str) -> String {
    let mut uri = String::new();
    for byte in path.replace('\\', "/").bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            uri.push(char::from(byte));
        } else {
            uri.push_str(&format!("%{byte:02X}"));
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn failures_are_errors_and_what_is_open_is_a_warning() {
        let log = log(&fixture::report());
        let results = log["runs"][0]["results"].as_array().unwrap();
        let levels: Vec<_> = results.iter().map(|r| r["level"].as_str().unwrap()).collect();
        assert_eq!(levels, ["error", "error", "warning", "warning"]);
        assert_eq!(log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap().len(), 4);
    }

    #[test]
    fn a_waived_finding_is_suppressed_with_its_reason() {
        let mut report = fixture::report();
        report.findings[0].waived = Some("agreed".into());
        let log = log(&report);
        let first = &log["runs"][0]["results"][0]["suppressions"][0];
        assert_eq!(first["justification"], "agreed");
    }

    #[test]
    fn rules_are_explained_and_services_located() {
        let mut report = fixture::report();
        report.service_lines = vec![Some(812), None, None, Some(99)];
        let log = log(&report);
        let rule = &log["runs"][0]["tool"]["driver"]["rules"][0];
        assert_eq!(rule["id"], "uk-solid-joist/hole-size");
        assert!(rule["help"]["markdown"].as_str().unwrap().contains("- **Why**: wood"));
        let first = &log["runs"][0]["results"][0];
        assert_eq!(first["relatedLocations"][0]["physicalLocation"]["region"]["startLine"], 99);
        let evidence = log["runs"][0]["properties"]["evidence"].as_array().unwrap();
        assert!(evidence.iter().any(|line| line.as_str().unwrap().contains("BLAKE3")));
    }

    #[test]
    fn with_a_baseline_every_result_has_a_state_and_what_is_gone_is_absent() {
        let mut old = Vec::new();
        let mut before = fixture::report();
        before.findings[0].rule = "uk-solid-joist/other".into();
        crate::json::write(&before, &mut old).unwrap();
        let mut report = fixture::report();
        let document = serde_json::from_slice(&old).unwrap();
        report.baseline = Some(crate::Baseline::of(&report, "old.json", &document));
        let log = log(&report);
        let results = log["runs"][0]["results"].as_array().unwrap();
        let states: Vec<&str> =
            results.iter().map(|r| r["baselineState"].as_str().unwrap()).collect();
        assert_eq!(states, ["new", "unchanged", "unchanged", "unchanged", "absent"]);
    }

    #[test]
    fn paths_become_references() {
        assert_eq!(uri("a b\\c.ifc"), "a%20b/c.ifc");
        assert_eq!(uri("Gebäude.ifc"), "Geb%C3%A4ude.ifc");
    }

    /// The official schema, `../shared/standards/sarif`.
    #[test]
    fn the_log_is_valid_against_the_official_schema() {
        let Some(shared) = crate::fixture::shared("sarif") else { return };
        let text = std::fs::read(shared.join("standards/sarif/sarif-schema-2.1.0.json")).unwrap();
        let schema: Value = serde_json::from_slice(&text).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        let faults = |value: &Value| -> Vec<String> {
            validator.iter_errors(value).map(|e| format!("{e} at {}", e.instance_path())).collect()
        };
        let good = log(&fixture::report());
        assert_eq!(faults(&good), Vec::<String>::new());
        assert_eq!(faults(&log(&Report::default())), Vec::<String>::new());
        let mut bad = good;
        bad["runs"][0]["results"][0]["level"] = "fatal".into();
        assert!(!faults(&bad).is_empty());
    }
}
