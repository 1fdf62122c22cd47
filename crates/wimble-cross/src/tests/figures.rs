//! The figures of a cut: span, distances, bit, skew, standing proud, order.

use crate::testing::Build;
use crate::{Clearance, CrossSettings, cross, recut};
use wimble_model::{Basis, MemberIx, ServiceIx, ServiceKind, Span};
use wimble_recognise::ServiceBody;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

/// A joist over three bearings: 0-100, 1800-1900, 3700-3800 of 4300; an overhang beyond.
fn continuous() -> Build {
    let mut build = Build::new();
    let member = build.member(crate::testing::JOIST, 4300.0, glam::DVec3::ZERO);
    let mut middle = member.bearings[0].clone();
    (middle.from_mm, middle.to_mm) = (1800.0, 1900.0);
    member.bearings.insert(1, middle);
    (member.bearings[2].from_mm, member.bearings[2].to_mm) = (3700.0, 3800.0);
    let span = |from: f64, to: f64, bearing: u32| Span {
        from_mm: from,
        to_mm: to,
        basis: Basis::Contact,
        from_bearing: Some(bearing),
        to_bearing: Some(bearing + 1),
    };
    member.spans = [span(100.0, 1800.0, 0), span(1900.0, 3700.0, 1)].into();
    build
}

#[test]
fn a_cut_belongs_to_the_span_that_holds_its_mid_x() {
    for (x, span, from) in [
        (500.0, Some(0), Some(386.5)),
        (1790.0, Some(0), Some(-3.5)),
        // Over the middle bearing: to the nearer span.
        (1820.0, Some(0), Some(-33.5)),
        (1880.0, Some(1), Some(-33.5)),
        (2500.0, Some(1), Some(586.5)),
        // Over the outer bearings.
        (50.0, Some(0), Some(-63.5)),
        (3750.0, Some(1), Some(-63.5)),
        // In the overhang.
        (4000.0, None, None),
    ] {
        let mut build = continuous();
        build.across(22.0, x, 0.0);
        let cut = build.cut();
        assert_eq!(cut.span, span, "at {x}");
        let from_bearing = cut.from_bearing_mm(&build.scene.members[0]);
        assert_eq!(from_bearing.map(|mm| (mm * 1e6).round() / 1e6), from, "at {x}");
    }
}

#[test]
fn without_spans_nothing_is_said_of_the_bearing() {
    let mut build = Build::joist();
    build.scene.members[0].spans.clear();
    build.across(22.0, 1000.0, 0.0);
    let cut = build.cut();
    assert_eq!((cut.span, cut.from_bearing_mm(&build.scene.members[0])), (None, None));
}

#[test]
fn for_one_service_the_bit_is_the_greater_of_width_and_height() {
    let mut build = Build::joist();
    build.pipe(22.0, [1000.0, -200.0, -30.0], [1000.0, 200.0, 30.0]);
    let cut = build.cut();
    assert!(near(cut.bit_mm, cut.height_mm()) && cut.height_mm() > cut.width_mm());
}

#[test]
fn the_tool_for_cables_is_at_least_16_and_a_bunch_takes_the_circle_and_6() {
    // `practice.md`, defaults (common practice): they size the bit, never the envelope.
    let mut build = Build::joist();
    build.settings = CrossSettings::default();
    build.across(6.0, 1000.0, 0.0).kind = ServiceKind::Cable;
    let cut = build.cut();
    assert!(near(cut.width_mm(), 10.0) && near(cut.bit_mm, 16.0));
    build.across(12.0, 1010.0, 0.0).kind = ServiceKind::Cable;
    let cut = build.cut();
    // 3 + 10 + 6 bare.
    assert!(near(cut.bit_mm, 19.0 + 6.0), "{}", cut.bit_mm);
    assert!(near(cut.width_mm(), 23.0));
}

#[test]
fn several_in_one_hole_take_the_least_circle_round_the_bare_group_plus_clearance() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0);
    build.across(15.0, 1015.0, 12.0);
    let cut = build.cut();
    // Two circles: half of each and what is between their centres; 5 mm clearance.
    let bare = 11.0 + 7.5 + 15f64.hypot(12.0);
    assert_eq!(cut.shared, 2);
    assert!(near(cut.bit_mm, bare + 5.0));
    assert!(near(cut.besides.circle.unwrap().diameter_mm, bare + 5.0));
    // x0..z1 stay the union.
    assert!(near(cut.min_mm.x, 986.5) && near(cut.max_mm.x, 1025.0));
    assert!(near(cut.min_mm.z, -13.5) && near(cut.max_mm.z, 22.0));
}

