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
fn a_project_starts_with_its_settings_and_nothing_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().to_str().unwrap();
    assert_eq!(run(&["init", at, "--region", "us"]).status.code(), Some(0));
    let file = folder.path().join("wimble.toml");
    let written = std::fs::read_to_string(&file).unwrap();
    let again = run(&["init", at]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("is there already"));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), written);
    let shown = String::from_utf8(run(&["settings", at]).stdout).unwrap();
    assert!(shown.contains("region = \"US\"") && shown.contains("pipe = \"5 mm\""), "{shown}");
    assert!(written.ends_with(shown.split_once('\n').unwrap().1));
}

#[test]
fn manual_pages_are_printed() {
    for (arguments, wanted) in
        [(&["man"][..], "wimble"), (&["man", "sheet"], "clear span, face to face")]
    {
        let page = String::from_utf8(run(arguments).stdout).unwrap().replace("\\-", "-");
        assert!(page.contains(".TH") && page.to_lowercase().contains(wanted), "{page}");
    }
    assert_eq!(run(&["man", "shet"]).status.code(), Some(2));
}

#[test]
fn schemas_and_completions_are_printed() {
    for of in ["report", "settings", "pack", "sheet"] {
        let schema: serde_json::Value =
            serde_json::from_slice(&run(&["schema", of]).stdout).unwrap();
        assert!(jsonschema::meta::is_valid(&schema), "{of}");
    }
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let text = run(&["completions", shell]).stdout;
        assert!(String::from_utf8(text).unwrap().contains("inspect"), "{shell}");
    }
}

/// An editor that checks a sheet by its schema finds no fault in those that are read, and finds a key
/// that there is not.
#[test]
fn sheets_are_valid_against_the_schema_that_the_command_prints() {
    let schema = serde_json::from_slice(&run(&["schema", "sheet"]).stdout).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cmd");
    let mut tried = 0;
    for folder in ["sheet.in", "worked.in"] {
        for entry in std::fs::read_dir(cases.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|ending| ending != "toml") {
                continue;
            }
            let sheet: toml::Value =
                toml::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
            let faults: Vec<String> = validator
                .iter_errors(&serde_json::to_value(&sheet).unwrap())
                .map(|fault| fault.to_string())
                .collect();
            let wanted = usize::from(path.ends_with("bad-key.toml"));
            assert_eq!(faults.len(), wanted, "{}: {faults:?}", path.display());
            tried += 1;
        }
    }
    assert!(tried >= 15, "{tried} sheets");
}

/// Every worked example of the sources that is about one member, as a site sheet: the name of each
/// cut ends with its verdict, and the sheet's first lines say source, edition and status.
#[test]
fn worked_examples_come_out_as_published() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cmd/worked.in");
    let mut tried = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let head: String = text.lines().take_while(|line| line.starts_with('#')).collect();
        assert!(
            ["published", "restated", "common practice", "code text"]
                .iter()
                .any(|s| head.contains(s)),
            "{}: no source with its status",
            path.display()
        );
        let sheet: toml::Value = toml::from_str(&text).unwrap();
        let shown = run(&["check", path.to_str().unwrap(), "--format", "json"]).stdout;
        let report: serde_json::Value = serde_json::from_slice(&shown).unwrap();
        let verdict = |id: &str| -> String {
            let cuts = report["cuts"].as_array().unwrap();
            let of_cut = |c: &&serde_json::Value| {
                c["openings"].as_array().unwrap().iter().any(|opening| opening == id)
            };
            let cut = cuts.iter().find(of_cut).unwrap_or_else(|| panic!("{id} is not cut"));
            cut["verdict"].as_str().unwrap().to_owned()
        };
        for member in sheet["member"].as_array().unwrap() {
            let cuts = member.get("cut").and_then(toml::Value::as_array);
            for (at, cut) in cuts.into_iter().flatten().enumerate() {
                let id = format!("{}/{}", member["name"].as_str().unwrap(), at + 1);
                let name = cut["name"].as_str().unwrap();
                let wanted = name.rsplit(": ").next().unwrap();
                assert_eq!(verdict(&id), wanted, "{}: {name}", path.display());
                tried += 1;
            }
        }
    }
    assert!(tried >= 130, "{tried} cuts were tried");
}

