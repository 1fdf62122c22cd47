//! What is written back into IFC, held against a general-purpose IFC toolkit: openings take away
//! what their cuts say, provisions lie where they are asked for, and the models stay as they were.
//!
//! The toolkit runs in `.venv` (`tests/reference/setup.sh` makes it).

#[expect(dead_code, reason = "each test uses its own part of it")]
#[path = "support/shared.rs"]
mod shared;

use serde::Deserialize;
use serde_json::Value;
use shared::top;
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use wimble_dev::floors::{Floor, Random, Section, Style, floor, write};
use wimble_dev::ifc::{LengthUnit, Schema};

/// How far a voided volume may lie from that of its cuts, as a share.
const NEAR: f64 = 0.01;

/// Clearance on the diameter of a copper pipe where the settings say nothing (`docs/practice.md`).
const CLEARANCE: f64 = 5.0;

/// What the toolkit sees (`tests/exchange/look.py`).
#[derive(Debug, Deserialize)]
struct Seen {
    schema: String,
    faults: Vec<String>,
    repeated_ids: usize,
    openings: Vec<Opening>,
    volumes_m3: BTreeMap<String, [f64; 2]>,
    provisions: Vec<Provision>,
}

#[derive(Debug, Deserialize)]
struct Opening {
    host: String,
}

#[derive(Debug, Deserialize)]
struct Provision {
    class: String,
    storey: String,
    volume_m3: f64,
    min_m: [f64; 3],
    max_m: [f64; 3],
    properties: BTreeMap<String, BTreeMap<String, Value>>,
}

/// A folder with the models of one case.
struct Case {
    folder: tempfile::TempDir,
    models: Vec<PathBuf>,
}

impl Case {
    fn new(files: &[(String, Vec<u8>)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let models = files
            .iter()
            .map(|(name, bytes)| {
                let path = folder.path().join(name);
                fs::write(&path, bytes).unwrap();
                path
            })
            .collect();
        Self { folder, models }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Checks models, writing the file; the JSON report.
    fn check(&self, models: &[&Path], output: Option<(&str, &Path)>) -> Value {
        let mut arguments: Vec<String> = vec!["check".into()];
        arguments.extend(models.iter().map(|model| model.display().to_string()));
        arguments.extend(["--format".into(), "json".into()]);
        if let Some((writer, path)) = output {
            arguments.extend(["-o".into(), format!("{writer}:{}", path.display())]);
        }
        let output = wimble(&arguments);
        assert!(
            matches!(output.status.code(), Some(0 | 1)),
            "{}",
            String::from_utf8_lossy(&output.stderr)
        );
        serde_json::from_slice(&output.stdout).unwrap()
    }

    fn all(&self) -> Vec<&Path> {
        self.models.iter().map(PathBuf::as_path).collect()
    }
}

fn wimble(arguments: &[String]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wimble")).args(arguments).output().unwrap()
}

fn look(before: &str, after: &Path) -> Seen {
    look_at(&[(before.to_owned(), after.to_path_buf())]).remove(0)
}

/// Pairs of a file and what it became (`-` for nothing before).
fn look_at(pairs: &[(String, PathBuf)]) -> Vec<Seen> {
    let python = top().join(".venv/bin/python");
    assert!(python.is_file(), "the reference toolkit is missing: run tests/reference/setup.sh");
    let output = Command::new(python)
        .arg(top().join("tests/exchange/look.py"))
        .args(
            pairs.iter().flat_map(|(before, after)| [before.clone(), after.display().to_string()]),
        )
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn demo() -> Case {
    let folder = top().join("sample-models");
    let read = |name: &str| (name.to_owned(), fs::read(folder.join(name)).unwrap());
    Case::new(&[read("structure.ifc"), read("services.ifc"), read("wimble.toml")])
}

fn text<'a>(row: &'a Value, key: &str) -> &'a str {
    row[key].as_str().unwrap_or_default()
}

fn number(row: &Value, key: &str) -> f64 {
    row[key].as_f64().unwrap_or_else(|| panic!("{key} in {row}"))
}

fn rows<'a>(report: &'a Value, key: &str) -> &'a [Value] {
    report[key].as_array().map_or(&[], Vec::as_slice)
}

/// The cuts that a void may be made for.
fn wanted(report: &Value) -> Vec<&Value> {
    rows(report, "cuts")
        .iter()
        .filter(|cut| text(cut, "verdict") == "pass" && rows(cut, "openings").is_empty())
        .filter(|cut| !matches!(text(cut, "kind"), "between-webs" | "joinery"))
        .collect()
}

