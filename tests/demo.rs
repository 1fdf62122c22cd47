//! The demo building gives the verdicts of `tests/demo/expected.toml`, cut by cut.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[cfg(test)]
mod support;

use serde::Deserialize;
use std::fs;
use support::report::{Cut, Finding, Member, Report, check};
use support::shared::top;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    cut: Vec<Row>,
    member: Vec<MemberRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    why: String,
    members: Vec<String>,
    services: Vec<String>,
    kind: String,
    verdict: String,
    edge: Option<String>,
    shared: Option<u64>,
    width: Option<f64>,
    height: Option<f64>,
    offset: Option<f64>,
    from: Option<f64>,
    bit: Option<f64>,
    tight: Option<bool>,
    rule: Option<String>,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MemberRow {
    names: Vec<String>,
    kind: Option<String>,
    role: Option<String>,
    section: Option<String>,
    size: Option<[f64; 2]>,
    spans: Option<Vec<f64>>,
}

fn expected() -> Expected {
    let path = top().join("tests/demo/expected.toml");
    let text = fs::read_to_string(path).expect("the table is beside the test");
    toml::from_str(&text).unwrap_or_else(|error| panic!("{error}"))
}

fn report() -> Report {
    let folder = top().join("sample-models");
    let read = |name: &str| {
        let bytes = fs::read(folder.join(name)).expect("the models are committed");
        (name.to_owned(), bytes)
    };
    let settings = fs::read_to_string(folder.join("wimble.toml")).expect("so are the settings");
    check(&[read("structure.ifc"), read("services.ifc")], &settings)
}

#[test]
fn every_cut_of_the_demo_building_is_as_expected() {
    let (expected, report) = (expected(), report());
    let mut left: Vec<&Cut> = report.cuts.iter().collect();
    let (mut rows, mut held, mut wrong) = (0, 0, Vec::new());
    for row in &expected.cut {
        for member in &row.members {
            rows += 1;
            let place = left.iter().position(|cut| {
                report.members[cut.member].name == *member
                    && cut.services == row.services
                    && (cut.services.is_empty() <= (cut.kind == row.kind))
            });
            let problem = match place.map(|at| left.remove(at)) {
                None => Some("no such cut".to_owned()),
                Some(cut) => differs(row, cut, &report.members[cut.member]),
            };
            match problem {
                None => held += 1,
                Some(problem) => {
                    wrong.push(format!(
                        "{member} × {:?}: {problem}\n    ({})",
                        row.services, row.why
                    ));
                }
            }
        }
    }
    for cut in left {
        wrong.push(format!("not expected: {} × {cut:?}", report.members[cut.member].name));
    }
    println!("{held} of {rows} cuts as expected");
    assert!(wrong.is_empty(), "{held} of {rows} as expected\n{}", wrong.join("\n"));
}

fn differs(row: &Row, cut: &Cut, member: &Member) -> Option<String> {
    let said = || {
        let said: Vec<String> = cut
            .findings
            .iter()
            .map(|f| format!("{} {}: {}", f.verdict, f.rule, f.message))
            .collect();
        said.join("; ")
    };
    if cut.kind != row.kind {
        return Some(format!("{} is {} ({:?}..{:?})", row.kind, cut.kind, cut.min, cut.max));
    }
    let same = |what: &str, expected: Option<f64>, actual: Option<f64>| match (expected, actual) {
        (None, _) => None,
        (Some(a), Some(b)) if (a - b).abs() <= 0.06 => None,
        (Some(a), b) => Some(format!("{what} {a} is {b:?}")),
    };
    let figures = same("width", row.width, Some(cut.max[0] - cut.min[0]))
        .or_else(|| same("height", row.height, Some(cut.max[2] - cut.min[2])))
        .or_else(|| same("offset", row.offset, Some(cut.offset)))
        .or_else(|| same("bit", row.bit, Some(cut.bit)))
        .or_else(|| same("from", row.from, cut.from_bearing));
    if figures.is_some() {
        return figures;
    }
    if cut.verdict != row.verdict {
        return Some(format!("{} is {}: {}", row.verdict, cut.verdict, said()));
    }
    if row.edge.as_ref().is_some_and(|edge| *edge != cut.edge) {
        return Some(format!("edge is {}", cut.edge));
    }
    if row.shared.is_some_and(|shared| shared != cut.shared) {
        return Some(format!("shared by {}", cut.shared));
    }
    if row.tight.is_some_and(|tight| tight != cut.tight) {
        return Some(format!("tight is {}", cut.tight));
    }
    let found = |rule: &str, verdict: &str| {
        let says = |finding: &Finding| finding.rule.contains(rule) && finding.verdict == verdict;
        // A note may be about the member, not about its cuts.
        cut.findings.iter().any(says) || (verdict == "pass" && member.findings.iter().any(says))
    };
    if let Some(rule) = row.rule.as_ref().filter(|rule| !found(rule, &row.verdict)) {
        return Some(format!("no {} by {rule}: {}", row.verdict, said()));
    }
    if let Some(note) = row.note.as_ref().filter(|note| !found(note, "pass")) {
        return Some(format!("no note by {note}: {}", said()));
    }
    None
}

#[test]
fn members_of_the_demo_building_are_recognised() {
    let (expected, report) = (expected(), report());
    let mut wrong = Vec::new();
    for row in &expected.member {
        for name in &row.names {
            let Some(member) = report.member(name) else {
                wrong.push(format!("{name} is no member"));
                continue;
            };
            let near = |a: &[f64], b: &[f64]| {
                a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= 0.05)
            };
            let same = row.kind.as_ref().is_none_or(|kind| *kind == member.kind)
                && row.role.as_ref().is_none_or(|role| Some(role) == member.role.as_ref())
                && row.section.as_ref().is_none_or(|section| *section == member.section)
                && row.size.is_none_or(|size| near(&size, &member.size))
                && row.spans.as_ref().is_none_or(|spans| near(spans, &member.spans));
            if !same {
                wrong.push(format!("{name}: {member:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn nothing_of_the_demo_building_is_missing_from_the_coverage() {
    let report = report();
    let unread: Vec<_> = report
        .coverage()
        .into_iter()
        .filter(|(_, status, ..)| matches!(status.as_str(), "unreadable" | "duplicate"))
        .collect();
    assert!(unread.is_empty(), "{unread:?}");
}

#[test]
fn the_committed_models_are_those_that_are_generated() {
    let folder = top().join("sample-models");
    for (name, bytes) in wimble_dev::demo::files() {
        let committed = fs::read(folder.join(name)).expect("committed");
        assert!(committed == bytes, "{name} is stale: `cargo run -p wimble-dev -- demo`");
    }
}
