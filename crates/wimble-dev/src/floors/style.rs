//! How a floor is spelt.

use super::{Floor, Random, Section, Through};
use crate::ifc::{
    Container, Element, Faces, Georeference, HalfSpace, Layout, LengthUnit, LineEnding, Model,
    Outline, Schema, Setup, Shape, Substance, SubstanceUse, TypeOf, WorldBy, frame_along,
};
use glam::{DAffine3, DVec3, dvec2, dvec3};

/// How a joist's body is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MemberForm {
    /// A rectangle drawn out along the joist.
    Swept,
    /// A rectangle of length by breadth drawn out upwards.
    SweptUp,
    /// A polygon drawn out along the joist.
    Arbitrary,
    /// The same by an indexed curve.
    Indexed,
    /// A mapped body, shared by all joists.
    Mapped,
    /// Faceted boundary representation.
    Faceted,
    /// Face-based surface model.
    Surface,
    /// Triangulated.
    Triangulated,
    /// Polygonal face set.
    Polygonal,
    /// Longer than it is, with both ends cut off.
    Clipped,
}

impl MemberForm {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Swept,
        Self::SweptUp,
        Self::Arbitrary,
        Self::Indexed,
        Self::Mapped,
        Self::Faceted,
        Self::Surface,
        Self::Triangulated,
        Self::Polygonal,
        Self::Clipped,
    ];
}

/// How a service's body is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ServiceForm {
    /// Its section drawn out along it.
    Swept,
    /// Round ones as a swept disk.
    Disk,
    /// Faces; round ones with 24 sides whose corners lie on the cylinder.
    Faceted,
}

impl ServiceForm {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Swept, Self::Disk, Self::Faceted];
}

/// How a floor is spelt; none of it changes what the floor is.
#[derive(Debug, Clone, PartialEq)]
pub struct Style {
    /// Schema of the structure.
    pub schema: Schema,
    /// Unit of the structure.
    pub unit: LengthUnit,
    /// Joists.
    pub member_form: MemberForm,
    /// Services.
    pub service_form: ServiceForm,
    /// How many placements stand between the storey and each element.
    pub nesting: usize,
    /// Where the floor stands: rigid, millimetres, turned about the vertical.
    pub world: DAffine3,
    /// What moves it there.
    pub world_by: WorldBy,
    /// Whether a map conversion is given, too.
    pub georeference: bool,
    /// Schema and unit of a file of their own for the services.
    pub second: Option<(Schema, LengthUnit)>,
    /// Angles in degrees.
    pub degrees: bool,
    /// Bytes.
    pub layout: Layout,
}

impl Style {
    /// IFC4, millimetres, everything plain.
    #[must_use]
    pub fn plain() -> Self {
        Self {
            schema: Schema::Ifc4,
            unit: LengthUnit::Millimetre,
            member_form: MemberForm::Swept,
            service_form: ServiceForm::Swept,
            nesting: 0,
            world: DAffine3::IDENTITY,
            world_by: WorldBy::SitePlacement,
            georeference: false,
            second: None,
            degrees: false,
            layout: Layout::default(),
        }
    }

    /// The style of the `n`th floor: schema, unit and form of members go through all their
    /// combinations in turn, the rest is drawn.
    #[must_use]
    pub fn nth(n: usize, random: &mut Random) -> Self {
        let form = n % MemberForm::ALL.len();
        let unit = n / MemberForm::ALL.len() % LengthUnit::ALL.len();
        let schema = n / (MemberForm::ALL.len() * LengthUnit::ALL.len()) % Schema::ALL.len();
        let plain = Self::plain();
        let pick_schema = |at: usize| Schema::ALL.get(at).copied().unwrap_or(plain.schema);
        let pick_unit = |at: usize| LengthUnit::ALL.get(at).copied().unwrap_or(plain.unit);
        let second =
            random.one_in(2).then(|| (pick_schema(random.below(3)), pick_unit(random.below(4))));
        Self {
            schema: pick_schema(schema),
            unit: pick_unit(unit),
            member_form: MemberForm::ALL.get(form).copied().unwrap_or(plain.member_form),
            service_form: random.pick(&ServiceForm::ALL, plain.service_form),
            nesting: random.below(4),
            world: Self::somewhere(random),
            world_by: random.pick(
                &[WorldBy::SitePlacement, WorldBy::Context, WorldBy::EveryElement],
                plain.world_by,
            ),
            georeference: random.one_in(2),
            second,
            degrees: random.one_in(2),
            layout: Layout {
                line_ending: random
                    .pick(&[LineEnding::Lf, LineEnding::CrLf, LineEnding::Cr], LineEnding::Lf),
                shuffle: random.one_in(2).then(|| random.bits()),
            },
        }
    }

