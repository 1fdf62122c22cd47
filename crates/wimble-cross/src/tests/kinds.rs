//! The table of kinds for a solid section: the first that fits. (Joinery: `openings`; I-joists,
//! open-web joists and trusses: `products`.)

use crate::testing::Build;
use wimble_model::CutKind::{
    Bore, BottomNotch, Enclosed, EndCut, Hole, Lengthwise, Severed, SideCut, TopNotch,
};
use wimble_model::{CutKind, Edge};

fn kind_of(diameter: f64, from: [f64; 3], to: [f64; 3]) -> (CutKind, Edge) {
    let mut build = Build::joist();
    build.pipe(diameter, from, to);
    let cut = build.cut();
    (cut.kind, cut.edge)
}

fn across(diameter: f64, x: f64, z: f64) -> (CutKind, Edge) {
    kind_of(diameter, [x, -200.0, z], [x, 200.0, z])
}

#[test]
fn a_hole_reaches_both_sides_and_no_edge() {
    assert_eq!(across(22.0, 1000.0, 0.0), (Hole, Edge::None));
}

#[test]
fn an_edge_is_reached_when_less_than_1_mm_is_left_measured_on_the_envelope() {
    // 22 + 5: the envelope ends 13.5 above its middle.
    assert_eq!(across(22.0, 1000.0, 110.0 - 13.5 - 1.01), (Hole, Edge::None));
    assert_eq!(across(22.0, 1000.0, 110.0 - 13.5 - 0.99), (TopNotch, Edge::Top));
    assert_eq!(across(22.0, 1000.0, -110.0 + 13.5 + 1.01), (Hole, Edge::None));
    assert_eq!(across(22.0, 1000.0, -110.0 + 13.5 + 0.99), (BottomNotch, Edge::Bottom));
}

#[test]
fn an_end_cut_has_its_edge_and_depth() {
    assert_eq!(across(22.0, 13.0, 0.0), (EndCut, Edge::None));
    assert_eq!(across(22.0, 3790.0, 100.0), (EndCut, Edge::Top));
    assert_eq!(across(22.0, 13.6, 0.0), (Hole, Edge::None), "0.1 mm is left");
}

#[test]
fn past_a_skew_end_is_past_the_end() {
    let mut build = Build::joist();
    build.end(glam::DVec3::new(3700.0, 0.0, 110.0), glam::DVec3::new(220.0, 0.0, 100.0));
    build.across(22.0, 3745.0, 0.0);
    assert_eq!(build.cut().kind, EndCut);
}

#[test]
fn severed_reaches_both_edges_and_both_sides() {
    assert_eq!(across(240.0, 1000.0, 0.0), (Severed, Edge::Full));
    assert_eq!(kind_of(110.0, [900.0, 10.0, -900.0], [900.0, 10.0, 900.0]), (Severed, Edge::Full));
}

#[test]
fn lengthwise_is_within_30_degrees_of_x() {
    let at = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let (x, y) = (400.0 * cos, 400.0 * sin);
        kind_of(15.0, [1000.0 - x, -y, 0.0], [1000.0 + x, y, 0.0]).0
    };
    assert_eq!((at(29.9), at(30.1)), (Lengthwise, Hole));
}

#[test]
fn a_riser_is_a_bore() {
    // Through the breadth's middle: no side, both edges.
    assert_eq!(kind_of(15.0, [900.0, 0.0, -900.0], [900.0, 0.0, 900.0]), (Bore, Edge::Full));
    // At one side: both edges.
    assert_eq!(kind_of(15.0, [900.0, 18.0, -900.0], [900.0, 18.0, 900.0]), (Bore, Edge::Full));
    // It rises more than it crosses and reaches an edge, though it reaches both sides too.
    assert_eq!(kind_of(60.0, [900.0, 0.0, 60.0], [900.0, 0.0, 900.0]), (Bore, Edge::Top));
    // It ends inside.
    assert_eq!(kind_of(15.0, [900.0, 0.0, 60.0], [900.0, 0.0, 900.0]), (Bore, Edge::Top));
}

#[test]
fn a_side_cut_reaches_one_side_only_also_where_the_service_ends_inside() {
    assert_eq!(kind_of(22.0, [900.0, -200.0, 0.0], [900.0, 10.0, 0.0]), (SideCut, Edge::None));
    assert_eq!(kind_of(22.0, [900.0, -200.0, 105.0], [900.0, 10.0, 105.0]), (SideCut, Edge::Top));
}

#[test]
fn enclosed_reaches_no_side_and_no_edge() {
    assert_eq!(kind_of(10.0, [900.0, -12.0, 0.0], [900.0, 12.0, 0.0]), (Enclosed, Edge::None));
}

#[test]
fn a_notch_reaches_both_sides_and_one_edge() {
    assert_eq!(across(15.0, 1000.0, 105.0), (TopNotch, Edge::Top));
    assert_eq!(across(15.0, 1000.0, -105.0), (BottomNotch, Edge::Bottom));
}

#[test]
fn a_flexible_pipe_along_the_member_is_lengthwise_though_it_has_no_axis() {
    let mut build = Build::joist();
    let bar = wimble_geom::Cylinder {
        from: glam::DVec3::new(900.0, 20.0, 0.0),
        to: glam::DVec3::new(1500.0, 20.0, 0.0),
        radius: 8.0,
        inner: None,
    };
    build.mesh(&super::crossing::mesh(&wimble_geom::Convex::bar(&bar, 12)));
    assert_eq!(build.cut().kind, Lengthwise);
}
