//! The table of `uk-solid-joist`, row by row, with the lines where a hair decides.
//!
//! Figures: zones, depths and sizes LABC / TRADA / NHBC 6.4.18 (published); level tolerance and
//! bands our own.

use super::{joist, joist_of};
use wimble_model::Verdict::{Fail, Pass, Refer, Unknown};
use wimble_model::{Bound, Circle, CutKind, CutShape, Unit};

#[test]
fn a_small_hole_at_mid_depth_within_the_zone_passes() {
    let trial = joist().hole(1170.0, 0.0, 27.0);
    assert_eq!(trial.verdict(), Pass);
    assert!(trial.said().is_empty(), "{:?}", trial.said());
}

#[test]
fn the_whole_hole_lies_in_the_zone_from_either_support() {
    // 0.25 L = 900, 0.40 L = 1440 from either face.
    for (middle, verdict) in [
        (913.5, Pass),
        (913.4, Fail),
        (1426.5, Pass),
        (1426.6, Fail),
        (3600.0 - 913.5, Pass),
        (3600.0 - 913.4, Fail),
        (3600.0 - 1426.5, Pass),
        (3600.0 - 1426.6, Fail),
        (1800.0, Fail),
    ] {
        assert_eq!(joist().hole(middle, 0.0, 27.0).verdict(), verdict, "middle at {middle}");
    }
}

#[test]
fn a_hair_of_a_twentieth_of_a_millimetre_is_in_favour_of_the_cut() {
    assert_eq!(joist().hole(913.45, 0.0, 27.0).verdict(), Pass);
    assert_eq!(joist().hole(913.449, 0.0, 27.0).verdict(), Fail);
    assert_eq!(joist().hole(1170.0, 0.0, 55.05).verdict(), Pass);
    assert_eq!(joist().hole(1170.0, 0.0, 55.06).verdict(), Fail);
}

#[test]
fn a_hole_outside_its_zone_is_told_as_a_part_of_the_span() {
    let finding = joist().hole(1683.0, 0.0, 17.0).finding("uk-solid-joist/hole-zone");
    let (measured, limit) = (finding.measured.unwrap(), finding.limit.unwrap());
    assert_eq!((measured.unit, limit.unit), (Unit::Span, Unit::Span));
    assert!((measured.value - 1691.5 / 3600.0).abs() < 1e-9);
    assert_eq!((limit.value, limit.bound), (0.40, Bound::AtMost));
    assert!(
        finding.message.contains("1674.5 to 1691.5 mm from the face of the left support"),
        "{}",
        finding.message
    );
    assert!(finding.message.contains("900 to 1440 mm"), "{}", finding.message);
    assert!(finding.source.contains("LABC") && finding.source.contains("published"));

    let near = joist().hole(500.0, 0.0, 27.0).finding("uk-solid-joist/hole-zone");
    assert!((near.measured.unwrap().value - 486.5 / 3600.0).abs() < 1e-9);
    assert_eq!(near.limit.unwrap().bound, Bound::AtLeast);
    assert_eq!(near.limit.unwrap().value, 0.25);
}

#[test]
fn a_hole_is_a_quarter_of_the_depth_and_65_mm_at_most() {
    assert_eq!(joist().hole(1170.0, 0.0, 55.0).verdict(), Pass);
    assert_eq!(joist().hole(1170.0, 0.0, 55.1).verdict(), Fail);
    // 0.25 h = 62.5 at 250; the cap of 65 bites only above 260, outside the scope.
    assert_eq!(joist_of(47.0, 250.0, 3600.0).hole(1170.0, 0.0, 62.5).verdict(), Pass);
    assert_eq!(joist_of(47.0, 250.0, 3600.0).hole(1170.0, 0.0, 62.6).verdict(), Fail);
    let finding = joist().hole(1170.0, 0.0, 105.0).finding("uk-solid-joist/hole-size");
    assert_eq!(finding.limit.unwrap().value, 55.0);
    assert_eq!(finding.measured.unwrap().value, 105.0);
}

#[test]
fn a_single_service_whose_bit_is_over_the_limit_is_for_the_engineer() {
    // A 36 waste at 45 degrees: 42.2 high, 105 long, a tool of 105.
    let trial = joist().cut(CutKind::Hole, (1117.5, 1222.5), (-21.1, 21.1));
    assert_eq!(trial.verdict(), Refer);
    assert_eq!(trial.said(), ["uk-solid-joist/hole-bit refer"]);
}

