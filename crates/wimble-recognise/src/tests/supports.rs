//! Supports and spans of measuring.md and practice.md, sentence by sentence.

use super::*;
use crate::settings::{Selector, Stated};
use wimble_model::{Basis, End};

/// Two walls of 100 mm, faces at y = 0 and 3600.
fn two_walls() -> Vec<Candidate> {
    vec![
        wall("W-S", [-100.0, -100.0, 0.0], [7200.0, 0.0, 2400.0]),
        wall("W-N", [-100.0, 3600.0, 0.0], [7200.0, 3700.0, 2400.0]),
    ]
}

fn with_walls(more: Vec<Candidate>) -> Vec<Candidate> {
    two_walls().into_iter().chain(more).collect()
}

fn bearings(member: &Member) -> Vec<(f64, f64, Basis)> {
    member.bearings.iter().map(|b| (b.from_mm, b.to_mm, b.basis)).collect()
}

fn spans(member: &Member) -> Vec<(f64, f64)> {
    let round = |x: f64| (x * 100.0).round() / 100.0;
    member.spans.iter().map(|s| (round(s.from_mm), round(s.to_mm))).collect()
}

fn assert_bearings(member: &Member, expected: &[(f64, f64, Basis)]) {
    let found = bearings(member);
    assert_eq!(found.len(), expected.len(), "{found:?} {:?}", member.notes);
    for (a, b) in found.iter().zip(expected) {
        assert!(near(a.0, b.0) && near(a.1, b.1) && a.2 == b.2, "{found:?} not {expected:?}");
    }
}

#[test]
fn a_joist_on_two_walls_spans_between_their_inner_faces() {
    let scene = scene_of(with_walls(vec![joist("J", 500.0, [-100.0, 3700.0])]));
    let member = only(&scene);
    assert_bearings(member, &[(0.0, 100.0, Basis::Contact), (3700.0, 3800.0, Basis::Contact)]);
    assert_eq!(spans(member), [(100.0, 3700.0)]);
    assert_eq!(member.spans[0].basis, Basis::Contact);
    assert_eq!(member.bearings[0].name, "W-S");
    assert!(member.open_ends.is_empty());
    let walls: u32 =
        scene.coverage.iter().filter(|r| r.status.word() == "support").map(|r| r.count).sum();
    assert_eq!(walls, 2);
}

#[test]
fn contact_is_up_to_fifteen_millimetres_below_the_underside() {
    for (gap, carries) in [(0.0, true), (3.0, true), (14.9, true), (15.5, false)] {
        let low = wall("W-N", [-100.0, 3600.0, 0.0], [7200.0, 3700.0, 2400.0 - gap]);
        let scene =
            scene_of(vec![two_walls()[0].clone(), low, joist("J", 500.0, [-100.0, 3700.0])]);
        let member = only(&scene);
        let basis = member.bearings.get(1).map(|b| b.basis);
        let expected = if carries { Basis::Contact } else { Basis::NearContact };
        assert_eq!(basis, Some(expected), "{gap}");
        assert_eq!(member.spans[0].basis, expected, "{gap}");
        let said = member.notes.iter().any(|n| n.0.contains("mm between the underside"));
        assert_eq!(said, gap > 3.0, "{gap}: {:?}", member.notes);
    }
}

#[test]
fn a_gap_over_seventy_five_millimetres_is_nothing() {
    let low = wall("W-N", [-100.0, 3600.0, 0.0], [7200.0, 3700.0, 2320.0]);
    let scene = scene_of(vec![two_walls()[0].clone(), low, joist("J", 500.0, [-100.0, 3700.0])]);
    assert_eq!(only(&scene).bearings.len(), 1);
    assert_eq!(only(&scene).open_ends, [End::Finish]);
}

#[test]
fn a_wall_that_does_not_carry_is_no_support() {
    let mut partition = wall("GP-1", [400.0, 1750.0, 0.0], [900.0, 1839.0, 2400.0]);
    partition.load_bearing = Some(false);
    let scene = scene_of(with_walls(vec![partition, joist("J", 500.0, [-100.0, 3700.0])]));
    assert_eq!(only(&scene).spans.len(), 1);
    assert!(only(&scene).spans_without_doubtful.is_none());
}

#[test]
fn a_wall_that_does_not_say_counts_under_an_end_and_is_doubtful_under_the_middle() {
    let mut walls = two_walls();
    walls.iter_mut().for_each(|w| w.load_bearing = None);
    let mut middle = wall("W-M", [-100.0, 1750.0, 0.0], [7200.0, 1850.0, 2400.0]);
    middle.load_bearing = None;
    let candidates: Vec<Candidate> =
        walls.into_iter().chain([middle, joist("J", 500.0, [-100.0, 3700.0])]).collect();
    let scene = scene_of(candidates.clone());
    let member = only(&scene);
    assert_eq!(spans(member), [(100.0, 1850.0), (1950.0, 3700.0)]);
    let without = member.spans_without_doubtful.as_ref().expect("judged both ways");
    assert_eq!(without.len(), 1);
    assert!(near(without[0].length_mm(), 3600.0));
    assert!(member.notes.iter().any(|n| n.0.contains("judged both ways")));
    let settings = RecogniseSettings { assume_bearing: false, ..RecogniseSettings::default() };
    assert!(only(&scene_with(candidates, &settings)).bearings.is_empty());
}

