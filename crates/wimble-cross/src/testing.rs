//! Scenes built by hand for tests. Lengths in millimetres, world axes.

use crate::{Clearance, CrossSettings, cross};
use glam::{DAffine3, DMat3, DVec3};
use wimble_geom::{Aabb, Mesh, Plane, Solid};
use wimble_model::{
    Basis, Bearing, Cut, Element, Frame, Lagging, Member, MemberIx, MemberKind, Opening,
    OpeningSource, Place, Section, Service, ServiceKind, ServiceMaterial, ServiceShape, Span,
    TimberMake, Trade,
};
use wimble_recognise::{MemberBody, Part, PartKind, PartShape, Scene, ServiceBody};

/// A pipe of this outside diameter.
pub(crate) fn service(diameter: f64) -> Service {
    Service {
        element: Element { name: Some(format!("pipe {diameter}").into()), ..Element::default() },
        kind: ServiceKind::Pipe,
        trade: Trade::Heating,
        material: ServiceMaterial::Metal,
        system: None,
        run: 0,
        storey: None,
        shape: ServiceShape::RoundMm(diameter),
        lagging: Lagging::None,
        notes: [].into(),
    }
}

/// A member with this section and length, bearing 100 mm at each end.
pub(crate) fn member(section: Section, length: f64, frame: Frame) -> Member {
    let bearing = |from: f64, to: f64| Bearing {
        from_mm: from,
        to_mm: to,
        member: None,
        element: None,
        name: "wall".into(),
        basis: Basis::Contact,
        doubtful: false,
    };
    Member {
        element: Element::default(),
        kind: MemberKind::Joist,
        role: None,
        with: [].into(),
        duplicates: [].into(),
        storey: None,
        place: Place::Floor,
        material: None,
        make: TimberMake::Solid,
        section,
        varies: false,
        length_mm: length,
        frame,
        bearings: [bearing(0.0, 100.0), bearing(length - 100.0, length)].into(),
        spans: [Span {
            from_mm: 100.0,
            to_mm: length - 100.0,
            basis: Basis::Contact,
            from_bearing: Some(0),
            to_bearing: Some(1),
        }]
        .into(),
        spans_without_doubtful: None,
        open_ends: [].into(),
        loads: [].into(),
        load_bearing: None,
        notes: [].into(),
    }
}

/// A scene in the making. Coordinates are given in millimetres and placed by `origin` (metres)
/// and a turn about the vertical, so that the same scene can be built anywhere.
pub(crate) struct Build {
    pub(crate) scene: Scene,
    pub(crate) settings: CrossSettings,
    pub(crate) place: DAffine3,
}

pub(crate) const JOIST: Section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };

impl Build {
    /// Nothing yet; 5 mm clearance for everything, as the demo building.
    pub(crate) fn new() -> Self {
        Self::at(DVec3::ZERO, 0.0)
    }

    pub(crate) fn at(origin: DVec3, turn: f64) -> Self {
        Self {
            scene: Scene::default(),
            settings: CrossSettings { clearance: Clearance::one(5.0), ..CrossSettings::default() },
            place: DAffine3 { matrix3: DMat3::from_rotation_z(turn), translation: origin },
        }
    }

    /// A joist of 47 × 220, 3800 long, from the origin along X, z up, and one service.
    pub(crate) fn joist() -> Self {
        let mut build = Self::new();
        build.member(JOIST, 3800.0, DVec3::ZERO);
        build
    }

    fn point(&self, mm: DVec3) -> DVec3 {
        self.place.transform_point3(mm / 1000.0)
    }

    /// A member along X from `at` (the middle of its section).
    pub(crate) fn member(&mut self, section: Section, length: f64, at: DVec3) -> &mut Member {
        let (b, h) = (section.breadth_mm() / 2.0, section.depth_mm() / 2.0);
        let bounds = Aabb { min: DVec3::new(0.0, -b, -h), max: DVec3::new(length, b, h) };
        let shape = PartShape::Box { bounds, ends: thin_vec::ThinVec::new() };
        self.member_of(section, length, at, vec![Part { kind: PartKind::Solid, shape }])
    }

