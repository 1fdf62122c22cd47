//! Pieces of our own in every representation: a built-up I-joist, an open-web joist with round
//! chords and webs, a curved glulam and a birdsmouthed rafter are recognised for what they are.

use crate::support::report::{Member, Report, inspect_all};
use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2, dvec3};
use wimble_dev::ifc::{
    Element, Faces, HalfSpace, Layout, LengthUnit, Model, Outline, Path, Schema, Setup, Shape,
    Substance, SubstanceUse,
};

const fn wood(name: &'static str) -> SubstanceUse {
    SubstanceUse::Single(Substance { name, category: Some("wood"), wood: None })
}

fn file(fill: impl FnOnce(&mut Model, wimble_dev::ifc::Container)) -> Report {
    let mut model = Model::new(&Setup::new("p.ifc", Schema::Ifc4, LengthUnit::Millimetre));
    let storey = model.storey("Level 1", 0.0);
    fill(&mut model, storey);
    inspect_all(&[("p.ifc".to_owned(), model.bytes(Layout::default()))]).expect("it opens")
}

fn one(class: &str, name: &str, made: &SubstanceUse, body: &[Shape]) -> Report {
    file(|model, storey| {
        let substance = Some(made.clone());
        model.element(&Element { substance, ..Element::new(class, name, body) }, storey);
    })
}

/// Parts of a whole: elements in an assembly, or elements that only touch.
fn parts(
    name: &str,
    made: &SubstanceUse,
    assembled: bool,
    parts: &[(&str, &str, Vec<Shape>)],
) -> Report {
    file(|model, storey| {
        let whole =
            Element { object_type: Some(name), ..Element::new("IfcElementAssembly", name, &[]) };
        let into = if assembled { model.element(&whole, storey) } else { storey };
        for (class, part, body) in parts {
            let name = format!("{name} {part}");
            let substance = Some(made.clone());
            model.element(&Element { substance, ..Element::new(class, &name, body) }, into);
        }
    })
}

#[track_caller]
fn only<'a>(report: &'a Report, how: &str) -> &'a Member {
    let [member] = report.members.as_slice() else {
        let found: Vec<_> = report.members.iter().map(|m| (&m.name, &m.section, m.size)).collect();
        panic!("{how}: {found:?} {:#?}", report.coverage())
    };
    member
}

/// A ring of corners in x and z, through a breadth.
fn through(ring: &[DVec2], breadth: f64) -> Shape {
    let at = DAffine3::from_mat3_translation(
        DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y),
        dvec3(0.0, breadth / 2.0, 0.0),
    );
    Shape::Extrusion { outline: Outline::Polygon(ring.to_vec()), at, depth: breadth }
}

/// The same as plane faces. `strips` split the two sides into convex pieces (corners of the ring).
fn faces(ring: &[DVec2], strips: &[Vec<usize>], breadth: f64, kind: Faces) -> Shape {
    let n = ring.len();
    let side = |y: f64| ring.iter().map(move |p| dvec3(p.x, y, p.y));
    let points: Vec<DVec3> = side(-breadth / 2.0).chain(side(breadth / 2.0)).collect();
    let mut faces: Vec<Vec<usize>> = (0..n)
        .map(|i| {
            let j = (i + 1) % n;
            vec![j, i, n + i, n + j]
        })
        .collect();
    for strip in strips {
        faces.push(strip.clone());
        faces.push(strip.iter().rev().map(|at| n + at).collect());
    }
    Shape::Mesh { points, faces, kind }
}

fn every_mesh(ring: &[DVec2], strips: &[Vec<usize>], breadth: f64) -> Vec<(String, Shape)> {
    [Faces::Brep, Faces::Surface, Faces::Triangulated, Faces::Polygonal]
        .map(|kind| (format!("{kind:?}"), faces(ring, strips, breadth, kind)))
        .into()
}

