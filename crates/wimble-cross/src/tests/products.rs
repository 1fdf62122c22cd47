//! I-joists, open-web joists, truss parts. Figures of the demo building.

use super::crossing::mesh;
use crate::testing::{Build, JOIST};
use glam::DVec3;
use wimble_geom::{Aabb, Convex, Cylinder, Solid};
use wimble_model::CutKind::{BetweenWebs, ChordCut, EndCut, FlangeCut, WebCut, WebHole};
use wimble_model::{MemberKind, Section};
use wimble_recognise::{Part, PartKind, PartShape};

/// IC: 240 deep, flanges 45 × 45, web 10.
const I_JOIST: Section =
    Section::IJoist { breadth_mm: 45.0, depth_mm: 240.0, flange_mm: 45.0, web_mm: 10.0 };
/// OW: 254 deep, chords 72 × 47.
const OPEN_WEB: Section =
    Section::OpenWeb { breadth_mm: 72.0, depth_mm: 254.0, chord_mm: 47.0, webs_known: true };

fn part(kind: PartKind, min: [f64; 3], max: [f64; 3]) -> Part {
    let bounds = Aabb { min: min.into(), max: max.into() };
    Part { kind, shape: PartShape::Box { bounds, ends: thin_vec::ThinVec::new() } }
}

fn i_joist() -> Build {
    let mut build = Build::new();
    let parts = vec![
        part(PartKind::Flange, [0.0, -22.5, -120.0], [4362.0, 22.5, -75.0]),
        part(PartKind::Web, [0.0, -5.0, -75.0], [4362.0, 5.0, 75.0]),
        part(PartKind::Flange, [0.0, -22.5, 75.0], [4362.0, 22.5, 120.0]),
    ];
    build.member_of(I_JOIST, 4362.0, DVec3::ZERO, parts);
    build
}

fn open_web() -> Build {
    let mut build = Build::new();
    // One strut square to the chords at x 1000, one that leans from 1600 to 1900.
    let lean = [(1600.0, -80.0), (1640.0, -80.0), (1940.0, 80.0), (1900.0, 80.0)]
        .map(|(x, z)| DVec3::new(x, 20.0, z));
    let mut strut = mesh(&Convex::swept(&lean, DVec3::new(0.0, -40.0, 0.0)));
    if strut.volume() < 0.0 {
        strut = strut.flipped();
    }
    let parts = vec![
        part(PartKind::Chord, [0.0, -36.0, -127.0], [4400.0, 36.0, -80.0]),
        part(PartKind::Chord, [0.0, -36.0, 80.0], [4400.0, 36.0, 127.0]),
        part(PartKind::Strut, [980.0, -20.0, -80.0], [1020.0, 20.0, 80.0]),
        Part { kind: PartKind::Strut, shape: PartShape::Mesh(strut) },
    ];
    build.member_of(OPEN_WEB, 4400.0, DVec3::ZERO, parts);
    build
}

#[test]
fn wholly_between_the_flanges_is_a_web_hole_measured_in_the_webs_thickness() {
    let mut build = i_joist();
    // A skewed duct: over the full breadth it would come out wider.
    build.pipe(36.0, [900.0, -100.0, 0.0], [1100.0, 100.0, 0.0]);
    let cut = build.cut();
    assert_eq!(cut.kind, WebHole);
    assert!((cut.width_mm() - (10.0 + 41.0 * 2f64.sqrt())).abs() < 1e-6);
    assert!((cut.max_mm.y - 5.0).abs() < 1e-9);
    assert!((cut.breadth_mm - 45.0).abs() < 1e-9);
}

#[test]
fn touching_a_flange_over_the_full_breadth_is_a_flange_cut() {
    // MVHR 1: 125 + 5 in 150 clear; the utility waste of 43 at −60: 2418.5 < 2425.
    let kind = |diameter: f64, z: f64| {
        let mut build = i_joist();
        build.across(diameter, 2200.0, z);
        build.cut().kind
    };
    assert_eq!(kind(125.0, 0.0), WebHole);
    assert_eq!(kind(43.0, -60.0), FlangeCut);
    // Exactly between: not touched.
    assert_eq!(kind(145.0, 0.0), WebHole);
    assert_eq!(kind(145.2, 0.0), FlangeCut);
}

#[test]
fn a_skew_pipe_that_meets_the_flange_beside_the_web_is_a_flange_cut() {
    // In the web's thickness it is clear, but not over the flange's breadth.
    let mut build = i_joist();
    build.pipe(22.0, [2200.0, -100.0, 160.0], [2200.0, 100.0, -40.0]);
    assert_eq!(build.cut().kind, FlangeCut);
}

#[test]
fn a_pipe_in_the_hollow_beside_the_web_takes_nothing() {
    let mut build = i_joist();
    build.pipe(12.0, [500.0, 13.0, 0.0], [2500.0, 13.0, 0.0]);
    assert_eq!(build.cuts(), []);
}

