//! Real models beside the repository: what is known of them is found, and nothing in them makes the
//! program stop or stay silent.

#[expect(dead_code, reason = "each test uses its own part of it")]
mod support;

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::Command;
use support::report::{Member, Report, check, inspect_all};
use support::shared::{files_under, shared};
use wimble_dev::ifc::{
    Element, Layout, LengthUnit, Model, Schema, Setup, Shape, Substance, SubstanceUse, TypeOf,
};

fn read(path: &Path) -> (String, Vec<u8>) {
    let bytes = fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    (path.file_name().expect("a file").to_string_lossy().into_owned(), bytes)
}

// ---- A house with 83 flat-roof joists -----------------------------------------------------------

/// Joists between the flanges of two steel beams, by GlobalId, with length and clear span as measured in
/// a general-purpose viewer's extents: the span runs from flange tip to flange tip.
const JOISTS: [(&str, f64, f64); 6] = [
    ("23Hac4grzCx890Qj0C4Sys", 2925.02, 2820.0),
    ("23Hac4grzCx890Qj0C4S_z", 2925.02, 2820.0),
    ("141m1T9O9FkRWWqXyoiyw2", 3029.49, 2920.0),
    ("141m1T9O9FkRWWqXyoiydV", 3062.44, 2920.0),
    ("23Hac4grzCx890Qj0C4Syr", 3126.0, 3020.0),
    ("23Hac4grzCx890Qj0C4S$t", 3126.0, 3020.0),
];

fn is_roof_joist(member: &Member) -> bool {
    let [a, b] = member.size;
    (a - 70.0).abs() < 0.5 && (b - 170.0).abs() < 0.5
}

#[test]
fn the_house_has_its_joists_and_their_spans() {
    let Some(shared) = shared("the_house_has_its_joists_and_their_spans") else { return };
    let house = read(&shared.0.join("models/schependomlaan/V_L_Constructief.ifc"));
    let report = inspect_all(&[house]).expect("the house opens");
    // 83 beams are drawn with this section; four of their kind are posts' and purlins' neighbours.
    let joists = report.members.iter().filter(|member| is_roof_joist(member)).count();
    assert!(joists >= 83, "only {joists} of the 83 joists of 70 x 170");
    let spanning =
        report.members.iter().filter(|m| is_roof_joist(m) && !m.spans.is_empty()).count();
    println!("{joists} joists of 70 x 170, {spanning} with spans");
    for (guid, length, span) in JOISTS {
        let member = report.members.iter().find(|member| member.guid == guid).expect(guid);
        assert_eq!(member.kind, "joist", "{member:?}");
        assert!((member.length - length).abs() < 0.1, "{length}: {member:?}");
        assert!(
            matches!(member.spans[..], [only] if (only - span).abs() < 0.5),
            "{span}: {member:?}"
        );
    }
    let steel: Vec<_> = report
        .members
        .iter()
        .filter(|member| {
            ["HEA", "HEB", "HE180", "HE220", "staal"].iter().any(|s| member.name.contains(s))
        })
        .collect();
    assert!(steel.is_empty(), "steel taken for timber: {steel:?}");
}