/// Width and height of a cut, and how thick the wood is there.
fn sizes(report: &Value, cut: &Value) -> (f64, f64, f64) {
    let member = rows(report, "members").iter().find(|m| m["id"] == cut["member"]).unwrap();
    let section = &member["section"];
    let thick = if text(cut, "kind") == "web-hole" { "web_mm" } else { "breadth_mm" };
    let thick = section.get(thick).and_then(Value::as_f64);
    let thick = thick.unwrap_or(number(cut, "y1_mm") - number(cut, "y0_mm"));
    (number(cut, "width_mm"), number(cut, "height_mm"), thick)
}

/// Whether the first service of a cut is straight and round.
fn round_service(report: &Value, cut: &Value) -> bool {
    let service = rows(report, "services").iter().find(|s| s["id"] == cut["services"][0]);
    service.is_some_and(|service| !service["shape"]["round_mm"].is_null())
}

/// Removed by each member's voids, cubic millimetres, by GlobalId.
fn expected(report: &Value, of_cut: impl Fn(&Value) -> f64) -> BTreeMap<String, f64> {
    let mut removed = BTreeMap::new();
    for cut in wanted(report) {
        let member = rows(report, "members").iter().find(|m| m["id"] == cut["member"]).unwrap();
        *removed.entry(text(member, "guid").to_owned()).or_insert(0.0) += of_cut(cut);
    }
    removed
}

fn assert_removed(seen: &Seen, expected: &BTreeMap<String, f64>) {
    let hosts: BTreeSet<&str> = seen.openings.iter().map(|o| o.host.as_str()).collect();
    assert_eq!(hosts, expected.keys().map(String::as_str).collect());
    for (guid, expected) in expected {
        let [whole, left] = seen.volumes_m3[guid];
        let removed = (whole - left) * 1e9;
        assert!(
            (removed - expected).abs() <= NEAR * expected,
            "{guid}: {removed:.0} mm³ are removed, its cuts take {expected:.0} mm³"
        );
    }
}

/// Every byte of the original is in the copy, in order, with one addition before the end.
fn assert_only_added(before: &[u8], after: &[u8]) {
    let same = before.iter().zip(after).take_while(|(a, b)| a == b).count();
    let rest = &before[same..];
    assert!(after.ends_with(rest) && after.len() - rest.len() >= same, "bytes were changed");
    let at_end = rest.starts_with(b"ENDSEC") || rest.starts_with(b"NDSEC");
    assert!(before == after || at_end, "not at the end of the data");
}

#[test]
fn openings_of_the_demo_building_take_away_what_its_cuts_say() {
    let case = demo();
    let copy = case.path("new.ifc");
    let models = [case.models[0].as_path(), case.models[1].as_path()];
    let report = case.check(&models, Some(("openings", &copy)));
    assert_only_added(&fs::read(models[0]).unwrap(), &fs::read(&copy).unwrap());

    let seen = look(&models[0].display().to_string(), &copy);
    assert_eq!((seen.faults.as_slice(), seen.repeated_ids), ([].as_slice(), 0));
    assert_eq!(seen.openings.len(), wanted(&report).len());
    let of_cut = |cut: &Value| {
        let (width, height, thick) = sizes(&report, cut);
        let shared = number(cut, "shared") > 1.0;
        let round = shared || round_service(&report, cut);
        if !round || !text(cut, "kind").ends_with("hole") {
            return width * height * thick;
        }
        // A pipe laid to a fall makes a hole higher than the bit; its width is the bit's.
        let bit = if shared { number(cut, "bit_mm") } else { width.min(height) };
        PI / 4.0 * bit * bit * thick
    };
    assert_removed(&seen, &expected(&report, of_cut));
}

#[test]
fn a_copy_with_openings_is_checked_to_the_same_verdicts_and_gets_no_more() {
    let case = demo();
    let (copy, again) = (case.path("new.ifc"), case.path("again.ifc"));
    let report = case.check(&[&case.models[0], &case.models[1]], Some(("openings", &copy)));
    let second = case.check(&[&copy, &case.models[1]], Some(("openings", &again)));
    assert_eq!(report["summary"]["verdicts"], second["summary"]["verdicts"]);
    assert_eq!(report["summary"]["cuts"], second["summary"]["cuts"]);
    assert!(!wanted(&report).is_empty());
    assert_eq!(wanted(&second), Vec::<&Value>::new(), "every void that may be made is made");
    assert_eq!(fs::read(&copy).unwrap(), fs::read(&again).unwrap());
}

