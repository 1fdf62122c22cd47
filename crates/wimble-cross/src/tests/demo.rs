//! Rows of the demo building's table: arithmetic done by hand there. A joist of bay A lies along
//! Y from −100 to 3700 with its mid-depth at 2510; here it lies along X.

use crate::testing::{Build, JOIST};
use glam::DVec3;
use wimble_model::{CutKind, CutShape, Edge, Service, ServiceKind};

/// A joist of bay A whose centre is at this X of the demo building.
struct Joist {
    build: Build,
    centre: f64,
}

impl Joist {
    fn at(centre: f64) -> Self {
        let mut build = Build::new();
        build.member(JOIST, 3800.0, DVec3::new(-100.0, 0.0, 2510.0));
        Self { build, centre }
    }

    fn pipe(&mut self, diameter: f64, from: [f64; 3], to: [f64; 3]) -> &mut Service {
        let centre = self.centre;
        let turned = |[x, y, z]: [f64; 3]| [y, centre - x, z];
        self.build.pipe(diameter, turned(from), turned(to))
    }
}

/// As the table prints.
fn tenth(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

#[test]
fn ja_02_to_04_bath_waste() {
    for (centre, level) in [(475.0, -3.6), (875.0, 3.6), (1275.0, 10.8)] {
        let mut joist = Joist::at(centre);
        joist.pipe(43.0, [1500.0, 1100.0, 2524.85], [275.0, 1100.0, 2502.8]);
        let cut = joist.build.cut();
        assert_eq!((cut.kind, cut.edge, cut.shape), (CutKind::Hole, Edge::None, CutShape::Round));
        assert_eq!((tenth(cut.width_mm()), tenth(cut.height_mm())), (48.0, 48.9));
        assert_eq!(tenth(cut.offset_mm()), level);
        // 1076-1124 from the wall's face, which is at x = 100.
        assert_eq!(tenth(cut.from_bearing_mm(&joist.build.scene.members[0]).unwrap()), 1076.0);
        assert_eq!(tenth(cut.max_mm.x - 100.0), 1124.0);
        assert_eq!(tenth(cut.bit_mm), 48.9);
    }
}

#[test]
fn ja_04_stays_one_of_one_on_the_worst_level() {
    let mut joist = Joist::at(1275.0);
    joist.pipe(43.0, [1500.0, 1100.0, 2524.85], [275.0, 1100.0, 2502.8]);
    let cut = joist.build.cut();
    assert_eq!(tenth(cut.offset_mm() + cut.height_mm() / 2.0), 35.2);
}

#[test]
fn ja_10_radiator_pair_is_two_notches_of_depth_20_with_15_between() {
    let mut joist = Joist::at(3675.0);
    joist.pipe(15.0, [3500.0, 500.0, 2610.0], [5900.0, 500.0, 2610.0]);
    joist.pipe(15.0, [3500.0, 535.0, 2610.0], [5900.0, 535.0, 2610.0]);
    let cuts = joist.build.cuts();
    let found: Vec<_> = cuts
        .iter()
        .map(|c| (c.kind, tenth(c.min_mm.x - 100.0), tenth(c.max_mm.x - 100.0)))
        .collect();
    assert_eq!(found, [(CutKind::TopNotch, 490.0, 510.0), (CutKind::TopNotch, 525.0, 545.0)]);
    // A notch's depth is from the notched edge to the far side.
    assert!(cuts.iter().all(|c| tenth(110.0 - c.min_mm.z) == 20.0));
}

#[test]
fn ja_05_main_pair_is_one_notch_53_by_27() {
    let mut joist = Joist::at(1675.0);
    joist.pipe(22.0, [1550.0, 640.0, 2606.5], [2200.0, 640.0, 2606.5]);
    joist.pipe(22.0, [1550.0, 666.0, 2606.5], [2200.0, 666.0, 2606.5]);
    let cut = joist.build.cut();
    assert_eq!((cut.kind, cut.shared), (CutKind::TopNotch, 2));
    assert_eq!((tenth(cut.min_mm.x - 100.0), tenth(cut.max_mm.x - 100.0)), (626.5, 679.5));
    assert_eq!(tenth(110.0 - cut.min_mm.z), 27.0);
}

#[test]
fn ja_07_gas_is_a_notch_of_33_0_in_523_5_to_556_5() {
    let mut joist = Joist::at(2475.0);
    joist.pipe(28.0, [2300.0, 540.0, 2603.5], [3100.0, 540.0, 2603.5]);
    let cut = joist.build.cut();
    assert_eq!(cut.kind, CutKind::TopNotch);
    assert_eq!(tenth(110.0 - cut.min_mm.z), 33.0);
    assert_eq!((tenth(cut.min_mm.x - 100.0), tenth(cut.max_mm.x - 100.0)), (523.5, 556.5));
}

#[test]
fn ja_05_cables_are_one_hole_of_45() {
    let mut joist = Joist::at(1675.0);
    for y in [1336.0, 1350.0, 1364.0] {
        joist.pipe(12.0, [1550.0, y, 2510.0], [2200.0, y, 2510.0]).kind = ServiceKind::Cable;
    }
    let cut = joist.build.cut();
    assert_eq!((cut.kind, cut.shared), (CutKind::Hole, 3));
    assert_eq!((tenth(cut.width_mm()), tenth(cut.height_mm())), (45.0, 17.0));
    assert_eq!((tenth(cut.min_mm.x - 100.0), tenth(cut.max_mm.x - 100.0)), (1327.5, 1372.5));
    // 40 round the bare group, and 5.
    let circle = cut.besides.circle.unwrap();
    assert_eq!(tenth(circle.diameter_mm), 45.0);
    assert_eq!((tenth(circle.x_mm - 100.0), tenth(circle.z_mm)), (1350.0, 0.0));
    assert_eq!(tenth(cut.bit_mm), 45.0);
}

#[test]
fn ja_16_basin_waste_at_45_degrees_needs_a_tool_of_105() {
    let mut joist = Joist::at(6075.0);
    // 36 mm, 18 mm/m along 565.7 mm of plan length, mid z 2510.
    let fall = 0.018 * 400.0 * 2f64.sqrt() / 2.0;
    joist.pipe(36.0, [5875.0, 970.0, 2510.0 + fall], [6275.0, 1370.0, 2510.0 - fall]);
    let cut = joist.build.cut();
    assert_eq!(cut.kind, CutKind::Hole);
    assert_eq!(cut.width_mm().round(), 105.0);
    assert_eq!(cut.bit_mm.round(), 105.0);
    assert_eq!(tenth(cut.height_mm()), 42.2);
    assert_eq!((tenth(cut.min_mm.x - 100.0), tenth(cut.max_mm.x - 100.0)), (1117.5, 1222.5));
    assert!((cut.skew_deg - 45.0).abs() < 0.1);
}

#[test]
fn ja_16_towel_rail_and_condensate_notch_both_edges() {
    let mut joist = Joist::at(6075.0);
    joist.pipe(15.0, [5950.0, 600.0, 2610.0], [6200.0, 600.0, 2610.0]);
    joist.pipe(21.5, [5950.0, 720.0, 2413.25], [6200.0, 720.0, 2413.25]);
    let cuts = joist.build.cuts();
    assert_eq!((cuts[0].kind, cuts[0].edge), (CutKind::TopNotch, Edge::Top));
    assert_eq!((cuts[1].kind, cuts[1].edge), (CutKind::BottomNotch, Edge::Bottom));
    let x = |mm: f64| tenth(mm - 100.0);
    assert_eq!((x(cuts[0].min_mm.x), x(cuts[0].max_mm.x)), (590.0, 610.0));
    assert!((706.8 - x(cuts[1].min_mm.x)).abs() <= 0.1);
    assert!((x(cuts[1].max_mm.x) - 733.2).abs() <= 0.1);
    assert_eq!(tenth(cuts[1].max_mm.z + 110.0), 26.5);
}

#[test]
fn ja_01_notch_and_hole_stay_60_apart() {
    let mut joist = Joist::at(75.0);
    joist.pipe(15.0, [0.0, 880.0, 2610.0], [200.0, 880.0, 2610.0]);
    joist.pipe(22.0, [0.0, 963.5, 2510.0], [200.0, 963.5, 2510.0]);
    let cuts = joist.build.cuts();
    assert_eq!(tenth(cuts[1].min_mm.x - cuts[0].max_mm.x), 60.0);
}

#[test]
fn ja_11_soil_stack_severs() {
    let mut joist = Joist::at(4075.0);
    joist.pipe(110.0, [4100.0, 2000.0, 1000.0], [4100.0, 2000.0, 5000.0]);
    let cut = joist.build.cut();
    assert_eq!((cut.kind, cut.edge), (CutKind::Severed, Edge::Full));
    assert_eq!(tenth(cut.height_mm()), 220.0);
    assert_eq!(tenth(cut.width_mm()), 115.0);
}

#[test]
fn ja_13_wc_branch_laps_the_side_and_runs_lengthwise_for_800() {
    let mut joist = Joist::at(4875.0);
    joist.pipe(110.0, [4948.5, 3100.0, 2494.4], [4948.5, 2300.0, 2480.0]);
    let cut = joist.build.cut();
    assert_eq!(cut.kind, CutKind::Lengthwise);
    // 800 of pipe, and what its ends, square to the fall, lean over.
    assert!((800.0..801.1).contains(&cut.width_mm()));
}

#[test]
fn pipes_clipped_to_a_soffit_or_a_side_are_no_cuts_but_tight() {
    let mut joist = Joist::at(1675.0);
    joist.pipe(22.0, [1550.0, 500.0, 2389.0], [2200.0, 500.0, 2389.0]);
    joist.pipe(15.0, [1706.0, 300.0, 2560.0], [1706.0, 1700.0, 2560.0]);
    assert_eq!(joist.build.cuts(), []);
    let tight = crate::tight_to(&joist.build.scene, &joist.build.settings);
    assert_eq!(tight.len(), 2);
    assert!(tight.iter().all(|t| t.gap_mm.abs() < 1e-6));
}

#[test]
fn jb_07_landing_pipe_stands_10_proud() {
    // Field JB bears on the spine from 3600 to 3700.
    let mut build = Build::new();
    build.member(JOIST, 3200.0, DVec3::new(3600.0, 0.0, 2510.0));
    build.pipe(15.0, [4100.0, 200.0, 2620.0], [4100.0, -200.0, 2620.0]);
    let cut = build.cut();
    assert_eq!(cut.kind, CutKind::TopNotch);
    assert_eq!(tenth(cut.besides.proud_mm), 7.5);
    assert_eq!(tenth(110.0 - cut.min_mm.z), 10.0);
    assert_eq!(tenth(cut.from_bearing_mm(&build.scene.members[0]).unwrap()), 390.0);
}