#[test]
fn a_built_up_i_joist_is_one() {
    const LENGTH: f64 = 4400.0;
    let bar = |z0: f64, z1: f64, b: f64| {
        Shape::block(dvec3(0.0, -b / 2.0, z0), dvec3(LENGTH, b / 2.0, z1))
    };
    let three = || vec![bar(0.0, 45.0, 45.0), bar(45.0, 195.0, 10.0), bar(195.0, 240.0, 45.0)];
    let made = wood("I-joist, C24 flanges, OSB web");
    let axis = wimble_dev::ifc::frame_along(dvec3(0.0, 0.0, 120.0), dvec3(LENGTH, 0.0, 120.0));
    let shape = Outline::IShape { width: 45.0, depth: 240.0, web: 10.0, flange: 45.0 };
    let ring: Vec<DVec2> = [
        [-22.5, 0.0],
        [22.5, 0.0],
        [22.5, 45.0],
        [5.0, 45.0],
        [5.0, 195.0],
        [22.5, 195.0],
        [22.5, 240.0],
        [-22.5, 240.0],
        [-22.5, 195.0],
        [-5.0, 195.0],
        [-5.0, 45.0],
        [-22.5, 45.0],
    ]
    .map(DVec2::from)
    .into();
    let turned: Vec<DVec2> = ring.iter().map(|p| *p - dvec2(0.0, 120.0)).collect();
    let strips = [
        vec![0, 1, 2, 11],
        vec![11, 2, 3, 10],
        vec![10, 3, 4, 9],
        vec![9, 4, 5, 8],
        vec![8, 5, 6, 7],
    ];
    // A side of the mesh is its end: turn x and y.
    let mesh = |kind: Faces| {
        let Shape::Mesh { points, faces, kind } = faces(&ring, &strips, LENGTH, kind) else {
            unreachable!("a mesh")
        };
        let points = points.iter().map(|p| dvec3(p.y + LENGTH / 2.0, -p.x, p.z)).collect();
        Shape::Mesh { points, faces, kind }
    };
    let split = |class: &'static str| -> Vec<(&'static str, &'static str, Vec<Shape>)> {
        three()
            .into_iter()
            .zip(["flange 1", "web", "flange 2"])
            .map(|(s, n)| (class, n, vec![s]))
            .collect()
    };
    let mut reports = vec![
        ("three items".to_owned(), one("IfcBeam", "I-joist", &made, &three())),
        ("assembly".to_owned(), parts("I-joist", &made, true, &split("IfcMember"))),
        ("three elements".to_owned(), parts("I-joist", &made, false, &split("IfcMember"))),
    ];
    for (how, outline) in [("profile", shape), ("polygon", Outline::Polygon(turned))] {
        let body = [Shape::Extrusion { outline, at: axis, depth: LENGTH }];
        reports.push((how.to_owned(), one("IfcBeam", "I-joist", &made, &body)));
    }
    for kind in [Faces::Brep, Faces::Surface, Faces::Triangulated, Faces::Polygonal] {
        reports.push((format!("{kind:?}"), one("IfcBeam", "I-joist", &made, &[mesh(kind)])));
    }
    for (how, report) in &reports {
        let joist = only(report, how);
        assert_eq!((joist.section.as_str(), joist.kind.as_str()), ("i-joist", "joist"), "{how}");
        assert!(
            (joist.size[0] - 45.0).abs() < 0.1 && (joist.size[1] - 240.0).abs() < 0.1,
            "{how}: {joist:?}"
        );
        assert!((joist.length - LENGTH).abs() < 0.1, "{how}: {joist:?}");
    }
}

