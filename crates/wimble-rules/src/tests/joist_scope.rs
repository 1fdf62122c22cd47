//! Which joists the pack speaks of, and what practice says of the others.

use super::{Trial, joist, joist_of};
use crate::member_by_hand;
use wimble_model::Verdict::{Fail, Pass, Refer, Unknown};
use wimble_model::{
    Basis, CutKind, DeckLoad, DeckLoadKind, MemberIx, MemberKind, Role, Section, Span, TimberMake,
};

fn load(kind: DeckLoadKind, from: f64, to: f64) -> DeckLoad {
    DeckLoad { kind, name: "cylinder".to_owned(), from_mm: from + 100.0, to_mm: to + 100.0 }
}

#[test]
fn a_shallow_joist_is_never_notched_and_its_holes_are_for_the_engineer() {
    let shallow = || joist_of(47.0, 97.0, 1700.0);
    assert_eq!(shallow().top_notch(200.0, 220.0, 5.0).verdict(), Fail);
    assert_eq!(shallow().hole(500.0, 0.0, 17.0).verdict(), Refer);
    assert_eq!(joist_of(47.0, 100.0, 1700.0).top_notch(200.0, 220.0, 12.5).verdict(), Pass);
    // Nothing else of the pack is evaluated: a hole far too large is still a question.
    assert_eq!(shallow().hole(500.0, 0.0, 60.0).verdict(), Refer);
}

#[test]
fn a_deep_joist_is_for_the_engineer_with_the_figures_of_250() {
    assert_eq!(joist_of(75.0, 250.0, 3000.0).hole(900.0, 0.0, 27.0).verdict(), Pass);
    let deep = joist_of(75.0, 275.0, 3000.0).hole(900.0, 0.0, 90.0);
    assert_eq!(deep.verdict(), Refer);
    assert_eq!(deep.said(), ["uk-solid-joist/depth-most refer"]);
    let finding = deep.finding("uk-solid-joist/depth-most");
    assert!(finding.message.contains("62.5") && finding.message.contains("31.2"));
    assert_eq!(finding.measured.unwrap().value, 275.0);
    assert_eq!(finding.limit.unwrap().value, 250.0);
    // A hair over 250 is still 250.
    assert_eq!(joist_of(75.0, 250.05, 3000.0).hole(900.0, 0.0, 27.0).verdict(), Pass);
    assert_eq!(joist_of(75.0, 250.1, 3000.0).hole(900.0, 0.0, 27.0).verdict(), Refer);
}

#[test]
fn several_spans_are_for_the_engineer_and_nothing_else_is_evaluated() {
    let trial = joist().hole(1800.0, 0.0, 90.0).member(|m| {
        let first = m.spans[0];
        m.spans.push(Span { from_mm: 3800.0, to_mm: 6800.0, basis: Basis::Contact, ..first });
    });
    assert_eq!(trial.verdict(), Refer);
    assert_eq!(trial.said(), ["uk-solid-joist/spans refer"]);
}

#[test]
fn a_short_overhang_with_nothing_on_it_is_no_cantilever() {
    let over = |by: f64, loaded: bool| {
        joist().hole(1170.0, 0.0, 27.0).member(|m| {
            m.length_mm += by;
            if loaded {
                m.loads.push(load(DeckLoadKind::Bath, 3750.0, 3790.0));
            }
        })
    };
    assert_eq!(over(220.0, false).verdict(), Pass);
    assert_eq!(over(220.1, false).verdict(), Refer);
    assert_eq!(over(200.0, true).verdict(), Refer);
}

#[test]
fn trimmers_are_beams_and_trimming_joists_and_plies_are_referred_besides() {
    let role = |role| joist().member(|m| m.role = Some(role));
    assert_eq!(role(Role::Trimmer).hole(1800.0, 0.0, 27.0).verdict(), Refer);
    assert_eq!(role(Role::Trimmed).hole(1170.0, 0.0, 27.0).verdict(), Pass);
    for one in [Role::Trimming, Role::Ply] {
        assert_eq!(role(one).hole(1170.0, 0.0, 27.0).verdict(), Refer);
        // A cut outside the limits of one joist stays a failure.
        assert_eq!(role(one).hole(1800.0, 0.0, 27.0).verdict(), Fail);
    }
}

#[test]
fn a_built_up_member_has_one_finding_for_its_plies() {
    let mut trial = joist().hole(1170.0, 0.0, 27.0);
    trial.members.push(trial.members[0].clone());
    for (n, other) in [(0, 1), (1, 0)] {
        trial.members[n].role = Some(Role::Ply);
        trial.members[n].with = [MemberIx(other)].into();
    }
    let mut second = trial.cuts[0].clone();
    second.member = MemberIx(1);
    trial.cuts.push(second);
    assert_eq!(trial.verdicts(), [Refer, Refer]);
    let judged = trial.judge();
    assert_eq!(judged.findings.len(), 1);
    assert_eq!(judged.findings[0].cuts.len(), 2);
    assert_eq!(judged.findings[0].member, MemberIx(0));
}

#[test]
fn loads_on_the_deck_are_for_the_engineer() {
    let with = |kind, from, to, hole| {
        joist().hole(hole, 0.0, 27.0).member(|m| m.loads.push(load(kind, from, to))).verdict()
    };
    assert_eq!(with(DeckLoadKind::Vessel, 1000.0, 1600.0, 1170.0), Refer);
    assert_eq!(with(DeckLoadKind::PartitionAlong, 0.0, 3600.0, 1170.0), Refer);
    // Across: within max(2 h, 400) = 440 of the cut.
    assert_eq!(with(DeckLoadKind::PartitionAcross, 1623.5, 1700.0, 1170.0), Pass);
    assert_eq!(with(DeckLoadKind::PartitionAcross, 1623.4, 1700.0, 1170.0), Refer);
    let bath = joist()
        .hole(1170.0, 0.0, 27.0)
        .member(|m| m.loads.push(load(DeckLoadKind::Bath, 0.0, 1700.0)));
    assert_eq!(bath.verdict(), Pass);
    assert_eq!(bath.said(), ["uk-solid-joist/bath note"]);
}