#[test]
fn contact_over_more_than_sixty_percent_is_no_bearing() {
    let along = wall("W-L", [450.0, 0.0, 0.0], [550.0, 3600.0, 2400.0]);
    let scene = scene_of(with_walls(vec![along, joist("J", 500.0, [-100.0, 3700.0])]));
    let member = only(&scene);
    assert_eq!(spans(member), [(100.0, 3700.0)]);
    assert!(
        member.notes.iter().any(|n| n.0 == "carried along its length by W-L"),
        "{:?}",
        member.notes
    );
}

#[test]
fn bearings_less_than_twenty_five_millimetres_apart_are_one() {
    let leaf = wall("W-S2", [-100.0, 20.0, 0.0], [7200.0, 120.0, 2400.0]);
    let scene = scene_of(with_walls(vec![leaf, joist("J", 500.0, [-100.0, 3700.0])]));
    assert_bearings(
        only(&scene),
        &[(0.0, 220.0, Basis::Contact), (3700.0, 3800.0, Basis::Contact)],
    );
}

#[test]
fn the_inner_face_of_a_skew_bearing_is_its_innermost_point_within_the_breadth() {
    // A wall at 45 degrees to the joist: over its breadth of 47 the face moves by 47.
    let turn = DAffine3::from_translation(DVec3::new(0.5, 3.6, 0.0))
        * DAffine3::from_rotation_z(45f64.to_radians());
    let skew = Candidate {
        load_bearing: Some(true),
        ..element(
            Family::Wall,
            "W-K",
            "block",
            vec![moved(&block([-2000.0, 0.0, 0.0], [2000.0, 100.0, 2400.0], 2), &turn)],
        )
    };
    let scene = scene_of(vec![two_walls()[0].clone(), skew, joist("J", 500.0, [-100.0, 3900.0])]);
    let (_, to) = spans(only(&scene))[0];
    // Its face meets the axis at y = 3600; one side of the joist (23.5 off, less the millimetre
    // that is kept off each side) lies 22.5 nearer.
    assert!((to - (3700.0 - 22.5)).abs() < 0.1, "{to}");
}

#[test]
fn several_walls_make_several_spans_and_overhangs_have_none() {
    let middle = wall("W-M", [-100.0, 1750.0, 0.0], [7200.0, 1850.0, 2400.0]);
    let scene = scene_of(with_walls(vec![middle, joist("J", 500.0, [-100.0, 4300.0])]));
    let member = only(&scene);
    assert_eq!(spans(member), [(100.0, 1850.0), (1950.0, 3700.0)]);
    assert!(member.open_ends.is_empty());
    assert!(near(member.length_mm, 4400.0));
}

#[test]
fn an_end_against_a_face_bears_there_without_length() {
    let beam = timber("B", block([0.0, 3600.0, 2300.0], [1000.0, 3690.0, 2620.0], 0));
    let scene = scene_of(vec![two_walls()[0].clone(), beam, joist("J", 500.0, [-100.0, 3595.0])]);
    let member = named(&scene, "J");
    assert_bearings(member, &[(0.0, 100.0, Basis::Contact), (3695.0, 3695.0, Basis::EndFace)]);
    assert!(member.bearings[1].member.is_some());
    assert!(near(member.spans[0].to_mm, 3695.0));
}

#[test]
fn a_hanger_puts_the_bearing_at_the_carrying_face() {
    let beam = timber("B", block([0.0, 3600.0, 2300.0], [1000.0, 3690.0, 2620.0], 0));
    let seat = block([470.0, 3520.0, 2397.0], [530.0, 3600.0, 2400.0], 2);
    let hanger = element(Family::Fastener, "joist hanger 47x220", "steel", vec![seat]);
    let scene =
        scene_of(vec![two_walls()[0].clone(), beam, hanger, joist("J", 500.0, [-100.0, 3597.0])]);
    let member = named(&scene, "J");
    assert_eq!(member.bearings[1].basis, Basis::Hanger);
    assert!(near(member.bearings[1].from_mm, 3697.0));
    assert_eq!(member.bearings[1].name, "B");
}