/// Two round chords of 50 and round webs of 20 between them, from node to node.
fn open_web(bar: &dyn Fn(DVec3, DVec3, f64) -> Shape) -> Vec<Shape> {
    let mut shapes: Vec<Shape> =
        [25.0, 275.0].map(|z| bar(dvec3(0.0, 0.0, z), dvec3(4800.0, 0.0, z), 50.0)).into();
    for node in 0..8 {
        let x = 600.0 * f64::from(node);
        let middle = dvec3(x + 300.0, 0.0, 255.0);
        shapes.push(bar(dvec3(x + 40.0, 0.0, 45.0), middle, 20.0));
        shapes.push(bar(middle, dvec3(x + 560.0, 0.0, 45.0), 20.0));
    }
    shapes
}

/// A bar of sixteen plane sides.
fn faceted(from: DVec3, to: DVec3, diameter: f64) -> Shape {
    let frame = wimble_dev::ifc::frame_along(from, to);
    let long = from.distance(to);
    let at = |n: usize, z: f64| {
        #[expect(clippy::cast_precision_loss, reason = "sixteen")]
        let turn = DVec2::from_angle(std::f64::consts::TAU * n as f64 / 16.0) * (diameter / 2.0);
        frame.transform_point3(turn.extend(z))
    };
    let points = (0..16).map(|n| at(n, 0.0)).chain((0..16).map(|n| at(n, long))).collect();
    let mut faces: Vec<Vec<usize>> =
        (0..16).map(|i| vec![i, (i + 1) % 16, 16 + (i + 1) % 16, 16 + i]).collect();
    faces.push((0..16).rev().collect());
    faces.push((16..32).collect());
    Shape::Mesh { points, faces, kind: Faces::Brep }
}

#[test]
fn an_open_web_joist_of_round_bars_is_one() {
    let made = wood("Open-web joist, C24 chords");
    let disk = |from: DVec3, to: DVec3, d: f64| Shape::Disk {
        path: Path::Line(vec![from, to]),
        radius: d / 2.0,
    };
    let ways: [(&str, Vec<Shape>); 3] = [
        ("extruded", open_web(&Shape::bar)),
        ("swept", open_web(&disk)),
        ("faceted", open_web(&faceted)),
    ];
    for (how, shapes) in ways {
        let split: Vec<(&str, String, Shape)> = shapes
            .iter()
            .enumerate()
            .map(|(n, shape)| {
                (
                    "IfcMember",
                    if n < 2 { format!("chord {n}") } else { format!("web {n}") },
                    shape.clone(),
                )
            })
            .collect();
        let split: Vec<(&str, &str, Vec<Shape>)> = split
            .iter()
            .map(|(class, name, shape)| (*class, name.as_str(), vec![shape.clone()]))
            .collect();
        let mapped =
            Shape::Mapped { key: "joist".to_owned(), body: shapes.clone(), at: DAffine3::IDENTITY };
        for (how, report) in [
            (format!("{how}, one element"), one("IfcBeam", "Open-web joist", &made, &shapes)),
            (format!("{how}, mapped"), one("IfcBeam", "Open-web joist", &made, &[mapped])),
            (format!("{how}, assembly"), parts("Open-web joist", &made, true, &split)),
        ] {
            let joist = only(&report, &how);
            assert_eq!(
                (joist.section.as_str(), joist.kind.as_str()),
                ("open-web", "joist"),
                "{how}"
            );
            assert!((joist.size[1] - 300.0).abs() < 1.0, "{how}: {joist:?}");
            assert!((joist.length - 4800.0).abs() < 1.0, "{how}: {joist:?}");
        }
    }
}

