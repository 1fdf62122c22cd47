//! The garage floor: I-joists in bay C, open-web joists in bay D.

use super::floors::spaced;
use super::site::{Piece, Site};
use super::stuff::{
    C16, C24, I_JOIST, I_JOIST_240, LVL, OPEN_CHORD, OPEN_STRUTS, OPEN_WEB, OPEN_WEB_254, RIM,
    STEEL, STRONGBACK,
};
use crate::ifc::{Element, Outline, Shape, SubstanceUse, frame_along};
use glam::{DAffine3, DVec3, dvec3};

impl Site {
    pub(super) fn engineered(&mut self) {
        for (number, y) in (1..=9).zip(spaced(250.0, 400.0)) {
            self.i_joist(number, y);
        }
        self.piece(
            &Piece {
                class: "IfcMember",
                name: "RB-1".to_owned(),
                object_type: "Rim board",
                of: RIM,
                made: LVL,
                ends: [dvec3(11581.0, 0.0, 2500.0), dvec3(11581.0, 3600.0, 2500.0)],
                section: [38.0, 240.0],
            },
            self.first,
        );
        for (number, y) in (1..=5).zip(spaced(3950.0, 600.0)) {
            if number == 5 {
                self.open_web_in_one(number, y);
            } else {
                self.open_web_in_parts(number, y);
            }
        }
        self.piece(
            &Piece {
                class: "IfcMember",
                name: "SB-1".to_owned(),
                object_type: "Strongback",
                of: STRONGBACK,
                made: C16,
                // On the bottom chords, under the top node at 10000, where the webs leave room.
                ends: [dvec3(10000.0, 3914.0, 2461.5), dvec3(10000.0, 6386.0, 2461.5)],
                section: [47.0, 97.0],
            },
            self.first,
        );
    }

    /// The last one is drawn as three glued parts, the others by their section.
    fn i_joist(&mut self, number: u32, y: f64) {
        let ends = [dvec3(7200.0, y, 2500.0), dvec3(11562.0, y, 2500.0)];
        let name = format!("IC-{number}");
        let bar = |z0: f64, z1: f64, breadth: f64| {
            Shape::block(
                dvec3(7200.0, y - breadth / 2.0, z0),
                dvec3(11562.0, y + breadth / 2.0, z1),
            )
        };
        let outline = Outline::IShape { width: 45.0, depth: 240.0, web: 10.0, flange: 45.0 };
        let body = if number == 9 {
            vec![bar(2380.0, 2425.0, 45.0), bar(2425.0, 2575.0, 10.0), bar(2575.0, 2620.0, 45.0)]
        } else {
            vec![Shape::Extrusion { outline, at: frame_along(ends[0], ends[1]), depth: 4362.0 }]
        };
        let joist = self.put(
            &Element {
                object_type: Some("I-joist"),
                predefined: Some("JOIST"),
                of: Some(I_JOIST_240),
                substance: Some(SubstanceUse::Single(I_JOIST)),
                frame: frame_along(ends[0], ends[1]),
                axis: Some(ends),
                ..Element::new("IfcBeam", &name, &body)
            },
            self.first,
        );
        // Knock-outs, 40 across, clear of both bearings.
        for (hole, x) in (1..=14).zip(spaced(7500.0, 300.0)) {
            let at = dvec3(x, y - 10.0, 2500.0);
            let body = [Shape::bar(at, at + DVec3::Y * 20.0, 40.0)];
            self.put(
                &Element {
                    object_type: Some("Knock-out"),
                    predefined: Some("OPENING"),
                    frame: DAffine3::from_translation(at),
                    ..Element::new("IfcOpeningElement", &format!("{name} hole {hole}"), &body)
                },
                joist,
            );
        }
    }

    /// An assembly of two chords and the webs.
    fn open_web_in_parts(&mut self, number: u32, y: f64) {
        let name = format!("OW-{number}");
        let whole = self.put(
            &Element {
                object_type: Some("Open-web joist"),
                predefined: Some("TRUSS"),
                frame: DAffine3::from_translation(dvec3(7200.0, y, 2366.0)),
                ..Element::new("IfcElementAssembly", &name, &[])
            },
            self.first,
        );
        for (part, z) in [("bottom chord", 2389.5), ("top chord", 2596.5)] {
            self.piece(
                &Piece {
                    class: "IfcMember",
                    name: format!("{name} {part}"),
                    object_type: "Open-web joist chord",
                    of: OPEN_CHORD,
                    made: C24,
                    ends: [dvec3(7200.0, y, z), dvec3(11600.0, y, z)],
                    section: [72.0, 47.0],
                },
                whole,
            );
        }
        let body = [Shape::Mapped {
            key: "open webs".to_owned(),
            body: webs(),
            at: DAffine3::from_translation(dvec3(7200.0, y, 2366.0)),
        }];
        self.put(
            &Element {
                object_type: Some("Open-web joist webs"),
                predefined: Some("BRACE"),
                of: Some(OPEN_STRUTS),
                substance: Some(SubstanceUse::Single(STEEL)),
                frame: DAffine3::from_translation(dvec3(7200.0, y, 2366.0)),
                ..Element::new("IfcMember", &format!("{name} webs"), &body)
            },
            whole,
        );
    }

    /// One beam whose body has a solid for each chord and each web.
    fn open_web_in_one(&mut self, number: u32, y: f64) {
        let at = DAffine3::from_translation(dvec3(7200.0, y, 2366.0));
        let chord = |z: f64| Shape::stick(dvec3(7200.0, y, z), dvec3(11600.0, y, z), 72.0, 47.0);
        let mut body = vec![chord(2389.5), chord(2596.5)];
        for web in webs() {
            if let Shape::Extrusion { outline, at: own, depth } = web {
                body.push(Shape::Extrusion { outline, at: at * own, depth });
            }
        }
        self.put(
            &Element {
                object_type: Some("Open-web joist"),
                predefined: Some("JOIST"),
                of: Some(OPEN_WEB_254),
                substance: Some(SubstanceUse::Single(OPEN_WEB)),
                frame: at,
                axis: Some([dvec3(7200.0, y, 2493.0), dvec3(11600.0, y, 2493.0)]),
                ..Element::new("IfcBeam", &format!("OW-{number}"), &body)
            },
            self.first,
        );
    }
}

/// Steel webs of one joist, from its lower west corner at mid breadth: bottom nodes at 100 and on by
/// 600, top nodes half-way between, flush with both sides of the chords. 8 broad, so that a duct of
/// 130 passes under a top node with 1.6 to spare on each web.
fn webs() -> Vec<Shape> {
    let mut webs = Vec::new();
    for bottom in spaced(100.0, 600.0).take(7) {
        for [from, to] in [[bottom, bottom + 300.0], [bottom + 600.0, bottom + 300.0]] {
            for y in [-35.0, 35.0] {
                let (from, to) = (dvec3(from, y, 47.0), dvec3(to, y, 207.0));
                webs.push(Shape::stick(from, to, 2.0, 8.0));
            }
        }
    }
    webs
}
