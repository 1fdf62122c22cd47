//! The building's shell: what the floors rest on, and what lies on and under them.

use super::stuff::{
    BLOCK, BRICK, C24, CHIPBOARD, CONCRETE, GL24H, GLULAM_BEAM, PLASTERBOARD, POST_100, STUDWORK,
};
use crate::ifc::{
    Container, Element, Model, Outline, Shape, Substance, SubstanceUse, TypeOf, frame_along,
};
use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2, dvec3};
use std::collections::BTreeMap;

/// The structure being written: the model, its storeys, and its elements by name.
pub(super) struct Site {
    pub(super) model: Model,
    pub(super) ground: Container,
    pub(super) first: Container,
    pub(super) roof: Container,
    named: BTreeMap<String, Container>,
}

/// A straight piece of timber.
pub(super) struct Piece<'a> {
    pub(super) class: &'a str,
    pub(super) name: String,
    pub(super) object_type: &'a str,
    pub(super) of: TypeOf,
    pub(super) made: Substance,
    /// Ends of its centre line.
    pub(super) ends: [DVec3; 2],
    /// Level breadth, and depth square to it.
    pub(super) section: [f64; 2],
}

impl Site {
    pub(super) fn new(mut model: Model) -> Self {
        let ground = model.storey("Ground floor", 0.0);
        let first = model.storey("First floor", 2642.0);
        let roof = model.storey("Roof", 5042.0);
        Self { model, ground, first, roof, named: BTreeMap::new() }
    }

    /// Writes an element and remembers it by its name.
    pub(super) fn put(&mut self, element: &Element<'_>, container: Container) -> Container {
        let placed = self.model.element(element, container);
        self.named.insert(element.name.to_owned(), placed);
        placed
    }

    /// A straight piece with its axis and, for beams, its section as a material profile.
    pub(super) fn piece(&mut self, piece: &Piece<'_>, container: Container) -> Container {
        let [from, to] = piece.ends;
        let [breadth, depth] = piece.section;
        let body = [Shape::stick(from, to, breadth, depth)];
        self.put(
            &Element {
                object_type: Some(piece.object_type),
                predefined: Some(piece.of.predefined),
                of: Some(piece.of),
                substance: Some(SubstanceUse::Profile(
                    piece.made,
                    Outline::Rectangle(breadth, depth),
                )),
                flags: &[],
                frame: frame_along(from, to),
                axis: Some(piece.ends),
                ..Element::new(piece.class, &piece.name, &body)
            },
            container,
        )
    }

    /// Puts a steel hanger (seat and two cheeks, 75 long) under the end of a piece that stops at
    /// `face` and says that `carrying` carries it there. `inwards` runs from the face along the piece.
    pub(super) fn hanger(&mut self, carrying: &str, carried: &[&str], seat: Seat, at: Container) {
        let name = format!("Hanger {} at {carrying}", carried.first().copied().unwrap_or_default());
        let along = seat.inwards * 75.0;
        let across = DVec3::Z.cross(seat.inwards) * (seat.breadth / 2.0);
        let plate = |a: DVec3, b: DVec3| Shape::block(a.min(b), a.max(b));
        let steel = 2.0;
        let side = across.normalize_or_zero() * steel;
        let body = [
            plate(seat.face - across - DVec3::Z * steel, seat.face + across + along),
            plate(seat.face + across, seat.face + across + side + along + DVec3::Z * 100.0),
            plate(seat.face - across, seat.face - across - side + along + DVec3::Z * 100.0),
        ];
        let hanger = self.put(
            &Element {
                object_type: Some("Joist hanger"),
                predefined: Some("SHOE"),
                of: Some(super::stuff::HANGER),
                substance: Some(SubstanceUse::Single(super::stuff::STEEL)),
                frame: DAffine3::from_translation(seat.face),
                ..Element::new("IfcDiscreteAccessory", &name, &body)
            },
            at,
        );
        for piece in carried {
            if let (Some(by), Some(of)) = (self.named.get(carrying), self.named.get(*piece)) {
                self.model.connect_through(
                    &format!("{piece} {carrying}"),
                    by.id(),
                    of.id(),
                    hanger.id(),
                );
            }
        }
    }

    /// An upright box of masonry with `LoadBearing` stated; its own y axis runs through its
    /// thickness, as the layers ask.
    fn wall(&mut self, name: &str, made: &[(Substance, f64)], bears: bool, corners: [[f64; 3]; 2]) {
        let [min, max] = corners.map(DVec3::from_array);
        let size = max - min;
        let frame = if size.x >= size.y {
            DAffine3::from_translation(min)
        } else {
            let turn = DMat3::from_cols(DVec3::Y, -DVec3::X, DVec3::Z);
            DAffine3::from_mat3_translation(turn, min + DVec3::X * size.x)
        };
        let body = [Shape::block(min, max)];
        let container = if min.z < 2400.0 { self.ground } else { self.first };
        self.put(
            &Element {
                substance: Some(SubstanceUse::Layers(made.to_vec())),
                flags: &[("Pset_WallCommon", "LoadBearing", bears)],
                frame,
                ..Element::new("IfcWall", name, &body)
            },
            container,
        );
    }