#[test]
fn an_end_built_into_a_wall_bears_over_the_overlap() {
    let tall = wall("W-N", [-100.0, 3600.0, 0.0], [7200.0, 3815.0, 5000.0]);
    let scene = scene_of(vec![two_walls()[0].clone(), tall, joist("J", 500.0, [-100.0, 3700.0])]);
    assert_bearings(
        only(&scene),
        &[(0.0, 100.0, Basis::Contact), (3700.0, 3800.0, Basis::BuiltIn)],
    );
}

#[test]
fn an_end_between_flanges_is_built_in_from_the_flange_tip() {
    // HE220A-like: 220 wide, 210 high, flanges 11, web 7; the joist of 170 clears both flanges.
    let outline = [
        [3600.0, 2395.0],
        [3820.0, 2395.0],
        [3820.0, 2406.0],
        [3713.5, 2406.0],
        [3713.5, 2594.0],
        [3820.0, 2594.0],
        [3820.0, 2605.0],
        [3600.0, 2605.0],
        [3600.0, 2594.0],
        [3706.5, 2594.0],
        [3706.5, 2406.0],
        [3600.0, 2406.0],
    ];
    // Swept along x: an outline in y and z.
    let steel = element(Family::Beam, "HE220A", "S235", vec![bar_of(&outline, [0.0, 4000.0])]);
    let small = timber("J", block([465.0, -100.0, 2422.0], [535.0, 3690.0, 2592.0], 1));
    let mut low = two_walls()[0].clone();
    low.items[0].solid = Ok(block([-100.0, -100.0, 0.0], [7200.0, 0.0, 2422.0], 2));
    let scene = scene_of(vec![low, steel, small]);
    let member = only(&scene);
    assert_bearings(member, &[(0.0, 100.0, Basis::Contact), (3700.0, 3790.0, Basis::BuiltIn)]);
    assert_eq!(member.bearings[1].name, "HE220A");
}

#[test]
fn an_end_in_a_pocket_is_built_in_from_the_walls_face() {
    // A wall with a pocket 60 wide and 240 high: outline in x and z, 215 thick.
    let outline = [
        [0.0, 0.0],
        [1000.0, 0.0],
        [1000.0, 5000.0],
        [0.0, 5000.0],
        [0.0, 2640.0],
        [530.0, 2640.0],
        [530.0, 2380.0],
        [0.0, 2380.0],
    ];
    // The pocket is open to the west (x = 0), so only one side stands beside the joist; material
    // above and below makes it a pocket all the same.
    let pocket = Candidate {
        load_bearing: Some(true),
        ..element(Family::Wall, "W-P", "brick", vec![slab_of(&outline, [3600.0, 3815.0])])
    };
    let scene = scene_of(vec![two_walls()[0].clone(), pocket, joist("J", 500.0, [-100.0, 3700.0])]);
    let member = only(&scene);
    assert_eq!(member.bearings.len(), 2, "{:?}", member.notes);
    assert_eq!(member.bearings[1].basis, Basis::BuiltIn);
    assert!(near(member.bearings[1].from_mm, 3700.0));
}

#[test]
fn an_end_without_a_bearing_is_open_unless_the_settings_accept_it() {
    let candidates = vec![two_walls()[0].clone(), joist("J", 500.0, [-100.0, 3700.0])];
    let scene = scene_of(candidates.clone());
    assert_eq!(only(&scene).open_ends, [End::Finish]);
    assert!(only(&scene).spans.is_empty());
    let settings = RecogniseSettings { accept_member_ends: true, ..RecogniseSettings::default() };
    let scene = scene_with(candidates, &settings);
    let member = only(&scene);
    assert!(member.open_ends.is_empty());
    assert_eq!(spans(member), [(100.0, 3800.0)]);
    assert_eq!(member.spans[0].basis, Basis::MemberEnds);
}

#[test]
fn bearings_and_spans_can_be_stated() {
    let selector = Selector { name: Some("J".into()), ..Selector::default() };
    let stated = Stated {
        selector: selector.clone(),
        bearings_mm: vec![[0.0, 90.0], [3000.0, 3100.0]],
        spans_mm: Vec::new(),
    };
    let settings = RecogniseSettings { stated: vec![stated], ..RecogniseSettings::default() };
    let scene = scene_with(vec![joist("J", 500.0, [0.0, 3700.0])], &settings);
    assert_eq!(spans(only(&scene)), [(90.0, 3000.0)]);
    assert_eq!(only(&scene).spans[0].basis, Basis::Stated);
    let stated = Stated {
        selector,
        bearings_mm: Vec::new(),
        spans_mm: vec![[90.0, 1500.0], [1510.0, 3000.0]],
    };
    let settings = RecogniseSettings { stated: vec![stated], ..RecogniseSettings::default() };
    let scene = scene_with(vec![joist("J", 500.0, [0.0, 3700.0])], &settings);
    assert_eq!(spans(only(&scene)), [(90.0, 1500.0), (1510.0, 3000.0)]);
    assert_eq!(only(&scene).bearings.len(), 3);
}

