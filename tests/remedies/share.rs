//! Two holes that are too near to each other: apart first, and then as one, where that passes.

use crate::building::Building;
use crate::short_span::short_span;
use wimble_dev::floors::Floor;
use wimble_model::{Action, Finding, Remedy, Verdict};

/// Flow and return, 60 apart, in the zone of joists of this depth: the clear span is 3000, and the
/// holes have to be 81 apart.
fn flow_and_return(depth: f64) -> Floor {
    let mut floor = short_span(&[(22.0, 1000.0), (22.0, 1060.0)]);
    floor.ends = [0.0, 3200.0];
    floor.walls[1] = [3100.0, 3200.0];
    floor.depth = depth;
    floor.top = 2510.0 + depth / 2.0;
    floor.joists.truncate(1);
    floor.services.iter_mut().for_each(|s| s.to.x = 200.0);
    floor
}

/// The moves for the finding about both.
fn moves(findings: &[Finding]) -> (&Finding, Vec<(f64, &Remedy)>) {
    let pair = findings.iter().find(|f| f.cuts.len() == 2).expect("they are too near");
    let by = |remedy: &Remedy| match remedy.action {
        Action::MoveAlong { by_mm } | Action::Separate { by_mm } => Some(by_mm.abs()),
        _ => None,
    };
    (pair, pair.remedies.iter().filter_map(|r| Some((by(r)?, r))).collect())
}

#[test]
fn one_hole_for_both_is_offered_after_the_nearer_move_apart() {
    let building = Building::of(&flow_and_return(220.0));
    let (findings, _) = building.with_remedies();
    let (pair, moves) = moves(&findings);
    let [(21.0, _), (34.0, as_one)] = moves.as_slice() else { panic!("{moves:?}") };
    assert!(as_one.text.contains("into a 53 mm hole that it shares with"), "{}", as_one.text);
    let cut = &building.cuts[pair.cuts[0].at()];
    let after = building.after(pair.member, cut, as_one).unwrap();
    let [one] = after.cuts.as_slice() else { panic!("one cut: {:?}", after.cuts) };
    assert_eq!((one.services.len(), one.verdict), (2, Verdict::Pass));
}

/// A quarter of 195 is 48.75: one hole for both would be too large.
#[test]
fn one_hole_that_would_not_pass_is_not_offered() {
    let building = Building::of(&flow_and_return(195.0));
    let (findings, _) = building.with_remedies();
    let (_, moves) = moves(&findings);
    assert_eq!(moves.iter().map(|(by, _)| *by).collect::<Vec<_>>(), [21.0]);
}
