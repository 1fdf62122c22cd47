//! Several files as one building: map conversions, GlobalIds that repeat.

use super::{json, run, warnings};
use glam::{DAffine3, dvec3};
use wimble_dev::ifc::{
    Element, Georeference, Layout, LengthUnit, Model, Schema, Setup, Shape, Substance, SubstanceUse,
};

const WOOD: SubstanceUse =
    SubstanceUse::Single(Substance { name: "C24", category: Some("wood"), wood: None });

fn setup(name: &str, eastings: f64, unit: LengthUnit) -> Setup {
    Setup {
        georeference: Some(Georeference {
            system: "EPSG:27700".to_owned(),
            eastings,
            northings: 180_000.0,
            height: 0.0,
        }),
        ..Setup::new(name, Schema::Ifc4, unit)
    }
}

fn one(setup: &Setup, class: &str, name: &str, body: Shape) -> Vec<u8> {
    let mut model = Model::new(setup);
    let storey = model.storey("Level 1", 0.0);
    let body = [body];
    let substance = (class == "IfcBeam").then_some(WOOD);
    let element =
        Element { substance, frame: DAffine3::IDENTITY, ..Element::new(class, name, &body) };
    model.element(&element, storey);
    model.bytes(Layout::default())
}

#[test]
fn map_conversions_that_differ_are_told_and_align_only_when_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    let joist = Shape::stick(dvec3(0.0, 0.0, 110.0), dvec3(4000.0, 0.0, 110.0), 47.0, 220.0);
    let structure = one(&setup("s", 530_000.0, LengthUnit::Millimetre), "IfcBeam", "Joist", joist);
    // The services' origin lies 100 m further east: on the map the pipe crosses at 1500.
    let (from, to) = (dvec3(-98_500.0, -100.0, 110.0), dvec3(-98_500.0, 100.0, 110.0));
    let pipe = Shape::bar(from, to, 22.0);
    let services = one(&setup("p", 530_100.0, LengthUnit::Foot), "IfcPipeSegment", "Pipe", pipe);
    std::fs::write(folder.path().join("s.ifc"), structure).expect("a file");
    std::fs::write(folder.path().join("p.ifc"), services).expect("a file");
    let arguments = ["check", "--format", "json", "--fail-on", "never", "s.ifc", "p.ifc"];
    let placed = json(&run(folder.path(), &arguments, None));
    assert_eq!(placed["cuts"].as_array().map(Vec::len), Some(0));
    let told = warnings(&placed);
    assert!(told.iter().any(|text| text.contains("map conversion differs")), "{told:?}");
    let aligned: Vec<&str> = arguments.into_iter().chain(["--align", "map"]).collect();
    let aligned = json(&run(folder.path(), &aligned, None));
    let cuts = aligned["cuts"].as_array().expect("cuts");
    assert_eq!(cuts.len(), 1, "{:?}", warnings(&aligned));
    let middle = 0.5 * (cuts[0]["x0_mm"].as_f64().unwrap() + cuts[0]["x1_mm"].as_f64().unwrap());
    assert!((middle - 1500.0).abs() < 0.1, "{middle}");
    assert!(!warnings(&aligned).iter().any(|text| text.contains("map conversion differs")));
}

#[test]
fn elements_with_one_globalid_are_all_there_and_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let joist = |y: f64| Shape::stick(dvec3(0.0, y, 110.0), dvec3(4000.0, y, 110.0), 47.0, 220.0);
    // The same file name makes the same GlobalIds.
    for (name, y) in [("a.ifc", 0.0), ("b.ifc", 400.0)] {
        let bytes = one(&setup("same", 0.0, LengthUnit::Millimetre), "IfcBeam", "Joist", joist(y));
        std::fs::write(folder.path().join(name), bytes).expect("a file");
    }
    let report =
        json(&run(folder.path(), &["inspect", "--format", "json", "a.ifc", "b.ifc"], None));
    let members = report["members"].as_array().expect("members");
    let ids: Vec<&str> = members.iter().filter_map(|m| m["id"].as_str()).collect();
    assert_eq!(ids.len(), 2);
    assert_ne!(ids[0], ids[1]);
    assert_eq!(members[0]["guid"], members[1]["guid"]);
    let told = warnings(&report);
    assert!(told.iter().any(|text| text.contains("GlobalId")), "{told:?}");
}
