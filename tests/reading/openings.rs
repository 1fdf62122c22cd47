//! Openings however they are modelled, and voids that are asked for: cuts with their true shape.

use crate::support::report::{Report, check};
use crate::support::shared::shared;
use glam::{DAffine3, DVec2, DVec3, dvec2, dvec3};
use std::f64::consts::TAU;
use wimble_dev::ifc::{
    Container, Element, Faces, Layout, LengthUnit, Model, Outline, Schema, Setup, Shape, Substance,
    SubstanceUse,
};
use wimble_ifc::Model as Read;
use wimble_recognise::{Input, Mapping, RecogniseSettings, Selector, Source, Take, recognise};

const WOOD: SubstanceUse =
    SubstanceUse::Single(Substance { name: "C24", category: Some("wood"), wood: None });
pub(super) const LENGTH: f64 = 4000.0;
pub(super) const DEPTH: f64 = 220.0;
pub(super) const BREADTH: f64 = 47.0;
/// The hole: its centre along the joist and above its underside, and its diameter.
const HOLE: [f64; 3] = [1300.0, 110.0, 50.0];

pub(super) fn whole() -> Shape {
    let z = DEPTH / 2.0;
    Shape::stick(dvec3(0.0, 0.0, z), dvec3(LENGTH, 0.0, z), BREADTH, DEPTH)
}

fn tool() -> Shape {
    let [x, z, diameter] = HOLE;
    Shape::bar(dvec3(x, -60.0, z), dvec3(x, 60.0, z), diameter)
}

/// Corners of the hole and of the joist in the directions in which they are seen from its centre.
fn rings() -> (Vec<DVec2>, Vec<DVec2>) {
    let [x, z, diameter] = HOLE;
    let centre = dvec2(x, z);
    let corners = [dvec2(0.0, 0.0), dvec2(LENGTH, 0.0), dvec2(LENGTH, DEPTH), dvec2(0.0, DEPTH)];
    let mut angles: Vec<f64> = (0..48).map(|n| TAU * f64::from(n) / 48.0).collect();
    angles.extend(corners.map(|c| (c - centre).to_angle().rem_euclid(TAU)));
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let inner = angles.iter().map(|a| centre + 0.5 * diameter * DVec2::from_angle(*a)).collect();
    let outer = angles.iter().map(|a| {
        let way = DVec2::from_angle(*a);
        let reach = |p: f64, d: f64, low: f64, high: f64| {
            if d > 1e-12 {
                (high - p) / d
            } else if d < -1e-12 {
                (low - p) / d
            } else {
                f64::MAX
            }
        };
        let far = reach(centre.x, way.x, 0.0, LENGTH).min(reach(centre.y, way.y, 0.0, DEPTH));
        centre + way * far
    });
    (outer.collect(), inner)
}

/// The joist with its hole as plane faces.
fn faces(kind: Faces) -> Shape {
    let (outer, inner) = rings();
    let n = outer.len();
    let at = |p: &DVec2, y: f64| dvec3(p.x, y, p.y);
    let half = BREADTH / 2.0;
    let mut points: Vec<DVec3> = Vec::new();
    for (ring, y) in [(&outer, -half), (&inner, -half), (&outer, half), (&inner, half)] {
        points.extend(ring.iter().map(|p| at(p, y)));
    }
    let mut faces = Vec::new();
    for i in 0..n {
        let j = (i + 1) % n;
        let [oi, oj, ii, ij] = [i, j, n + i, n + j];
        // Seen from −y the rings run anticlockwise.
        faces.push(vec![oi, oj, ij, ii]);
        faces.push(vec![2 * n + ii, 2 * n + ij, 2 * n + oj, 2 * n + oi]);
        faces.push(vec![oj, oi, 2 * n + oi, 2 * n + oj]);
        faces.push(vec![ii, ij, 2 * n + ij, 2 * n + ii]);
    }
    Shape::Mesh { points, faces, kind }
}

/// The joist as one outline with a void, swept through its breadth.
fn outline() -> Shape {
    let (_, inner) = rings();
    let outer = vec![dvec2(0.0, 0.0), dvec2(LENGTH, 0.0), dvec2(LENGTH, DEPTH), dvec2(0.0, DEPTH)];
    let axes = glam::DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y);
    let at = DAffine3::from_mat3_translation(axes, dvec3(0.0, BREADTH / 2.0, 0.0));
    Shape::Extrusion { outline: Outline::PolygonWithVoids(outer, vec![inner]), at, depth: BREADTH }
}

