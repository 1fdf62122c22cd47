//! The sample building and its remedies: every run that fails has a shift, another remedy or a
//! reason why none serves; and the model with the runs shifted is read by the reference toolkit and
//! by us, differs in nothing but those placements, and checks as clean as shifts can make it.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[path = "support/shared.rs"]
mod shared;

use serde_json::Value;
use shared::top;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::{Command, Output};
use wimble::{Input, LookFor, Settings};

/// Placements may lie this far from where they are said to be moved to, metres.
const NEAR: f64 = 1e-6;

fn wimble(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wimble")).args(arguments).output().unwrap()
}

/// The JSON report of the sample with these services, and what is said on standard error.
fn check(services: &str, more: &[&str]) -> (Value, String) {
    let sample = |name: &str| top().join("sample-models").join(name).display().to_string();
    let (structure, settings) = (sample("structure.ifc"), sample("wimble.toml"));
    let mut arguments = vec!["check", &structure, services, "--config", &settings];
    arguments.extend(["--format", "json"]);
    arguments.extend(more);
    let output = wimble(&arguments);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{said}");
    (serde_json::from_slice(&output.stdout).unwrap(), said)
}

fn sample_services() -> String {
    top().join("sample-models/services.ifc").display().to_string()
}

fn rows<'a>(row: &'a Value, key: &str) -> &'a [Value] {
    row[key].as_array().map_or(&[], Vec::as_slice)
}

fn text<'a>(row: &'a Value, key: &str) -> &'a str {
    row[key].as_str().unwrap_or_default()
}

fn names<'a>(row: &'a Value, key: &str) -> BTreeSet<&'a str> {
    rows(row, key).iter().filter_map(Value::as_str).collect()
}

/// Cuts of services that fail.
fn failing(report: &Value) -> Vec<&Value> {
    let fails = |cut: &&Value| text(cut, "verdict") == "fail" && !names(cut, "services").is_empty();
    rows(report, "cuts").iter().filter(fails).collect()
}

#[test]
fn every_failing_run_of_the_sample_has_a_remedy_or_a_reason_why_none_serves() {
    let (report, _) = check(&sample_services(), &[]);
    let mut seen = BTreeMap::new();
    for cut in failing(&report) {
        let services = names(cut, "services");
        let plan = rows(&report, "plans")
            .iter()
            .find(|plan| !names(plan, "services").is_disjoint(&services));
        let member = text(cut, "member");
        let Some(plan) = plan else {
            panic!("{services:?} in {member}: neither a shift nor a reason why there is none")
        };
        let moves = !rows(plan, "moves").is_empty();
        if !moves {
            // Which members prevent it is named, and that nothing was left unasked.
            let said = text(plan, "text");
            assert!(said.starts_with("No shift of the run of "), "{said}");
            assert!(said.contains("allow") && said.ends_with('.'), "{said}");
            assert_eq!(plan["least"], true, "not all was ruled out: {said}");
        }
        *seen.entry(moves).or_insert(0) += 1;
    }
    assert!(seen[&true] > 10 && seen[&false] > 0, "{seen:?}");
    // Its members have a place for this one; the reason names what is in the way there.
    let of_cable = |plan: &&Value| text(plan, "text").contains("“porch end cable”");
    let said = text(rows(&report, "plans").iter().find(of_cable).unwrap(), "text");
    assert!(said.contains("it would go through FR-5 too"), "{said}");
    // And each finding has a next step that does not only send away.
    for finding in rows(&report, "findings") {
        let fails = matches!(text(finding, "verdict"), "fail" | "refer");
        if fails && !names(finding, "services").is_empty() {
            let steps: Vec<&str> =
                rows(finding, "remedies").iter().map(|r| text(r, "text")).collect();
            assert!(steps.iter().any(|s| !s.starts_with("Ask the engineer")), "{finding}");
        }
    }
}