#[test]
fn every_cut_planned_in_the_house_is_found() {
    let Some(shared) = shared("every_cut_planned_in_the_house_is_found") else { return };
    let house = read(&shared.0.join("models/schependomlaan/V_L_Constructief.ifc"));
    let before = inspect_all(std::slice::from_ref(&house)).expect("the house opens");
    let mut setup = Setup::new("planned.ifc", Schema::Ifc4, LengthUnit::Metre);
    setup.country = Some("Netherlands".to_owned());
    let mut model = Model::new(&setup);
    let storey = model.storey("roof", 0.0);
    let mut planned: BTreeMap<String, (String, f64)> = BTreeMap::new();
    for (number, row) in before.json["members"].as_array().into_iter().flatten().enumerate() {
        let member = &before.members[number];
        if !is_roof_joist(member) || member.kind != "joist" {
            continue;
        }
        let vector = |key: &str| -> [f64; 3] {
            [0, 1, 2].map(|axis| row["frame"][key][axis].as_f64().expect("a frame"))
        };
        let (origin, x, z) = (vector("origin_m"), vector("x"), vector("z"));
        // A third of the way along, square across, 60 out of either side.
        let along = (member.length / 3.0).round();
        let y = [z[1] * x[2] - z[2] * x[1], z[2] * x[0] - z[0] * x[2], z[0] * x[1] - z[1] * x[0]];
        let at = |across: f64| {
            let mm = [0, 1, 2].map(|i| origin[i] * 1000.0 + x[i] * along + y[i] * across);
            glam::DVec3::from_array(mm)
        };
        let name = format!("planned {number}");
        let body = [Shape::bar(at(-95.0), at(95.0), 25.0)];
        let element = Element {
            predefined: Some("RIGIDSEGMENT"),
            of: Some(TypeOf {
                class: "IfcPipeSegmentType",
                name: "Planned pipe 25",
                predefined: "RIGIDSEGMENT",
                element_type: None,
            }),
            substance: Some(SubstanceUse::Single(Substance {
                name: "Copper",
                category: None,
                wood: None,
            })),
            frame: glam::DAffine3::from_translation(at(-95.0)),
            ..Element::new("IfcPipeSegment", &name, &body)
        };
        model.element(&element, storey);
        planned.insert(name, (member.guid.clone(), along));
    }
    assert!(planned.len() >= 60, "only {} joists to plan for", planned.len());
    let services = ("planned.ifc".to_owned(), model.bytes(Layout::default()));
    let after =
        check(&[house, services], "[rules]\nregion = \"GB\"\n[cut]\nclearance = \"5 mm\"\n");
    let mut missed = Vec::new();
    for (name, (guid, along)) in &planned {
        let found = after.cuts.iter().any(|cut| {
            cut.services.contains(name)
                && after.members[cut.member].guid == *guid
                && (cut.min[0] - (along - 15.0)).abs() < 0.1
                && (cut.max[0] - (along + 15.0)).abs() < 0.1
                && cut.offset.abs() < 0.1
                && cut.kind == "hole"
        });
        if !found {
            let those: Vec<_> =
                after.cuts.iter().filter(|cut| cut.services.contains(name)).collect();
            missed.push(format!("{name} in {guid} at {along}: {those:?}"));
        }
    }
    println!("{} of {} planned cuts found", planned.len() - missed.len(), planned.len());
    assert!(
        missed.is_empty(),
        "{} of {} missed\n{}",
        missed.len(),
        planned.len(),
        missed.join("\n")
    );
}

// ---- Models without timber members ----------------------------------------------------------------

#[test]
fn floors_whose_lumber_is_only_a_layer_are_named() {
    let Some(shared) = shared("floors_whose_lumber_is_only_a_layer_are_named") else { return };
    let folder = shared.0.join("models/duplex");
    let files = [read(&folder.join("Duplex_A.ifc")), read(&folder.join("Duplex_Electrical.ifc"))];
    let report = check(&files, "");
    let coverage = report.coverage();
    let layers: Vec<_> = coverage.iter().filter(|(_, status, ..)| status == "layer-only").collect();
    assert!(
        layers.iter().any(|(class, _, reason, count)| {
            class == "IfcSlab" && *count > 0 && reason.to_lowercase().contains("layer")
        }),
        "{coverage:#?}"
    );
    let joists = report.members.iter().filter(|member| member.kind == "joist").count();
    assert_eq!(joists, 0, "no joist is modelled");
}

#[test]
fn two_units_merge_and_nothing_timber_is_said_so() {
    let Some(shared) = shared("two_units_merge_and_nothing_timber_is_said_so") else { return };
    let folder = shared.0.join("standards/bcf/ifc-for-examples");
    let run = |format: &str| {
        Command::new(env!("CARGO_BIN_EXE_wimble"))
            .args(["check", "--format", format])
            .args([folder.join("Architectural.ifc"), folder.join("MEP.ifc")])
            .output()
            .expect("the command runs")
    };
    let json = run("json");
    assert_eq!(json.status.code(), Some(0), "{}", String::from_utf8_lossy(&json.stderr));
    let report: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let unit = |at: usize| report["inputs"][at]["length_unit"].as_str().unwrap_or_default();
    assert_eq!((unit(0), unit(1)), ("mm", "m"));
    assert_eq!(report["members"].as_array().map(Vec::len), Some(0));
    assert!(report["services"].as_array().is_some_and(|services| !services.is_empty()));
    let text = String::from_utf8(run("terminal").stdout).expect("UTF-8");
    let says_so = text.to_lowercase().contains("no timber");
    assert!(says_so, "{text}");
}

// ---- Every file -----------------------------------------------------------------------------------

/// Products as the reader counts them; the coverage must account for each.
fn products(bytes: &[u8]) -> Option<usize> {
    wimble_ifc::Model::open(&plain(bytes)?).ok().map(|model| model.products().len())
}

fn plain(bytes: &[u8]) -> Option<Vec<u8>> {
    if wimble_ifc::is_zip(bytes) { wimble_ifc::unzip(bytes).ok() } else { Some(bytes.to_vec()) }
}

/// Names of all subtypes of `IfcProduct` in any of the three schemas, in capitals, from the extracts
/// of the EXPRESS files: the reader's own tables are not asked.
fn product_names(shared: &Path) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for file in ["IFC2X3_TC1.json", "IFC4_ADD2_TC1.json", "IFC4X3_ADD2.json"] {
        let (_, text) = read(&shared.join("standards/ifc/attributes").join(file));
        let extract: Value = serde_json::from_slice(&text).expect("the extract is JSON");
        let entities = extract["entities"].as_object().expect("entities");
        for (name, entity) in entities {
            let above = entity["supertypes"].as_array().into_iter().flatten();
            if name == "IfcProduct" || above.clone().any(|up| up == "IfcProduct") {
                names.insert(name.to_uppercase());
            }
        }
    }
    names
}

