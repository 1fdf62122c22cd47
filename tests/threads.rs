//! The number of threads never shows: a tower's report is the same byte for byte with one, two and
//! eight, and holds the cuts that the tower was drawn with.

use std::path::Path;
use std::process::Command;
use wimble_dev::tower::{Tower, Written, one_joist, one_pipe, round_bodies};

/// The JSON report of a model, with so many threads.
fn report(model: &Path, threads: &str) -> Vec<u8> {
    let output = Command::new(env!("CARGO_BIN_EXE_wimble"))
        .args(["check", "--no-remedies", "--format", "json", "--threads", threads])
        .arg(model)
        .output()
        .unwrap();
    assert!(
        matches!(output.status.code(), Some(0 | 1)),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    output.stdout
}

/// The report of a written model, the same whatever the threads.
fn checked(name: &str, write: impl FnOnce(&mut Vec<u8>) -> std::io::Result<Written>) -> Written {
    let folder = tempfile::tempdir().unwrap();
    let (model, mut bytes) = (folder.path().join(name), Vec::new());
    let written = write(&mut bytes).unwrap();
    std::fs::write(&model, bytes).unwrap();
    let one = report(&model, "1");
    for threads in ["2", "8"] {
        assert!(report(&model, threads) == one, "{threads} threads give another report of {name}");
    }
    let json: serde_json::Value = serde_json::from_slice(&one).unwrap();
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
