//! What arrives at other people's tools: every format is checked by its own published schema and
//! by general readers, and names from a model stay names in all of them.
//!
//! Python with what the checks need is in `.venv` (`.ci/test` sets it up from
//! `tests/formats/requirements.txt`).

#[expect(dead_code, reason = "each test uses its own part of it")]
mod support;

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use support::shared::{shared, top};
use tempfile::TempDir;

/// A small floor of three joists, two pipes.
const FLOOR: &str = "tests/cmd/check.in/floor.ifc";
/// Two cuts of it are too large under these settings, and one is in the wrong place.
const WIDE: &str = "[cut]\nclearance = \"40 mm\"\n";
/// 2026-11-25, 14:00 UTC.
const EPOCH: &str = "1795615200";

/// A folder with a model and settings, in which the command runs.
struct Site(TempDir);

impl Site {
    fn new(model: &[u8], settings: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("floor.ifc"), model).expect("written");
        fs::write(folder.path().join("wimble.toml"), settings).expect("written");
        Self(folder)
    }

    fn floor(settings: &str) -> Self {
        Self::new(&fs::read(top().join(FLOOR)).expect("the floor"), settings)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_wimble"));
        command.current_dir(self.0.path()).args(arguments).env("SOURCE_DATE_EPOCH", EPOCH);
        command.output().expect("the command runs")
    }

    /// Checks the model and gives the file that was written.
    fn write(&self, output: &str, more: &[&str]) -> PathBuf {
        let arguments = [&["check", "floor.ifc", "--all", "-o", output], more].concat();
        let done = self.run(&arguments);
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(matches!(done.status.code(), Some(0 | 1)), "{output}: {told}");
        self.at(output.split_once(':').map_or(output, |(_, file)| file))
    }

    fn at(&self, file: &str) -> PathBuf {
        self.0.path().join(file)
    }

    fn text(&self, output: &str, more: &[&str]) -> String {
        fs::read_to_string(self.write(output, more)).expect("text")
    }
}

/// Runs one of the scripts beside this test and reads the JSON that it prints.
fn python(script: &str, arguments: &[&Path]) -> Value {
    let python = top().join(".venv/bin/python");
    let script = top().join("tests/formats").join(script);
    let done = Command::new(&python).arg(&script).args(arguments).output();
    let done = done.unwrap_or_else(|e| panic!("{}: {e}; run bash .ci/test", python.display()));
    let told = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{}: {told} (bash .ci/test installs it)", script.display());
    serde_json::from_slice(&done.stdout).expect("JSON")
}

fn faults(found: &Value) -> Vec<String> {
    match found {
        Value::Array(list) => list.iter().flat_map(faults).collect(),
        Value::Object(by_file) => by_file.values().flat_map(faults).collect(),
        Value::String(fault) => vec![fault.clone()],
        _ => Vec::new(),
    }
}

fn topics_of(file: &Path, version: &str) -> Option<Value> {
    let shared = shared("topics")?;
    let schemas = shared.0.join("standards/bcf").join(version).join("schemas");
    let seen = python("topics.py", &[file, &schemas]);
    assert_eq!(faults(&seen["faults"]), Vec::<String>::new(), "{}", file.display());
    Some(seen)
}

// ---- Topics ------------------------------------------------------------------------------------

const SETTLED: &str = r#"
[cut]
clearance = "40 mm"
[bcf]
author = "qa@example.org"
assigned-to = { heating = "heating@example.org", other = "mep@example.org" }
due = 2026-12-20
labels = ["Timber frame"]
priority = { fail = "Stop", refer = "Ask" }
"#;

