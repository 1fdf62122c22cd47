//! I-joists, open-web joists and studs of the United Kingdom.

use super::Trial;
use crate::member_by_hand;
use wimble_model::Verdict::{Fail, Pass, Refer, Unknown};
use wimble_model::{CutKind, MemberKind, Section};

fn i_joist() -> Trial {
    let section =
        Section::IJoist { breadth_mm: 45.0, depth_mm: 240.0, flange_mm: 45.0, web_mm: 10.0 };
    Trial::of(member_by_hand(MemberKind::Joist, section, 4200.0))
}

fn web_hole(trial: Trial, x: f64, z: f64, d: f64) -> Trial {
    trial.cut(CutKind::WebHole, (x - d / 2.0, x + d / 2.0), (z - d / 2.0, z + d / 2.0))
}

#[test]
fn a_web_hole_needs_the_makers_table() {
    // MVHR of the demo building: 130 in a clear web of 150, 10 each.
    let trial = web_hole(i_joist(), 2100.0, 0.0, 130.0);
    assert_eq!(trial.verdict(), Refer);
    assert_eq!(trial.said(), ["i-joist-general/maker-table refer"]);
}

#[test]
fn a_web_hole_leaves_6_mm_to_each_flange() {
    // Clear web 150 less 12 = 138.
    assert_eq!(web_hole(i_joist(), 2100.0, 0.0, 138.0).verdict(), Refer);
    assert_eq!(web_hole(i_joist(), 2100.0, 0.0, 138.2).verdict(), Fail);
    assert_eq!(web_hole(i_joist(), 2100.0, 50.0, 40.0).verdict(), Fail);
}

#[test]
fn web_holes_stand_two_diameters_clear_of_each_other() {
    let at = |gap: f64| {
        web_hole(web_hole(i_joist(), 1500.0, 0.0, 50.0), 1550.0 + gap, 0.0, 40.0 + 10.0).verdicts()
    };
    assert_eq!(at(100.0), [Refer, Refer]);
    assert_eq!(at(99.9), [Fail, Fail]);
}

#[test]
fn knock_outs_are_asked_about_once_for_a_product() {
    let mut trial = i_joist().cut(CutKind::BetweenWebs, (1000.0, 1020.0), (-10.0, 10.0));
    trial.members.push(trial.members[0].clone());
    let mut second = trial.cuts[0].clone();
    second.member = wimble_model::MemberIx(1);
    trial.cuts.push(second);
    assert_eq!(trial.verdicts(), [Refer, Refer]);
    assert_eq!(trial.said(), ["i-joist-general/knock-out refer"]);
    assert_eq!(trial.judge().findings[0].cuts.len(), 2);
}

#[test]
fn an_open_web_joist_passes_only_where_its_webs_are_known() {
    let open = |webs_known| {
        let section =
            Section::OpenWeb { breadth_mm: 72.0, depth_mm: 254.0, chord_mm: 47.0, webs_known };
        Trial::of(member_by_hand(MemberKind::Joist, section, 4200.0)).cut(
            CutKind::BetweenWebs,
            (2000.0, 2130.0),
            (-65.0, 65.0),
        )
    };
    assert_eq!(open(true).verdict(), Pass);
    assert_eq!(open(false).verdict(), Unknown);
    assert!(open(false).finding("open-web-general/web-layout").message.contains("web layout"));
}

fn stud() -> Trial {
    // SW-1 of the demo building: 38 x 89, 2286 high: holes 571.5 to 914.4 from either end.
    let section = Section::Rectangle { breadth_mm: 38.0, depth_mm: 89.0 };
    Trial::of(member_by_hand(MemberKind::Stud, section, 2286.0))
        .member(|m| m.load_bearing = Some(true))
}

#[test]
fn a_hole_in_a_loadbearing_stud_is_a_quarter_of_its_depth() {
    assert_eq!(stud().hole(720.0, 0.0, 20.0).verdict(), Pass);
    assert_eq!(stud().hole(720.0, 0.0, 22.25).verdict(), Pass);
    assert_eq!(stud().hole(720.0, 0.0, 22.4).verdict(), Fail);
    assert_eq!(stud().hole(720.0, 0.0, 27.0).verdict(), Fail);
    assert_eq!(stud().hole(400.0, 0.0, 20.0).verdict(), Refer, "outside the stretch");
    assert_eq!(stud().hole(720.0, 0.0, 20.0).hole(890.0, 0.0, 20.0).verdicts(), [Fail, Fail]);
}

#[test]
fn a_loadbearing_stud_is_never_notched() {
    assert_eq!(stud().top_notch(720.0, 740.0, 10.0).verdict(), Fail);
    let unstated = stud().top_notch(720.0, 740.0, 10.0).member(|m| m.load_bearing = None);
    assert_eq!(unstated.verdict(), Fail, "bearing is assumed");
    assert!(unstated.judge().assumptions.iter().any(|a| a.contains("loadbearing")));
    let mut not_assumed = unstated;
    not_assumed.settings.assume_bearing = false;
    assert_eq!(not_assumed.verdict(), Unknown);
}

#[test]
fn a_stud_that_carries_only_its_lining_keeps_half_its_depth() {
    // SW-2: 41 / 89 = 0.46.
    let light = |d: f64| stud().hole(400.0, 0.0, d).member(|m| m.load_bearing = Some(false));
    assert_eq!(light(41.0).verdict(), Pass);
    assert_eq!(light(41.0).said(), ["uk-stud/non-bearing note"]);
    assert_eq!(light(45.0).verdict(), Refer);
}