#[test]
fn a_shared_hole_is_judged_on_its_least_circle() {
    let shared = |diameter: f64| {
        joist().cut(CutKind::Hole, (1327.5, 1372.5), (-8.5, 8.5)).last(|cut| {
            cut.shared = 3;
            cut.bit_mm = diameter;
            cut.besides.circle = Some(Circle { x_mm: 1450.0, z_mm: 0.0, diameter_mm: diameter });
        })
    };
    assert_eq!(shared(45.0).verdict(), Pass);
    assert_eq!(shared(55.1).verdict(), Fail);
    // The circle leaves the zone although the union lies in it.
    let aside = shared(45.0).last(|cut| {
        cut.besides.circle = Some(Circle { x_mm: 1520.0, z_mm: 0.0, diameter_mm: 45.0 });
    });
    assert_eq!(aside.verdict(), Fail);
}

#[test]
fn the_level_has_a_band_of_our_own_and_one_for_the_engineer() {
    // max(3, 0.03 h) = 6.6; beyond it while |offset| + height/2 <= h/4 = 55.
    for (level, verdict) in [
        (6.6, Pass),
        (-6.6, Pass),
        (6.7, Refer),
        (-6.7, Refer),
        (41.5, Refer),
        (41.6, Fail),
        (-41.6, Fail),
    ] {
        assert_eq!(joist().hole(1170.0, level, 27.0).verdict(), verdict, "level {level}");
    }
    // Bath waste of the demo building in JA-04: 10.8 above, 48.9 high.
    assert_eq!(joist().hole(1100.0, 10.8, 48.9).verdict(), Refer);
    // The floor of 3 mm holds in shallow joists: 0.03 · 97 is less, so take h = 100.
    assert_eq!(joist_of(47.0, 100.0, 3600.0).hole(1170.0, 3.0, 20.0).verdict(), Pass);
    assert_eq!(joist_of(47.0, 100.0, 3600.0).hole(1170.0, 3.1, 20.0).verdict(), Refer);
    let finding = joist().hole(1170.0, 10.8, 27.0).finding("uk-solid-joist/hole-level");
    assert!(finding.source.contains("our own figure"));
}

#[test]
fn a_hole_wider_than_the_middle_half_is_not_out_of_level_when_it_is_centred() {
    assert_eq!(joist().hole(1170.0, 0.0, 120.0).said(), ["uk-solid-joist/hole-size fail"]);
}

#[test]
fn a_rectangular_hole_is_for_the_engineer() {
    let trial = joist()
        .cut(CutKind::Hole, (1100.0, 1150.0), (-20.0, 20.0))
        .last(|cut| cut.shape = CutShape::Rectangular);
    assert_eq!(trial.verdict(), Refer);
    assert_eq!(trial.said(), ["uk-solid-joist/rectangular-hole refer"]);
}

#[test]
fn holes_stand_three_times_the_larger_diameter_apart() {
    // 3 · 27 = 81 centre to centre.
    let at =
        |apart: f64| joist().hole(1100.0, 0.0, 27.0).hole(1100.0 + apart, 0.0, 20.0).verdicts();
    assert_eq!(at(81.0), [Pass, Pass]);
    assert_eq!(at(80.9), [Fail, Fail]);
    let trial = joist().hole(1100.0, 0.0, 27.0).hole(1160.0, 0.0, 27.0);
    let finding = trial.finding("uk-solid-joist/holes-apart");
    assert_eq!(finding.cuts.len(), 2);
    assert_eq!(finding.measured.unwrap().value, 60.0);
    assert_eq!(finding.limit.unwrap().value, 81.0);
    assert_eq!(trial.judge().findings.len(), 1, "said once for the pair");
}

#[test]
fn distance_between_holes_is_measured_in_both_directions() {
    // 48.6 along and 64.8 up are 81 apart.
    let trial = joist().hole(1100.0, -32.4, 27.0).hole(1148.6, 32.4, 27.0);
    assert!(!trial.said().iter().any(|s| s.contains("holes-apart")), "{:?}", trial.said());
}

#[test]
fn hole_and_notch_stand_100_mm_apart_and_one_source_asks_200() {
    // Notch 740 to 760 deep 20; hole of 20 beginning `gap` further on.
    let at = |gap: f64| joist().top_notch(850.0, 870.0, 20.0).hole(870.0 + gap + 11.0, 0.0, 22.0);
    assert_eq!(at(100.0).verdicts(), [Pass, Pass]);
    assert_eq!(at(99.9).verdicts(), [Fail, Fail]);
    assert_eq!(at(100.0).said(), ["uk-solid-joist/hole-to-notch-200 note"]);
    assert_eq!(at(99.9).said(), ["uk-solid-joist/hole-to-notch fail"]);
    assert!(at(200.0).said().is_empty());
}