/// Counts `= NAME(` in plain text: no parser of ours is asked. Good for files that are not broken on
/// purpose.
fn counted_in_text(bytes: &[u8], names: &BTreeSet<String>) -> usize {
    let text = String::from_utf8_lossy(bytes);
    text.split('=')
        .skip(1)
        .filter(|rest| {
            let rest = rest.trim_start();
            let end = rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '_').unwrap_or(0);
            rest[end..].trim_start().starts_with('(') && names.contains(&rest[..end].to_uppercase())
        })
        .count()
}

/// What the inventory beside the models says of a file: how many of each class, by columns.
type Inventory = BTreeMap<String, Vec<(String, u64)>>;

/// Counted by the inventory's own means, with no parser of ours.
fn inventory(folder: &Path) -> Inventory {
    let (_, text) = read(&folder.join("inventory.tsv"));
    let text = String::from_utf8(text).expect("UTF-8");
    let mut lines = text.lines().map(|line| line.split('\t').collect::<Vec<_>>());
    let head = lines.next().expect("a head");
    lines
        .map(|cells| {
            let counts = head.iter().zip(&cells).filter(|(name, _)| name.starts_with("Ifc"));
            // `?`: not counted.
            let counts = counts.filter(|(_, count)| **count != "?").map(|(name, count)| {
                ((*name).to_owned(), count.parse().unwrap_or_else(|e| panic!("{cells:?}: {e}")))
            });
            (cells[0].to_owned(), counts.collect())
        })
        .collect()
}

#[test]
fn every_model_is_read_without_a_panic_and_accounted_for() {
    let Some(shared) = shared("every_model_is_read_without_a_panic_and_accounted_for") else {
        return;
    };
    let folder = shared.0.join("models");
    let files = files_under(&folder);
    let inventory = inventory(&folder);
    let there: BTreeSet<String> = files
        .iter()
        .map(|path| path.strip_prefix(&folder).unwrap_or(path).display().to_string())
        .collect();
    let listed: BTreeSet<String> = inventory.keys().cloned().collect();
    assert_eq!(there, listed, "the inventory has a row for every file");
    let names = product_names(&shared.0);
    let mut wrong = Vec::new();
    let (mut opened, mut refused) = (0, 0);
    for path in files {
        let name = path.strip_prefix(&folder).unwrap_or(&path).display().to_string();
        let file = read(&path);
        let report = catch_unwind(AssertUnwindSafe(|| inspect_all(std::slice::from_ref(&file))));
        let report = match report {
            Err(_) => {
                wrong.push(format!("{name}: inspect panicked"));
                continue;
            }
            Ok(Err(reason)) => {
                refused += 1;
                if reason.len() < 20 || products(&file.1).is_some() {
                    wrong.push(format!("{name}: refused with {reason:?}"));
                }
                continue;
            }
            Ok(Ok(report)) => report,
        };
        opened += 1;
        let counted: u64 = report.coverage().iter().map(|row| row.3).sum();
        let products = products(&file.1).unwrap_or(0);
        let plain = plain(&file.1).unwrap_or_default();
        if !name.starts_with("parser-cases") && counted_in_text(&plain, &names) != products {
            wrong.push(format!("{name}: {products} products; not so many by their text"));
        }
        if counted != products as u64 {
            wrong.push(format!("{name}: {counted} of {products} products in the coverage"));
        }
        for (class, count) in inventory.get(&name).into_iter().flatten() {
            // The inventory counts the standard cases of IFC4 with their class.
            let stem = class.strip_suffix("Element").unwrap_or(class);
            let standard = format!("{stem}StandardCase");
            let of_class = report.coverage().into_iter();
            let of_class = of_class.filter(|row| row.0 == *class || row.0 == standard);
            let covered: u64 = of_class.map(|row| row.3).sum();
            if covered != *count {
                wrong.push(format!("{name}: {covered} of {count} {class} in the coverage"));
            }
        }
        for (class, status, reason, _) in report.coverage() {
            if status == "unreadable" && reason.len() < 15 {
                wrong.push(format!("{name}: {class} unreadable: {reason:?}"));
            }
        }
        if catch_unwind(AssertUnwindSafe(|| checked(&file))).is_err() {
            wrong.push(format!("{name}: check panicked"));
        }
    }
    println!("{opened} models checked, {refused} refused with a reason");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn checked(file: &(String, Vec<u8>)) -> Report {
    check(std::slice::from_ref(file), "")
}
