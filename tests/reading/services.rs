//! Services of every shape, bundles, and terminals and equipment that sit in a floor, as the cuts that
//! they are.

use super::openings::{DEPTH, file, joist, whole};
use crate::support::report::{Cut, Report, check};
use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2, dvec3};
use serde_json::Value;
use wimble_dev::ifc::{Element, Faces, Outline, Path, Schema, Shape, Substance, SubstanceUse};

/// Where along the joist things cross it, and at which level, mm.
const X: f64 = 1300.0;
const Z: f64 = DEPTH / 2.0;
/// Three circles that touch each other lie in one of this share of their diameter: 1 + 2 / √3.
const OF_THREE: f64 = 2.154_700_538;

/// A bar square across the joist, its middle off the middle of the others.
fn across(off_x: f64, off_z: f64, diameter: f64) -> Shape {
    let at = |y: f64| dvec3(X + off_x, y, Z + off_z);
    Shape::bar(at(-200.0), at(200.0), diameter)
}

/// Three bars that touch each other.
fn three(diameter: f64) -> Vec<Shape> {
    let (r, low) = (diameter / 2.0, diameter / 12f64.sqrt());
    vec![across(-r, -low, diameter), across(r, -low, diameter), across(0.0, 2.0 * low, diameter)]
}

/// A joist with these services: class, name, material, bodies.
fn crossed(schema: Schema, services: &[(&str, &str, &'static str, Vec<Shape>)]) -> Report {
    crossed_with(schema, services, "")
}

fn crossed_with(
    schema: Schema,
    services: &[(&str, &str, &'static str, Vec<Shape>)],
    settings: &str,
) -> Report {
    let file = file(schema, |model, storey| {
        joist(model, storey, whole());
        for (class, name, material, body) in services {
            let made = Substance { name: material, category: None, wood: None };
            let element = Element {
                substance: Some(SubstanceUse::Single(made)),
                ..Element::new(class, name, body)
            };
            model.element(&element, storey);
        }
    });
    check(&[file], settings)
}

#[track_caller]
fn only<'a>(report: &'a Report, how: &str) -> (&'a Cut, &'a Value) {
    let [cut] = report.cuts.as_slice() else {
        panic!("{how}: {:#?} {:#?}", report.cuts, report.coverage())
    };
    (cut, &report.json["cuts"][0])
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.1
}

/// An outline in x and z, drawn out across the joist.
fn drawn(outline: Outline) -> Shape {
    let at = DAffine3::from_mat3_translation(
        DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y),
        dvec3(X, 200.0, Z),
    );
    Shape::Extrusion { outline, at, depth: 400.0 }
}

/// A rectangle of corners, centred.
fn ring(wide: f64, high: f64) -> Vec<DVec2> {
    let (x, z) = (wide / 2.0, high / 2.0);
    vec![dvec2(-x, -z), dvec2(x, -z), dvec2(x, z), dvec2(-x, z)]
}

/// A duct that widens from a square of 60 to one of 100 over 400 mm, as plane faces.
fn tapered() -> Shape {
    let at = |side: f64, y: f64| {
        ring(side, side).into_iter().map(move |p| dvec3(X + p.x, y, Z + p.y)).collect::<Vec<_>>()
    };
    let points = [at(60.0, -200.0), at(100.0, 200.0)].concat();
    let mut faces: Vec<Vec<usize>> = vec![vec![0, 1, 2, 3], vec![7, 6, 5, 4]];
    faces.extend((0..4).map(|i| vec![i, 4 + i, 4 + (i + 1) % 4, (i + 1) % 4]));
    Shape::Mesh { points, faces, kind: Faces::Brep }
}

/// Straight, hollow, oval, tapered, flexible and bent: width and height of what each takes, worked out
/// by hand from its drawing.
#[test]
fn services_of_every_shape_take_what_their_drawing_says() {
    let half = 23.5_f64;
    let oval: Vec<DVec2> = (0..48)
        .map(|n| {
            let round = DVec2::from_angle(std::f64::consts::TAU * f64::from(n) / 48.0) * 25.0;
            round + dvec2(if round.x >= 0.0 { 25.0 } else { -25.0 }, 0.0)
        })
        .collect();
    // A quarter of a circle of 300 that crosses the joist square in its middle.
    let turn = DMat3::from_cols(DVec3::NEG_X, DVec3::Y, DVec3::NEG_Z);
    let start = 45f64.to_radians();
    let swung = turn * DMat3::from_rotation_z(-start);
    let arc = Path::Arc {
        at: DAffine3::from_mat3_translation(swung, dvec3(X + 300.0, 0.0, Z)),
        radius: 300.0,
        degrees: 90.0,
    };
    let inner = 300.0_f64 - 11.0;
    let bulge = inner - (inner * inner - half * half).sqrt();
    let kinked = Path::Line(vec![
        dvec3(X - 30.0, -200.0, Z - 10.0),
        dvec3(X, -100.0, Z),
        dvec3(X, 100.0, Z),
        dvec3(X + 30.0, 200.0, Z + 10.0),
    ]);
    let disk = |path| Shape::Disk { path, radius: 11.0 };
    let hollow = Outline::PolygonWithVoids(ring(100.0, 60.0), vec![ring(98.0, 58.0)]);
    let taper = 80.0 + 20.0 * half / 200.0;
    for (what, class, body, size) in [
        ("round", "IfcPipeSegment", across(0.0, 0.0, 22.0), [22.0, 22.0]),
        ("rectangular", "IfcDuctSegment", drawn(Outline::Rectangle(100.0, 60.0)), [100.0, 60.0]),
        ("hollow", "IfcDuctSegment", drawn(hollow), [100.0, 60.0]),
        ("oval", "IfcDuctSegment", drawn(Outline::Polygon(oval)), [100.0, 50.0]),
        ("tapered", "IfcDuctFitting", tapered(), [taper, taper]),
        ("flexible", "IfcPipeSegment", disk(kinked), [22.0, 22.0]),
        ("bent", "IfcPipeFitting", disk(arc), [22.0 + bulge, 22.0]),
    ] {
        let services = [(class, what, "steel", vec![body])];
        let report = crossed_with(Schema::Ifc4, &services, "[cut]\nclearance = \"0 mm\"\n");
        let (cut, _) = only(&report, what);
        let [wide, high] = [cut.max[0] - cut.min[0], cut.max[2] - cut.min[2]];
        // A mesh is taken with its chord tolerance, 0.1 mm on each side.
        assert!((-0.05..0.25).contains(&(wide - size[0])), "{what}: {wide} wide: {cut:?}");
        assert!((-0.05..0.25).contains(&(high - size[1])), "{what}: {high} high: {cut:?}");
        assert_eq!((cut.kind.as_str(), cut.services.as_slice()), ("hole", &[what.to_owned()][..]));
    }
}

#[test]
fn a_bundle_of_cables_is_one_hole_for_the_circle_round_it() {
    // One element with three bodies, and three elements.
    let one = vec![("IfcCableSegment", "Bundle", "copper", three(10.0))];
    let apart = three(10.0).into_iter().zip(["A", "B", "C"]);
    let apart = apart.map(|(body, name)| ("IfcCableSegment", name, "copper", vec![body])).collect();
    for (how, services) in [("one element", one), ("three elements", apart)] {
        let services: Vec<_> = services;
        let report = crossed(Schema::Ifc4, &services);
        let (cut, _) = only(&report, how);
        assert_eq!((cut.kind.as_str(), cut.shared), ("hole", 3), "{how}: {cut:?}");
        // The tool is the circle round the bunch and 6 besides; the envelope is that of the cables
        // with a clearance of 4.
        assert!(near(cut.bit, 10.0 * OF_THREE + 6.0), "{how}: {cut:?}");
        assert!(near(cut.max[0] - cut.min[0], 24.0), "{how}: {cut:?}");
        assert!(near(cut.max[2] - cut.min[2], 10.0 + 75f64.sqrt() + 4.0), "{how}: {cut:?}");
        assert_eq!(cut.verdict, "pass", "{how}: {cut:?}");
    }
}

#[test]
fn a_bundle_drawn_as_one_bar_is_one_cable() {
    let services = [("IfcCableSegment", "Bundle", "copper", vec![across(0.0, 0.0, 22.0)])];
    let report = crossed(Schema::Ifc4, &services);
    let (cut, _) = only(&report, "one bar");
    assert_eq!((cut.kind.as_str(), cut.shared), ("hole", 1));
    assert!(near(cut.bit, 26.0), "{cut:?}");
}

#[test]
fn pipes_side_by_side_with_no_wood_between_them_are_one_hole() {
    let pipe = |name, off| ("IfcPipeSegment", name, "copper", vec![across(off, 0.0, 22.0)]);
    let report = crossed(Schema::Ifc4, &[pipe("Flow", -12.0), pipe("Return", 12.0)]);
    let (cut, _) = only(&report, "side by side");
    assert_eq!((cut.kind.as_str(), cut.shared), ("hole", 2), "{cut:?}");
    assert_eq!(cut.services, ["Flow", "Return"]);
    // Two of 22 over 46, and the clearance of 5.
    assert!(near(cut.bit, 51.0), "{cut:?}");
    let report = crossed(Schema::Ifc4, &[pipe("Flow", -90.0), pipe("Return", 90.0)]);
    assert_eq!(report.cuts.len(), 2, "with wood between them each has its own");
}

#[test]
fn what_runs_in_a_sleeve_is_listed_beside_it_and_takes_nothing() {
    let pipe = |name, off| ("IfcPipeSegment", name, "copper", vec![across(off, 0.0, 15.0)]);
    let sleeve = ("IfcPipeSegment", "Sleeve", "PVC", vec![across(0.0, 0.0, 50.0)]);
    for schema in [Schema::Ifc4, Schema::Ifc4x3] {
        let services = [pipe("Flow", -10.0), pipe("Return", 10.0), sleeve.clone()];
        let report = crossed(schema, &services);
        let (cut, row) = only(&report, "sleeve");
        assert_eq!((cut.kind.as_str(), cut.shared), ("hole", 1), "{cut:?}");
        assert_eq!(cut.services, ["Sleeve"]);
        let inside = row["inside"].as_array().expect("a list");
        assert_eq!(inside.len(), 2, "{row:#}");
        assert!((50.0..=60.0).contains(&cut.bit), "{cut:?}");
    }
    // One that does not fit into it makes the hole larger.
    let services = [pipe("Flow", -10.0), pipe("Beside", 25.0), sleeve];
    let report = crossed(Schema::Ifc4, &services);
    let (cut, row) = only(&report, "beside the sleeve");
    assert_eq!(cut.services, ["Beside", "Sleeve"]);
    assert_eq!(row["inside"].as_array().map(Vec::len), Some(1));
}

/// A box let into the floor from above: so wide along the joist and so deep into it, mm.
fn sunk(wide: f64, deep: f64) -> Vec<Shape> {
    let corner = |x: f64, y: f64, z: f64| -> DVec3 { dvec3(X + x, y, DEPTH + z) };
    vec![Shape::block(corner(-wide / 2.0, -150.0, -deep), corner(wide / 2.0, 150.0, 40.0))]
}

#[test]
fn terminals_and_equipment_that_sit_in_a_floor_are_cuts() {
    for (schema, class) in [
        (Schema::Ifc2x3, "IfcFlowTerminal"),
        (Schema::Ifc2x3, "IfcFlowStorageDevice"),
        (Schema::Ifc4, "IfcFlowTerminal"),
        (Schema::Ifc4, "IfcSanitaryTerminal"),
        (Schema::Ifc4, "IfcWasteTerminal"),
        (Schema::Ifc4, "IfcOutlet"),
        (Schema::Ifc4, "IfcAirTerminal"),
        (Schema::Ifc4, "IfcUnitaryEquipment"),
        (Schema::Ifc4x3, "IfcSanitaryTerminal"),
        (Schema::Ifc4x3, "IfcWasteTerminal"),
        (Schema::Ifc4x3, "IfcUnitaryEquipment"),
    ] {
        let how = format!("{schema:?} {class}");
        let report = crossed(schema, &[(class, "Sunk", "steel", sunk(160.0, 60.0))]);
        let (cut, _) = only(&report, &how);
        assert_eq!((cut.kind.as_str(), cut.edge.as_str()), ("top-notch", "top"), "{how}");
        assert_eq!(cut.services, ["Sunk"], "{how}");
        // Nobody says how much room a terminal needs: the notch is at least as large as its body.
        assert!(
            cut.max[0] - cut.min[0] > 159.9 && cut.max[2] - cut.min[2] > 59.9,
            "{how}: {cut:?}"
        );
        assert_eq!(cut.verdict, "fail", "{how}: {cut:?}");
        assert_eq!(report.json["services"][0]["kind"], "terminal", "{how}");
        let row = report.coverage().into_iter().find(|row| row.0 == class);
        assert_eq!(row.map(|row| row.1).as_deref(), Some("service"), "{how}");
        // What stands on the floor without entering a joist is none.
        let above = vec![Shape::block(
            dvec3(X - 80.0, -150.0, DEPTH),
            dvec3(X + 80.0, 150.0, DEPTH + 60.0),
        )];
        let report = crossed(schema, &[(class, "Stands", "steel", above)]);
        assert_eq!(report.cuts.len(), 0, "{how}");
    }
}