#[test]
fn both_versions_are_valid_and_a_general_reader_sees_the_same_in_them() {
    let site = Site::floor(SETTLED);
    let old = site.write("two.bcf", &[]);
    let new = site.write("three.bcf", &["--bcf", "3.0"]);
    let (Some(old), Some(new)) = (topics_of(&old, "2.1"), topics_of(&new, "3.0")) else { return };
    let topics = old["topics"].as_object().expect("topics");
    assert_eq!(topics.len(), 2, "one for each run and rule");
    let ids = |seen: &Value| -> Vec<String> {
        seen["topics"].as_object().expect("topics").keys().cloned().collect()
    };
    assert_eq!(ids(&old), ids(&new));
    for (id, topic) in topics {
        let other = &new["topics"][id];
        for key in
            ["title", "status", "type", "priority", "labels", "assigned", "due", "description"]
        {
            assert_eq!(topic[key], other[key], "{key} of {id}");
        }
        let (view, other) = (&topic["views"][0], &other["views"][0]);
        for key in ["at", "direction", "up", "field", "components"] {
            assert_eq!(view[key], other[key], "{key} of the view of {id}");
        }
        assert!(view["snapshot"].as_u64().expect("bytes") > 5000, "a drawn snapshot");
        assert_eq!(topic["status"], "Open");
        assert_eq!(topic["priority"], "Stop");
        assert!(topic["due"].as_str().expect("due").starts_with("2026-12-20"));
        assert!(topic["created"].as_str().expect("created").starts_with("2026-11-25T14:00:00"));
    }
    for size in old["sizes"].as_array().expect("sizes") {
        assert!(size[0].as_u64() <= Some(1500) && size[1].as_u64() <= Some(1500), "{size}");
    }
    let heating = topics.values().find(|t| t["assigned"] == "heating@example.org");
    let heating = heating.expect("the heating's topic");
    let title = heating["title"].as_str().expect("title");
    assert!(title.contains("hole 62 mm") && title.contains("2 more members"), "{title}");
    let labels: Vec<&str> =
        heating["labels"].as_array().expect("labels").iter().filter_map(Value::as_str).collect();
    assert_eq!(labels, ["Timber frame", "fail", "heating"]);
}

/// The camera stands in the coordinates of the model, looks at the place, and sees all its cuts.
#[test]
fn a_view_frames_its_cuts_in_the_coordinates_of_the_model() {
    let site = Site::floor(SETTLED);
    let file = site.write("topics.bcf", &["-o", "report.json"]);
    let Some(seen) = topics_of(&file, "2.1") else { return };
    let report: Value =
        serde_json::from_str(&fs::read_to_string(site.at("report.json")).expect("report"))
            .expect("JSON");
    let point = |value: &Value| [0, 1, 2].map(|i| value[i].as_f64().expect("a number"));
    for topic in seen["topics"].as_object().expect("topics").values() {
        let view = &topic["views"][0];
        let components: Vec<&str> =
            view["components"].as_array().expect("list").iter().filter_map(Value::as_str).collect();
        let (at, direction) = (point(&view["at"]), point(&view["direction"]));
        let mut cuts = 0;
        for cut in report["cuts"].as_array().expect("cuts") {
            let members = report["members"].as_array().expect("members");
            let member = members.iter().find(|m| m["id"] == cut["member"]).expect("its member");
            let serves = cut["services"][0].as_str().expect("a service");
            if !components.contains(&serves)
                || !components.contains(&member["guid"].as_str().expect("guid"))
            {
                continue;
            }
            cuts += 1;
            let to: Vec<f64> = point(&cut["point_m"]).iter().zip(at).map(|(p, a)| p - a).collect();
            let length = to.iter().map(|v| v * v).sum::<f64>().sqrt();
            let along: f64 = to.iter().zip(direction).map(|(v, d)| v * d).sum::<f64>() / length;
            assert!(along.clamp(-1.0, 1.0).acos().to_degrees() < 30.0, "{}", topic["title"]);
            assert!(length < 12.0, "{length} m away");
        }
        assert!(cuts > 0, "{}", topic["title"]);
    }
}

#[test]
fn a_topic_can_hold_more_or_less() {
    let site = Site::floor(WIDE);
    let count = |group: &str| {
        let file = site.write(&format!("{group}.bcf"), &["--group", group]);
        topics_of(&file, "2.1").map(|seen| seen["topics"].as_object().expect("topics").len())
    };
    let Some(runs) = count("run") else { return };
    let counts = ["storey", "rule", "member", "finding"].map(|group| count(group).expect("seen"));
    assert_eq!((runs, counts), (2, [2, 2, 3, 4]));
}

