//! Openings already modelled, and joinery.

use super::crossing::mesh;
use crate::testing::{Build, JOIST};
use glam::{DAffine3, DVec3};
use wimble_geom::{Convex, Cylinder, Prism, Profile, Solid};
use wimble_model::{CutKind, CutShape, Edge, OpeningIx, Section, ServiceIx};

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-3
}

/// Bored across the joist.
fn bore(diameter: f64, x: f64, z: f64) -> Cylinder {
    Cylinder {
        from: DVec3::new(x, -60.0, z),
        to: DVec3::new(x, 60.0, z),
        radius: diameter / 2.0,
        inner: None,
    }
}

/// A box from one corner to the other.
fn block(min: [f64; 3], max: [f64; 3]) -> Convex {
    Convex::of_box(wimble_geom::Aabb { min: min.into(), max: max.into() })
}

fn solid(body: &Convex) -> Solid {
    Solid::Mesh(mesh(body))
}

#[test]
fn an_opening_is_a_cut_of_its_own() {
    let mut build = Build::joist();
    build.opening(&Solid::Cylinder(bore(40.0, 1000.0, 0.0)));
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shape, cut.shared), (CutKind::Hole, CutShape::Round, 0));
    assert_eq!(cut.openings[..], [OpeningIx(0)]);
    assert!(cut.services.is_empty());
    assert!(near(cut.max_mm.x - cut.min_mm.x, 40.0) && near(cut.bit_mm, 40.0));
}

#[test]
fn an_opening_is_round_if_its_vertices_fit_a_circle() {
    let faceted = Convex::bar(&bore(40.0, 1000.0, 0.0), 20);
    let mut build = Build::joist();
    build.opening(&solid(&faceted));
    let cut = build.cut();
    assert_eq!(cut.shape, CutShape::Round);
    assert!(near(cut.width_mm(), 40.0) && near(cut.height_mm(), 40.0));
    // A ring of vertices swept, as well.
    let ring = (0..20)
        .map(|i| glam::DVec2::from_angle(std::f64::consts::TAU * f64::from(i) / 20.0) * 20.0)
        .collect();
    let profile = Profile::Rings { outer: ring, holes: vec![], chord: 0.0 };
    let frame =
        DAffine3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y, DVec3::new(1000.0, 60.0, 0.0));
    let mut build = Build::joist();
    build.opening(&Solid::Prism(Prism { frame, profile, sweep: DVec3::NEG_Y * 120.0 }));
    assert_eq!(build.cut().shape, CutShape::Round);
}

#[test]
fn a_box_is_the_same_opening_however_it_is_modelled() {
    let boxed = block([950.0, -60.0, -30.0], [1050.0, 60.0, 20.0]);
    let profile = Profile::Rectangle { x: 100.0, y: 50.0 };
    let frame =
        DAffine3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y, DVec3::new(1000.0, 60.0, -5.0));
    let prism = Solid::Prism(Prism { frame, profile, sweep: DVec3::NEG_Y * 120.0 });
    for opening in [solid(&boxed), prism] {
        let mut build = Build::joist();
        build.opening(&opening);
        let cut = build.cut();
        assert_eq!((cut.kind, cut.shape), (CutKind::Hole, CutShape::Rectangular));
        assert!(near(cut.width_mm(), 100.0) && near(cut.height_mm(), 50.0));
        assert!(near(cut.offset_mm(), -5.0));
    }
}

#[test]
fn a_service_inside_with_its_clearance_adds_nothing() {
    let mut build = Build::joist();
    build.across(22.0, 1003.0, 2.0);
    build.opening(&Solid::Cylinder(bore(40.0, 1000.0, 0.0)));
    let cut = build.cut();
    assert_eq!((cut.openings.len(), cut.services.len(), cut.shared), (1, 1, 1));
    assert!(near(cut.width_mm(), 40.0) && near(cut.bit_mm, 40.0));
    assert!(cut.besides.too_small.is_empty() && cut.besides.notes.is_empty());
}

#[test]
fn a_service_that_just_fits_its_opening_fits() {
    for diameter in [22.0, 110.0] {
        let mut build = Build::joist();
        build.across(diameter, 1000.0, 0.0);
        build.opening(&Solid::Cylinder(bore(diameter + 5.0, 1000.0, 0.0)));
        assert!(build.cut().besides.too_small.is_empty());
    }
}

#[test]
fn a_service_that_does_not_fit_is_merged_and_the_opening_is_named_too_small() {
    for (x, opening) in [(1000.0, 26.0), (1010.0, 40.0)] {
        let mut build = Build::joist();
        build.across(22.0, x, 0.0);
        build.opening(&Solid::Cylinder(bore(opening, 1000.0, 0.0)));
        let cut = build.cut();
        assert_eq!(cut.besides.too_small, [OpeningIx(0)]);
        assert_eq!((&cut.services[..], cut.shared), (&[ServiceIx(0)][..], 1));
        assert!(near(cut.max_mm.x, x + 13.5));
        assert!(cut.besides.notes.iter().any(|n| n.0.contains("too small")));
    }
}

#[test]
fn several_services_in_one_opening_are_judged_on_the_opening() {
    let mut build = Build::joist();
    build.across(22.0, 984.0, 0.0);
    build.across(22.0, 1016.0, 0.0);
    build.opening(&Solid::Cylinder(bore(75.0, 1000.0, 0.0)));
    let cut = build.cut();
    assert_eq!(cut.shared, 2);
    assert!(near(cut.besides.circle.unwrap().diameter_mm, 75.0) && near(cut.bit_mm, 75.0));
}

