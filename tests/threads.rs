//! The number of threads never shows: a tower's report is the same byte for byte with one, two and
//! eight, with remedies and without, and holds the cuts that the tower was drawn with.

#[path = "remedies/short_span.rs"]
mod short_span;

use std::path::Path;
use std::process::Command;
use wimble_dev::floors::{Floor, Random, Style, floor, write};
use wimble_dev::tower::{Tower, Written, one_joist, one_pipe, round_bodies};

/// The JSON report of models, with so many threads.
fn report(models: &[&Path], remedies: &str, threads: &str) -> Vec<u8> {
    let output = Command::new(env!("CARGO_BIN_EXE_wimble"))
        .args(["check", remedies, "--format", "json", "--threads", threads])
        .args(models)
        .output()
        .unwrap();
    assert!(
        matches!(output.status.code(), Some(0 | 1)),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    output.stdout
}

/// The report of models, the same whatever the threads.
fn the_same(models: &[&Path], remedies: &str) -> serde_json::Value {
    let one = report(models, remedies, "1");
    for threads in ["2", "8"] {
        let other = report(models, remedies, threads);
        assert!(other == one, "{threads} threads give another report of {models:?}");
    }
    serde_json::from_slice(&one).unwrap()
}

/// The report of a written model, the same whatever the threads.
fn checked(name: &str, write: impl FnOnce(&mut Vec<u8>) -> std::io::Result<Written>) -> Written {
    let folder = tempfile::tempdir().unwrap();
    let (model, mut bytes) = (folder.path().join(name), Vec::new());
    let written = write(&mut bytes).unwrap();
    std::fs::write(&model, bytes).unwrap();
    let json = the_same(&[&model], "--no-remedies");
    let summary = &json["summary"];
    assert_eq!(summary["members"], written.members, "{name}");
    assert_eq!(summary["services"], written.services, "{name}");
    assert_eq!(summary["cuts"], written.cuts, "{name}");
    assert_eq!(json["inputs"][0]["instances"], written.instances, "{name}");
    written
}

#[test]
fn a_tower_gives_the_same_report_with_any_number_of_threads() {
    let written = checked("tower.ifc", |out| Tower { members: 2200 }.write(out));
    assert!(written.cuts > 9000);
}

#[test]
fn worst_cases_give_the_same_report_with_any_number_of_threads() {
    checked("one-joist.ifc", |out| one_joist(300, out));
    checked("one-pipe.ifc", |out| one_pipe(300, out));
    checked("bodies.ifc", |out| round_bodies(10, 400, out));
}

/// The plans of a report: how many runs move alone, and how many together with another.
fn plans(report: &serde_json::Value) -> [usize; 2] {
    let plans = report["plans"].as_array().unwrap();
    let moves = |plan: &&serde_json::Value| plan["moves"].as_array().map_or(0, Vec::len);
    [1, 2].map(|count| plans.iter().filter(|plan| moves(plan) == count).count())
}

#[test]
fn remedies_are_the_same_with_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let mut seen = [0, 0];
    let mut count = |report: &serde_json::Value| {
        let [alone, together] = plans(report);
        seen = [seen[0] + alone, seen[1] + together];
    };
    let (tower, mut bytes) = (folder.path().join("tower.ifc"), Vec::new());
    Tower { members: 110 }.write(&mut bytes).unwrap();
    std::fs::write(&tower, bytes).unwrap();
    count(&the_same(&[&tower], "--remedies"));
    let mut floors: Vec<Floor> = (0..6).map(|seed| floor(&mut Random::new(seed))).collect();
    // One where two runs have to move together.
    floors.push(short_span::short_span(&[(28.0, 600.0), (12.0, 425.0), (12.0, 775.0)]));
    for (n, floor) in floors.iter().enumerate() {
        let files: Vec<_> = write(floor, &Style::plain())
            .into_iter()
            .map(|(name, bytes)| {
                let path = folder.path().join(format!("{n}-{name}"));
                std::fs::write(&path, bytes).unwrap();
                path
            })
            .collect();
        let files: Vec<&Path> = files.iter().map(std::path::PathBuf::as_path).collect();
        count(&the_same(&files, "--remedies"));
    }
    assert!(seen[0] > 10 && seen[1] > 0, "too few runs are moved: {seen:?}");
}

#[test]
fn what_is_moved_is_the_same_with_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let models = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-models");
    let moved = |threads: &str| {
        let path = folder.path().join(format!("moved-{threads}.ifc"));
        let output = Command::new(env!("CARGO_BIN_EXE_wimble"))
            .current_dir(&models)
            .args(["check", "structure.ifc", "services.ifc", "--config", "wimble.toml"])
            .args(["--threads", threads, "--apply-remedies"])
            .arg(&path)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains("services moved"), "{said}");
        std::fs::read(path).unwrap()
    };
    let one = moved("1");
    for threads in ["2", "8"] {
        assert!(moved(threads) == one, "{threads} threads give another model");
    }
}
