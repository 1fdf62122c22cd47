//! What is always judged, whatever the scope and depth (`practice.md`).

use super::{Trial, joist, joist_of};
use crate::{PackSet, member_by_hand};
use wimble_model::Verdict::{Fail, Pass, Refer};
use wimble_model::{CutKind, MemberKind, Section};

/// The same cut in a joist within the scope, one far too deep for it, and a beam of no pack.
fn everywhere(build: impl Fn(Trial) -> Trial) -> Vec<wimble_model::Verdict> {
    let section = Section::Rectangle { breadth_mm: 90.0, depth_mm: 315.0 };
    [
        joist(),
        joist_of(75.0, 300.0, 3600.0),
        Trial::of(member_by_hand(MemberKind::Beam, section, 3600.0)),
    ]
    .map(|trial| build(trial).verdict())
    .to_vec()
}

#[test]
fn severed_fails_everywhere() {
    let severed = |t: Trial| {
        let half = t.members[0].section.depth_mm() / 2.0;
        t.cut(CutKind::Severed, (1100.0, 1210.0), (-half, half))
    };
    assert_eq!(everywhere(severed), [Fail, Fail, Fail]);
    let trial = severed(joist());
    let finding = trial.finding("always/severed");
    assert!(finding.remedies.iter().any(|r| r.action == wimble_model::Action::TrimOut));
    assert_eq!(trial.said(), ["always/severed fail"]);
}

#[test]
fn a_cut_at_the_end_fails_everywhere() {
    assert_eq!(
        everywhere(|t| t.cut(CutKind::EndCut, (-100.0, -90.0), (-10.0, 10.0))),
        [Fail, Fail, Fail]
    );
}

#[test]
fn standing_proud_fails_in_a_joist_beyond_a_millimetre() {
    let proud = |by: f64| joist().top_notch(500.0, 520.0, 10.0).last(|c| c.besides.proud_mm = by);
    assert_eq!(proud(1.0).verdict(), Pass);
    assert_eq!(proud(1.1).verdict(), Fail);
    let finding = proud(7.5).finding("always/standing-proud");
    assert!(finding.message.contains("7.5 mm proud") && finding.message.contains("deck"));
    let below = joist().bottom_notch(500.0, 520.0, 10.0).last(|c| c.besides.proud_mm = 3.0);
    assert!(below.finding("always/standing-proud").message.contains("ceiling"));
    // Outside the scope too: a cantilever with a pipe standing proud.
    let cantilever = joist().top_notch(500.0, 520.0, 10.0).last(|c| c.besides.proud_mm = 7.5);
    assert_eq!(cantilever.member(|m| m.length_mm += 600.0).verdict(), Fail);
}

#[test]
fn notches_in_both_edges_at_one_place_fail_everywhere() {
    let section = Section::Rectangle { breadth_mm: 90.0, depth_mm: 315.0 };
    let beam = Trial::of(member_by_hand(MemberKind::Beam, section, 3600.0))
        .top_notch(500.0, 520.0, 10.0)
        .bottom_notch(800.0, 820.0, 10.0);
    assert_eq!(beam.verdicts(), [Fail, Fail]);
    assert!(beam.said().contains(&"always/both-edges fail".to_owned()));
}

#[test]
fn a_service_along_a_member_fails_unless_it_is_short() {
    let along =
        |length: f64| joist().cut(CutKind::Lengthwise, (1000.0, 1000.0 + length), (-20.0, 20.0));
    assert_eq!(along(800.0).verdict(), Fail);
    assert_eq!(along(110.1).verdict(), Fail);
    assert_eq!(along(110.0).verdict(), Refer);
    assert_eq!(along(800.0).said(), ["always/lengthwise fail"]);
    assert_eq!(along(110.0).said(), ["always/lengthwise-short refer"]);
}

#[test]
fn any_cut_over_a_bearing_fails_everywhere() {
    // The bearing reaches to x = 100, the face.
    assert_eq!(everywhere(|t| t.hole(-20.0, 0.0, 27.0)), [Fail, Fail, Fail]);
    let trial = joist().hole(-20.0, 0.0, 27.0);
    assert!(trial.finding("always/over-bearing").message.contains("over the left support"));
    // Touching the face is not over it.
    let beam = Section::Rectangle { breadth_mm: 90.0, depth_mm: 315.0 };
    let beside = Trial::of(member_by_hand(MemberKind::Beam, beam, 3600.0)).hole(13.5, 0.0, 27.0);
    assert_eq!(beside.verdict(), Refer);
}

