//! Command cases as data: `tests/cmd/*.trycmd` holds command lines with what they print and their
//! exit codes; `NAME.in/` beside a case is the folder that it runs in.
//!
//! `TRYCMD=overwrite cargo test --test cmd` writes what is printed now: look at the difference.

use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

const FLOOR: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/cmd/check.in/floor.ifc");

#[test]
fn every_case_prints_what_it_says() {
    trycmd::TestCases::new().case("../../tests/cmd/*.trycmd").run();
}

fn wimble(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wimble"));
    command.args(arguments).stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> Output {
    wimble(arguments).output().unwrap()
}

#[test]
fn a_model_from_standard_input_is_the_same_model() {
    let mut child = wimble(&["check", "-", "--format", "json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(&std::fs::read(FLOOR).unwrap()).unwrap();
    let mut piped = String::new();
    child.stdout.take().unwrap().read_to_string(&mut piped).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(1));
    let named = String::from_utf8(run(&["check", FLOOR, "--format", "json"]).stdout).unwrap();
    assert_eq!(piped.replace("standard input", FLOOR), named);
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let mut child = wimble(&["check", FLOOR, "--all"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert!(output.status.code().is_some(), "ended by a signal");
}

#[test]
fn two_runs_are_the_same_byte_for_byte_whatever_the_threads() {
    let json = |threads| run(&["check", FLOOR, "--format", "json", "--threads", threads]).stdout;
    assert_eq!(json("1"), json("4"));
}

#[test]
fn every_writer_writes_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (junit, summary) = (format!("junit:{}", at("t.xml")), format!("summary:{}", at("s.md")));
    let (json, lines, csv, sarif) = (at("r.json"), at("r.jsonl"), at("r.csv"), at("r.sarif"));
    let outputs = [&json, &lines, &csv, &sarif, &junit, &summary];
    let mut arguments = vec!["check", FLOOR];
    for output in outputs {
        arguments.extend(["-o", output]);
    }
    assert_eq!(run(&arguments).status.code(), Some(1));
    for name in ["r.json", "r.jsonl", "r.csv", "r.sarif", "t.xml", "s.md"] {
        let length = std::fs::metadata(folder.path().join(name)).unwrap().len();
        assert!(length > 200, "{name} has {length} bytes");
    }
    let written = std::fs::read(Path::new(&json)).unwrap();
    assert_eq!(written, run(&["check", FLOOR, "--format", "json"]).stdout);
}

#[test]
fn the_report_is_valid_against_the_schema_that_the_command_prints() {
    let parse = |bytes: &[u8]| -> serde_json::Value { serde_json::from_slice(bytes).unwrap() };
    let schema = parse(&run(&["schema", "report"]).stdout);
    let report = parse(&run(&["check", FLOOR, "--format", "json"]).stdout);
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(&report).map(|e| e.to_string()).collect();
    assert_eq!(faults, Vec::<String>::new());
}

#[test]
fn schemas_and_completions_are_printed() {
    for of in ["report", "settings", "pack"] {
        let schema: serde_json::Value =
            serde_json::from_slice(&run(&["schema", of]).stdout).unwrap();
        assert!(jsonschema::meta::is_valid(&schema), "{of}");
    }
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let text = run(&["completions", shell]).stdout;
        assert!(String::from_utf8(text).unwrap().contains("inspect"), "{shell}");
    }
}
