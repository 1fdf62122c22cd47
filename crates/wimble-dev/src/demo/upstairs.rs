//! Above the first floor: stud walls, rafters and trusses.

use super::floors::spaced;
use super::site::{Piece, Site};
use super::stuff::{C16, C24, CHORD, RAFTER, RIDGE, ROOF_PLATE, STUD, TR26, TRUSS_WEB, WALL_PLATE};
use crate::ifc::{Element, HalfSpace, Shape, SubstanceUse, frame_along};
use glam::{DAffine3, DVec3, dvec3};

/// Rise over run of the roof: 35 degrees.
fn slope() -> f64 {
    35.0_f64.to_radians().tan()
}

impl Site {
    pub(super) fn upstairs(&mut self) {
        let mut studs: Vec<f64> =
            std::iter::once(19.0).chain(spaced(600.0, 600.0).take(11)).collect();
        studs.push(7181.0);
        self.stud_wall("SW-1", true, &studs, 7200.0, |along, across| {
            dvec3(along, 3650.0 + across, 0.0)
        });
        let mut studs: Vec<f64> =
            std::iter::once(19.0).chain(spaced(600.0, 600.0).take(5)).collect();
        studs.push(3586.0);
        self.stud_wall("SW-2", false, &studs, 3605.0, |along, across| {
            dvec3(3298.5 + across, along, 0.0)
        });
        self.roof_plates();
        for (number, x) in (1..=18).zip(spaced(300.0, 400.0)) {
            self.rafter(number, x, false);
            self.rafter(number, x, true);
        }
        for (number, x) in (1..=7).zip(spaced(7400.0, 600.0)) {
            self.truss(number, x);
        }
    }

    /// A wall of 89 studs that is nothing but its parts: sole, studs, head, and a binder if it bears.
    fn stud_wall(
        &mut self,
        name: &str,
        bears: bool,
        studs: &[f64],
        length: f64,
        place: impl Fn(f64, f64) -> DVec3,
    ) {
        let wall = self.put(
            &Element {
                flags: &[("Pset_WallCommon", "LoadBearing", bears)],
                frame: DAffine3::from_translation(place(0.0, 0.0) + DVec3::Z * 2642.0),
                ..Element::new("IfcWall", name, &[])
            },
            self.first,
        );
        let mut plates = vec![("sole", 2661.0), ("head", 4985.0)];
        if bears {
            plates.push(("binder", 5023.0));
        }
        for (part, z) in plates {
            let ends = [place(0.0, 0.0) + DVec3::Z * z, place(length, 0.0) + DVec3::Z * z];
            self.piece(
                &Piece {
                    class: "IfcMember",
                    name: format!("{name} {part}"),
                    object_type: part,
                    of: WALL_PLATE,
                    made: C16,
                    ends,
                    section: [89.0, 38.0],
                },
                wall,
            );
        }
        for (number, along) in (1..).zip(studs) {
            let min = place(along - 19.0, -44.5);
            let max = place(along + 19.0, 44.5);
            let (min, max) = (min.min(max) + DVec3::Z * 2680.0, min.max(max) + DVec3::Z * 4966.0);
            let body = [Shape::block(min, max)];
            self.put(
                &Element {
                    object_type: Some("Stud"),
                    predefined: Some("STUD"),
                    of: Some(STUD),
                    substance: Some(SubstanceUse::Single(C16)),
                    frame: DAffine3::from_translation(min),
                    ..Element::new("IfcMember", &format!("{name} stud {number}"), &body)
                },
                wall,
            );
        }
    }

    fn roof_plates(&mut self) {
        for (name, y) in [("WP-1", -50.0), ("WP-2", 6750.0)] {
            self.piece(
                &Piece {
                    class: "IfcMember",
                    name: name.to_owned(),
                    object_type: "Wall plate",
                    of: ROOF_PLATE,
                    made: C16,
                    ends: [dvec3(-100.0, y, 5067.0), dvec3(7200.0, y, 5067.0)],
                    section: [100.0, 50.0],
                },
                self.roof,
            );
        }
        self.piece(
            &Piece {
                class: "IfcMember",
                name: "RR-1".to_owned(),
                object_type: "Ridge board",
                of: RIDGE,
                made: C16,
                ends: [dvec3(0.0, 3350.0, 7520.0), dvec3(7200.0, 3350.0, 7520.0)],
                section: [40.0, 200.0],
            },
            self.roof,
        );
    }