/// What people write into the file is there after the next check, and after the one after it.
#[test]
fn statuses_and_comments_are_carried_on() {
    for version in ["2.1", "3.0"] {
        let site = Site::floor(WIDE);
        let first = site.write("first.bcf", &["--bcf", version]);
        let Some(seen) = topics_of(&first, version) else { return };
        let topics = seen["topics"].as_object().expect("topics");
        let of = |words: &str| -> String {
            let found =
                topics.iter().find(|(_, t)| t["title"].as_str().is_some_and(|t| t.contains(words)));
            found.map(|(id, _)| id.clone()).expect("a topic")
        };
        // The heating is too large; the cold water is in the wrong place whatever its size.
        let (heating, water) = (of("Heating flow"), of("Cold water"));
        assert_eq!(python("people.py", &[&first, Path::new(&water)])["told"], true);
        let again = site.write("second.bcf", &["--update", "first.bcf"]);
        let seen = topics_of(&again, version).expect("seen");
        let said = serde_json::json!(["Moved in the next issue."]);
        assert_eq!(seen["topics"][&water]["status"], "In hand");
        assert_eq!(seen["topics"][&water]["comments"], said);
        assert_eq!(seen["topics"][&heating]["status"], "Open");

        // The cause of one goes: it is closed, with a comment.
        fs::write(site.at("wimble.toml"), "[cut]\nclearance = \"5 mm\"\n").expect("written");
        let third = site.write("third.bcf", &["--update", "second.bcf"]);
        let seen = topics_of(&third, version).expect("seen");
        assert_eq!(seen["topics"][&water]["status"], "In hand");
        assert_eq!(seen["topics"][&water]["comments"], said);
        assert_eq!(seen["topics"][&heating]["status"], "Closed");
        assert_eq!(
            seen["topics"][&heating]["comments"][0],
            "No longer found in the check of floor.ifc."
        );

        // And comes back: it is open again.
        fs::write(site.at("wimble.toml"), WIDE).expect("written");
        let fourth = site.write("fourth.bcf", &["--update", "third.bcf"]);
        let seen = topics_of(&fourth, version).expect("seen");
        assert_eq!(seen["topics"][&heating]["status"], "Open");
        assert_eq!(seen["topics"][&heating]["comments"].as_array().expect("comments").len(), 2);
        assert_eq!(seen["topics"][&water]["status"], "In hand");
    }
}

#[test]
fn an_earlier_file_that_cannot_be_carried_on_is_told_before_the_work() {
    let site = Site::floor(WIDE);
    site.write("old.bcf", &[]);
    fs::write(site.at("notes.bcf"), "milk, eggs").expect("written");
    for (file, more, says) in [
        ("missing.bcf", &[][..], "cannot be read; check the path"),
        ("notes.bcf", &[][..], "no zip archive"),
        ("old.bcf", &["--bcf", "3.0"][..], "version 2.1, and 3.0 is asked for"),
    ] {
        let arguments = [&["check", "floor.ifc", "-o", "new.bcf", "--update", file], more].concat();
        let done = site.run(&arguments);
        let told = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(2), "{file}");
        assert!(told.contains(file) && told.contains(says), "{file}: {told}");
    }
}

// ---- Code hosts and build servers ---------------------------------------------------------------

#[test]
fn sarif_is_valid_with_and_without_waivers_and_a_baseline() {
    let Some(shared) = shared("sarif") else { return };
    let schema =
        fs::read(shared.0.join("standards/sarif/sarif-schema-2.1.0.json")).expect("schema");
    let schema: Value = serde_json::from_slice(&schema).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let valid = |text: &str| -> Value {
        let log: Value = serde_json::from_str(text).expect("JSON");
        let faults: Vec<String> =
            validator.iter_errors(&log).map(|e| format!("{e} at {}", e.instance_path())).collect();
        assert_eq!(faults, Vec::<String>::new());
        log
    };
    let waived =
        format!("{WIDE}[[waive]]\nmember = \"J1\"\nreason = \"agreed\"\nuntil = 2027-01-01\n");
    let site = Site::floor(&waived);
    let log = valid(&site.text("log.sarif", &["-o", "old.json"]));
    let run = &log["runs"][0];
    let results = run["results"].as_array().expect("results");
    assert_eq!(results.len(), 4);
    let suppressed = results.iter().filter(|r| r["suppressions"] != serde_json::json!([])).count();
    assert_eq!(suppressed, 2);
    // The line is that of the instance.
    let model = fs::read_to_string(site.at("floor.ifc")).expect("the model");
    for result in results {
        let region = &result["locations"][0]["physicalLocation"]["region"];
        let line = region["startLine"].as_u64().expect("a line");
        let text = model.lines().nth(usize::try_from(line).expect("small") - 1).expect("there");
        assert!(text.contains("IFCBEAM"), "line {line}: {text}");
        assert!(result["partialFingerprints"]["elements/v1"].as_str().expect("print").len() == 16);
        assert!(!result["relatedLocations"].as_array().expect("services").is_empty());
    }
    for rule in run["tool"]["driver"]["rules"].as_array().expect("rules") {
        for text in ["shortDescription", "fullDescription", "help"] {
            assert!(rule[text]["text"].as_str().is_some_and(|t| t.len() > 4), "{text} of {rule}");
        }
        assert!(rule["help"]["markdown"].as_str().expect("help").contains("**Source**"), "{rule}");
    }
    fs::write(site.at("wimble.toml"), "[cut]\nclearance = \"5 mm\"\n").expect("written");
    let log = valid(&site.text("next.sarif", &["--baseline", "old.json"]));
    let states: Vec<&str> = log["runs"][0]["results"]
        .as_array()
        .expect("results")
        .iter()
        .filter_map(|r| r["baselineState"].as_str())
        .collect();
    assert_eq!(states, ["unchanged", "absent", "absent", "absent"]);
}

