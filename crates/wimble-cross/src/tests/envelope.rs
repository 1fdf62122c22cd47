//! The envelope of a cut.

use super::crossing::mesh;
use crate::testing::Build;
use glam::{DAffine3, DMat3, DVec3};
use wimble_geom::{Convex, Cylinder};
use wimble_model::{CutKind, CutShape, Edge};

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

#[test]
fn clearance_grows_the_section_half_on_every_side() {
    let mut build = Build::joist();
    build.across(22.0, 1200.0, -3.0);
    let cut = build.cut();
    assert!(near(cut.min_mm.x, 1186.5) && near(cut.max_mm.x, 1213.5));
    assert!(near(cut.min_mm.z, -16.5) && near(cut.max_mm.z, 10.5));
    assert!(near(cut.min_mm.y, -23.5) && near(cut.max_mm.y, 23.5));
    assert!(cut.point_m(&build.scene.members[0]).distance(DVec3::new(1.2, 0.0, -0.003)) < 1e-9);
}

#[test]
fn clearance_never_lengthens_the_service() {
    let mut build = Build::joist();
    build.pipe(22.0, [1200.0, -200.0, 0.0], [1200.0, 10.0, 0.0]);
    let cut = build.cut();
    assert!(near(cut.max_mm.y, 10.0));
    assert_eq!(cut.kind, CutKind::SideCut);
}

#[test]
fn rectangles_keep_sharp_corners() {
    let mut build = Build::joist();
    build.duct([60.0, 90.0, 500.0], [1200.0, 0.0, 0.0], DVec3::X, DVec3::Y);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shape), (CutKind::Hole, CutShape::Rectangular));
    assert!(near(cut.width_mm(), 65.0) && near(cut.height_mm(), 95.0));
}

#[test]
fn a_skewed_rectangle_is_clipped_as_a_convex_solid() {
    let mut build = Build::joist();
    let (sin, cos) = 30f64.to_radians().sin_cos();
    build.duct(
        [60.0, 90.0, 900.0],
        [1200.0, 0.0, 0.0],
        DVec3::new(cos, -sin, 0.0),
        DVec3::new(sin, cos, 0.0),
    );
    let cut = build.cut();
    assert!(near(cut.width_mm(), 65.0 / cos + 47.0 * (sin / cos)));
    assert!(near(cut.height_mm(), 95.0));
    assert!((cut.skew_deg - 30.0).abs() < 1e-6);
}

#[test]
fn a_service_that_rises_more_than_it_crosses_is_clipped_in_depth() {
    // 60° up: clipped in depth, so x does not reach as far as the pipe does outside.
    let mut build = Build::joist();
    let d = DVec3::new(0.5, 0.0, 1.0) * 400.0;
    build.pipe(22.0, (DVec3::X * 1200.0 - d).to_array(), (DVec3::X * 1200.0 + d).to_array());
    let cut = build.cut();
    let (half, cos) = (13.5, 1.0 / 1.25f64.sqrt());
    assert!(near(cut.width_mm(), 2.0 * (110.0 * 0.5 + half / cos)), "{}", cut.width_mm());
    assert_eq!((cut.kind, cut.edge), (CutKind::Bore, Edge::Full));
}

#[test]
fn a_notch_is_as_wide_as_its_service() {
    // Its centre is above the top: clipped in depth it would be narrower.
    let mut build = Build::joist();
    build.across(22.0, 1200.0, 115.0);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.edge), (CutKind::TopNotch, Edge::Top));
    assert!(near(cut.width_mm(), 27.0));
    assert!(near(cut.max_mm.z, 110.0) && near(cut.min_mm.z, 101.5));
}

#[test]
fn where_an_end_takes_part_the_z_extent_is_that_of_what_remains() {
    // The middle of the pipe is 5 mm past the end: what remains is a segment.
    let mut build = Build::joist();
    build.across(22.0, 3805.0, 0.0);
    let cut = build.cut();
    let half = (13.5f64.powi(2) - 25.0).sqrt();
    assert_eq!(cut.kind, CutKind::EndCut);
    assert!(near(cut.max_mm.z, half) && near(cut.min_mm.z, -half));
    assert!(near(cut.max_mm.x, 3800.0) && near(cut.min_mm.x, 3791.5));
}

#[test]
fn a_pipe_whose_end_lies_in_the_member_takes_no_more_than_it_fills() {
    // Skewed in z, its square end inside the member.
    let mut build = Build::joist();
    let d = DVec3::new(0.0, 0.8, 0.6);
    let end = DVec3::new(1200.0, 5.0, 0.0);
    build.pipe(22.0, (end - 300.0 * d).to_array(), end.to_array());
    let cut = build.cut();
    assert!(near(cut.max_mm.y, 5.0 + 13.5 * 0.6));
    assert!(near(cut.max_mm.z, 13.5 * 0.8));
}