    /// Turned about the vertical by anything, and at the origin or millions of metres away; clear of
    /// the azimuth at which the sense of the joists' x turns over.
    pub fn somewhere(random: &mut Random) -> DAffine3 {
        let angle = loop {
            let any = random.between(0.0, 360.0);
            let angle = random.pick(&[0.0, 90.0, any], any).to_radians();
            let north = glam::DMat3::from_rotation_z(angle) * DVec3::Y;
            if (north.x * 0.935 + north.y * 0.353).abs() > 0.02 {
                break angle;
            }
        };
        let away = match random.below(3) {
            0 => DVec3::ZERO,
            1 => dvec3(random.between(-5e4, 5e4), random.between(-5e4, 5e4), 0.0),
            _ => dvec3(
                random.between(3.0e8, 6.0e8),
                random.between(5.0e9, 6.5e9),
                random.between(0.0, 9e4),
            ),
        };
        DAffine3::from_mat3_translation(glam::DMat3::from_rotation_z(angle), away)
    }
}

const C24: Substance =
    Substance { name: "C24 softwood", category: Some("wood"), wood: Some(("C24", "Picea abies")) };
const BLOCK: Substance =
    Substance { name: "Concrete blockwork", category: Some("block"), wood: None };
const COPPER: Substance = Substance { name: "Copper", category: None, wood: None };

/// The floor's files, by name.
#[must_use]
pub fn write(floor: &Floor, style: &Style) -> Vec<(String, Vec<u8>)> {
    let mut setup = Setup {
        degrees: style.degrees,
        world: style.world,
        world_by: style.world_by,
        country: Some("United Kingdom".to_owned()),
        georeference: style.georeference.then(|| Georeference {
            system: "EPSG:27700".to_owned(),
            eastings: 400_000.0,
            northings: 300_000.0,
            height: 50.0,
        }),
        ..Setup::new("floor.ifc", style.schema, style.unit)
    };
    let mut structure = Model::new(&setup);
    let storey = structure.storey("First floor", floor.top);
    for wall in floor.walls.iter().enumerate() {
        write_wall(&mut structure, floor, wall, storey);
    }
    for (number, x) in floor.joists.iter().enumerate() {
        write_joist(&mut structure, floor, (number, *x), style, storey);
    }
    let Some((schema, unit)) = style.second else {
        for service in &floor.services {
            write_service(&mut structure, service, style, storey);
        }
        return vec![("floor.ifc".to_owned(), structure.bytes(style.layout))];
    };
    setup = Setup { name: "services.ifc".to_owned(), schema, unit, ..setup };
    let mut services = Model::new(&setup);
    let storey = services.storey("First floor", floor.top);
    for service in &floor.services {
        write_service(&mut services, service, style, storey);
    }
    vec![
        ("floor.ifc".to_owned(), structure.bytes(style.layout)),
        ("services.ifc".to_owned(), services.bytes(style.layout)),
    ]
}