#[test]
fn an_i_joist_known_by_its_section_alone_has_the_same_cuts() {
    for (diameter, z) in [(36.0, 0.0), (43.0, -60.0)] {
        let mut drawn = i_joist();
        drawn.across(diameter, 2200.0, z);
        let mut boxed = Build::new();
        boxed.member(I_JOIST, 4362.0, DVec3::ZERO);
        boxed.across(diameter, 2200.0, z);
        assert_eq!(drawn.cuts(), boxed.cuts());
    }
}

#[test]
fn a_service_in_a_knock_out_adds_nothing() {
    let mut build = i_joist();
    build.across(15.0, 1500.0, 0.0);
    build.opening(&Solid::Cylinder(Cylinder {
        from: DVec3::new(1500.0, -5.0, 0.0),
        to: DVec3::new(1500.0, 5.0, 0.0),
        radius: 20.0,
        inner: None,
    }));
    let cut = build.cut();
    assert_eq!((cut.kind, cut.openings.len(), cut.shared), (WebHole, 1, 1));
    assert!((cut.width_mm() - 40.0).abs() < 1e-6 && cut.besides.too_small.is_empty());
}

/// A row of knock-outs at 300, as the maker makes them.
fn knocked_out() -> Build {
    let mut build = i_joist();
    for i in 1..=14 {
        let x = 300.0 * f64::from(i);
        build.opening(&Solid::Cylinder(Cylinder {
            from: DVec3::new(x, -5.0, 0.0),
            to: DVec3::new(x, 5.0, 0.0),
            radius: 20.0,
            inner: None,
        }));
    }
    build
}

#[test]
fn knock_outs_that_nothing_passes_are_no_cuts() {
    assert_eq!(knocked_out().cuts(), []);
}

#[test]
fn through_a_knock_out_nothing_is_removed() {
    let mut build = knocked_out();
    build.across(15.0, 1500.0, 0.0);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.openings.len(), cut.shared), (BetweenWebs, 1, 1));
    assert_eq!(cut.besides.notes[0].0, "one of 14 knock-outs of 40 mm");
}

#[test]
fn a_knock_out_that_is_too_small_is_a_hole_in_the_web() {
    let mut build = knocked_out();
    build.across(40.0, 1500.0, 0.0);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.besides.too_small.len()), (WebHole, 1));
}

#[test]
fn through_a_void_of_an_open_web_joist_nothing_is_removed() {
    // MVHR 2: 125 + 5 at 2493 in 2413..2573, mid-depth 2493.
    let mut build = open_web();
    build.across(125.0, 1300.0, 0.0);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shared), (BetweenWebs, 1));
    assert!((cut.height_mm() - 130.0).abs() < 1e-9);
}

#[test]
fn touching_a_chord_is_a_chord_cut_and_a_web_a_web_cut() {
    let kind = |diameter: f64, x: f64, z: f64| {
        let mut build = open_web();
        build.across(diameter, x, z);
        build.cut().kind
    };
    // Soil in the garage floor: 110 + 10 in the table, 5 here, at 2455.
    assert_eq!(kind(110.0, 1300.0, 2455.0 - 2493.0), ChordCut);
    assert_eq!(kind(110.0, 1040.0, 0.0), WebCut);
    // The lean strut passes (1770, 0): clear of a small pipe beside it, not of one on it.
    assert_eq!(kind(22.0, 1770.0, 0.0), WebCut);
    assert_eq!(kind(22.0, 1700.0, 20.0), BetweenWebs);
    // The clearance reaches the strut.
    assert_eq!(kind(22.0, 1033.0, 0.0), WebCut);
}

#[test]
fn an_open_web_joist_drawn_as_a_box_does_not_say_where_its_webs_are() {
    let mut build = Build::new();
    let section =
        Section::OpenWeb { breadth_mm: 72.0, depth_mm: 254.0, chord_mm: 47.0, webs_known: false };
    build.member(section, 4400.0, DVec3::ZERO);
    build.across(110.0, 1000.0, 0.0);
    build.across(22.0, 2000.0, 100.0);
    let kinds: Vec<_> = build.cuts().iter().map(|c| c.kind).collect();
    assert_eq!(kinds, [BetweenWebs, ChordCut]);
}

#[test]
fn services_in_one_void_stay_apart() {
    let mut build = open_web();
    build.across(22.0, 1300.0, 0.0);
    build.across(22.0, 1310.0, 5.0);
    assert_eq!(build.cuts().iter().map(|c| c.kind).collect::<Vec<_>>(), [BetweenWebs; 2]);
}

#[test]
fn past_the_end_comes_before_flanges_and_chords() {
    let mut build = i_joist();
    build.across(22.0, 5.0, 110.0);
    assert_eq!(build.cut().kind, EndCut);
}

#[test]
fn any_part_of_a_truss_is_never_cut() {
    let mut build = Build::new();
    build.member(JOIST, 3800.0, DVec3::ZERO).kind = MemberKind::TrussPart;
    build.across(22.0, 1000.0, 0.0);
    assert_eq!(build.cut().kind, ChordCut);
}
