//! Cuts whose envelopes overlap are one cut.

use crate::testing::Build;
use wimble_model::{CutKind, CutShape, ServiceIx};

#[test]
fn envelopes_that_share_more_than_a_hundredth_in_both_x_and_z_are_one_cut() {
    for (apart, cuts) in [(26.98, 1), (26.995, 2), (27.0, 2), (30.0, 2)] {
        let mut build = Build::joist();
        build.across(22.0, 1000.0, 0.0);
        build.across(22.0, 1000.0 + apart, 0.0);
        assert_eq!(build.cuts().len(), cuts, "{apart} apart in x");
        let mut build = Build::joist();
        build.across(22.0, 1000.0, 0.0);
        build.across(22.0, 1000.0, apart);
        assert_eq!(build.cuts().len(), cuts, "{apart} apart in z");
    }
}

#[test]
fn merging_is_repeated_until_nothing_changes() {
    // The third overlaps only the union of the first two.
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 0.0);
    build.across(22.0, 1020.0, 20.0);
    build.across(22.0, 990.0, 32.0);
    let cut = build.cut();
    assert_eq!((cut.shared, cut.services.len()), (3, 3));
}

#[test]
fn the_kind_is_taken_from_the_union() {
    // A hole and a notch that overlap are a notch.
    let mut build = Build::joist();
    build.across(22.0, 1000.0, 75.0);
    build.across(22.0, 1005.0, 100.0);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shared, cut.shape), (CutKind::TopNotch, 2, CutShape::Round));
    assert!((110.0 - cut.min_mm.z - (35.0 + 13.5)).abs() < 1e-9);
}

#[test]
fn side_cuts_from_both_sides_make_a_hole() {
    let mut build = Build::joist();
    build.pipe(22.0, [1000.0, -200.0, 0.0], [1000.0, -5.0, 0.0]);
    build.pipe(22.0, [1000.0, 5.0, 0.0], [1000.0, 200.0, 0.0]);
    let cut = build.cut();
    assert_eq!((cut.kind, cut.shared), (CutKind::Hole, 2));
}

#[test]
fn shared_counts_services_and_the_order_given_does_not_matter() {
    let pipes = [(1000.0, 0.0), (1020.0, 5.0), (1045.0, 0.0), (1400.0, 0.0), (1066.0, 9.0)];
    let build = |order: &[usize]| {
        let mut build = Build::joist();
        for i in order {
            build.across(22.0, pipes[*i].0, pipes[*i].1);
        }
        build.cuts()
    };
    let first = build(&[0, 1, 2, 3, 4]);
    assert_eq!(first.iter().map(|c| c.shared).collect::<Vec<_>>(), [4, 1]);
    for order in [[4, 3, 2, 1, 0], [2, 0, 4, 1, 3]] {
        let again = build(&order);
        for (a, b) in first.iter().zip(&again) {
            assert_eq!(
                (a.kind, a.min_mm, a.max_mm, a.shared),
                (b.kind, b.min_mm, b.max_mm, b.shared)
            );
        }
    }
}

#[test]
fn a_rectangle_and_a_pipe_in_one_are_of_several_kinds() {
    let mut build = Build::joist();
    build.duct([60.0, 60.0, 500.0], [1200.0, 0.0, 0.0], glam::DVec3::X, glam::DVec3::Y);
    build.across(22.0, 1240.0, 0.0);
    let cut = build.cut();
    assert_eq!(cut.shape, CutShape::Other);
    assert_eq!(cut.services[..], [ServiceIx(0), ServiceIx(1)]);
}