#[test]
fn provisions_ask_for_each_void_in_its_place() {
    let case = demo();
    let asked = case.path("asked.ifc");
    let report = case.check(&[&case.models[0], &case.models[1]], Some(("provisions", &asked)));
    let seen = look("-", &asked);
    assert_eq!((seen.faults.as_slice(), seen.repeated_ids), ([].as_slice(), 0));
    let wanted = wanted(&report);
    assert_eq!(seen.provisions.len(), wanted.len());
    assert_eq!(seen.schema, "IFC4");
    let storeys: BTreeSet<&str> =
        rows(&report, "members").iter().map(|member| text(member, "storey")).collect();
    for provision in &seen.provisions {
        assert!(storeys.contains(provision.storey.as_str()), "{provision:?}");
        assert!(provision.volume_m3 > 0.0);
        let properties = &provision.properties["Pset_BuildingElementProxyProvisionForVoid"];
        assert!(properties.contains_key("Depth") && properties.contains_key("Shape"));
    }
    for cut in wanted {
        let point: Vec<f64> =
            cut["point_m"].as_array().unwrap().iter().filter_map(Value::as_f64).collect();
        let holds = |p: &Provision| {
            (0..3).all(|axis| p.min_m[axis] <= point[axis] && point[axis] <= p.max_m[axis])
        };
        assert!(seen.provisions.iter().any(holds), "nothing is asked for at {cut}");
    }
}

#[test]
fn provisions_beside_the_models_are_seen_as_voids_asked_for() {
    let case = demo();
    let asked = case.path("asked.ifc");
    let models = [case.models[0].as_path(), case.models[1].as_path()];
    let report = case.check(&models, Some(("provisions", &asked)));
    let with = case.check(&[models[0], models[1], &asked], None);
    assert_eq!(report["summary"]["verdicts"], with["summary"]["verdicts"]);
    assert_eq!(wanted(&with).len(), 0, "each void is known by its provision");
    // A void that is only asked for is not made: it still gets its opening.
    let copy = case.path("new.ifc");
    let direct = case.path("direct.ifc");
    case.check(&[models[0], models[1], &asked], Some(("openings", &copy)));
    case.check(&models, Some(("openings", &direct)));
    let count = |path: &Path| look(&models[0].display().to_string(), path).openings.len();
    assert_eq!(count(&copy), count(&direct));
}

/// A floor with its openings and its provisions written.
struct WrittenFloor {
    floor: Floor,
    style: Style,
    case: Case,
    report: Value,
}

impl WrittenFloor {
    fn new(floor: Floor, style: Style) -> Self {
        let case = Case::new(&write(&floor, &style));
        let (copy, asked) = (case.path("new.ifc"), case.path("asked.ifc"));
        let report = case.check(&case.all(), Some(("openings", &copy)));
        assert_only_added(&fs::read(&case.models[0]).unwrap(), &fs::read(&copy).unwrap());
        case.check(&case.all(), Some(("provisions", &asked)));
        Self { floor, style, case, report }
    }

    fn pairs(&self) -> [(String, PathBuf); 2] {
        let before = self.case.models[0].display().to_string();
        [(before, self.case.path("new.ifc")), ("-".into(), self.case.path("asked.ifc"))]
    }

    /// Holds what the toolkit sees against the floor; the number of openings.
    fn compare(&self, copy: &Seen, asked: &Seen) -> usize {
        let told = format!("{:?} {:?}", self.style.schema, self.style.unit);
        for seen in [copy, asked] {
            assert_eq!((seen.faults.as_slice(), seen.repeated_ids), ([].as_slice(), 0), "{told}");
        }
        let of_cut = |cut: &Value| of_floor(&self.floor, &self.report, cut);
        assert_removed(copy, &expected(&self.report, of_cut));
        assert_eq!(asked.provisions.len(), wanted(&self.report).len(), "{told}");
        let (class, set) = match self.style.schema {
            Schema::Ifc4x3 => ("IfcVirtualElement", "Pset_ProvisionForVoid"),
            _ => ("IfcBuildingElementProxy", "Pset_BuildingElementProxyProvisionForVoid"),
        };
        for provision in &asked.provisions {
            assert_eq!(provision.class, class, "{told}");
            assert!(provision.properties.contains_key(set), "{told}");
        }
        copy.openings.len()
    }
}