#[test]
fn flanges_chords_webs_trusses_and_lintels_are_never_cut() {
    let i_joist =
        Section::IJoist { breadth_mm: 45.0, depth_mm: 240.0, flange_mm: 45.0, web_mm: 10.0 };
    let open =
        Section::OpenWeb { breadth_mm: 72.0, depth_mm: 254.0, chord_mm: 47.0, webs_known: true };
    let solid = Section::Rectangle { breadth_mm: 35.0, depth_mm: 97.0 };
    for (kind, section, cut, rule) in [
        (MemberKind::Joist, i_joist, CutKind::FlangeCut, "never-cut/flange fail"),
        (MemberKind::Joist, open, CutKind::ChordCut, "never-cut/chord fail"),
        (MemberKind::Joist, open, CutKind::WebCut, "never-cut/metal-web fail"),
        (MemberKind::TrussPart, solid, CutKind::Hole, "never-cut/truss fail"),
        (MemberKind::TrussPart, solid, CutKind::ChordCut, "never-cut/truss fail"),
        (MemberKind::Lintel, solid, CutKind::Hole, "never-cut/lintel fail"),
    ] {
        let trial = Trial::of(member_by_hand(kind, section, 3600.0)).cut(
            cut,
            (1100.0, 1120.0),
            (-10.0, 10.0),
        );
        assert_eq!(trial.verdict(), Fail);
        assert_eq!(trial.said(), [rule]);
    }
}

#[test]
fn what_is_always_judged_is_judged_without_any_pack_chosen() {
    let trial = joist().cut(CutKind::Severed, (1100.0, 1210.0), (-110.0, 110.0));
    let judged = trial.judge_by(&PackSet::built_in());
    assert_eq!(judged.cuts[0].verdict, Fail);
    // And no pass comes of it.
    let small = joist().hole(1170.0, 0.0, 20.0).judge_by(&PackSet::built_in());
    assert_eq!(small.cuts[0].verdict, Refer);
}

#[test]
fn strutting_is_moved_and_packing_is_cut_freely() {
    let section = Section::Rectangle { breadth_mm: 38.0, depth_mm: 165.0 };
    let piece = |kind| {
        Trial::of(member_by_hand(kind, section, 400.0)).cut(
            CutKind::Severed,
            (100.0, 215.0),
            (-82.5, 82.5),
        )
    };
    assert_eq!(piece(MemberKind::Blocking).verdict(), Pass);
    assert_eq!(piece(MemberKind::Blocking).said(), ["light-pieces/strutting note"]);
    assert_eq!(piece(MemberKind::Packing).verdict(), Pass);
    assert!(piece(MemberKind::Packing).said().is_empty());
}

#[test]
fn joinery_is_judged_by_its_own_rules_only() {
    let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 150.0 };
    let seat = |depth: f64| {
        Trial::of(member_by_hand(MemberKind::Rafter, section, 3600.0)).cut(
            CutKind::Joinery,
            (-50.0, 40.0),
            (-75.0, -75.0 + depth),
        )
    };
    assert_eq!(seat(50.0).verdict(), Pass);
    assert_eq!(seat(50.1).verdict(), Refer);
    assert_eq!(joist().cut(CutKind::Joinery, (-50.0, 40.0), (-110.0, -50.0)).verdict(), Pass);
    // A joint is no neighbour.
    let beside =
        joist().cut(CutKind::Joinery, (1100.0, 1140.0), (-110.0, -50.0)).hole(1170.0, 0.0, 27.0);
    assert_eq!(beside.verdicts(), [Pass, Pass]);
}

#[test]
fn a_service_of_unknown_size_never_passes() {
    let line = |x: f64| joist().hole(x, 0.0, 0.1).last(|cut| cut.sizes_known = false);
    assert_eq!(line(1170.0).verdict(), wimble_model::Verdict::Unknown);
    assert_eq!(line(1170.0).said(), ["always/service-size unknown"]);
    assert_eq!(line(1800.0).verdict(), Fail, "whatever its size, it is outside the zone");
}

#[test]
fn an_opening_that_is_too_small_is_noted() {
    let trial = joist()
        .hole(1170.0, 0.0, 27.0)
        .last(|c| c.besides.too_small = vec![wimble_model::OpeningIx(0)].into());
    assert_eq!(trial.verdict(), Pass);
    assert_eq!(trial.said(), ["measuring/opening-too-small note"]);
}
