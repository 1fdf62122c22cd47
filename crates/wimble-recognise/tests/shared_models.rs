//! Recognition on the real models of `../shared/models`. Without them the tests say `skipped`;
//! in CI (`CI=true`) their absence fails.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "helpers of tests, outside test functions"
)]

use std::path::{Path, PathBuf};
use wimble_ifc::Model;
use wimble_model::{CoverageStatus, MemberKind, Section};
use wimble_recognise::{Input, RecogniseSettings, Scene, Source, recognise};

#[expect(clippy::disallowed_methods, reason = "tests find the shared models by the environment")]
fn shared(name: &str) -> Option<PathBuf> {
    let root = std::env::var("WIMBLE_SHARED").map_or_else(
        |_| Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared"),
        PathBuf::from,
    );
    let path = root.join("models");
    if path.is_dir() {
        return Some(path);
    }
    assert!(std::env::var("CI").as_deref() != Ok("true"), "no ../shared in CI");
    println!("skipped: {name}: no ../shared");
    None
}

fn read(path: &Path) -> Option<(Scene, usize)> {
    let bytes = std::fs::read(path).expect("a file that was listed");
    let bytes = if wimble_ifc::is_zip(&bytes) { wimble_ifc::unzip(&bytes).ok()? } else { bytes };
    let model = Model::open(&bytes).ok()?;
    let input = Input { path: path.display().to_string(), ..Input::default() };
    let scene = recognise(&[Source { input, model: &model }], &RecogniseSettings::default());
    Some((scene, model.products().len()))
}

fn files(root: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
            let path = entry.path();
            let ending = path.extension().map(std::ffi::OsStr::to_ascii_lowercase);
            if path.is_dir() {
                folders.push(path);
            } else if ending.is_some_and(|e| e == "ifc" || e == "ifczip") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

#[test]
fn every_product_of_every_model_is_in_the_coverage_once() {
    let Some(root) = shared("every_product_of_every_model_is_in_the_coverage_once") else { return };
    let mut read_files = 0;
    for path in files(&root) {
        let Some((scene, products)) = read(&path) else { continue };
        read_files += 1;
        let covered: u32 = scene.coverage.iter().map(|row| row.count).sum();
        assert_eq!(covered as usize, products, "{}", path.display());
        assert!(scene.coverage.iter().all(|row| !row.reason.is_empty()), "{}", path.display());
        assert_eq!(scene.members.len(), scene.member_bodies.len());
        assert_eq!(scene.services.len(), scene.service_bodies.len());
        assert_eq!(scene.openings.len(), scene.opening_bodies.len());
    }
    assert!(read_files > 140, "{read_files} files were read");
}

#[test]
fn the_timber_of_a_real_house_is_found_and_its_steel_is_not() {
    let Some(root) = shared("the_timber_of_a_real_house_is_found_and_its_steel_is_not") else {
        return;
    };
    let (scene, _) = read(&root.join("schependomlaan/V_L_Constructief.ifc")).expect("it opens");
    let sized = |b: f64, h: f64| {
        scene
            .members
            .iter()
            .filter(|m| {
                let (x, y) = (m.section.breadth_mm(), m.section.depth_mm());
                matches!(m.section, Section::Rectangle { .. })
                    && ((x - b).abs() < 0.5 && (y - h).abs() < 0.5
                        || (x - h).abs() < 0.5 && (y - b).abs() < 0.5)
                    && m.element.class == "IfcBeam"
            })
            .collect::<Vec<_>>()
    };
    let named = |what: &str| {
        scene
            .members
            .iter()
            .filter(|m| m.element.name.as_deref().is_some_and(|n| n.contains(what)))
            .count()
    };
    assert_eq!(named("ongeschaafd:70x170mm"), 83);
    assert_eq!(named("lariks geschaafd:40x120mm"), 28);
    assert_eq!(named("stalen"), 0);
    assert_eq!(named("staal"), 0);
    let joists: Vec<_> = sized(70.0, 170.0)
        .into_iter()
        .filter(|m| m.element.name.as_deref().is_some_and(|n| n.contains("ongeschaafd:70x170mm")))
        .collect();
    assert_eq!(joists.len(), 83);
    assert!(joists.iter().all(|m| !m.spans.is_empty()));
    // The others of that size are the steep rafters of the mansard, its rolled purlins and the
    // three edge beams that joists end in.
    let kinds = |kind| joists.iter().filter(|m| m.kind == kind).count();
    assert_eq!(kinds(MemberKind::Joist), 57);
    assert_eq!(kinds(MemberKind::Rafter), 19);
    assert_eq!(kinds(MemberKind::Beam), 3);
    // Between two steel beams: flange tip to flange tip.
    let between = joists.iter().filter(|m| (m.spans[0].length_mm() - 2920.0).abs() < 0.5).count();
    assert!(between >= 9, "{between}");
    assert!(named("kolom") == 21);
}

#[test]
fn floors_whose_lumber_is_only_a_layer_are_named() {
    let Some(root) = shared("floors_whose_lumber_is_only_a_layer_are_named") else { return };
    let (scene, _) = read(&root.join("duplex/Duplex_A.ifc")).expect("it opens");
    let layers: Vec<_> = scene
        .coverage
        .iter()
        .filter(|row| row.status == CoverageStatus::LayerOnly && row.class == "IfcSlab")
        .collect();
    assert!(!layers.is_empty());
    assert!(
        layers
            .iter()
            .any(|r| r.reason.contains("Wood - Dimensional Lumber") && r.reason.contains("286 mm"))
    );
    assert!(scene.members.is_empty());
}

#[test]
fn one_element_of_twenty_studs_is_split() {
    let Some(root) = shared("one_element_of_twenty_studs_is_split") else { return };
    let (scene, _) =
        read(&root.join("buildingsmart-examples/wall-elemented-case.ifc")).expect("it opens");
    let studs = scene.members.iter().filter(|m| m.kind == MemberKind::Stud).count();
    assert!(studs >= 20, "{studs}");
}
