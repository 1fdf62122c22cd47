//! The porch: a flat roof with firrings over a ceiling.

use super::floors::spaced;
use super::site::{Piece, Seat, Site};
use super::stuff::{C16, CEILING_JOIST, FIRRING, FLAT_ROOF_JOIST, LEDGER};
use crate::ifc::{Element, Outline, Shape, SubstanceUse};
use glam::{DAffine3, DMat3, DVec3, dvec2, dvec3};

impl Site {
    pub(super) fn porch(&mut self) {
        self.piece(
            &Piece {
                class: "IfcMember",
                name: "LG-1".to_owned(),
                object_type: "Ledger",
                of: LEDGER,
                made: C16,
                ends: [dvec3(-323.5, 1000.0, 2485.0), dvec3(-323.5, 2700.0, 2485.0)],
                section: [47.0, 170.0],
            },
            self.ground,
        );
        for (number, y) in (1..).zip([1100.0, 1500.0, 1900.0, 2300.0, 2650.0]) {
            // The last stops 60 short of the ledger.
            let east = if number == 5 { -407.0 } else { -347.0 };
            self.piece(
                &Piece {
                    class: "IfcBeam",
                    name: format!("FR-{number}"),
                    object_type: "Flat roof joist",
                    of: FLAT_ROOF_JOIST,
                    made: C16,
                    ends: [dvec3(-2800.0, y, 2485.0), dvec3(east, y, 2485.0)],
                    section: [47.0, 170.0],
                },
                self.ground,
            );
            self.firring(number, y, east);
        }
        for (number, x) in (1..=6).zip(spaced(-2500.0, 400.0)) {
            let name = format!("CJ-{number}");
            self.piece(
                &Piece {
                    class: "IfcBeam",
                    name: name.clone(),
                    object_type: "Ceiling joist",
                    of: CEILING_JOIST,
                    made: C16,
                    ends: [dvec3(x, 1000.0, 2248.5), dvec3(x, 2700.0, 2248.5)],
                    section: [47.0, 97.0],
                },
                self.ground,
            );
            for (wall, y, inwards) in [("PW-S", 1000.0, DVec3::Y), ("PW-N", 2700.0, DVec3::NEG_Y)] {
                let seat = Seat { face: dvec3(x, y, 2200.0), inwards, breadth: 47.0 };
                self.hanger(wall, &[&name], seat, self.ground);
            }
        }
    }

    /// A wedge on the joist: 20 at the west end, 60 at the east.
    fn firring(&mut self, number: u32, y: f64, east: f64) {
        let outline = Outline::Polygon(vec![
            dvec2(-2800.0, 2570.0),
            dvec2(east, 2570.0),
            dvec2(east, 2630.0),
            dvec2(-2800.0, 2590.0),
        ]);
        // The outline's x is the building's x, its y is up; it is drawn out southwards.
        let upright = DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y);
        let at = DAffine3::from_mat3_translation(upright, DVec3::Y * (y + 23.5));
        let body = [Shape::Extrusion { outline, at, depth: 47.0 }];
        self.put(
            &Element {
                object_type: Some("Firring"),
                predefined: Some("USERDEFINED"),
                of: Some(FIRRING),
                substance: Some(SubstanceUse::Single(C16)),
                frame: DAffine3::from_translation(dvec3(-2800.0, y, 2570.0)),
                ..Element::new("IfcMember", &format!("FP-{number}"), &body)
            },
            self.ground,
        );
    }
}