#[test]
fn the_record_is_a_page_to_sign_and_the_same_as_data() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("hostile.toml");
    let measured = std::fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cmd/sheet.in/measured.toml"),
    )
    .unwrap();
    let text = measured.replace("Joist 1", "Joist <script>alert(1)</script> & \\u202e3");
    std::fs::write(&sheet, text).unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (page, data) = (at("r.html"), at("r.json"));
    let (page_to, data_to) = (format!("record:{page}"), format!("record:{data}"));
    let arguments = ["check", sheet.to_str().unwrap(), "-o", &page_to, "-o", &data_to];
    assert_eq!(run(&arguments).status.code(), Some(1));
    let html = std::fs::read_to_string(page).unwrap();
    for wanted in [
        "A. Surveyor",
        "2026-05-04",
        "5 m tape, class II",
        "\u{b1} 3 mm along",
        "BLAKE3",
        "uk-solid-joist/hole-size",
        "LABC",
        "within the tolerance",
        "Allowed in this member",
        "900-1440 mm from either face",
        "Not checked",
        "Signature",
        "<svg",
    ] {
        assert!(html.contains(wanted), "{wanted} is missing");
    }
    assert!(!html.contains("<script"), "names from a sheet are harmless");
    let record: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(data).unwrap()).unwrap();
    assert_eq!(record["schema"], "wimble-record/1");
    assert_eq!(record["measured"]["by"], "A. Surveyor");
    let cuts = record["members"][0]["cuts"].as_array().unwrap();
    let verdicts: Vec<&str> = cuts.iter().map(|cut| cut["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["pass", "unknown", "fail"]);
}

/// The limits that are printed as data are those of the verdicts: what stands at them passes as a
/// site sheet, a tenth beyond does not.
#[test]
fn limits_as_data_are_those_of_the_verdicts() {
    let shown = run(&["limits", "--depth", "220", "--span", "3600", "--format", "json"]).stdout;
    let told: serde_json::Value = serde_json::from_slice(&shown).unwrap();
    let rows = told["members"][0]["limits"]["rows"].as_array().unwrap();
    let hole = rows.iter().find(|row| row["cut"] == "hole").unwrap();
    let greatest = hole["greatest_mm"].as_f64().unwrap();
    let from = hole["zones_mm"][0][0].as_f64().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let verdict = |size: f64, start: f64| {
        let sheet = folder.path().join("s.toml");
        let text = format!(
            "[[member]]\nsection = \"47 x 220\"\nspan = 3600\n[[member.cut]]\nhole = \"{size}\"\nat = \"{}\"\n",
            start + size / 2.0
        );
        std::fs::write(&sheet, text).unwrap();
        let shown = run(&["check", sheet.to_str().unwrap(), "--format", "json"]).stdout;
        let report: serde_json::Value = serde_json::from_slice(&shown).unwrap();
        report["cuts"][0]["verdict"].as_str().unwrap().to_owned()
    };
    assert_eq!(verdict(greatest, from), "pass");
    assert_eq!(verdict(greatest + 0.1, from), "fail");
    assert_eq!(verdict(greatest, from - 0.1), "fail");
}

/// A member measured by hand gives the figures, the verdict and the margin of the modelled one.
#[test]
fn a_sheet_says_the_same_as_the_model_that_it_measures() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("j1.csv");
    let text = "member,section,span,pipe,at,from\n\
        J1,47 x 220,3600,22 mm copper heating,1100,left\n\
        J1,,,15 mm copper water,3000,right\n";
    std::fs::write(&sheet, text).unwrap();
    let cuts = |path: &str, member: usize| -> Vec<serde_json::Value> {
        let shown = run(&["check", path, "--format", "json"]).stdout;
        let report: serde_json::Value = serde_json::from_slice(&shown).unwrap();
        let id = &report["members"][member]["id"];
        report["cuts"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|cut| cut["member"] == *id)
            .cloned()
            .collect()
    };
    let (model, hand) = (cuts(FLOOR, 0), cuts(sheet.to_str().unwrap(), 0));
    assert_eq!((model.len(), hand.len()), (2, 2));
    for (model, hand) in model.iter().zip(&hand) {
        for key in [
            "kind",
            "edge",
            "x0_mm",
            "x1_mm",
            "y0_mm",
            "y1_mm",
            "z0_mm",
            "z1_mm",
            "bit_mm",
            "shared",
            "from_bearing_mm",
            "margin_mm",
            "verdict",
            "tight",
        ] {
            assert_eq!(model[key], hand[key], "{key}");
        }
    }
}

#[test]
fn a_member_is_drawn_by_name_with_findings_or_without() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = |name: &str, file: &str| {
        let path = folder.path().join(file);
        let output = run(&["check", FLOOR, "--member", name, "-o", path.to_str().unwrap()]);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{output:?}");
        std::fs::read(path).unwrap()
    };
    let report: serde_json::Value =
        serde_json::from_slice(&run(&["check", FLOOR, "--format", "json"]).stdout).unwrap();
    let cuts = report["cuts"].as_array().unwrap();
    for member in report["members"].as_array().unwrap() {
        let name = member["name"].as_str().unwrap();
        let svg = String::from_utf8(drawn(name, "one.svg")).unwrap();
        assert!(svg.contains(&format!("<title>{name}</title>")), "{name}");
        // Every cut of it, no cut of another.
        let own = cuts.iter().filter(|cut| cut["member"] == member["id"]).count();
        let marks = (1..9).filter(|n| svg.contains(&format!(">{name}/{n} · "))).count();
        assert_eq!(marks, own, "{name}");
        // Where it may be cut is told whatever was found.
        assert!(svg.contains("url(#allowed)"), "{name}");
        // The same by its GlobalId.
        let guid = member["guid"].as_str().unwrap();
        let by_guid = String::from_utf8(drawn(guid, "two.svg")).unwrap();
        assert_eq!(by_guid.replace(guid, name), svg);
    }
    assert!(drawn("J1", "one.png").starts_with(b"\x89PNG"));
    // A name that several have.
    let twice = folder.path().join("twice.ifc");
    let text = std::fs::read_to_string(FLOOR).unwrap().replace("'J2'", "'J1'");
    std::fs::write(&twice, text).unwrap();
    let output = run(&["check", twice.to_str().unwrap(), "--member", "J1", "-o", "x.svg"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("2 members are called `J1`: name the GlobalId, "), "{said}");
}