    /// South (RF) and north (RN): plumb at both ends, a birdsmouth of 78 over the wall plate. The
    /// birdsmouth is drawn in each of the three ways that models know.
    fn rafter(&mut self, number: u32, x: f64, north: bool) {
        // The north side is the south side seen in a mirror at the ridge.
        let side = |y: f64| if north { 6700.0 - y } else { y };
        let at = |y: f64| dvec3(x, side(y), 4849.0 + (y + 500.0) * slope());
        let outwards = if north { DVec3::NEG_Y } else { DVec3::Y };
        let stick = Shape::Clipped(
            Box::new(Shape::stick(at(-700.0), at(3530.0), 47.0, 150.0)),
            vec![
                HalfSpace { point: at(-500.0), away: -outwards },
                HalfSpace { point: at(3330.0), away: outwards },
            ],
        );
        let seat = [dvec3(x - 40.0, side(-100.0), 4990.0), dvec3(x + 40.0, side(0.0), 5092.0)];
        let seat = [seat[0].min(seat[1]), seat[0].max(seat[1])];
        let birdsmouth = Shape::block(seat[0], seat[1]);
        let in_body = north || number <= 6;
        let body = if in_body {
            [Shape::Difference(Box::new(stick), vec![birdsmouth.clone()])]
        } else {
            [stick]
        };
        let name = format!("{}-{number:02}", if north { "RN" } else { "RF" });
        let rafter = self.put(
            &Element {
                object_type: Some("Rafter"),
                predefined: Some("RAFTER"),
                of: Some(RAFTER),
                substance: Some(SubstanceUse::Single(C24)),
                frame: frame_along(at(-500.0), at(3330.0)),
                axis: Some([at(-500.0), at(3330.0)]),
                ..Element::new("IfcMember", &name, &body)
            },
            self.roof,
        );
        if in_body {
            return;
        }
        let (class, predefined) = if number <= 12 {
            ("IfcOpeningElement", "RECESS")
        } else {
            ("IfcVoidingFeature", "NOTCH")
        };
        self.put(
            &Element {
                object_type: Some("Birdsmouth"),
                predefined: Some(predefined),
                frame: DAffine3::from_translation(seat[0]),
                ..Element::new(class, &format!("{name} birdsmouth"), &[birdsmouth])
            },
            rafter,
        );
    }

    /// A fink of four pieces: bottom chord on the walls, two rafters, two struts.
    fn truss(&mut self, number: u32, x: f64) {
        let name = format!("TF-{number}");
        let whole = self.put(
            &Element {
                object_type: Some("Trussed rafter"),
                predefined: Some("TRUSS"),
                frame: DAffine3::from_translation(dvec3(x, 0.0, 5042.0)),
                ..Element::new("IfcElementAssembly", &name, &[])
            },
            self.roof,
        );
        // The rafters stand on the bottom chord: half their depth, measured plumb, above its top.
        let heel = 5139.0 + 48.5 / 35.0_f64.to_radians().cos();
        let ridge = dvec3(x, 3350.0, heel + 3450.0 * slope());
        let mid = heel + 1725.0 * slope() - 80.0;
        for (part, of, ends, depth) in [
            ("bottom chord", CHORD, [dvec3(x, -100.0, 5090.5), dvec3(x, 6800.0, 5090.5)], 97.0),
            ("south rafter", CHORD, [dvec3(x, -100.0, heel), ridge], 97.0),
            ("north rafter", CHORD, [dvec3(x, 6800.0, heel), ridge], 97.0),
            ("south strut", TRUSS_WEB, [dvec3(x, 2300.0, 5180.0), dvec3(x, 1625.0, mid)], 72.0),
            ("north strut", TRUSS_WEB, [dvec3(x, 4400.0, 5180.0), dvec3(x, 5075.0, mid)], 72.0),
        ] {
            self.piece(
                &Piece {
                    class: "IfcMember",
                    name: format!("{name} {part}"),
                    object_type: "Truss part",
                    of,
                    made: TR26,
                    ends,
                    section: [35.0, depth],
                },
                whole,
            );
        }
    }
}