/// Placements as the reference toolkit reads them.
fn placements(model: &Path) -> BTreeMap<String, Vec<f64>> {
    let python = top().join(".venv/bin/python");
    assert!(python.is_file(), "the reference toolkit is missing: run tests/reference/setup.sh");
    let output = Command::new(python)
        .arg(top().join("tests/moved/placements.py"))
        .arg(model)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn the_moved_model_differs_in_placements_alone_and_checks_as_clean_as_shifts_can_make_it() {
    let folder = tempfile::tempdir().unwrap();
    let moved = folder.path().join("moved.ifc");
    let path = moved.display().to_string();
    let (before, said) = check(&sample_services(), &["--apply-remedies", &path]);
    assert!(said.contains("moved.ifc: ") && said.contains("checked again: "), "{said}");

    // The reference toolkit reads it; what is moved is moved straight, and nothing else is.
    let (was, now) = (placements(Path::new(&sample_services())), placements(&moved));
    assert_eq!(was.keys().collect::<Vec<_>>(), now.keys().collect::<Vec<_>>());
    let differ =
        |a: &[f64], b: &[f64], at: &[usize]| at.iter().any(|n| (a[*n] - b[*n]).abs() > NEAR);
    let turned = [0, 1, 2, 4, 5, 6, 8, 9, 10];
    assert!(was.iter().all(|(guid, a)| !differ(a, &now[guid], &turned)), "something was turned");
    let shifted: BTreeSet<&str> = was
        .iter()
        .filter(|(guid, a)| differ(a, &now[*guid], &[3, 7, 11]))
        .map(|(guid, _)| guid.as_str())
        .collect();
    assert!(shifted.len() > 10, "{shifted:?}");

    // Byte for byte but for records of placements: every record that was there and is no placement
    // stands as it was.
    let (old, new) = (std::fs::read(sample_services()).unwrap(), std::fs::read(&moved).unwrap());
    let lines = |bytes: &[u8]| -> Vec<String> {
        String::from_utf8_lossy(bytes).lines().map(str::to_owned).collect()
    };
    let there: BTreeSet<String> = lines(&new).into_iter().collect();
    for line in lines(&old).iter().filter(|line| !there.contains(*line)) {
        assert!(line.contains("IFCLOCALPLACEMENT"), "changed: {line}");
    }

    // No cut is worse than it was.
    let (after, _) = check(&path, &[]);
    let worst = |report: &Value| {
        let mut worst: BTreeMap<(String, String), usize> = BTreeMap::new();
        for cut in rows(report, "cuts") {
            let rank = ["pass", "unknown", "refer", "fail"];
            let rank = rank.iter().position(|v| *v == text(cut, "verdict")).unwrap();
            for service in names(cut, "services") {
                let of = (text(cut, "member").to_owned(), service.to_owned());
                let most = worst.entry(of).or_default();
                *most = rank.max(*most);
            }
        }
        worst
    };
    let (was, now) = (worst(&before), worst(&after));
    for (place, rank) in &now {
        assert!(rank <= was.get(place).unwrap_or(&0), "worse: {place:?}");
    }

    // What was moved fails nowhere any more, and of what still fails it is proved that no shift
    // serves: placements can make it no cleaner (`docs/remedies.md`).
    let left = failing(&after);
    assert!(!left.is_empty() && left.len() * 4 < failing(&before).len());
    let mut left_of = BTreeSet::new();
    for cut in left {
        let (services, member) = (names(cut, "services"), text(cut, "member"));
        assert!(services.is_disjoint(&shifted), "moved, and fails: {services:?} in {member}");
        let plan = rows(&after, "plans")
            .iter()
            .find(|plan| !names(plan, "services").is_disjoint(&services))
            .unwrap_or_else(|| panic!("{services:?} in {member}: nothing is said of its run"));
        let said = text(plan, "text");
        assert!(rows(plan, "moves").is_empty(), "a shift was left undone: {said}");
        assert_eq!(plan["least"], true, "a shift was not ruled out: {said}");
        left_of.extend(services);
    }
    let called: BTreeSet<&str> = rows(&after, "services")
        .iter()
        .filter(|service| left_of.contains(text(service, "id")))
        .map(|service| text(service, "name"))
        .collect();
    let expected = ["extract", "porch duct", "porch end cable", "wall pipe 22"];
    assert_eq!(called, BTreeSet::from(expected));
}

#[test]
fn where_more_cuts_do_not_pass_than_are_looked_into_it_says_so() {
    let read = |name: &str| {
        let bytes = std::fs::read(top().join("sample-models").join(name)).unwrap();
        Input::new(name, bytes)
    };
    let inputs = [read("structure.ifc"), read("services.ifc")];
    let looked = |remedies: LookFor| {
        let mut settings = Settings::default();
        settings.remedies = remedies;
        let report = wimble::check(&inputs, &settings).unwrap();
        let said = report.assumptions.iter().find(|said| said.starts_with("Remedies: ")).cloned();
        (report.plans.len(), said)
    };
    let (plans, said) = looked(LookFor::UpTo(10));
    let said = said.unwrap();
    assert!(plans == 0 && said.contains("(more than 10); --remedies looks for them"), "{said}");
    let (plans, said) = looked(LookFor::UpTo(2000));
    assert!(plans > 0 && said.is_none());
    assert_eq!(looked(LookFor::Everything), (plans, None));
    assert_eq!(looked(LookFor::Nothing), (0, None));
}