#[test]
fn junit_is_valid_against_the_schema_of_the_widest_used_build_server() {
    let Some(shared) = shared("junit") else { return };
    let xsd = shared.0.join("standards/junit/jenkins-junit-10.xsd");
    let wide = Site::floor(WIDE);
    let empty = Site::new(
        &fs::read(top().join(FLOOR)).expect("the floor"),
        "[[model.ignore]]\nclass = \"*\"\n",
    );
    for site in [&wide, &empty] {
        let file = site.write("junit:tests.xml", &[]);
        assert_eq!(faults(&python("valid.py", &[&xsd, &file])), Vec::<String>::new());
    }
    let text = fs::read_to_string(wide.at("tests.xml")).expect("text");
    assert_eq!(text.matches("<failure").count(), 4);
}

// ---- The same for everybody, every time -----------------------------------------------------------

/// All writers that need nothing but the report, with the file that each writes.
const WRITERS: [&str; 9] = [
    "r.json",
    "r.jsonl",
    "r.csv",
    "r.sarif",
    "r.svg",
    "r.html",
    "r.bcf",
    "junit:r.xml",
    "summary:r.md",
];

#[test]
fn every_format_is_the_same_byte_for_byte() {
    let written = || -> Vec<Vec<u8>> {
        let site = Site::floor(WIDE);
        let outputs: Vec<&str> = WRITERS.iter().flat_map(|w| ["-o", w]).collect();
        site.run(&[&["check", "floor.ifc"], outputs.as_slice()].concat());
        let name = |w: &&str| w.rsplit(':').next().unwrap_or_default().to_owned();
        WRITERS.iter().map(|w| fs::read(site.at(&name(w))).expect("written")).collect()
    };
    let (first, second) = (written(), written());
    for ((writer, a), b) in WRITERS.iter().zip(&first).zip(&second) {
        assert!(a == b, "{writer} differs between two runs");
    }
}

/// Whoever gets one file alone can tell what was checked, by which rules, in which version.
#[test]
fn every_format_carries_its_evidence() {
    let site = Site::floor(WIDE);
    let hash = blake3::hash(&fs::read(site.at("floor.ifc")).expect("model")).to_hex().to_string();
    for writer in ["r.json", "r.jsonl", "r.csv", "r.sarif", "junit:r.xml", "summary:r.md"] {
        let text = site.text(writer, &[]);
        let version = env!("CARGO_PKG_VERSION");
        let packs = ["uk-solid-joist", "uk\\-solid\\-joist"];
        assert!(text.contains(&hash), "{writer}: no hash of the model");
        assert!(text.contains(version), "{writer}: no version");
        assert!(packs.iter().any(|pack| text.contains(pack)), "{writer}: no pack");
        assert!(text.contains("cut.clearance"), "{writer}: no settings");
        assert!(text.contains("2026-11-25T14:00:00Z"), "{writer}: no time");
    }
    if let Some(seen) = topics_of(&site.write("r.bcf", &[]), "2.1") {
        for topic in seen["topics"].as_object().expect("topics").values() {
            let text = topic["description"].as_str().expect("a description");
            assert!(text.contains(&hash) && text.contains("cut.clearance"), "{text}");
        }
    }
}

