//! Solid joists: the two bays over the house and what goes with them.

use super::site::{Piece, Seat, Site};
use super::stuff::{C16, C24, JOIST_220, JOIST_275, STRUTTING};
use glam::{DVec3, dvec3};

/// Mid-depth of the 220 joists, whose top is at 2620.
const MID: f64 = 2510.0;

impl Site {
    pub(super) fn floors(&mut self) {
        self.bay_a();
        self.bay_b();
        self.stair_opening();
        self.strutting();
    }

    fn joist(&mut self, name: &str, x: f64, y: [f64; 2]) {
        self.piece(
            &Piece {
                class: "IfcBeam",
                name: name.to_owned(),
                object_type: "Floor joist",
                of: JOIST_220,
                made: C24,
                ends: [dvec3(x, y[0], MID), dvec3(x, y[1], MID)],
                section: [47.0, 220.0],
            },
            self.first,
        );
    }

    fn bay_a(&mut self) {
        for (number, x) in (1..=17).zip(spaced(75.0, 400.0)) {
            let side = if number == 9 { "a" } else { "" };
            self.joist(&format!("JA-{number:02}{side}"), x, [-100.0, 3700.0]);
        }
        self.joist("JA-09b", 3322.0, [-100.0, 3700.0]);
        self.joist("JA-19", 7125.0, [-100.0, 3700.0]);
        // In place of JA-18: one length over both bays.
        self.joist("JC-1", 6875.0, [-100.0, 6800.0]);
    }

    fn bay_b(&mut self) {
        for (number, x) in (1..=6).zip(spaced(122.0, 400.0)) {
            self.joist(&format!("JB-{number:02}"), x, [3600.0, 6800.0]);
        }
        self.joist("JB-07", 5722.0, [3600.0, 6800.0]);
        self.joist("JB-08", 6122.0, [3600.0, 7400.0]);
        self.joist("JB-09", 6522.0, [3600.0, 6800.0]);
        self.piece(
            &Piece {
                class: "IfcBeam",
                name: "JH-1".to_owned(),
                object_type: "Floor joist",
                of: JOIST_275,
                made: C24,
                ends: [dvec3(7150.0, 3700.0, 2482.5), dvec3(7150.0, 6700.0, 2482.5)],
                section: [75.0, 275.0],
            },
            self.first,
        );
        for (wall, y, inwards) in [("W-SP", 3700.0, DVec3::Y), ("W-N", 6700.0, DVec3::NEG_Y)] {
            let seat = Seat { face: dvec3(7150.0, y, 2345.0), inwards, breadth: 75.0 };
            self.hanger(wall, &["JH-1"], seat, self.first);
        }
    }

    fn stair_opening(&mut self) {
        for (name, x) in
            [("TJ-1a", 2529.5), ("TJ-1b", 2576.5), ("TJ-2a", 5423.5), ("TJ-2b", 5470.5)]
        {
            self.joist(name, x, [3600.0, 6800.0]);
        }
        for (name, y) in [("TR-1a", 5629.5), ("TR-1b", 5676.5)] {
            self.piece(
                &Piece {
                    class: "IfcBeam",
                    name: name.to_owned(),
                    object_type: "Trimmer",
                    of: JOIST_220,
                    made: C24,
                    ends: [dvec3(2600.0, y, MID), dvec3(5400.0, y, MID)],
                    section: [47.0, 220.0],
                },
                self.first,
            );
        }
        for (by, x, inwards) in [("TJ-1b", 2600.0, DVec3::X), ("TJ-2a", 5400.0, DVec3::NEG_X)] {
            let seat = Seat { face: dvec3(x, 5653.0, 2400.0), inwards, breadth: 94.0 };
            self.hanger(by, &["TR-1a", "TR-1b"], seat, self.first);
        }
        for (number, x) in (1..).zip([2922.0, 3369.0, 3722.0, 4122.0, 4522.0, 4922.0, 5322.0]) {
            let name = format!("JT-{number}");
            self.joist(&name, x, [3600.0, 5606.0]);
            let face = dvec3(x, 5606.0, 2400.0);
            let seat = Seat { face, inwards: DVec3::NEG_Y, breadth: 47.0 };
            self.hanger("TR-1a", &[&name], seat, self.first);
        }
    }

    /// A row at mid-span of bay A, from face to face.
    fn strutting(&mut self) {
        let mut faces: Vec<[f64; 2]> =
            spaced(75.0, 400.0).take(18).map(|x| [x - 23.5, x + 23.5]).collect();
        if let Some(double) = faces.get_mut(8) {
            double[1] = 3345.5;
        }
        faces.push([7101.5, 7148.5]);
        for (number, pair) in (1..).zip(faces.windows(2)) {
            let [left, right] = pair else { continue };
            self.piece(
                &Piece {
                    class: "IfcMember",
                    name: format!("BL-{number}"),
                    object_type: "Strutting",
                    of: STRUTTING,
                    made: C16,
                    ends: [dvec3(left[1], 1800.0, MID), dvec3(right[0], 1800.0, MID)],
                    section: [38.0, 165.0],
                },
                self.first,
            );
        }
    }
}

/// `first`, then on by `step` for ever.
pub(super) fn spaced(first: f64, step: f64) -> impl Iterator<Item = f64> {
    (0_u32..).map(move |n| first + step * f64::from(n))
}