#[test]
fn a_notch_holds_by_either_of_two_pairs_of_zone_and_depth() {
    for (from, to, depth, verdict) in [
        (252.0, 280.0, 27.5, Pass),
        (251.9, 280.0, 27.5, Fail),
        (880.0, 900.0, 27.5, Pass),
        (880.0, 900.1, 27.5, Fail),
        (500.0, 520.0, 27.6, Pass), // inner pair: 0.15 h
        (500.0, 520.0, 33.0, Pass),
        (500.0, 520.0, 33.1, Fail),
        (360.0, 380.0, 33.0, Pass),
        (359.9, 380.0, 33.0, Fail), // too deep for the outer pair, outside the inner zone
        (700.0, 720.0, 33.0, Pass),
        (700.0, 720.1, 33.0, Fail),
        (720.0, 740.0, 27.6, Fail),
        (3600.0 - 280.0, 3600.0 - 252.0, 27.5, Pass),
        (3600.0 - 280.0, 3600.0 - 251.9, 27.5, Fail),
    ] {
        let trial = joist().top_notch(from, to, depth);
        assert_eq!(trial.verdict(), verdict, "{from}..{to}, {depth} deep");
    }
}

#[test]
fn a_notch_is_35_mm_deep_at_most() {
    // 0.15 · 240 = 36: the cap decides.
    let deep = |depth: f64| joist_of(47.0, 240.0, 3600.0).top_notch(500.0, 520.0, depth).verdict();
    assert_eq!(deep(35.0), Pass);
    assert_eq!(deep(35.1), Fail);
}

#[test]
fn a_notch_that_breaks_both_pairs_is_told_by_the_nearer_one_under_the_groups_name() {
    // Gas in JA-09: 33 deep, 783.5 to 816.5: the depth of the outer pair is nearer than the zone
    // of the inner one.
    let finding = joist().top_notch(783.5, 816.5, 33.0).finding("uk-solid-joist/notch");
    assert_eq!(finding.measured.unwrap().value, 33.0);
    assert_eq!(finding.limit.unwrap().value, 27.5);
}

#[test]
fn a_bottom_notch_within_all_limits_is_for_the_engineer_unless_the_settings_allow_it() {
    let trial = joist().bottom_notch(500.0, 520.0, 20.0);
    assert_eq!(trial.verdict(), Refer);
    assert_eq!(trial.said(), ["uk-solid-joist/notch-edge refer"]);
    let mut allowed = joist().bottom_notch(500.0, 520.0, 20.0);
    allowed.settings.allow.insert("bottom-notch".to_owned());
    assert_eq!(allowed.verdict(), Pass);
    let mut deep = joist().bottom_notch(500.0, 520.0, 40.0);
    deep.settings.allow.insert("bottom-notch".to_owned());
    assert_eq!(deep.verdict(), Fail);
}

#[test]
fn notches_in_both_edges_need_a_gap_and_are_never_in_the_same_half() {
    // Gap under max(h, 100) = 220: fail both; further apart in the same half: refer both.
    let at = |gap: f64| {
        joist().top_notch(300.0, 320.0, 20.0).bottom_notch(320.0 + gap, 340.0 + gap, 20.0)
    };
    assert_eq!(at(97.0).verdicts(), [Fail, Fail]);
    assert_eq!(at(219.9).verdicts(), [Fail, Fail]);
    assert_eq!(at(220.0).verdicts(), [Refer, Refer]);
    assert!(at(219.9).said().contains(&"uk-solid-joist/both-edges fail".to_owned()));
    assert!(!at(219.9).said().contains(&"always/both-edges fail".to_owned()), "said once");
    // In the other half the bottom notch alone is referred.
    let far = joist().top_notch(300.0, 320.0, 20.0).bottom_notch(3280.0, 3300.0, 20.0);
    assert_eq!(far.verdicts(), [Pass, Refer]);
}

#[test]
fn two_notches_with_little_wood_between_them_may_be_cut_as_one() {
    // The radiator pair of the demo building: 490-510 and 525-545, 20 deep, 15 left.
    let trial = joist().top_notch(490.0, 510.0, 20.0).top_notch(525.0, 545.0, 20.0);
    assert_eq!(trial.verdicts(), [Pass, Pass]);
    assert_eq!(trial.said(), ["uk-solid-joist/notches-as-one note"]);
    // max(100, h/2) = 110.
    let apart = joist().top_notch(490.0, 510.0, 20.0).top_notch(620.0, 640.0, 20.0);
    assert!(apart.said().is_empty());
}

#[test]
fn bores_side_cuts_and_cavities_are_never_allowed() {
    for kind in [CutKind::Bore, CutKind::SideCut, CutKind::Enclosed] {
        let trial = joist().cut(kind, (1100.0, 1120.0), (-10.0, 10.0));
        assert_eq!(trial.verdict(), Fail, "{kind:?}");
        assert_eq!(trial.said(), ["uk-solid-joist/other-cuts fail"]);
    }
}

