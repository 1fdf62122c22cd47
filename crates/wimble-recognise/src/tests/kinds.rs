//! Kinds and roles of practice.md.

use super::*;
use wimble_model::{MemberKind, Role};

fn field() -> Vec<Candidate> {
    let mut all = vec![
        wall("W-S", [-100.0, -100.0, 0.0], [7200.0, 0.0, 2400.0]),
        wall("W-N", [-100.0, 3600.0, 0.0], [7200.0, 3700.0, 2400.0]),
    ];
    all.extend(
        (0..4).map(|i| joist(&format!("M{i}"), 500.0 + 400.0 * f64::from(i), [-100.0, 3700.0])),
    );
    all
}

#[test]
fn a_member_repeated_at_a_pitch_is_a_joist_without_any_word() {
    let scene = scene_of(field());
    assert!(scene.members.iter().all(|m| m.kind == MemberKind::Joist && m.role.is_none()));
}

#[test]
fn a_lone_member_that_carries_others_is_a_beam() {
    let mut all = field();
    all.remove(1);
    all.push(timber("G", block([0.0, 3600.0, 2085.0], [3000.0, 3690.0, 2400.0], 0)));
    let scene = scene_of(all);
    assert_eq!(named(&scene, "G").kind, MemberKind::Beam);
    assert_eq!(named(&scene, "M0").bearings.len(), 2);
}

#[test]
fn a_lone_member_that_nothing_names_is_unknown() {
    let scene = scene_of(vec![joist("X1", 500.0, [0.0, 3700.0])]);
    assert_eq!(only(&scene).kind, MemberKind::Unknown);
    let scene = scene_of(vec![joist("floor joist", 500.0, [0.0, 3700.0])]);
    assert_eq!(only(&scene).kind, MemberKind::Joist);
}

#[test]
fn strutting_between_joists_is_blocking() {
    let mut all = field();
    all.push(timber("S", block([523.5, 1781.0, 2427.5], [876.5, 1819.0, 2592.5], 0)));
    let scene = scene_of(all);
    assert_eq!(named(&scene, "S").kind, MemberKind::Blocking);
    assert_eq!(named(&scene, "M0").role, None);
}

#[test]
fn an_opening_in_a_floor_has_trimmers_trimming_and_trimmed_joists() {
    let mut all = vec![
        wall("W-S", [-100.0, -100.0, 0.0], [7200.0, 0.0, 2400.0]),
        wall("W-N", [-100.0, 3600.0, 0.0], [7200.0, 3700.0, 2400.0]),
    ];
    // Trimming joists at 500 and 2100, a trimmer between them at y = 2000, joists that end there.
    all.push(joist("T0", 500.0, [-100.0, 3700.0]));
    all.push(joist("T1", 2100.0, [-100.0, 3700.0]));
    all.push(timber("TR", block([523.5, 2000.0, 2400.0], [2076.5, 2047.0, 2620.0], 0)));
    all.extend(
        (0..3).map(|i| joist(&format!("M{i}"), 900.0 + 400.0 * f64::from(i), [-100.0, 2000.0])),
    );
    let scene = scene_of(all);
    assert_eq!(named(&scene, "TR").role, Some(Role::Trimmer));
    assert_eq!(named(&scene, "T0").role, Some(Role::Trimming));
    assert_eq!(named(&scene, "T1").role, Some(Role::Trimming));
    assert_eq!(named(&scene, "M1").role, Some(Role::Trimmed));
    assert!(near(named(&scene, "M1").spans[0].length_mm(), 2000.0));
}

#[test]
fn joists_side_by_side_at_one_level_are_plies_and_lapped_joists_are_not() {
    let mut all = field();
    all.push(joist("D", 547.0, [-100.0, 3700.0]));
    all.push(joist("L", 947.0, [3600.0, 6800.0]));
    let scene = scene_of(all);
    assert_eq!(named(&scene, "D").role, Some(Role::Ply));
    assert_eq!(named(&scene, "M0").role, Some(Role::Ply));
    assert_eq!(named(&scene, "M0").with.len(), 1);
    assert_eq!(named(&scene, "M1").role, None);
    assert_eq!(named(&scene, "L").role, None);
}

#[test]
fn the_same_element_in_two_files_is_judged_once() {
    let mut second = joist("J again", 500.0, [-100.0, 3690.0]);
    second.element.input = 1;
    let scene = scene_of(vec![joist("J", 500.0, [-100.0, 3700.0]), second]);
    let member = only(&scene);
    assert_eq!(member.element.name.as_deref(), Some("J"));
    assert_eq!(member.duplicates.len(), 1);
    assert_eq!(scene.coverage.iter().filter(|r| r.status.word() == "duplicate").count(), 1);
}

#[test]
fn what_stands_on_the_deck_is_told() {
    let mut all = field();
    let mut tank = element(
        Family::Furnishing,
        "hot water cylinder",
        "",
        vec![block([800.0, 1000.0, 2642.0], [1400.0, 1600.0, 4000.0], 2)],
    );
    tank.family = Family::FlowTerminal;
    let across = wall("P", [0.0, 2500.0, 2642.0], [4000.0, 2600.0, 5000.0]);
    all.extend([tank, across]);
    let scene = scene_of(all);
    let loads: Vec<_> = named(&scene, "M1")
        .loads
        .iter()
        .map(|l| (l.kind, l.from_mm.round(), l.to_mm.round()))
        .collect();
    use wimble_model::DeckLoadKind::{PartitionAcross, Vessel};
    assert_eq!(loads, [(Vessel, 1100.0, 1700.0), (PartitionAcross, 2600.0, 2700.0)]);
    assert_eq!(named(&scene, "M3").loads.len(), 1);
}

#[test]
fn a_wall_over_a_wall_is_no_load_on_the_deck() {
    let mut all = field();
    all.push(wall("over W-S", [-100.0, -100.0, 2642.0], [7200.0, 0.0, 5000.0]));
    all.push(wall("W-W", [380.0, 0.0, 0.0], [460.0, 3600.0, 2400.0]));
    all.push(wall("over W-W", [380.0, 0.0, 2642.0], [460.0, 3600.0, 5000.0]));
    let scene = scene_of(all);
    assert!(named(&scene, "M0").loads.is_empty(), "{:?}", named(&scene, "M0").loads);
}
