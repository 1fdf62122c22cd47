//! On the lines where a hair decides: a limit holds with 0.05 mm in favour of the cut, and no more.
//!
//! Sources of the limits: LABC, TRADA and NHBC (zones, depths, sizes), NBS (distances); the tolerance on
//! the level, the grace of 1 mm and the millimetre of a crossing are the project's own.

use super::support::report::{Cut, check};
use super::{Floor, Style, settings};
use glam::dvec3;
use wimble_dev::floors::{Random, Section, Through, write};
use wimble_dev::ifc::{LengthUnit, Schema, WorldBy};

/// A joist of 47 x 220 with 3600 between the faces of its walls, alone between two others.
fn bare_floor() -> Floor {
    Floor {
        breadth: 47.0,
        depth: 220.0,
        top: 2620.0,
        ends: [0.0, 3800.0],
        joists: vec![0.0, 400.0, 800.0],
        walls: vec![[0.0, 100.0], [3700.0, 3800.0]],
        services: Vec::new(),
        clearance: 5.0,
    }
}

/// A pipe through the middle joist, so far from the face of the first wall and so far above mid-depth.
fn pipe(name: &str, diameter: f64, from_face: f64, above: f64) -> Through {
    let at = |x: f64| dvec3(x, 100.0 + from_face, 2510.0 + above);
    Through {
        name: name.to_owned(),
        from: at(230.0),
        to: at(570.0),
        section: Section::Round(diameter),
    }
}

fn cuts(floor: &Floor, style: &Style) -> Vec<Cut> {
    check(&write(floor, style), &settings(floor)).cuts
}

/// Plain, and in feet, turned, millions of metres away: noise of the coordinates must not decide.
fn styles() -> [Style; 2] {
    let mut away = Style::somewhere(&mut Random::new(5));
    away.translation = dvec3(4.2e8, 5.9e9, 3.0e4);
    let far = Style {
        schema: Schema::Ifc2x3,
        unit: LengthUnit::Foot,
        world: away,
        world_by: WorldBy::SitePlacement,
        nesting: 2,
        ..Style::plain()
    };
    [Style::plain(), far]
}

/// Verdict of the first service's cut for a step of `e` beyond the limit.
fn verdicts(at: impl Fn(f64) -> Vec<Through>) -> Vec<[String; 3]> {
    styles()
        .iter()
        .map(|style| {
            [0.0, 0.04, 0.06].map(|e| {
                let services = at(e);
                let first = services[0].name.clone();
                let floor = Floor { services, ..bare_floor() };
                let cuts = cuts(&floor, style);
                let cut = cuts.iter().find(|cut| cut.services == [first.clone()]);
                cut.map_or_else(|| "no cut".to_owned(), |cut| cut.verdict.clone())
            })
        })
        .collect()
}

/// On the limit and 0.04 beyond it the cut holds, 0.06 beyond it does not.
#[track_caller]
fn limit(beyond: &str, at: impl Fn(f64) -> Vec<Through>) {
    for verdicts in verdicts(at) {
        assert_eq!(verdicts, ["pass", "pass", beyond]);
    }
}

#[test]
fn size_of_a_hole() {
    limit("fail", |e| vec![pipe("P", 50.0 + e, 1150.0, 0.0)]);
}

#[test]
fn near_end_of_the_hole_zone() {
    limit("fail", |e| vec![pipe("P", 22.0, 900.0 + 13.5 - e, 0.0)]);
}

#[test]
fn far_end_of_the_hole_zone() {
    limit("fail", |e| vec![pipe("P", 22.0, 1440.0 - 13.5 + e, 0.0)]);
}

#[test]
fn level_of_a_hole() {
    limit("refer", |e| vec![pipe("P", 22.0, 1150.0, 6.6 + e)]);
    limit("refer", |e| vec![pipe("P", 22.0, 1150.0, -6.6 - e)]);
}

#[test]
fn depth_of_a_notch_in_the_outer_zone() {
    // 22 + 5 = 27 high; sunk so that the notch is 27.5 + e deep.
    limit("fail", |e| vec![pipe("P", 22.0, 800.0, 110.0 - 27.5 - e + 13.5)]);
}

#[test]
fn depth_of_a_notch_in_the_inner_zone() {
    limit("fail", |e| vec![pipe("P", 28.0, 540.0, 110.0 - 33.0 - e + 16.5)]);
}

#[test]
fn both_ends_of_the_notch_zone() {
    limit("fail", |e| vec![pipe("P", 15.0, 252.0 + 10.0 - e, 100.0)]);
    limit("fail", |e| vec![pipe("P", 15.0, 900.0 - 10.0 + e, 100.0)]);
}

#[test]
fn holes_three_diameters_apart() {
    limit("fail", |e| vec![pipe("P", 22.0, 1150.0, 0.0), pipe("Q", 22.0, 1231.0 - e, 0.0)]);
}

#[test]
fn hole_and_notch_100_apart() {
    // The hole begins at 950, the notch ends at 850.
    limit("fail", |e| vec![pipe("P", 22.0, 963.5 - e, 0.0), pipe("Q", 15.0, 840.0, 100.0)]);
}

#[test]
fn standing_proud_by_a_millimetre() {
    limit("fail", |e| vec![pipe("P", 15.0, 540.0, 110.0 + 1.0 + e - 7.5)]);
}

/// What the first service's cut is, for each of the steps.
#[track_caller]
fn kinds<const N: usize>(steps: [f64; N], at: impl Fn(f64) -> Vec<Through>, expected: [&str; N]) {
    for style in styles() {
        let found = steps.map(|e| {
            let floor = Floor { services: at(e), ..bare_floor() };
            let kinds: Vec<String> = cuts(&floor, &style).into_iter().map(|cut| cut.kind).collect();
            kinds.join(" ")
        });
        assert_eq!(found, expected);
    }
}

#[test]
fn a_crossing_shares_more_than_a_millimetre() {
    // The bare pipe reaches so far into the soffit.
    kinds([0.98, 1.02], |e| vec![pipe("P", 22.0, 540.0, -110.0 - 11.0 + e)], ["", "bottom-notch"]);
}

#[test]
fn an_edge_is_reached_when_less_than_a_millimetre_is_left() {
    kinds([0.98, 1.02], |e| vec![pipe("P", 22.0, 540.0, 110.0 - 13.5 - e)], ["top-notch", "hole"]);
}

#[test]
fn envelopes_that_share_more_than_a_hundredth_are_one_cut() {
    kinds(
        [-0.02, 0.02],
        |e| vec![pipe("P", 22.0, 1150.0, 0.0), pipe("Q", 22.0, 1150.0 + 27.0 - e, 0.0)],
        ["hole hole", "hole"],
    );
}

#[test]
fn the_depths_of_the_scope_belong_to_it() {
    for (depth, verdict) in [(99.9, "refer"), (100.0, "pass"), (250.0, "pass"), (250.1, "refer")] {
        for style in styles() {
            let mut floor = Floor { depth, ..bare_floor() };
            floor.services = vec![pipe("P", 12.0, 1150.0, 110.0 - depth / 2.0)];
            let cuts = cuts(&floor, &style);
            assert_eq!(cuts.len(), 1, "{depth}");
            assert_eq!(cuts[0].verdict, verdict, "{depth} {style:?}");
        }
    }
}