pub(super) fn file(schema: Schema, fill: impl FnOnce(&mut Model, Container)) -> (String, Vec<u8>) {
    let mut setup = Setup::new("holes.ifc", schema, LengthUnit::Millimetre);
    setup.country = Some("United Kingdom".to_owned());
    let mut model = Model::new(&setup);
    let storey = model.storey("Level 1", 0.0);
    for (name, x) in [("West", 0.0), ("East", LENGTH - 100.0)] {
        let body = [Shape::block(dvec3(x, -500.0, -2400.0), dvec3(x + 100.0, 500.0, 0.0))];
        let flags = [("Pset_WallCommon", "LoadBearing", true)];
        model.element(&Element { flags: &flags, ..Element::new("IfcWall", name, &body) }, storey);
    }
    fill(&mut model, storey);
    ("holes.ifc".to_owned(), model.bytes(Layout::default()))
}

pub(super) fn joist(model: &mut Model, storey: Container, body: Shape) -> Container {
    let body = [body];
    let element = Element {
        predefined: Some("JOIST"),
        object_type: Some("Floor joist"),
        substance: Some(WOOD),
        ..Element::new("IfcBeam", "Joist", &body)
    };
    model.element(&element, storey)
}

#[track_caller]
fn is_the_hole(report: &Report, how: &str) {
    let [cut] = report.cuts.as_slice() else {
        panic!("{how}: {} cuts: {:#?}", report.cuts.len(), report.coverage())
    };
    let [x, z, diameter] = HOLE;
    // x runs either way.
    let middle = 0.5 * (cut.min[0] + cut.max[0]);
    let along = (middle - x).abs().min((LENGTH - middle - x).abs());
    assert_eq!((cut.kind.as_str(), cut.edge.as_str()), ("hole", "none"), "{how}: {cut:?}");
    assert!(along < 0.2 && (cut.offset - (z - DEPTH / 2.0)).abs() < 0.2, "{how}: {cut:?}");
    for size in [cut.max[0] - cut.min[0], cut.max[2] - cut.min[2], cut.bit] {
        assert!((size - diameter).abs() < 0.3, "{how}: {cut:?}");
    }
    assert_eq!((cut.openings, cut.shared), (1, 0), "{how}");
    assert_eq!(cut.verdict, "pass", "{how}: {cut:?}");
}

#[test]
fn a_round_hole_is_the_same_cut_however_it_is_modelled() {
    let of = |body: Shape| file(Schema::Ifc4, |model, storey| _ = joist(model, storey, body));
    let ways: [(&str, (String, Vec<u8>)); 6] = [
        (
            "opening element",
            file(Schema::Ifc4, |model, storey| {
                let joist = joist(model, storey, whole());
                model.element(&Element::new("IfcOpeningElement", "Hole", &[tool()]), joist);
            }),
        ),
        (
            "voiding feature",
            file(Schema::Ifc4, |model, storey| {
                let joist = joist(model, storey, whole());
                let body = [tool()];
                let hole = Element {
                    predefined: Some("HOLE"),
                    ..Element::new("IfcVoidingFeature", "Hole", &body)
                };
                model.element(&hole, joist);
            }),
        ),
        ("boolean chain", of(Shape::Difference(Box::new(whole()), vec![tool()]))),
        ("brep", of(faces(Faces::Brep))),
        ("triangles", of(faces(Faces::Triangulated))),
        ("outline", of(outline())),
    ];
    for (how, file) in ways {
        is_the_hole(&check(&[file], ""), how);
    }
}

#[test]
fn a_void_that_is_asked_for_is_checked_like_a_cut_in_every_schema() {
    for (schema, class, predefined, object_type) in [
        (Schema::Ifc2x3, "IfcBuildingElementProxy", None, Some("ProvisionForVoid")),
        (Schema::Ifc4, "IfcBuildingElementProxy", Some("PROVISIONFORVOID"), None),
        (Schema::Ifc4x3, "IfcBuildingElementProxy", Some("PROVISIONFORVOID"), None),
        (Schema::Ifc4x3, "IfcVirtualElement", Some("PROVISIONFORVOID"), None),
    ] {
        let file = file(schema, |model, storey| {
            joist(model, storey, whole());
            let body = [tool()];
            let asked =
                Element { predefined, object_type, ..Element::new(class, "Request", &body) };
            model.element(&asked, storey);
        });
        let report = check(&[file], "");
        is_the_hole(&report, &format!("{schema:?} {class}"));
        assert_eq!(report.json["openings"][0]["source"], "provision");
    }
}