#[test]
fn a_skewed_pipe_in_a_shared_hole_counts_with_what_it_sweeps() {
    let mut build = Build::joist();
    build.pipe(22.0, [900.0, -100.0, 0.0], [1100.0, 100.0, 0.0]);
    let single = build.cut();
    build.across(10.0, 1000.0, 0.0);
    // The small one crosses it inside its sweep: the circle is that of the skewed one alone.
    let both = build.cut();
    let bare = 47.0 + 22.0 * 2f64.sqrt();
    assert_eq!(both.shared, 2);
    assert!((both.bit_mm - (bare + 5.0)).abs() < 0.01, "{} {}", both.bit_mm, single.bit_mm);
}

#[test]
fn a_notch_of_two_pipes_has_no_circle() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 100.0);
    build.across(22.0, 1020.0, 100.0);
    let cut = build.cut();
    assert_eq!(cut.besides.circle, None);
    assert!(near(cut.bit_mm, cut.width_mm()));
}

#[test]
fn skew_is_measured_off_square() {
    for (from, to, degrees) in [
        ([1000.0, -100.0, 0.0], [1000.0, 100.0, 0.0], 0.0),
        ([900.0, -100.0, 0.0], [1100.0, 100.0, 0.0], 45.0),
        ([1000.0, 0.0, -900.0], [1000.0, 0.0, 900.0], 0.0),
    ] {
        let mut build = Build::joist();
        build.pipe(22.0, from, to);
        assert!(near(build.cut().skew_deg, degrees));
    }
}

#[test]
fn standing_proud_is_measured_bare_and_not_for_a_riser() {
    let proud = |x: f64, z: f64| {
        let mut build = Build::joist();
        build.across(22.0, x, z);
        build.cut().besides.proud_mm
    };
    assert!(near(proud(1000.0, 0.0), 0.0) && near(proud(1000.0, 99.0), 0.0));
    assert!(near(proud(1000.0, 102.0), 3.0) && near(proud(1000.0, -110.0), 11.0));
    let mut build = Build::joist();
    build.pipe(22.0, [900.0, 0.0, -900.0], [900.0, 0.0, 900.0]);
    assert!(near(build.cut().besides.proud_mm, 0.0));
}

#[test]
fn cuts_are_ordered_by_member_x0_z0_kind() {
    let mut build = Build::new();
    for y in [0.0, 400.0] {
        build.member(crate::testing::JOIST, 3800.0, glam::DVec3::new(0.0, y, 0.0));
    }
    for (x, z) in [(2000.0, 0.0), (1000.0, 60.0), (1000.0, -60.0), (500.0, 105.0)] {
        build.pipe(22.0, [x, -200.0, z], [x, 600.0, z]);
    }
    let found: Vec<_> = build.cuts().iter().map(|c| (c.member.0, c.services[0].0)).collect();
    assert_eq!(found, [(0, 3), (0, 2), (0, 1), (0, 0), (1, 3), (1, 2), (1, 1), (1, 0)]);
}

#[test]
fn a_service_moved_is_judged_in_its_new_place_and_the_rest_stays() {
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0);
    build.across(22.0, 1300.0, 0.0);
    let ServiceBody::Round { from, to, radius } = build.scene.service_bodies[0] else { panic!() };
    let by = glam::DVec3::X * 0.5;
    let moved = ServiceBody::Round { from: from + by, to: to + by, radius };
    let member = MemberIx(0);
    let again = recut(&build.scene, &build.settings, member, &[(ServiceIx(0), moved.clone())]);
    build.scene.service_bodies[0] = moved;
    assert_eq!(again, cross(&build.scene, &build.settings));
    assert_eq!(again.iter().map(|c| c.services[0].0).collect::<Vec<_>>(), [1, 0]);
    assert!(recut(&build.scene, &build.settings, MemberIx(9), &[]).is_empty());
}

#[test]
fn one_clearance_replaces_every_default_and_zero_is_a_clearance() {
    let mut build = Build::joist();
    build.settings.clearance = Clearance::one(0.0);
    build.across(22.0, 1000.0, 0.0);
    assert!(near(build.cut().width_mm(), 22.0));
}