#[test]
fn without_a_bearing_the_zone_is_unknown_and_the_rest_is_judged() {
    let open = |trial: super::Trial| {
        trial.member(|m| {
            m.spans.clear();
            m.bearings.truncate(1);
            m.open_ends = [wimble_model::End::Finish].into();
        })
    };
    let trial = open(joist().hole(1170.0, 0.0, 27.0));
    assert_eq!(trial.verdict(), Unknown);
    let finding = trial.finding("uk-solid-joist/hole-zone");
    assert!(finding.message.contains("bearing at the east end"), "{}", finding.message);
    assert_eq!(open(joist().hole(1170.0, 0.0, 80.0)).verdict(), Fail, "too large anywhere");
    assert_eq!(open(joist().hole(1170.0, 12.0, 27.0)).verdict(), Refer, "the level is known");
    assert_eq!(
        open(joist().top_notch(500.0, 520.0, 33.1)).verdict(),
        Fail,
        "too deep for either pair"
    );
    assert_eq!(open(joist().top_notch(500.0, 520.0, 33.0)).verdict(), Unknown);
    assert_eq!(
        open(joist().cut(CutKind::Severed, (1100.0, 1210.0), (-110.0, 110.0))).verdict(),
        Fail
    );
}

#[test]
fn the_margin_is_the_least_slack_and_negative_where_a_rule_is_broken() {
    // Level 6.6 - 0, size 55 - 27, zone 1156.5 - 900 and 1440 - 1183.5.
    assert_eq!(joist().hole(1170.0, 0.0, 27.0).judge().cuts[0].margin_mm.map(round), Some(6.6));
    assert_eq!(joist().hole(1170.0, 0.0, 52.0).judge().cuts[0].margin_mm.map(round), Some(3.0));
    assert_eq!(joist().hole(1683.0, 0.0, 17.0).judge().cuts[0].margin_mm.map(round), Some(-251.5));
    // A notch has the margin of the better pair: inner 33 - 20 = 13 is more than outer 7.5.
    assert_eq!(
        joist().top_notch(500.0, 520.0, 20.0).judge().cuts[0].margin_mm.map(round),
        Some(13.0)
    );
    // A pair: 60 where 81 are wanted.
    let pair = joist().hole(1100.0, 0.0, 27.0).hole(1160.0, 0.0, 27.0).judge();
    assert_eq!(pair.cuts[0].margin_mm.map(round), Some(-21.0));
}

fn round(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

#[test]
fn a_pass_that_an_error_on_site_would_break_is_tight() {
    let tight = |trial: super::Trial| {
        let judged = trial.judge();
        assert_eq!(judged.cuts[0].verdict, Pass);
        judged.cuts[0].tight
    };
    assert!(!tight(joist().hole(1170.0, 0.0, 27.0)));
    assert!(tight(joist().hole(922.0, 0.0, 27.0)), "10 mm along");
    assert!(tight(joist().hole(1170.0, 4.0, 27.0)), "3 mm in level");
    assert!(tight(joist().hole(1170.0, 0.0, 54.0)), "2 mm larger");
    assert!(tight(joist().top_notch(500.0, 520.0, 31.5)), "a notch grows downwards");
    assert!(tight(joist().top_notch(523.5, 556.5, 33.0)), "gas of the demo building");
    assert!(!tight(joist().top_notch(500.0, 520.0, 20.0)));
    let mut careful = joist().hole(922.0, 0.0, 27.0);
    careful.settings.site.along_mm = 5.0;
    assert!(!tight(careful), "the site tolerances are settings");
}

#[test]
fn the_other_reading_of_the_span_is_noted_where_it_would_change_the_verdict() {
    // Effective span: 3700, from 50 within each bearing: hole zone 875 to 1430 from the face.
    let trial = joist().hole(1426.5, 0.0, 27.0);
    assert_eq!(trial.verdict(), Pass);
    let finding = trial.finding("supports/span-reading");
    assert!(finding.message.contains("fail"), "{}", finding.message);
    assert!(joist().hole(1170.0, 0.0, 27.0).said().is_empty());
}

#[test]
fn mirrored_members_have_mirrored_verdicts() {
    for (x, level, d) in
        [(913.4, 0.0, 27.0), (1426.5, 6.7, 27.0), (1170.0, 0.0, 55.1), (300.0, 0.0, 20.0)]
    {
        let there = joist().hole(x, level, d);
        let back = joist().hole(3600.0 - x, level, d);
        assert_eq!(there.verdict(), back.verdict());
        assert_eq!(
            there.judge().cuts[0].margin_mm.map(round),
            back.judge().cuts[0].margin_mm.map(round)
        );
    }
}