#[test]
fn a_service_in_a_modelled_notch_adds_nothing() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 95.0);
    build.opening(&solid(&block([980.0, -60.0, 80.0], [1020.0, 60.0, 130.0])));
    let cut = build.cut();
    assert_eq!((cut.kind, cut.edge, cut.shared), (CutKind::TopNotch, Edge::Top, 1));
    assert!(near(cut.width_mm(), 40.0) && cut.besides.too_small.is_empty());
}

#[test]
fn an_opening_elsewhere_is_another_cut() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0);
    build.opening(&Solid::Cylinder(bore(40.0, 1500.0, 0.0)));
    let cuts = build.cuts();
    assert_eq!(cuts.iter().map(|c| c.shared).collect::<Vec<_>>(), [1, 0]);
}

#[test]
fn a_part_depth_place_at_an_end_is_joinery_unless_a_service_is_in_it() {
    let halved = solid(&block([-20.0, -60.0, 20.0], [140.0, 60.0, 150.0]));
    let mut build = Build::joist();
    build.opening(&halved);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.edge), (CutKind::Joinery, Edge::Top));
    build.across(22.0, 100.0, 90.0);
    assert_eq!(build.cut().kind, CutKind::EndCut);
}

#[test]
fn material_missing_over_the_full_depth_at_an_end_is_the_ends_shape() {
    let mut build = Build::joist();
    build.opening(&solid(&block([3700.0, -60.0, -150.0], [3900.0, 0.0, 150.0])));
    assert_eq!(build.cuts(), []);
}

#[test]
fn a_place_over_a_bearing_is_joinery() {
    // A birdsmouth's seat over the bearing at 3700..3800.
    let mut build = Build::joist();
    build.opening(&solid(&block([3650.0, -60.0, -150.0], [3720.0, 60.0, -80.0])));
    let cut = build.cut();
    assert_eq!((cut.kind, cut.edge), (CutKind::Joinery, Edge::Bottom));
}

#[test]
fn a_place_with_another_member_in_it_is_joinery_and_a_ply_beside_it_does_not_make_it_so() {
    let notch = solid(&block([1000.0, -60.0, 60.0], [1050.0, 60.0, 150.0]));
    let section = |b: f64, h: f64| Section::Rectangle { breadth_mm: b, depth_mm: h };
    let mut build = Build::new();
    // Lies across in the notch: 48 broad, seen along X as a short member.
    build.member(section(400.0, 50.0), 48.0, DVec3::new(1001.0, 0.0, 86.0));
    build.member(JOIST, 3800.0, DVec3::ZERO);
    build.opening(&notch);
    assert_eq!(build.cut().kind, CutKind::Joinery);
    let mut build = Build::new();
    build.member(JOIST, 3800.0, DVec3::new(0.0, 47.0, 0.0));
    build.member(JOIST, 3800.0, DVec3::ZERO);
    build.opening(&notch);
    assert_eq!(build.cut().kind, CutKind::TopNotch);
}

#[test]
fn a_bolt_hole_is_joinery_until_a_service_is_in_it() {
    let mut build = Build::joist();
    build.opening(&Solid::Cylinder(bore(14.0, 1000.0, 0.0)));
    build.scene.openings[0].touches = true;
    assert_eq!(build.cut().kind, CutKind::Joinery);
    build.across(6.0, 1000.0, 0.0);
    assert_eq!(build.cut().kind, CutKind::Hole);
}

#[test]
fn an_opening_that_takes_nothing_is_no_cut() {
    let mut build = Build::joist();
    build.opening(&solid(&block([1000.0, -60.0, 110.0], [1050.0, 60.0, 150.0])));
    assert_eq!(build.cuts(), []);
}

#[test]
fn a_void_drawn_in_the_members_faces_is_an_opening_and_a_service_in_it_is_listed() {
    use wimble_model::OpeningSource;
    use wimble_recognise::{Part, PartKind, PartShape};
    // The body as drawn: nothing between x 950 and 1050 in the middle half of the depth.
    let boxed = |x0, z0, x1, z1| {
        let bounds =
            wimble_geom::Aabb { min: DVec3::new(x0, -23.5, z0), max: DVec3::new(x1, 23.5, z1) };
        let shape = PartShape::Mesh(mesh(&Convex::of_box(bounds)));
        Part { kind: PartKind::Solid, shape }
    };
    let parts = vec![
        boxed(0.0, -110.0, 950.0, 110.0),
        boxed(1050.0, -110.0, 3800.0, 110.0),
        boxed(950.0, -110.0, 1050.0, -50.0),
        boxed(950.0, 50.0, 1050.0, 110.0),
    ];
    let mut build = Build::new();
    build.member_of(JOIST, 3800.0, DVec3::ZERO, parts);
    build.opening(&solid(&block([950.0, -23.5, -50.0], [1050.0, 23.5, 50.0])));
    build.scene.openings[0].source = OpeningSource::Body;
    build.across(22.0, 1000.0, 0.0);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shared, cut.openings.len()), (CutKind::Hole, 1, 1));
    assert!(near(cut.width_mm(), 100.0) && cut.besides.too_small.is_empty());
}