/// Frames between the storey and an element: anywhere, turned in any way.
fn nesting(style: &Style, salt: usize) -> Vec<DAffine3> {
    let mut random = Random::new(salt as u64);
    (0..style.nesting)
        .map(|_| {
            let mut angle = || random.between(0.0, 360.0).to_radians();
            let turn = glam::DMat3::from_euler(glam::EulerRot::XYZ, angle(), angle(), angle());
            let at = dvec3(
                random.between(-900.0, 900.0),
                random.between(-900.0, 900.0),
                random.between(-900.0, 900.0),
            );
            DAffine3::from_mat3_translation(turn, at)
        })
        .collect()
}

fn write_wall(
    model: &mut Model,
    floor: &Floor,
    (number, wall): (usize, &[f64; 2]),
    storey: Container,
) {
    let first = floor.joists.first().copied().unwrap_or(0.0);
    let last = floor.joists.last().copied().unwrap_or(0.0);
    let under = floor.top - floor.depth;
    let min = dvec3(first - 150.0, wall[0], under - 2300.0);
    let body = [Shape::block(min, dvec3(last + 150.0, wall[1], under))];
    let name = format!("W{}", number + 1);
    let element = Element {
        substance: Some(SubstanceUse::Layers(vec![(BLOCK, wall[1] - wall[0])])),
        flags: &[("Pset_WallCommon", "LoadBearing", true)],
        frame: DAffine3::from_translation(min),
        ..Element::new("IfcWall", &name, &body)
    };
    model.element(&element, storey);
}

fn write_joist(
    model: &mut Model,
    floor: &Floor,
    (number, x): (usize, f64),
    style: &Style,
    storey: Container,
) {
    let (from, to) =
        (dvec3(x, floor.ends[0], floor.middle()), dvec3(x, floor.ends[1], floor.middle()));
    let body = [joist_body(floor, from, to, style.member_form)];
    let nesting = nesting(style, number + 1);
    let name = Floor::joist_name(number);
    let element = Element {
        object_type: Some("Floor joist"),
        predefined: Some("JOIST"),
        of: Some(TypeOf {
            class: "IfcBeamType",
            name: "Floor joist",
            predefined: "JOIST",
            element_type: None,
        }),
        substance: Some(SubstanceUse::Single(C24)),
        frame: frame_along(from, to),
        nesting: &nesting,
        ..Element::new("IfcBeam", &name, &body)
    };
    model.element(&element, storey);
}

fn joist_body(floor: &Floor, from: DVec3, to: DVec3, form: MemberForm) -> Shape {
    let (b, h) = (floor.breadth / 2.0, floor.depth / 2.0);
    let corners = || vec![dvec2(-b, -h), dvec2(b, -h), dvec2(b, h), dvec2(-b, h)];
    let half = dvec3(b, 0.0, h);
    let drawn = |outline: Outline| Shape::Extrusion {
        outline,
        at: frame_along(from, to),
        depth: from.distance(to),
    };
    let faces = |kind: Faces| boxed(from - half, to + half, kind);
    match form {
        MemberForm::Swept => drawn(Outline::Rectangle(2.0 * b, 2.0 * h)),
        MemberForm::SweptUp => Shape::block(from - half, to + half),
        MemberForm::Arbitrary => drawn(Outline::Polygon(corners())),
        MemberForm::Indexed => drawn(Outline::IndexedPolygon(corners())),
        MemberForm::Mapped => Shape::Mapped {
            key: "joist".to_owned(),
            body: vec![Shape::Extrusion {
                outline: Outline::Rectangle(2.0 * b, 2.0 * h),
                at: DAffine3::IDENTITY,
                depth: from.distance(to),
            }],
            at: frame_along(from, to),
        },
        MemberForm::Faceted => faces(Faces::Brep),
        MemberForm::Surface => faces(Faces::Surface),
        MemberForm::Triangulated => faces(Faces::Triangulated),
        MemberForm::Polygonal => faces(Faces::Polygonal),
        MemberForm::Clipped => {
            let along = (to - from).normalize();
            let long = Shape::stick(from - along * 70.0, to + along * 40.0, 2.0 * b, 2.0 * h);
            let ends =
                vec![HalfSpace { point: from, away: -along }, HalfSpace { point: to, away: along }];
            Shape::Clipped(Box::new(long), ends)
        }
    }
}