#[test]
fn a_bearing_shorter_than_the_least_is_not_counted() {
    let scene = scene_of(with_walls(vec![joist("J", 500.0, [-100.0, 3630.0])]));
    let member = only(&scene);
    assert_eq!(member.bearings.len(), 1);
    assert!(member.notes.iter().any(|n| n.0.contains("only 30 mm on W-N")), "{:?}", member.notes);
}

#[test]
fn a_stud_bears_without_length_at_ends_that_touch_something() {
    let stud =
        element(Family::Member, "S", "C16", vec![block([0.0, 0.0, 38.0], [38.0, 89.0, 2438.0], 2)]);
    let sole = timber("sole plate", block([-500.0, 0.0, 0.0], [3000.0, 89.0, 38.0], 0));
    let head = timber("head plate", block([-500.0, 0.0, 2438.0], [3000.0, 89.0, 2476.0], 0));
    let scene = scene_of(vec![stud, sole, head]);
    assert_bearings(
        named(&scene, "S"),
        &[(0.0, 0.0, Basis::EndFace), (2400.0, 2400.0, Basis::EndFace)],
    );
}

#[test]
fn neighbours_side_by_side_do_not_carry_each_other() {
    let lapped = joist("K", 547.0, [3600.0, 6800.0]);
    let scene = scene_of(with_walls(vec![joist("J", 500.0, [-100.0, 3700.0]), lapped]));
    assert_eq!(spans(named(&scene, "J")), [(100.0, 3700.0)]);
}

#[test]
fn coverings_doors_and_services_never_carry() {
    let mut ceiling = wall("C", [-100.0, 1000.0, 2380.0], [7200.0, 1500.0, 2400.0]);
    ceiling.family = Family::Covering;
    let scene = scene_of(with_walls(vec![ceiling, joist("J", 500.0, [-100.0, 3700.0])]));
    assert_eq!(spans(only(&scene)), [(100.0, 3700.0)]);
}

#[test]
fn a_bearing_starts_at_the_structure_that_layers_tell() {
    let mut lined = two_walls()[1].clone();
    let layer = |name: &str, thickness: f64| Material {
        name: name.into(),
        thickness_m: Some(thickness),
        ..Material::default()
    };
    let layers =
        vec![layer("plasterboard", 0.0125), layer("block", 0.075), layer("plasterboard", 0.0125)];
    lined.materials = Materials::new(true, layers).into();
    let scene = scene_of(vec![two_walls()[0].clone(), lined, joist("J", 500.0, [-100.0, 3700.0])]);
    assert!(near(only(&scene).spans[0].to_mm, 3712.5), "{:?}", only(&scene).spans);
    assert!(only(&scene).notes.iter().any(|n| n.0.contains("taken from its structure")));
}

#[test]
fn a_relationship_names_a_support_that_does_not_touch() {
    let beam = timber("B", block([0.0, 3660.0, 2300.0], [1000.0, 3750.0, 2620.0], 0));
    let mut joist = joist("J", 500.0, [-100.0, 3595.0]);
    let apart = scene_of(vec![two_walls()[0].clone(), beam.clone(), joist.clone()]);
    assert_eq!(named(&apart, "J").bearings.len(), 1);
    joist.more_mut().connected = vec![1];
    let scene = scene_of(vec![two_walls()[0].clone(), beam, joist]);
    assert_eq!(named(&scene, "J").bearings[1].basis, Basis::Relationship);
    assert_eq!(named(&scene, "J").spans[0].basis, Basis::Contact.max(Basis::Relationship));
}

#[test]
fn a_member_that_crosses_at_the_same_level_does_not_carry() {
    let cross = timber("X", block([0.0, 1700.0, 2400.0], [1000.0, 1747.0, 2620.0], 0));
    let scene = scene_of(with_walls(vec![cross, joist("J", 500.0, [-100.0, 3700.0])]));
    assert_eq!(spans(named(&scene, "J")), [(100.0, 3700.0)]);
    // Notched over a beam whose top is 50 mm above the underside, it bears on it.
    let beam = timber("X", block([0.0, 1700.0, 2300.0], [1000.0, 1747.0, 2450.0], 0));
    let scene = scene_of(with_walls(vec![beam, joist("J", 500.0, [-100.0, 3700.0])]));
    assert_eq!(named(&scene, "J").spans.len(), 2);
}

#[test]
fn short_bearings_on_masonry_are_told() {
    let scene = scene_of(with_walls(vec![joist("floor joist", 500.0, [-80.0, 3700.0])]));
    assert!(
        only(&scene).notes.iter().any(|n| n.0 == "bears 80 mm on W-S: 90 mm is usual on masonry")
    );
}
