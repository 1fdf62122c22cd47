//! Every file of `../shared/models` is read through: nothing panics, and what the files are known
//! to hold is found.
#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "tests tell what they skip and stop at what should not be"
)]

use std::fs;
use std::path::{Path, PathBuf};
use wimble_ifc::{Class, MaterialKind, Model, OpenError, Schema, class, is_zip, unzip};

/// The folder beside the repository that holds real models; `None` (after saying so) without it.
fn shared(test: &str) -> Option<PathBuf> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap();
    #[expect(
        clippy::disallowed_methods,
        reason = "where the test data is, is told by the environment"
    )]
    let folder =
        std::env::var("WIMBLE_SHARED").map_or_else(|_| top.join("../shared"), PathBuf::from);
    if folder.is_dir() {
        return Some(folder);
    }
    #[expect(clippy::disallowed_methods, reason = "only the environment tells that this is CI")]
    let required = std::env::var("CI").is_ok_and(|value| value == "true");
    assert!(!required, "{test}: no ../shared");
    println!("skipped: {test}: no ../shared");
    None
}

/// A file's bytes, unpacked if it is a zip.
fn bytes(path: &Path) -> Vec<u8> {
    let bytes = fs::read(path).unwrap();
    if is_zip(&bytes) { unzip(&bytes).unwrap() } else { bytes }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let extension = path.extension().unwrap_or_default().to_ascii_lowercase();
            if path.is_dir() {
                folders.push(path);
            } else if extension == "ifc" || extension == "ifczip" {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

#[test]
fn every_product_of_every_file_answers_all_questions() {
    let Some(shared) = shared("every_product_of_every_file_answers_all_questions") else { return };
    let files = files(&shared.join("models"));
    assert!(files.len() > 130, "{} files", files.len());
    for path in files {
        let bytes = bytes(&path);
        let name = path.strip_prefix(&shared).unwrap().display();
        let model = match Model::open(&bytes) {
            Ok(model) => model,
            Err(error) => {
                println!("{name}: {error}");
                assert!(matches!(error, OpenError::NoInstances), "{name}: {error}");
                continue;
            }
        };
        model.read_ahead();
        let mut unplaced = 0;
        for &row in model.products() {
            let root = model.root(row);
            assert_eq!(root.guid, model.guid(row));
            match model.placement(row) {
                Ok(frame) => {
                    assert!(frame.is_finite(), "{name}: {root:?}");
                    let turn = frame.matrix3 * frame.matrix3.transpose();
                    assert!(turn.abs_diff_eq(glam::DMat3::IDENTITY, 1e-9), "{name}: {root:?}");
                    assert!(frame.matrix3.determinant() > 0.0, "{name}: {root:?}");
                }
                Err(trouble) => {
                    unplaced += 1;
                    assert!(!trouble.reason.is_empty());
                }
            }
            let _ = (model.storey(row), model.container(row), model.site(row), model.whole(row));
            let _ = (model.parts(row), model.voids(row), model.host(row), model.fillings(row));
            let _ = (model.materials(row), model.properties(row), model.classifications(row));
            let _ = (model.ports(row), model.connected(row), model.connections(row));
            let _ = (model.coverings(row), model.systems(row), model.groups_of(row));
            let _ = model.property(row, Some("Pset_BeamCommon"), "Span");
        }
        let _ = (model.site_region(), model.georeference());
        println!(
            "{name}: {} as {}, {}, {} products ({unplaced} not placed), {} unclassed",
            model.schema_name(),
            model.schema(),
            model.units().length_name,
            model.products().len(),
            model.unclassed().len()
        );
        for diagnostic in model.diagnostics().iter().take(6) {
            println!("    {diagnostic}");
        }
    }
}

#[test]
fn the_flat_roof_joists_of_a_real_house_are_found_with_their_material_and_storey() {
    let Some(shared) = shared("the_flat_roof_joists_of_a_real_house") else { return };
    let bytes = bytes(&shared.join("models/schependomlaan/V_L_Constructief.ifc"));
    let model = Model::open(&bytes).unwrap();
    assert_eq!(model.schema(), Schema::Ifc2x3);
    assert_eq!(model.units().length_name, "mm");
    let beams = model.rows_of_class(class!("IfcBeam"));
    // Counted in ../shared/models/README.md: 128 timber beams, 24 steel ones, 21 timber posts.
    assert_eq!(beams.len(), 152);
    let timber = |row: &&wimble_step::Row| {
        let materials = model.materials(**row);
        materials.entries.iter().any(|material| {
            let name = material.name.clone().unwrap_or_default().to_lowercase();
            name.contains("hout") || name.contains("timber")
        })
    };
    assert_eq!(beams.iter().filter(timber).count(), 128);
    for beam in &beams {
        assert_ne!(model.materials(*beam).kind, MaterialKind::None);
        assert!(model.storey(*beam).is_some(), "{:?}", model.root(*beam));
        assert!(model.placement(*beam).is_ok());
    }
    let voided = model.products().iter().filter(|row| !model.voids(**row).is_empty()).count();
    assert!(voided > 10, "{voided}");
}

#[test]
fn units_of_a_pair_in_feet_and_metres_are_read_from_their_assignments() {
    let Some(shared) = shared("units_of_a_pair_in_feet_and_metres") else { return };
    for (file, unit) in [("Duplex_A.ifc", "m"), ("Duplex_Electrical.ifc", "foot")] {
        let bytes = bytes(&shared.join("models/duplex").join(file));
        let model = Model::open(&bytes).unwrap();
        assert_eq!(model.units().length_name, unit, "{file}");
    }
}

#[test]
fn columns_that_stand_on_grid_crossings_are_placed() {
    let Some(shared) = shared("columns_that_stand_on_grid_crossings_are_placed") else { return };
    let bytes = bytes(&shared.join("models/buildingsmart-examples/grid-placement.ifc"));
    let model = Model::open(&bytes).unwrap();
    let columns = model.rows_of_class(class!("IfcColumn"));
    let mut places: Vec<_> = columns
        .iter()
        .map(|row| model.placement(*row).unwrap().translation.round().as_i64vec3().to_array())
        .collect();
    places.sort_unstable();
    // Axes as drawn in the file: -14, -10 … 2 and 4, 8, 10, 14, 16 m.
    let mut drawn = Vec::new();
    for x in [-14, -10, -6, -2, 2] {
        drawn.extend([4, 8, 10, 14, 16].map(|y| [x, y, 0]));
    }
    assert_eq!(places, drawn);
}

#[test]
fn the_tables_agree_with_the_schemas() {
    let Some(shared) = shared("the_tables_agree_with_the_schemas") else { return };
    for (schema, file) in [
        (Schema::Ifc2x3, "IFC2X3_TC1"),
        (Schema::Ifc4, "IFC4_ADD2_TC1"),
        (Schema::Ifc4x3, "IFC4X3_ADD2"),
    ] {
        let path = shared.join(format!("standards/ifc/attributes/{file}.json"));
        let text = fs::read_to_string(path).unwrap();
        let extract: serde_json::Value = serde_json::from_str(&text).unwrap();
        let entities = extract["entities"].as_object().unwrap();
        assert!(entities.len() > 600);
        for (name, entity) in entities {
            let class = Class::of_keyword(&name.to_ascii_uppercase()).unwrap();
            assert_eq!(class.name(), name);
            assert!(class.is_in(schema));
            assert_eq!(class.is_abstract_in(schema), entity["abstract"].as_bool().unwrap());
            let wanted = entity["attributes"].as_array().unwrap();
            let found = class.attributes(schema);
            assert_eq!(found.len(), wanted.len(), "{name}");
            for (attribute, wanted) in found.iter().zip(wanted) {
                assert_eq!(attribute.name, wanted["name"], "{name}");
                assert_eq!(attribute.kind, wanted["type"], "{name}");
                assert_eq!(Some(attribute.optional), wanted["optional"].as_bool(), "{name}");
                let derived = wanted.get("derived").and_then(serde_json::Value::as_bool);
                assert_eq!(attribute.derived, derived.unwrap_or(false), "{name}");
            }
            for ancestor in entity["supertypes"].as_array().unwrap() {
                let ancestor = Class::of_keyword(ancestor.as_str().unwrap()).unwrap();
                assert!(class.is_a(ancestor), "{name} {ancestor}");
            }
        }
    }
}