    pub(crate) fn member_of(
        &mut self,
        section: Section,
        length: f64,
        at: DVec3,
        parts: Vec<Part>,
    ) -> &mut Member {
        let frame = Frame {
            origin_m: self.point(at),
            x: self.place.transform_vector3(DVec3::X),
            z: DVec3::Z,
        };
        self.scene.members.push(member(section, length, frame));
        self.scene.member_bodies.push(MemberBody { parts });
        self.scene.members.last_mut().expect("just pushed")
    }

    /// Cuts the last member's first part by a half space of its own frame.
    pub(crate) fn end(&mut self, point: DVec3, normal: DVec3) {
        let plane = Plane::through(point, normal).expect("a direction");
        let body = self.scene.member_bodies.last_mut().expect("a member");
        for part in &mut body.parts {
            if let PartShape::Box { ends, .. } = &mut part.shape {
                ends.push(plane);
            }
        }
    }

    fn push(&mut self, service: Service, body: ServiceBody) -> &mut Service {
        let run = u32::try_from(self.scene.services.len()).expect("few");
        self.scene.services.push(Service { run, ..service });
        self.scene.service_bodies.push(body);
        self.scene.services.last_mut().expect("just pushed")
    }

    pub(crate) fn pipe(&mut self, diameter: f64, from: [f64; 3], to: [f64; 3]) -> &mut Service {
        let (from, to) = (self.point(from.into()), self.point(to.into()));
        self.push(service(diameter), ServiceBody::Round { from, to, radius: diameter / 2000.0 })
    }

    /// A pipe across the joist at y −200 to 200.
    pub(crate) fn across(&mut self, diameter: f64, x: f64, z: f64) -> &mut Service {
        self.pipe(diameter, [x, -200.0, z], [x, 200.0, z])
    }

    /// A rectangular duct along `z_axis`, with its sides along `x_axis` and across.
    pub(crate) fn duct(
        &mut self,
        size: [f64; 3],
        centre: [f64; 3],
        x_axis: DVec3,
        z_axis: DVec3,
    ) -> &mut Service {
        let own = DMat3::from_cols(x_axis, z_axis.cross(x_axis), z_axis);
        let frame =
            DAffine3 { matrix3: self.place.matrix3 * own, translation: self.point(centre.into()) };
        let half = DVec3::from(size) / 2000.0;
        let shape = ServiceShape::RectangleMm([size[0], size[1]]);
        let duct =
            Service { kind: ServiceKind::Duct, trade: Trade::Air, shape, ..service(size[0]) };
        self.push(duct, ServiceBody::Rectangular { frame: frame.into(), half })
    }

    /// A mesh given in millimetres.
    pub(crate) fn mesh(&mut self, mesh: &Mesh) -> &mut Service {
        let points = mesh.points.iter().map(|p| self.point(*p)).collect();
        let mesh = Mesh { points, chord: mesh.chord / 1000.0, ..mesh.clone() };
        let fitting =
            Service { kind: ServiceKind::Fitting, shape: ServiceShape::Mesh, ..service(22.0) };
        self.push(fitting, ServiceBody::Mesh(mesh))
    }

    pub(crate) fn line(&mut self, points: &[[f64; 3]]) -> &mut Service {
        let points = points.iter().map(|p| self.point((*p).into())).collect();
        let cable = Service { shape: ServiceShape::Unknown, ..service(0.0) };
        self.push(cable, ServiceBody::Line { points })
    }

    /// An opening in the last member, given in millimetres.
    pub(crate) fn opening(&mut self, solid: &Solid) {
        let scale = DAffine3::from_scale(DVec3::splat(1.0 / 1000.0));
        let placed = solid.transformed(&(self.place * scale)).expect("a solid");
        let member = MemberIx::from(self.scene.members.len() - 1);
        let source = OpeningSource::Element;
        self.scene.openings.push(Opening {
            element: Element::default(),
            member,
            source,
            touches: false,
        });
        self.scene.opening_bodies.push(placed);
    }

    pub(crate) fn cuts(&self) -> Vec<Cut> {
        cross(&self.scene, &self.settings)
    }

    /// The one cut that there is.
    #[track_caller]
    pub(crate) fn cut(&self) -> Cut {
        let mut cuts = self.cuts();
        assert_eq!(cuts.len(), 1, "{cuts:#?}");
        cuts.remove(0)
    }
}
