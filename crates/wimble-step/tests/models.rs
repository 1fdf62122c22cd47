//! Real files under `../shared/models`: all are read without a panic, and no record is missed.

#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a test stops where it fails")]

use std::path::{Path, PathBuf};

use wimble_step::{Severity, StepFile, Value};

/// The folder beside the repository, if it is there; with `CI=true` it has to be.
#[expect(clippy::disallowed_methods, reason = "a test is told by the environment where data lies")]
fn shared(name: &str) -> Option<PathBuf> {
    let folder = std::env::var("WIMBLE_SHARED").map_or_else(
        |_| Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared"),
        PathBuf::from,
    );
    if folder.join("models").is_dir() {
        return Some(folder);
    }
    assert_ne!(std::env::var("CI").as_deref(), Ok("true"), "{} is missing", folder.display());
    println!("skipped: {name}: no ../shared");
    None
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("ifc")) {
            found.push(path);
        }
    }
}

/// Reads a value to the bottom; gives the number of values in it.
fn read_all(value: Value<'_>) -> usize {
    match value {
        Value::List(list) => list.iter().map(read_all).sum(),
        Value::Typed(typed) => typed.values().iter().map(read_all).sum(),
        Value::Text(text) => {
            let decoded = text.decode();
            assert!(!decoded.chars().any(|c| c == '\n' || c == '\r') || text.raw().contains(&b'X'));
            1
        }
        _ => 1,
    }
}

/// Lines that open with `#`, digits and `=`: in these files every record starts a line, and no
/// string or comment holds such a line.
fn record_lines(bytes: &[u8]) -> usize {
    bytes
        .split(|&byte| byte == b'\n' || byte == b'\r')
        .filter(|line| {
            let line = line.trim_ascii_start();
            let digits = line.iter().skip(1).take_while(|byte| byte.is_ascii_digit()).count();
            line.first() == Some(&b'#')
                && digits > 0
                && line.get(1 + digits..).unwrap_or_default().trim_ascii_start().starts_with(b"=")
        })
        .count()
}

#[test]
fn every_record_of_every_model_is_found_and_read() {
    let Some(shared) = shared("every_record_of_every_model_is_found_and_read") else { return };
    let mut paths = Vec::new();
    files(&shared.join("models"), &mut paths);
    assert!(paths.len() > 20, "only {} models", paths.len());
    for path in paths {
        let bytes = std::fs::read(&path).unwrap();
        let file = StepFile::index(&bytes).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let repeated = file.diagnostics().iter().filter(|d| d.message.contains("twice")).count();
        assert_eq!(file.len() + repeated, record_lines(&bytes), "{}", path.display());
        let mut values = 0;
        let mut trouble = Vec::new();
        for row in file.rows() {
            let record = file.record(row);
            values += record.values().map(read_all).sum::<usize>();
            trouble.extend(record.trouble().iter().map(ToString::to_string));
        }
        assert!(values >= file.len(), "{}", path.display());
        let errors: Vec<String> = file
            .diagnostics()
            .iter()
            .filter(|diagnostic| diagnostic.kind.severity() == Severity::Error)
            .map(ToString::to_string)
            .chain(trouble)
            .collect();
        if !errors.is_empty() {
            println!("{}: {} records, {errors:#?}", path.display(), file.len());
        }
    }
}

#[test]
fn the_parser_cases_read_as_their_comments_say() {
    let Some(shared) = shared("the_parser_cases_read_as_their_comments_say") else { return };
    let read = |name: &str| std::fs::read(shared.join("models/parser-cases").join(name)).unwrap();

    let bytes = read("SpecicalSolidusEscape.ifc");
    let file = StepFile::index(&bytes).unwrap();
    let text = |name: u64| file.record(file.find(name).unwrap()).get(2).text().unwrap();
    assert_eq!(text(1001), "Don't");
    assert_eq!(text(1002), "'");
    assert_eq!(text(1004), "Ärger");
    assert_eq!(text(1005), "hôtel");
    assert!(text(1006).ends_with('§'));

    let bytes = read("FormallyIllegalFile.ifc");
    let file = StepFile::index(&bytes).unwrap();
    let record = file.record(file.find(2).unwrap());
    assert!(record.get(0).is_unset());
    assert!(record.trouble()[0].to_string().starts_with("line 21: parameter 1 of #2"));
    assert_eq!(file.record(file.find(3).unwrap()).list(0).numbers().next(), Some(1.6e10));

    let bytes = read("NewlinesInStrings.ifc");
    let file = StepFile::index(&bytes).unwrap();
    let record = file.record(file.find(323_449).unwrap());
    assert_eq!(record.get(2).text().unwrap(), "L4x4x3/8B");
    assert_eq!(file.header().originating_system, "StruCad v16.4+CB");

    let bytes = read("Large_entity_label.ifc");
    let file = StepFile::index(&bytes).unwrap();
    assert!(file.find(92_147_483_647).is_some());

    let bytes = read("BackSpaceInFileName.ifc");
    let file = StepFile::index(&bytes).unwrap();
    assert!(file.header().name.contains("Name Wo\u{8}rt"));
}