/// A copy of a file of topics whose views open 300 degrees.
fn with_wide_cameras(from: &Path, to: &Path) {
    let mut old = zip::ZipArchive::new(fs::File::open(from).expect("topics")).expect("a zip");
    let mut new = zip::ZipWriter::new(fs::File::create(to).expect("written"));
    for at in 0..old.len() {
        let mut entry = old.by_index(at).expect("an entry");
        let mut bytes = Vec::new();
        std::io::Read::read_to_end(&mut entry, &mut bytes).expect("read");
        let name = entry.name().expect("its name").into_owned();
        if name.ends_with(".bcfv") {
            let text = String::from_utf8(bytes).expect("XML");
            let (head, rest) = text.split_once("<FieldOfView>").expect("a camera");
            let (_, tail) = rest.split_once("</FieldOfView>").expect("its end");
            bytes = format!("{head}<FieldOfView>300</FieldOfView>{tail}").into_bytes();
        }
        new.start_file(name, zip::write::SimpleFileOptions::default()).expect("begun");
        std::io::Write::write_all(&mut new, &bytes).expect("written");
    }
    new.finish().expect("closed");
}

/// The checks that the formats are held against can fail: what is wrong is told.
#[test]
fn what_is_wrong_in_a_file_is_told_by_the_same_checks() {
    let Some(shared) = shared("checks") else { return };
    let site = Site::floor(WIDE);
    // A camera that opens wider than the schema lets it.
    let file = site.write("two.bcf", &[]);
    let wrong = site.at("wrong.bcf");
    with_wide_cameras(&file, &wrong);
    let seen = python("topics.py", &[&wrong, &shared.0.join("standards/bcf/2.1/schemas")]);
    assert!(!faults(&seen["faults"]).is_empty());
    let xsd = shared.0.join("standards/junit/jenkins-junit-10.xsd");
    let text = site
        .text("junit:tests.xml", &[])
        .replace("<failure", "<wrong")
        .replace("</failure", "</wrong");
    let wrong = site.at("wrong.xml");
    fs::write(&wrong, text).expect("written");
    assert!(!faults(&python("valid.py", &[&xsd, &wrong])).is_empty());
    let schema = fs::read(shared.0.join("standards/sarif/sarif-schema-2.1.0.json"));
    let schema: Value = serde_json::from_slice(&schema.expect("schema")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let mut log: Value = serde_json::from_str(&site.text("log.sarif", &[])).expect("JSON");
    assert!(validator.is_valid(&log));
    log["runs"][0]["results"][0]["level"] = "grave".into();
    assert!(!validator.is_valid(&log));
}

// ---- Names are only names -------------------------------------------------------------------------

/// Sheets, records and plans, which are pages and tables too.
fn sheets_and_records_are_harmless(site: &Site) {
    let turns = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    for writer in ["marking:m.html", "marking:m.csv", "record:e.html", "plan:p.svg"] {
        let text = site.text(writer, &[]);
        let odd = |c: &char| c.is_control() && !matches!(c, '\n' | '\r' | '\t') || turns(*c);
        assert_eq!(text.chars().find(odd), None, "{writer}");
        let markup = text.contains("<script>alert") || text.contains("<img src=x");
        assert!(writer == "marking:m.csv" || !markup, "{writer}");
    }
    // Data keeps what the model says, escaped.
    let record: Value = serde_json::from_str(&site.text("record:e.json", &[])).expect("JSON");
    assert!(record.is_object());
    let table = fs::read_to_string(site.at("m.csv")).expect("csv");
    let mut rows = csv::ReaderBuilder::new()
        .flexible(true)
        .from_reader(table.trim_start_matches('\u{feff}').as_bytes());
    for row in rows.records() {
        for cell in &row.expect("a row") {
            let formula = cell.starts_with(['=', '+', '@', '\t', '\r']);
            assert!(!formula, "a spreadsheet would run {cell:?}");
        }
    }
}

/// The scene's names and legend are plain text in valid JSON; pictures are made of any name.
fn scenes_and_pictures_are_harmless(site: &Site) {
    let scene = fs::read(site.write("s.glb", &[])).expect("a scene");
    let word = |at: usize| {
        let bytes = scene.get(at..at + 4).and_then(|b| b.try_into().ok()).expect("four bytes");
        u32::from_le_bytes(bytes) as usize
    };
    assert_eq!((&scene[..4], word(8)), (b"glTF".as_slice(), scene.len()));
    let json: Value = serde_json::from_slice(&scene[20..20 + word(12)]).expect("JSON");
    let mut texts = Vec::new();
    strings(&json, &mut texts);
    assert!(texts.iter().any(|text| text.contains("script")), "the names are there");
    for text in texts {
        let odd = |c: &char| {
            c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        };
        assert_eq!(text.chars().find(odd), None, "the scene says {text:?}");
    }
    for writer in ["d.png", "plan:p.png"] {
        let picture = fs::read(site.write(writer, &[])).expect("a picture");
        assert!(picture.starts_with(b"\x89PNG"), "{writer}");
    }
}

/// Every text in a JSON value, keys included.
fn strings<'v>(value: &'v Value, into: &mut Vec<&'v str>) {
    match value {
        Value::String(text) => into.push(text),
        Value::Array(all) => all.iter().for_each(|one| strings(one, into)),
        Value::Object(all) => {
            for (key, one) in all {
                into.push(key);
                strings(one, into);
            }
        }
        _ => {}
    }
}

