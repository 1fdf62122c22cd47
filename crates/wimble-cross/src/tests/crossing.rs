//! Whether a service crosses, bare; nested services; united runs.

use crate::testing::{Build, JOIST};
use glam::DVec3;
use wimble_geom::{Convex, Mesh};
use wimble_model::{CutKind, Lagging, ServiceIx, ServiceKind, Trade};

/// A closed mesh of a convex body.
pub(super) fn mesh(body: &Convex) -> Mesh {
    let triangles =
        body.faces.iter().flat_map(|f| f.windows(2).skip(1).map(|w| [f[0], w[0], w[1]])).collect();
    Mesh { points: body.points.clone(), triangles, closed: true, chord: 0.0 }
}

#[test]
fn a_crossing_exists_when_more_than_1_mm_is_shared_in_each_of_x_y_and_z() {
    // A pipe under the soffit that enters by so much.
    for (enters, crosses) in [(0.0, false), (0.99, false), (1.01, true), (5.0, true)] {
        let mut build = Build::joist();
        build.across(22.0, 1000.0, -110.0 - 11.0 + enters);
        assert_eq!(!build.cuts().is_empty(), crosses, "enters {enters}");
    }
    // Along its side.
    for (enters, crosses) in [(0.99, false), (1.01, true)] {
        let mut build = Build::joist();
        build.pipe(15.0, [500.0, 31.0 - enters, 0.0], [900.0, 31.0 - enters, 0.0]);
        assert_eq!(!build.cuts().is_empty(), crosses, "enters {enters}");
    }
}

#[test]
fn the_solid_counts_with_its_ends_cut_not_its_box() {
    // A plumb cut of a slope: nothing is left above the line from (3700, 110) to (3800, −110).
    let mut build = Build::joist();
    build.end(DVec3::new(3700.0, 0.0, 110.0), DVec3::new(220.0, 0.0, 100.0));
    build.across(22.0, 3780.0, 90.0);
    assert_eq!(build.cuts(), []);
    build.across(22.0, 3700.0, 0.0);
    assert_eq!(build.cut().kind, CutKind::Hole);
}

#[test]
fn the_clearance_is_added_after_the_crossing_is_established() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, -110.0 - 11.0 - 1.0);
    assert_eq!(build.cuts(), [], "the clearance alone enters");
}

#[test]
fn bare_is_without_lagging_unless_it_passes_through() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0).lagging = Lagging::Covering { thickness_mm: 13.0 };
    // A wrap of 2 on each side where the model has lagging on that pipe.
    assert!((build.cut().width_mm() - 31.0).abs() < 1e-9);
    build.scene.services[0].trade = Trade::Chilled;
    assert!((build.cut().width_mm() - (22.0 + 26.0 + 5.0)).abs() < 1e-9);
}

#[test]
fn a_cable_in_a_conduit_adds_nothing_and_is_listed_beside_it() {
    let mut build = Build::joist();
    build.across(12.0, 1002.0, 1.0).kind = ServiceKind::Cable;
    build.across(25.0, 1000.0, 0.0).kind = ServiceKind::Carrier;
    let cut = build.cut();
    assert_eq!(cut.services[..], [ServiceIx(1)]);
    assert_eq!(cut.besides.inside[..], [ServiceIx(0)]);
    assert_eq!(cut.shared, 1);
    assert!((cut.width_mm() - 30.0).abs() < 1e-9);
}

#[test]
fn a_cable_in_a_pipe_in_a_sleeve_is_listed_beside_the_sleeve() {
    let mut build = Build::joist();
    build.across(12.0, 1000.0, 0.0);
    build.across(22.0, 1000.0, 0.0);
    build.across(40.0, 1000.0, 0.0);
    let cut = build.cut();
    assert_eq!(cut.services[..], [ServiceIx(2)]);
    assert_eq!(cut.besides.inside[..], [ServiceIx(0), ServiceIx(1)]);
}

#[test]
fn of_two_that_fill_each_other_the_first_stays() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0);
    build.across(22.0, 1000.0, 0.0);
    let cut = build.cut();
    assert_eq!(cut.services[..], [ServiceIx(0)]);
    assert_eq!(cut.besides.inside[..], [ServiceIx(1)]);
}

#[test]
fn a_pipe_that_is_only_partly_inside_another_is_not_nested() {
    let mut build = Build::joist();
    build.across(22.0, 1015.0, 0.0);
    build.across(40.0, 1000.0, 0.0);
    let cut = build.cut();
    assert_eq!((cut.services.len(), cut.besides.inside.len(), cut.shared), (2, 0, 2));
}

#[test]
fn pieces_of_one_run_that_touch_inside_the_member_are_united() {
    // Two lengths that meet in the middle of the breadth.
    let mut build = Build::joist();
    build.pipe(22.0, [1000.0, -200.0, 0.0], [1000.0, 0.0, 0.0]).run = 7;
    build.pipe(22.0, [1000.0, 0.0, 0.0], [1000.0, 200.0, 0.0]).run = 7;
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shared), (CutKind::Hole, 1));
    assert_eq!(cut.services[..], [ServiceIx(0), ServiceIx(1)]);
    assert!((cut.bit_mm - 27.0).abs() < 1e-9);
}

#[test]
fn pieces_of_different_runs_that_touch_share_a_hole() {
    let mut build = Build::joist();
    build.pipe(22.0, [1000.0, -200.0, 0.0], [1000.0, 0.0, 0.0]);
    build.pipe(22.0, [1000.0, 0.0, 0.0], [1000.0, 200.0, 0.0]);
    assert_eq!(build.cut().shared, 2);
}

#[test]
fn one_run_that_passes_a_member_twice_makes_two_cuts() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0).run = 7;
    build.across(22.0, 1300.0, 0.0).run = 7;
    assert_eq!(build.cuts().len(), 2);
}

#[test]
fn a_mesh_that_swallows_part_of_the_member_crosses_it() {
    let mut build = Build::joist();
    let block = Convex::block(
        &glam::DAffine3::from_translation(DVec3::new(1000.0, 0.0, 0.0)),
        DVec3::new(40.0, 300.0, 300.0),
    );
    build.mesh(&mesh(&block));
    assert_eq!(build.cut().kind, CutKind::Severed);
}

#[test]
fn a_line_without_a_size_is_not_lost() {
    let mut build = Build::joist();
    build.line(&[[900.0, -300.0, 0.0], [900.0, 0.0, 0.0], [900.0, 300.0, 0.0]]);
    let cut = build.cut();
    assert_eq!(cut.kind, CutKind::Hole);
    assert!((cut.width_mm() - 5.0).abs() < 1e-9, "the clearance alone");
    assert!(cut.besides.notes.iter().any(|n| n.0.contains("size is not in the model")));
}

#[test]
fn far_from_members_nothing_is_found() {
    let mut build = Build::new();
    build.member(JOIST, 3800.0, DVec3::ZERO);
    build.pipe(22.0, [0.0, 900.0, 0.0], [3800.0, 900.0, 0.0]);
    assert_eq!(build.cuts(), []);
}