#[test]
fn any_other_shape_is_clipped_to_the_box_and_grown_on_each_side() {
    let bar = Cylinder {
        from: DVec3::new(1200.0, -100.0, 20.0),
        to: DVec3::new(1200.0, 100.0, 20.0),
        radius: 11.0,
        inner: None,
    };
    let mut faceted = mesh(&Convex::bar(&bar, 16));
    faceted.chord = 0.06;
    let mut build = Build::joist();
    build.mesh(&faceted);
    let cut = build.cut();
    let bare = Convex::bar(&bar, 16).bounds().size();
    assert_eq!((cut.kind, cut.shape), (CutKind::Hole, CutShape::Other));
    assert!(near(cut.width_mm(), bare.x + 5.0 + 0.12));
    assert!(near(cut.height_mm(), bare.z + 5.0 + 0.12));
}

#[test]
fn the_chord_tolerance_that_is_added_is_at_most_a_tenth() {
    let block = Convex::block(
        &DAffine3::from_translation(DVec3::new(1200.0, 0.0, 0.0)),
        DVec3::new(10.0, 100.0, 10.0),
    );
    let mut coarse = mesh(&block);
    coarse.chord = 3.0;
    let mut build = Build::joist();
    build.mesh(&coarse);
    assert!(near(build.cut().width_mm(), 25.2));
}

#[test]
fn a_member_that_varies_has_the_section_at_the_cut() {
    use wimble_model::Section;
    use wimble_recognise::{Part, PartKind, PartShape};
    // A firring-like taper: bottom flat at −110, top from 110 at x 0 to −10 at x 4000.
    let ring = [(0.0, -110.0), (4000.0, -110.0), (4000.0, -10.0), (0.0, 110.0)]
        .map(|(x, z)| DVec3::new(x, 23.5, z));
    let taper = Convex::swept(&ring, DVec3::new(0.0, -47.0, 0.0));
    let mut body = mesh(&taper);
    if body.volume() < 0.0 {
        body = body.flipped();
    }
    let mut build = Build::new();
    let section = Section::Other { breadth_mm: 47.0, depth_mm: 160.0 };
    let parts = vec![Part { kind: PartKind::Solid, shape: PartShape::Mesh(body) }];
    build.member_of(section, 4000.0, DVec3::ZERO, parts).varies = true;
    build.across(22.0, 2000.0, 0.0);
    let cut = build.cut();
    // At x 2000 it is 160 deep, from −110 to 50: mid-depth −30.
    assert!((cut.depth_mm - 160.0).abs() < 1e-6, "{}", cut.depth_mm);
    assert!((cut.offset_mm() - 30.0).abs() < 1e-6);
    assert!(near(cut.breadth_mm, 47.0));
    assert!(cut.point_m(&build.scene.members[0]).distance(DVec3::new(2.0, 0.0, 0.0)) < 1e-9);
    // Above its top nothing is met, though the box of the whole reaches there.
    let mut above = Build::new();
    let parts = build.scene.member_bodies[0].parts.clone();
    above.member_of(section, 4000.0, DVec3::ZERO, parts).varies = true;
    above.across(22.0, 3500.0, 60.0);
    assert_eq!(above.cuts(), []);
}

#[test]
fn a_round_pole_is_met_as_a_round_pole() {
    use wimble_model::Section;
    use wimble_recognise::{Part, PartKind, PartShape};
    let bar = Cylinder { from: DVec3::ZERO, to: DVec3::X * 3000.0, radius: 100.0, inner: None };
    let body = mesh(&Convex::bar(&bar, 64));
    let part = Part { kind: PartKind::Solid, shape: PartShape::Mesh(body) };
    let section = Section::Round { diameter_mm: 200.0 };
    for (y, met) in [(90.0, false), (60.0, true)] {
        let mut build = Build::new();
        build.member_of(section, 3000.0, DVec3::ZERO, vec![part.clone()]);
        // A pipe along it, in the corner of its box.
        build.pipe(22.0, [1000.0, y, y], [1800.0, y, y]);
        assert_eq!(!build.cuts().is_empty(), met, "{y}");
    }
}

#[test]
fn a_turned_scene_gives_the_same_envelope() {
    let d = DMat3::from_rotation_z(0.4) * DVec3::new(0.2, 1.0, 0.1);
    let mut expected = None;
    for (origin, turn) in [(DVec3::ZERO, 0.0), (DVec3::new(2.6e6, 1.2e6, 400.0), 2.1)] {
        let mut build = Build::at(origin, turn);
        build.member(crate::testing::JOIST, 3800.0, DVec3::ZERO);
        let middle = DVec3::new(1500.0, 0.0, 20.0);
        build.pipe(36.0, (middle - 300.0 * d).to_array(), (middle + 300.0 * d).to_array());
        let cut = build.cut();
        let found = (cut.min_mm, cut.max_mm, cut.kind);
        let (min, max, kind) = *expected.get_or_insert(found);
        assert!(min.distance(found.0) < 1e-4 && max.distance(found.1) < 1e-4);
        assert_eq!(kind, found.2);
    }
}