#[test]
fn a_curved_glulam_is_a_beam_marked_as_curved() {
    // 90 x 315 along an arc of 12 m over 30 degrees, its crown up.
    let n: u32 = 24;
    let ray = |at: u32, radius: f64| {
        let angle = (105.0 - 30.0 * f64::from(at) / f64::from(n)).to_radians();
        DVec2::from_angle(angle) * radius - dvec2(0.0, 12_000.0)
    };
    let low = (0..=n).map(|at| ray(at, 12_000.0 - 157.5));
    let high = (0..=n).rev().map(|at| ray(at, 12_000.0 + 157.5));
    let ring: Vec<DVec2> = low.chain(high).collect();
    let last = ring.len() - 1;
    let strips: Vec<Vec<usize>> =
        (0..n as usize).map(|i| vec![i, i + 1, last - i - 1, last - i]).collect();
    let made = wood("GL24h glued laminated timber");
    let mut ways = vec![("swept outline".to_owned(), through(&ring, 90.0))];
    ways.extend(every_mesh(&ring, &strips, 90.0));
    for (how, shape) in ways {
        let report = one("IfcBeam", "Glulam beam", &made, &[shape]);
        let beam = only(&report, &how);
        assert_eq!(beam.kind, "beam", "{how}: {beam:?}");
        assert!((beam.size[0] - 90.0).abs() < 0.5, "{how}: {beam:?}");
        let notes = report.json["members"][0]["notes"].to_string();
        assert!(notes.contains("curved") || notes.contains("varies"), "{how}: {notes} {beam:?}");
    }
}

#[test]
fn a_birdsmouthed_rafter_is_a_rafter_with_its_joint() {
    // 47 x 150 at 35 degrees, plumb cut at both ends, a birdsmouth of 50 x 35 near its foot.
    let slope = DVec2::from_angle(35f64.to_radians());
    let up = slope.perp();
    let plain: Vec<DVec2> = {
        let foot = dvec2(0.0, 0.0);
        let head = foot + slope * 4000.0;
        let plumb = dvec2(0.0, 150.0 / slope.x);
        vec![foot, head, head + plumb, foot + plumb]
    };
    // The seat: level from the underside inwards, then plumb down to the underside again.
    let heel = plain[0] + slope * 700.0;
    let seat = heel + dvec2(-61.0, 0.0);
    let toe = seat - dvec2(0.0, 61.0 * slope.y / slope.x);
    let ring = vec![plain[0], toe, seat, heel, plain[1], plain[2], plain[3]];
    let strips = vec![vec![0, 1, 2, 6], vec![2, 3, 4, 5], vec![2, 5, 6]];
    let made = wood("C24 softwood");
    let stick = {
        let middle = |p: DVec2| dvec3(p.x, 0.0, p.y);
        let (from, to) =
            (plain[0] + up * 75.0 - slope * 200.0, plain[1] + up * 75.0 + slope * 200.0);
        let cut = |p: DVec2, away: f64| HalfSpace { point: middle(p), away: dvec3(away, 0.0, 0.0) };
        Shape::Clipped(
            Box::new(Shape::stick(middle(from), middle(to), 47.0, 150.0)),
            vec![cut(plain[0], -1.0), cut(plain[1], 1.0)],
        )
    };
    let tool = through(&[toe + dvec2(0.0, -40.0), heel + dvec2(0.0, -40.0), heel, seat], 100.0);
    let mut ways = vec![
        ("swept outline".to_owned(), vec![through(&ring, 47.0)]),
        (
            "clipped stick less its seat".to_owned(),
            vec![Shape::Difference(Box::new(stick), vec![tool])],
        ),
    ];
    ways.extend(
        every_mesh(&ring, &strips, 47.0).into_iter().map(|(how, shape)| (how, vec![shape])),
    );
    for (how, body) in ways {
        let report = one("IfcMember", "Rafter", &made, &body);
        let rafter = only(&report, &how);
        assert_eq!(
            (rafter.kind.as_str(), rafter.section.as_str()),
            ("rafter", "rectangle"),
            "{how}"
        );
        assert!(
            (rafter.size[0] - 47.0).abs() < 0.1 && (rafter.size[1] - 150.0).abs() < 0.2,
            "{how}: {rafter:?}"
        );
        let openings = report.json["openings"].as_array().map_or(0, Vec::len);
        assert_eq!(openings, 1, "{how}: the birdsmouth");
    }
}