/// Floors of every schema and unit, nested and turned, in the styles that random floors have.
#[test]
fn openings_and_provisions_fit_in_every_schema_and_unit() {
    let mut random = Random::new(11);
    let mut floors = Vec::new();
    for (n, schema) in Schema::ALL.into_iter().enumerate() {
        for (m, unit) in LengthUnit::ALL.into_iter().enumerate() {
            let floor = floor(&mut Random::new((7 * n + m) as u64));
            let style = Style { schema, unit, second: None, ..Style::nth(m, &mut random) };
            floors.push(WrittenFloor::new(floor, style));
        }
    }
    let seen = look_at(&floors.iter().flat_map(WrittenFloor::pairs).collect::<Vec<_>>());
    let pairs = floors.iter().zip(seen.chunks(2));
    let openings: usize = pairs.map(|(floor, seen)| floor.compare(&seen[0], &seen[1])).sum();
    assert!(openings > 20, "only {openings} openings in all");
}

/// What a cut of a floor takes away, from the floor as it was drawn.
fn of_floor(floor: &Floor, report: &Value, cut: &Value) -> f64 {
    let (width, height, thick) = sizes(report, cut);
    let bit = number(cut, "bit_mm");
    if text(cut, "kind") != "hole" {
        return width * height * thick;
    }
    if number(cut, "shared") > 1.0 {
        return PI / 4.0 * bit * bit * thick;
    }
    let id = cut["services"][0].as_str().unwrap();
    let row = rows(report, "services").iter().find(|s| text(s, "id") == id).unwrap();
    let service = floor.services.iter().find(|s| s.name == text(row, "name")).unwrap();
    match service.section {
        Section::Rectangle(..) => width * height * thick,
        Section::Round(bare) => {
            // Joists run along Y: the breadth lies along X.
            let along = (service.to - service.from).normalize();
            let diameter = bare + CLEARANCE;
            PI / 4.0 * diameter * diameter * thick / along.x.abs()
        }
    }
}

/// A floor whose names would break out of a string, of a line, of the alphabet of the file.
fn hostile() -> Vec<u8> {
    let text = fs::read_to_string(top().join("tests/cmd/check.in/floor.ifc")).unwrap();
    let long = "x".repeat(3000);
    text.replace("'J1'", "'it''s); DROP #1=IFCWALL(''x'');'")
        .replace("'J2'", "'\\X2\\202E062706280000\\X0\\ <script>alert(1)</script>'")
        .replace("'J3'", &format!("'back\\\\slash {long}'"))
        .replace("'Cold water'", "'\\X\\1B[31m\\X\\07\\X\\0A#2=IFCWALL();\\X4\\0001F6B0\\X0\\'")
        .replace("'Heating flow'", "'ENDSEC; END-ISO-10303-21; /* '")
        .replace("'First floor'", "'../../evil & co'''")
        .into_bytes()
}

#[test]
fn hostile_names_are_only_text_in_what_is_written_back() {
    let case = Case::new(&[("floor.ifc".to_owned(), hostile())]);
    let model = case.models[0].clone();
    let named = |report: &Value| {
        rows(report, "members").iter().map(|m| text(m, "name").to_owned()).collect::<Vec<_>>()
    };
    let (copy, asked) = (case.path("new.ifc"), case.path("voids.ifc"));
    let report = case.check(&[&model], Some(("openings", &copy)));
    case.check(&[&model], Some(("provisions", &asked)));
    assert_only_added(&fs::read(&model).unwrap(), &fs::read(&copy).unwrap());
    for path in [&copy, &asked] {
        // Printable ASCII, as the format wants it; every other letter is encoded.
        let written = fs::read(path).unwrap();
        let odd = written.iter().find(|b| !matches!(b, b' '..=b'~' | b'\r' | b'\n'));
        assert_eq!(odd, None, "{}", path.display());
    }
    let seen =
        look_at(&[(model.display().to_string(), copy.clone()), ("-".to_owned(), asked.clone())]);
    for seen in &seen {
        assert_eq!((seen.faults.as_slice(), seen.repeated_ids), ([].as_slice(), 0));
    }
    assert_eq!(seen[0].openings.len(), wanted(&report).len());
    assert_eq!(seen[1].provisions.len(), wanted(&report).len());
    assert!(!wanted(&report).is_empty());
    // The copy is the same building to us: no name was cut, none ran into another.
    let again = case.check(&[&copy], None);
    assert_eq!(named(&again), named(&report));
}

#[test]
fn models_without_members_have_no_structure_to_copy() {
    let case = demo();
    let out = case.path("none.ifc");
    let arguments = ["check", &case.models[1].display().to_string(), "-o"]
        .map(ToOwned::to_owned)
        .into_iter()
        .chain([format!("openings:{}", out.display())]);
    let output = wimble(&arguments.collect::<Vec<_>>());
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(told.contains("there is no member in any of the models"), "{told}");
    assert!(!out.exists());
}
