use super::*;
use crate::fixture;
use glam::{DAffine3, DMat3};
use wimble_geom::{Cylinder, Prism, Profile, Solid};

/// The shared fixture with solids: each joist a box, each pipe a bar, the duct a mesh.
fn report() -> Report {
    let mut report = fixture::report();
    report.member_solids = report
        .members
        .iter()
        .map(|member| {
            let frame = &member.frame;
            let axes = DMat3::from_cols(frame.y(), frame.z, frame.x);
            vec![Solid::Prism(Prism {
                frame: DAffine3 { matrix3: axes, translation: frame.origin_m },
                profile: Profile::Rectangle { x: 0.047, y: 0.220 },
                sweep: member.length_mm / 1000.0 * frame.x,
            })]
        })
        .collect();
    report.service_solids = report
        .service_centres_m
        .iter()
        .map(|centre| {
            let half = DVec3::new(0.0, 1.0, 0.0);
            let (from, to) = (*centre - half, *centre + half);
            Some(Solid::Cylinder(Cylinder { from, to, radius: 0.02, inner: None }))
        })
        .collect();
    if let Some(Some(duct)) = report.service_solids.last_mut() {
        *duct = Solid::Mesh(duct.to_mesh(0.001));
    }
    report
}

fn written(report: &Report) -> Vec<u8> {
    let mut out = Vec::new();
    write(report, &mut out).unwrap();
    out
}

/// The document inside the file, and how many bytes follow it.
fn document(file: &[u8]) -> (Value, usize) {
    let number = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!((&file[..4], number(4), number(8)), (&b"glTF"[..], 2, file.len()));
    assert_eq!(&file[16..20], b"JSON");
    let text = number(12);
    assert_eq!(&file[20 + text + 4..20 + text + 8], b"BIN\0");
    (serde_json::from_slice(&file[20..20 + text]).unwrap(), number(20 + text))
}

fn named<'a>(document: &'a Value, start: &str) -> Vec<&'a Value> {
    let nodes = document["nodes"].as_array().unwrap();
    nodes
        .iter()
        .filter(|n| n["name"].as_str().is_some_and(|name| name.starts_with(start)))
        .collect()
}

#[test]
fn every_member_service_and_cut_is_a_node_that_says_its_verdict() {
    let report = report();
    let (document, _) = document(&written(&report));
    assert!(named(&document, "J1, fail")[0]["mesh"].is_u64());
    assert_eq!(named(&document, "J3, refer").len(), 1);
    assert_eq!(named(&document, "J4, unknown").len(), 1);
    assert_eq!(named(&document, "J9 <b>").len(), 1, "control characters are gone");
    let marks: Vec<&Value> = document["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|node| node["extras"]["cut"].is_string())
        .collect();
    assert_eq!(marks.len(), report.cuts.len());
    for (mark, cut) in marks.iter().zip(&report.cuts) {
        let mesh = mark["mesh"].as_u64().unwrap() as usize;
        assert_eq!(document["meshes"][mesh]["name"], cut.verdict.word());
        assert_eq!(mark["extras"]["verdict"], cut.verdict.word());
    }
}

#[test]
fn the_legend_says_in_words_what_the_tones_say() {
    let (document, _) = document(&written(&report()));
    let [legend] = named(&document, "Legend")[..] else { panic!("one legend") };
    let text = legend["extras"]["text"].to_string();
    for word in ["fail: 2", "refer: 1", "unknown: 1", "pass: 2", "not a structural design"] {
        assert!(text.contains(word), "{word} in {text}");
    }
    assert_eq!(document["images"][0]["mimeType"], "image/png");
}

#[test]
fn a_verdicts_tone_is_that_of_the_drawings() {
    let (document, _) = document(&written(&report()));
    let materials = document["materials"].as_array().unwrap();
    let fail = materials.iter().find(|m| m["name"] == "fail").unwrap();
    // #B3401F of the look, from sRGB to linear by hand: 179/255, 64/255, 31/255.
    let colour = &fail["pbrMetallicRoughness"]["baseColorFactor"];
    for (part, expected) in [(0, 0.450_786), (1, 0.051_269), (2, 0.013_702)] {
        assert!((colour[part].as_f64().unwrap() - expected).abs() < 1e-5, "{colour}");
    }
}

#[test]
fn positions_stay_near_zero_wherever_the_model_lies() {
    let mut report = report();
    let far = DVec3::new(531_000.0, 181_000.0, 12.0);
    for solid in report.member_solids.iter_mut().flatten() {
        if let Solid::Prism(prism) = solid {
            prism.frame.translation += far;
        }
    }
    for solid in report.service_solids.iter_mut().flatten() {
        *solid = solid.transformed(&DAffine3::from_translation(far)).unwrap();
    }
    for member in &mut report.members {
        member.frame.origin_m += far;
    }
    let (document, _) = document(&written(&report));
    assert_eq!(document["nodes"][0]["extras"]["origin_m"][0], 531_002.0);
    for node in document["nodes"].as_array().unwrap() {
        for part in node["translation"].as_array().into_iter().flatten() {
            assert!(part.as_f64().unwrap().abs() < 10.0, "{node}");
        }
    }
}

#[test]
fn a_report_without_anything_is_still_a_scene() {
    let (document, bytes) = document(&written(&Report::default()));
    assert!(bytes > 0 && document["scenes"][0]["nodes"][0] == 0);
}

#[test]
fn two_runs_are_the_same_byte_for_byte() {
    assert_eq!(written(&report()), written(&report()));
}