/// A box as six faces, each seen anticlockwise from outside.
fn boxed(min: DVec3, max: DVec3, kind: Faces) -> Shape {
    let points = (0..8_u32)
        .map(|corner| {
            let pick =
                |bit: u32, low: f64, high: f64| if corner >> bit & 1 == 0 { low } else { high };
            dvec3(pick(0, min.x, max.x), pick(1, min.y, max.y), pick(2, min.z, max.z))
        })
        .collect();
    let faces =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    Shape::Mesh { points, faces: faces.iter().map(|ring| ring.to_vec()).collect(), kind }
}

fn write_service(model: &mut Model, service: &Through, style: &Style, storey: Container) {
    let body = [service_body(service, style.service_form)];
    let nesting = nesting(style, service.name.len() + 1000);
    let (class, of, predefined) = match (service.section, model.schema()) {
        (Section::Round(_), Schema::Ifc2x3) => ("IfcFlowSegment", "IfcPipeSegmentType", None),
        (Section::Round(_), _) => ("IfcPipeSegment", "IfcPipeSegmentType", Some("RIGIDSEGMENT")),
        (Section::Rectangle(..), Schema::Ifc2x3) => ("IfcFlowSegment", "IfcDuctSegmentType", None),
        (Section::Rectangle(..), _) => {
            ("IfcDuctSegment", "IfcDuctSegmentType", Some("RIGIDSEGMENT"))
        }
    };
    let element = Element {
        predefined,
        of: Some(TypeOf { class: of, name: of, predefined: "RIGIDSEGMENT", element_type: None }),
        substance: Some(SubstanceUse::Single(COPPER)),
        frame: frame_along(service.from, service.to),
        nesting: &nesting,
        ..Element::new(class, &service.name, &body)
    };
    model.element(&element, storey);
}

fn service_body(service: &Through, form: ServiceForm) -> Shape {
    let (from, to) = (service.from, service.to);
    match (service.section, form) {
        (Section::Round(diameter), ServiceForm::Swept) => Shape::bar(from, to, diameter),
        (Section::Round(diameter), ServiceForm::Disk) => {
            Shape::Disk { path: crate::ifc::Path::Line(vec![from, to]), radius: diameter / 2.0 }
        }
        (Section::Round(diameter), ServiceForm::Faceted) => faceted(from, to, diameter / 2.0),
        // Drawn along itself its outline's x lies level, along the joists.
        (Section::Rectangle(along, up), ServiceForm::Swept | ServiceForm::Disk) => {
            Shape::stick(from, to, along, up)
        }
        (Section::Rectangle(along, up), ServiceForm::Faceted) => {
            let half = dvec3(0.0, along / 2.0, up / 2.0);
            boxed(from.min(to) - half, from.max(to) + half, Faces::Brep)
        }
    }
}

/// A prism of 24 sides whose corners lie on the cylinder.
fn faceted(from: DVec3, to: DVec3, r: f64) -> Shape {
    const SIDES: usize = 24;
    let frame = frame_along(from, to);
    let length = from.distance(to);
    let mut points = Vec::new();
    for z in [0.0, length] {
        for side in 0..SIDES {
            #[expect(clippy::cast_precision_loss, reason = "a small count")]
            let angle = std::f64::consts::TAU * side as f64 / SIDES as f64;
            points.push(frame.transform_point3(dvec3(r * angle.cos(), r * angle.sin(), z)));
        }
    }
    let mut faces: Vec<Vec<usize>> = vec![(0..SIDES).rev().collect(), (SIDES..2 * SIDES).collect()];
    for side in 0..SIDES {
        let next = (side + 1) % SIDES;
        faces.push(vec![side, next, SIDES + next, SIDES + side]);
    }
    Shape::Mesh { points, faces, kind: Faces::Brep }
}