#[test]
fn no_cut_within_100_mm_of_a_hanger() {
    // JT-1 of the demo building: a span of 1906, notch zone from 133.4.
    let hung = |from: f64| {
        joist_of(47.0, 220.0, 1200.0).top_notch(from, from + 15.0, 20.0).member(|m| {
            m.bearings[0].basis = Basis::Hanger;
            m.bearings[0].from_mm = 100.0;
            m.bearings[0].to_mm = 100.0;
        })
    };
    assert_eq!(hung(100.0).verdict(), Pass);
    assert_eq!(hung(99.9).verdict(), Fail);
    assert_eq!(hung(99.9).said(), ["uk-solid-joist/hanger-end fail"]);
}

#[test]
fn a_missing_plate_leaves_the_span_unknown() {
    let trial = joist().hole(1170.0, 0.0, 27.0).member(|m| m.spans[0].basis = Basis::NearContact);
    assert_eq!(trial.verdict(), Unknown);
    assert!(trial.finding("uk-solid-joist/hole-zone").message.contains("plate may be missing"));
}

#[test]
fn a_doubtful_middle_support_is_judged_with_and_without() {
    let doubtful = |hole: f64| {
        joist().hole(hole, 0.0, 27.0).member(|m| {
            let mut middle = m.bearings[0].clone();
            (middle.from_mm, middle.to_mm) = (1850.0, 1950.0);
            middle.doubtful = true;
            middle.name = "wall W-X".into();
            m.bearings.insert(1, middle);
            m.spans_without_doubtful = Some(m.spans.clone());
            let whole = m.spans[0];
            m.spans = [Span { to_mm: 1850.0, ..whole }, Span { from_mm: 1950.0, ..whole }].into();
        })
    };
    // With it: two spans, refer. Without it: judged on the whole span.
    assert_eq!(doubtful(1170.0).verdict(), Refer);
    assert_eq!(doubtful(500.0).verdict(), Fail);
    assert!(doubtful(1170.0).finding("supports/doubtful").message.contains("wall W-X"));
}

#[test]
fn an_unknown_kind_or_section_is_named() {
    let kind = joist().hole(1170.0, 0.0, 27.0).member(|m| m.kind = MemberKind::Unknown);
    assert_eq!(kind.verdict(), Unknown);
    assert!(kind.finding("scope/fact-missing").message.contains("What the member does"));
    let section = joist().hole(1170.0, 0.0, 27.0).member(|m| {
        m.section = Section::Unknown { breadth_mm: 47.0, depth_mm: 220.0 };
    });
    assert_eq!(section.verdict(), Unknown);
    assert!(section.finding("scope/fact-missing").message.contains("section"));
}

#[test]
fn a_member_in_no_packs_scope_is_for_the_engineer() {
    let section = Section::Rectangle { breadth_mm: 90.0, depth_mm: 315.0 };
    for kind in
        [MemberKind::Beam, MemberKind::Post, MemberKind::Plate, MemberKind::Rim, MemberKind::Rafter]
    {
        let trial = Trial::of(member_by_hand(kind, section, 3000.0)).hole(900.0, 0.0, 27.0);
        assert_eq!(trial.verdict(), Refer, "{kind:?}");
        assert_eq!(trial.said(), ["scope/no-pack refer"]);
    }
    let glulam = joist().hole(1170.0, 0.0, 27.0).member(|m| m.make = TimberMake::Glulam);
    assert_eq!(glulam.verdict(), Refer);
}

#[test]
fn a_riser_through_a_rafter_may_be_trimmed_out() {
    let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 150.0 };
    let trial = Trial::of(member_by_hand(MemberKind::Rafter, section, 3000.0)).cut(
        CutKind::Bore,
        (900.0, 950.0),
        (-75.0, 75.0),
    );
    assert_eq!(trial.verdict(), Refer);
    let finding = trial.finding("scope/no-pack");
    assert!(finding.remedies.iter().any(|r| r.action == wimble_model::Action::TrimOut));
}

#[test]
fn other_use_than_domestic_is_for_the_engineer_and_domestic_is_an_assumption() {
    let mut trial = joist().hole(1170.0, 0.0, 27.0);
    assert!(trial.judge().assumptions.iter().any(|a| a == "Use: domestic (assumed)"));
    trial.settings.domestic = Some(false);
    assert_eq!(trial.verdict(), Refer);
    trial.settings.domestic = Some(true);
    assert_eq!(trial.verdict(), Pass);
}

#[test]
fn a_slender_joist_and_an_unstated_material_are_noted() {
    let slender = joist_of(47.0, 120.0, 3600.0).hole(1170.0, 0.0, 20.0);
    assert_eq!(slender.verdict(), Pass);
    assert_eq!(slender.said(), ["uk-solid-joist/slender note"]);
    let unstated = joist().hole(1170.0, 0.0, 27.0).member(|m| m.make = TimberMake::NotStated);
    assert_eq!(unstated.verdict(), Pass);
    assert_eq!(unstated.said(), ["uk-solid-joist/solid-assumed note"]);
}
