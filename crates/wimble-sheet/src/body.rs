//! Bodies of members, services and cuts that are told by their sizes.

use crate::cut::{Made, SheetCut, outside};
use glam::{DAffine3, DMat3, DVec2, DVec3};
use smallvec::SmallVec;
use wimble_geom::{Aabb, Cylinder, Prism, Profile, Solid};
use wimble_model::{Frame, Member, Section, Service, ServiceShape};
use wimble_recognise::{MemberBody, Part, PartKind, PartShape, ServiceBody};

/// How far a service or a cut reaches past the sides of the member, mm.
const PAST_MM: f64 = 60.0;

/// The body of a member of this section and length, in its frame.
pub(crate) fn member(member: &Member) -> MemberBody {
    let (b, h) = (member.section.breadth_mm() / 2.0, member.section.depth_mm() / 2.0);
    let part = |kind: PartKind, y: f64, z: [f64; 2]| {
        let bounds =
            Aabb { min: DVec3::new(0.0, -y, z[0]), max: DVec3::new(member.length_mm, y, z[1]) };
        Part { kind, shape: PartShape::Box { bounds, ends: SmallVec::new() } }
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

/// How far things reach across a member with its plies: along y of the first ply's frame, mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Across {
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Across {
    pub(crate) fn of(member: &Member, plies: u32) -> Self {
        let b = member.section.breadth_mm();
        let last = f64::from(plies.saturating_sub(1)) * b;
        Self { from: -b / 2.0 - PAST_MM, to: last + b / 2.0 + PAST_MM }
    }
}

/// A service straight across a member, its middle at `x` and `z`.
pub(crate) fn service(
    frame: &Frame,
    service: &Service,
    across: Across,
    x: f64,
    z: f64,
) -> ServiceBody {
    let point = |y: f64| frame.world_m(DVec3::new(x, y, z));
    match service.shape {
        ServiceShape::RoundMm(mm) => ServiceBody::Round {
            from: point(across.from),
            to: point(across.to),
            radius: mm / 2000.0,
        },
        ServiceShape::RectangleMm(_) => {
            let [wide, high] = outside(service);
            let axes = DMat3::from_cols(frame.z, frame.x, frame.z.cross(frame.x));
            ServiceBody::Rectangular {
                frame: DAffine3 {
                    matrix3: axes,
                    translation: point(f64::midpoint(across.from, across.to)),
                },
                half: DVec3::new(high, wide, across.to - across.from) / 2000.0,
            }
        }
        ServiceShape::Mesh | ServiceShape::Unknown => ServiceBody::Line { points: Vec::new() },
    }
}

/// What a measured cut takes, in the world; `None` for a service that passes.
pub(crate) fn cut(
    frame: &Frame,
    cut: &SheetCut,
    depth_mm: f64,
    across: Across,
    x: f64,
) -> Option<Solid> {
    let half = depth_mm / 2.0;
    match cut.made {
        Made::Passing(_) => None,
        Made::Hole { size_mm: [wide, high], round, level } => {
            let z = level.above_middle_mm(high, depth_mm);
            let point = |y: f64| frame.world_m(DVec3::new(x, y, z));
            if round {
                return Some(Solid::Cylinder(Cylinder {
                    from: point(across.from),
                    to: point(across.to),
                    radius: wide / 2000.0,
                    inner: None,
                }));
            }
            bar(frame, [x - wide / 2.0, x + wide / 2.0], [z - high / 2.0, z + high / 2.0], across)
        }
        Made::Notch { size_mm: [wide, deep], top } => {
            let z =
                if top { [half - deep, half + PAST_MM] } else { [-half - PAST_MM, deep - half] };
            bar(frame, [x - wide / 2.0, x + wide / 2.0], z, across)
        }
    }
}

/// A rectangular bar across a member.
fn bar(frame: &Frame, x: [f64; 2], z: [f64; 2], across: Across) -> Option<Solid> {
    // The profile lies in z and x, so that it is swept along y = z × x.
    let ring = [
        DVec2::new(z[0], x[0]),
        DVec2::new(z[1], x[0]),
        DVec2::new(z[1], x[1]),
        DVec2::new(z[0], x[1]),
    ]
    .map(|p| p / 1000.0);
    let y = frame.z.cross(frame.x);
    Some(Solid::Prism(Prism {
        frame: DAffine3 {
            matrix3: DMat3::from_cols(frame.z, frame.x, y),
            translation: frame.world_m(DVec3::new(0.0, across.from, 0.0)),
        },
        profile: Profile::from_rings(&ring, &[], 0.0)?,
        sweep: y * ((across.to - across.from) / 1000.0),
    }))
}