/// The floor with the worst names that a model may bring, in Part 21's own writing of letters.
fn hostile() -> Vec<u8> {
    let long = "x".repeat(5000);
    let text = fs::read_to_string(top().join(FLOOR)).expect("the floor");
    text.replace("'J1'", "'<script>alert(1)</script>'")
        .replace("'J2'", "'=HYPERLINK(\"http://x.invalid\",\"y\") | ]]> @all [a](b) `c`'")
        .replace("'J3'", &format!("'{long}'"))
        .replace("'Cold water'", "'\\X2\\202E062706280000\\X0\\ \"><img src=x onerror=alert(2)>'")
        .replace("'Heating flow'", "'\\X\\1B[31m\\X\\07\\X\\0A-1+1'")
        .replace("'First floor'", "'../../evil & co'")
        .into_bytes()
}

#[test]
fn hostile_names_are_harmless_in_every_format() {
    let site = Site::new(&hostile(), WIDE);
    sheets_and_records_are_harmless(&site);
    scenes_and_pictures_are_harmless(&site);
    let printed = site.run(&["check", "floor.ifc", "--all"]).stdout;
    let printed = String::from_utf8(printed).expect("UTF-8");
    let mut texts = vec![("terminal", printed)];
    for writer in WRITERS.iter().filter(|w| !w.ends_with(".bcf")) {
        texts.push((writer, site.text(writer, &[])));
    }
    for (writer, text) in &texts {
        let data = matches!(*writer, "r.json" | "r.jsonl" | "r.sarif");
        for c in text.chars() {
            let fine = !c.is_control() || matches!(c, '\n' | '\r' | '\t');
            assert!(fine, "{writer} holds the control character {c:?}");
            let turns = matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            assert!(!turns || data, "{writer} holds a letter that turns the writing");
        }
        if matches!(*writer, "r.svg" | "r.html" | "junit:r.xml" | "summary:r.md") {
            assert!(!text.contains("<script>alert"), "{writer}");
            assert!(!text.contains("<img src=x"), "{writer}");
        }
    }
    let csv = &texts.iter().find(|(w, _)| *w == "r.csv").expect("csv").1;
    let mut rows =
        csv::ReaderBuilder::new().from_reader(csv.trim_start_matches('\u{feff}').as_bytes());
    for row in rows.records() {
        for cell in &row.expect("a row") {
            let formula = cell.starts_with(['=', '+', '@', '\t', '\r'])
                || cell.starts_with('-') && cell.parse::<f64>().is_err();
            assert!(!formula, "a spreadsheet would run {cell:?}");
        }
    }
    for version in ["2.1", "3.0"] {
        let file = site.write(&format!("h{version}.bcf"), &["--bcf", version]);
        let Some(seen) = topics_of(&file, version) else { return };
        for name in seen["files"].as_array().expect("files") {
            assert!(!name.as_str().expect("a name").contains(".."), "{name}");
        }
        for topic in seen["topics"].as_object().expect("topics").values() {
            let title = topic["title"].as_str().expect("a title");
            assert!(title.chars().count() <= 200, "{title}");
        }
    }
    if let Some(shared) = shared("hostile junit") {
        let xsd = shared.0.join("standards/junit/jenkins-junit-10.xsd");
        assert_eq!(faults(&python("valid.py", &[&xsd, &site.at("r.xml")])), Vec::<String>::new());
    }
}