/// The length of each extent of 47 recesses on one concrete beam, as a general-purpose toolkit gives
/// them in the beam's frame: three are compared with it in full.
#[test]
fn forty_seven_recesses_on_one_beam_have_their_sizes_and_places() {
    let Some(shared) = shared("forty_seven_recesses_on_one_beam") else { return };
    let path = shared.0.join("models/geometry-cases/beam-47-recesses.ifc");
    let bytes = std::fs::read(&path).expect("the model");
    let model = Read::open(&bytes).expect("it opens");
    let settings = RecogniseSettings {
        // Its material is not stated; the user says what it is.
        mapping: vec![Mapping {
            selector: Selector { class: Some("IfcBeam".to_owned()), ..Selector::default() },
            take: Take::Member(wimble_model::MemberKind::Beam),
        }],
        ..RecogniseSettings::default()
    };
    let scene = recognise(&[Source { input: Input::default(), model: &model }], &settings);
    assert_eq!((scene.members.len(), scene.openings.len()), (1, 47));
    let frame = scene.members[0].frame;
    let place = |guid: &str| {
        let at = scene.openings.iter().position(|o| o.element.guid == guid).expect(guid);
        let mesh = scene.opening_bodies[at].to_mesh(1e-4);
        let points = mesh.points.iter().map(|p| frame.local_mm(*p));
        let (low, high) = points.fold((DVec3::MAX, DVec3::MIN), |(l, h), p| (l.min(p), h.max(p)));
        [low, high]
    };
    for (guid, low, high) in [
        ("1KqS7b000I6Z4qCZCmCpKu", [0.0, 0.0, 1646.5], [5690.7, 100.0, 1863.5]),
        ("1KqS7b000I7Z4qCZCmCpKu", [260.3, -100.0, -1007.5], [2595.3, 100.0, 892.5]),
        ("1KqS7b000IDZ4qCZCmCpKu", [260.3, -170.0, 892.5], [2595.3, 100.0, 907.5]),
        ("1KqS7b000IKZ4qCZCmCpKu", [0.9, -82.0, -1856.5], [33.7, 57.6, 1878.5]),
        ("1KqS7b000IBZ4qCZCmCpKu", [3080.3, -140.0, -1007.5], [3095.3, 100.0, 892.5]),
        ("1KqS7b000J7Z4qCZCmCpKu", [369.9, -20.0, 1646.5], [449.9, 0.0, 1856.5]),
        ("1KtQBy007vap4qCZCuD30m", [785.3, 76.0, -1816.5], [905.3, 101.0, -1756.5]),
        ("1KujAb000K_J4qCZGnDJGm", [2299.8, -30.0, 1646.5], [2379.8, 0.0, 1856.5]),
    ] {
        let found = place(guid);
        for (found, expected) in found.iter().zip([low, high]) {
            assert!((*found - DVec3::from(expected)).abs().max_element() < 0.2, "{guid}: {found}");
        }
    }
    // Nothing of it is passed over in silence: overlapping recesses are one cut, which fails.
    let report = check(
        &[("beam.ifc".to_owned(), bytes.clone())],
        "[[model.map]]\nwhere = { class = \"IfcBeam\" }\nis = { member = \"beam\" }\n",
    );
    let openings: usize = report.cuts.iter().map(|cut| cut.openings).sum();
    assert!(openings >= 45, "{openings} of 47 in {} cuts", report.cuts.len());
    assert!(report.cuts.iter().all(|cut| cut.verdict != "pass" || cut.kind == "joinery"));
}

#[test]
fn cuts_machined_inside_window_frames_are_recognised() {
    let Some(shared) = shared("cuts_machined_inside_window_frames") else { return };
    let path = shared.0.join("models/schependomlaan/LINDEN-Kozijnen.ifcZIP");
    let bytes = std::fs::read(&path).expect("the model");
    let report = check(&[("LINDEN-Kozijnen.ifcZIP".to_owned(), bytes)], "");
    let machined = report.json["openings"].as_array().expect("openings");
    assert!(machined.len() > 500, "{}", machined.len());
    assert!(machined.iter().all(|opening| opening["source"] == "boolean"));
    // Pieces of frames, none of them a joist made of chords and webs.
    assert!(report.members.len() > 150, "{}", report.members.len());
    let made =
        |m: &&crate::support::report::Member| m.section == "open-web" || m.section == "i-joist";
    assert_eq!(report.members.iter().filter(made).map(|m| &m.name).collect::<Vec<_>>(), [""; 0]);
}
