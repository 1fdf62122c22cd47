//! Bodies of members, services and cuts that are told by their sizes.

use crate::cut::{Made, SheetCut, outside};
use glam::{DAffine3, DMat3, DVec2, DVec3};
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Cylinder, Prism, Profile, Solid};
use wimble_model::{Frame, Member, MemberKind, Section, Service, ServiceShape};
use wimble_recognise::{MemberBody, Part, PartKind, PartShape, ServiceBody};

/// How far a service or a cut reaches past the sides of the member, mm.
const PAST_MM: f64 = 60.0;

/// The body of a member of this section and length, in its frame.
pub(crate) fn member(member: &Member) -> MemberBody {
    let (b, h) = (member.section.breadth_mm() / 2.0, member.section.depth_mm() / 2.0);
    let part = |kind: PartKind, y: f64, z: [f64; 2]| {
        let bounds =
            Aabb { min: DVec3::new(0.0, -y, z[0]), max: DVec3::new(member.length_mm, y, z[1]) };
        Part { kind, shape: PartShape::Box { bounds, ends: ThinVec::new() } }
    };
    let parts = match member.section {
        Section::IJoist { flange_mm, web_mm, .. } => vec![
            part(PartKind::Flange, b, [-h, flange_mm - h]),
            part(PartKind::Web, web_mm / 2.0, [flange_mm - h, h - flange_mm]),
            part(PartKind::Flange, b, [h - flange_mm, h]),
        ],
        Section::OpenWeb { chord_mm, .. } => vec![
            part(PartKind::Chord, b, [-h, chord_mm - h]),
            part(PartKind::Chord, b, [h - chord_mm, h]),
        ],
        _ => vec![part(PartKind::Solid, b, [-h, h])],
    };
    MemberBody { parts }
}

/// How things pass through a member with its plies: straight across its breadth, or down through a
/// plate, which lies flat. Distances along the way and beside it are of the first ply's frame, mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Passage {
    frame: Frame,
    down: bool,
    /// How far things reach along the way.
    from: f64,
    to: f64,
    /// What levels are counted over: the depth; of a plate the breadth.
    pub(crate) high: f64,
}

impl Passage {
    pub(crate) fn of(member: &Member, plies: u32) -> Self {
        let down = member.kind == MemberKind::Plate;
        let (b, h) = (member.section.breadth_mm(), member.section.depth_mm());
        let (thick, high) = if down { (h, b) } else { (b, h) };
        let last = f64::from(plies.saturating_sub(1)) * thick;
        let (from, to) = (-thick / 2.0 - PAST_MM, last + thick / 2.0 + PAST_MM);
        Self { frame: member.frame, down, from, to, high }
    }

    /// Where the next ply lies: beside, or on top of a plate; metres.
    pub(crate) fn next_ply_m(member: &Member) -> DVec3 {
        match member.kind {
            MemberKind::Plate => member.frame.z * (member.section.depth_mm() / 1000.0),
            _ => member.frame.y() * (member.section.breadth_mm() / 1000.0),
        }
    }

    /// The place `x` along the member, so far along the way, so far above the middle; world.
    fn point(&self, x: f64, way: f64, level: f64) -> DVec3 {
        let local = if self.down { DVec3::new(x, level, way) } else { DVec3::new(x, way, level) };
        self.frame.world_m(local)
    }

    /// Right-handed axes of which the last runs along the way; whether the first of them is along the
    /// member, and not across the way.
    fn axes(&self) -> (DMat3, bool) {
        let Frame { x, z, .. } = self.frame;
        let y = z.cross(x);
        if self.down {
            (DMat3::from_cols(x, y, z), true)
        } else {
            (DMat3::from_cols(z, x, y), false)
        }
    }

    fn length(&self) -> f64 {
        self.to - self.from
    }

    /// A round bar right through.
    fn round(&self, x: f64, level: f64) -> [DVec3; 2] {
        [self.point(x, self.from, level), self.point(x, self.to, level)]
    }

    /// A rectangular bar right through.
    fn bar(&self, x: [f64; 2], level: [f64; 2]) -> Option<Solid> {
        let (axes, along_first) = self.axes();
        let corners = [(0, 0), (1, 0), (1, 1), (0, 1)];
        let ring = corners.map(|(i, j)| {
            let p =
                if along_first { DVec2::new(x[i], level[j]) } else { DVec2::new(level[i], x[j]) };
            p / 1000.0
        });
        Some(Solid::Prism(Prism {
            frame: DAffine3 { matrix3: axes, translation: self.point(0.0, self.from, 0.0) },
            profile: Profile::from_rings(&ring, &[], 0.0)?,
            sweep: axes.z_axis * (self.length() / 1000.0),
        }))
    }
}

/// A service straight through a member, its middle at `x` and `level`.
pub(crate) fn service(passage: &Passage, service: &Service, x: f64, level: f64) -> ServiceBody {
    match service.shape {
        ServiceShape::RoundMm(mm) => {
            let [from, to] = passage.round(x, level);
            ServiceBody::Round { from, to, radius: mm / 2000.0 }
        }
        ServiceShape::RectangleMm(_) => {
            let [wide, high] = outside(service);
            let (axes, along_first) = passage.axes();
            let [a, b] = if along_first { [wide, high] } else { [high, wide] };
            let middle = f64::midpoint(passage.from, passage.to);
            ServiceBody::Rectangular {
                frame: Box::new(DAffine3 {
                    matrix3: axes,
                    translation: passage.point(x, middle, level),
                }),
                half: DVec3::new(a, b, passage.length()) / 2000.0,
            }
        }
        ServiceShape::Mesh | ServiceShape::Unknown => ServiceBody::Line { points: Vec::new() },
    }
}

/// What a measured cut takes, in the world; `None` for a service that passes.
pub(crate) fn cut(passage: &Passage, cut: &SheetCut, x: f64) -> Option<Solid> {
    let half = passage.high / 2.0;
    match cut.made {
        Made::Passing(_) => None,
        Made::Hole { size_mm: [wide, high], round, level } => {
            let level = level.above_middle_mm(high, passage.high);
            if round {
                let [from, to] = passage.round(x, level);
                return Some(Solid::Cylinder(Cylinder {
                    from,
                    to,
                    radius: wide / 2000.0,
                    inner: None,
                }));
            }
            let (wide, high) = (wide / 2.0, high / 2.0);
            passage.bar([x - wide, x + wide], [level - high, level + high])
        }
        Made::Notch { size_mm: [wide, deep], top } => {
            let level =
                if top { [half - deep, half + PAST_MM] } else { [-half - PAST_MM, deep - half] };
            passage.bar([x - wide / 2.0, x + wide / 2.0], level)
        }
    }
}