    /// Walls, beam and posts.
    pub(super) fn shell(&mut self) {
        let block = [(BLOCK, 100.0)];
        let brick = [(BRICK, 100.0)];
        for (name, corners) in [
            ("W-S", [[-100., -100., 0.], [7200., 0., 2400.]]),
            ("W-SP", [[0., 3600., 0.], [7200., 3700., 2400.]]),
            ("W-N", [[-100., 6700., 0.], [7200., 6800., 2400.]]),
            ("W-W", [[-100., 0., 0.], [0., 6700., 2620.]]),
            ("W-M1", [[7200., 0., 0.], [7300., 3600., 2380.]]),
            ("W-M2", [[7200., 3700., 0.], [7300., 6700., 2366.]]),
            ("W-E1", [[11500., 0., 0.], [11600., 3600., 2380.]]),
            ("W-E2", [[11500., 3700., 0.], [11600., 6700., 2366.]]),
            ("W-S2", [[7200., -100., 0.], [11600., 0., 2620.]]),
            ("W-N2", [[7200., 6700., 0.], [7950., 6800., 2620.]]),
            ("W-N3", [[10850., 6700., 0.], [11600., 6800., 2620.]]),
            ("PW-W", [[-2800., 900., 0.], [-2700., 2800., 2400.]]),
            ("PW-S", [[-2700., 900., 0.], [-300., 1000., 2400.]]),
            ("PW-N", [[-2700., 2700., 0.], [-300., 2800., 2400.]]),
            ("WU-S", [[-100., -100., 2620.], [11600., 0., 5042.]]),
            ("WU-N", [[-100., 6700., 2620.], [11600., 6800., 5042.]]),
            ("WU-W", [[-100., 0., 2620.], [0., 6700., 5042.]]),
            ("WU-E", [[11500., 0., 2620.], [11600., 6700., 5042.]]),
        ] {
            self.wall(name, &block, true, corners);
        }
        // The outer leaf carries the ledger of the porch roof along its whole length.
        self.wall("W-W outer", &brick, true, [[-300., -100., 0.], [-200., 6800., 2620.]]);
        let partition = [(PLASTERBOARD, 12.5), (STUDWORK, 64.0), (PLASTERBOARD, 12.5)];
        self.wall("GP-1", &partition, false, [[6400., 1750., 0.], [7200., 1839., 2387.]]);
        self.garage_door();
        self.slab();
        self.deck();
        self.ceiling();
        self.stair();
    }

    fn garage_door(&mut self) {
        for (name, x) in [("PT-1", 8000.0), ("PT-2", 10800.0)] {
            self.piece(
                &Piece {
                    class: "IfcColumn",
                    name: name.to_owned(),
                    object_type: "Timber post",
                    of: POST_100,
                    made: C24,
                    ends: [dvec3(x, 6750.0, 0.0), dvec3(x, 6750.0, 2051.0)],
                    section: [100.0, 100.0],
                },
                self.ground,
            );
        }
        self.piece(
            &Piece {
                class: "IfcBeam",
                name: "GB-1".to_owned(),
                object_type: "Garage door beam",
                of: GLULAM_BEAM,
                made: GL24H,
                ends: [dvec3(7950.0, 6750.0, 2208.5), dvec3(10850.0, 6750.0, 2208.5)],
                section: [90.0, 315.0],
            },
            self.ground,
        );
    }

    fn slab(&mut self) {
        let body = [Shape::block(dvec3(-100., -100., -150.), dvec3(11600., 6800., 0.))];
        self.put(
            &Element {
                predefined: Some("BASESLAB"),
                substance: Some(SubstanceUse::Single(CONCRETE)),
                ..Element::new("IfcSlab", "Ground slab", &body)
            },
            self.ground,
        );
    }

    /// One sheet with the hole for the stair.
    fn sheet(&mut self, name: &str, kind: &'static str, made: Substance, x1: f64, z: [f64; 2]) {
        let y0 = if kind == "CEILING" { 3700.0 } else { 0.0 };
        let ring = |x: [f64; 2], y: [f64; 2]| -> Vec<DVec2> {
            vec![dvec2(x[0], y[0]), dvec2(x[1], y[0]), dvec2(x[1], y[1]), dvec2(x[0], y[1])]
        };
        // The void touches no edge: a band of 20 is left at the wall.
        let body = [Shape::Extrusion {
            outline: Outline::PolygonWithVoids(
                ring([0.0, x1], [y0, 6700.0]),
                vec![ring([2600.0, 5400.0], [5700.0, 6680.0])],
            ),
            at: DAffine3::from_translation(DVec3::Z * z[0]),
            depth: z[1] - z[0],
        }];
        self.put(
            &Element {
                predefined: Some(kind),
                substance: Some(SubstanceUse::Single(made)),
                ..Element::new("IfcCovering", name, &body)
            },
            self.first,
        );
    }

    fn deck(&mut self) {
        self.sheet("Deck", "FLOORING", CHIPBOARD, 11500.0, [2620.0, 2642.0]);
    }

    fn ceiling(&mut self) {
        self.sheet("Ceiling", "CEILING", PLASTERBOARD, 7100.0, [2387.5, 2400.0]);
    }

    fn stair(&mut self) {
        let body = [Shape::block(dvec3(2650., 5750., 0.), dvec3(5350., 6650., 2642.))];
        self.put(
            &Element {
                predefined: Some("STRAIGHT_RUN_STAIR"),
                ..Element::new("IfcStair", "Stair", &body)
            },
            self.ground,
        );
    }
}

/// Where a hanger holds a piece.
#[derive(Clone, Copy)]
pub(super) struct Seat {
    /// Middle of the bottom edge, on the carrying face.
    pub(super) face: DVec3,
    /// Along the carried piece, away from the face.
    pub(super) inwards: DVec3,
    /// Of what it holds.
    pub(super) breadth: f64,
}
