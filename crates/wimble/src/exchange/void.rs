//! The solid that a cut takes out of its member.

use glam::DVec3;
use wimble_geom::Solid;
use wimble_model::{Cut, CutKind, CutShape, Edge, Member, Service};
use wimble_report::Report;

/// How far a void stands out of the faces it reaches, so that no two faces coincide.
const PAST_MM: f64 = 1.0;
/// Within this a size, or a distance to a face, is the same.
const SAME_MM: f64 = 0.5;
/// A service this much off square needs an inclined hole, degrees.
const SQUARE_DEG: f64 = 0.05;

/// A straight void in the world: an outline swept along an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Void {
    /// Centre of the outline at its start, metres.
    pub(super) start_m: DVec3,
    /// Unit vector of the sweep.
    pub(super) along: DVec3,
    /// Unit vector of the outline's first axis, square to `along`.
    pub(super) across: DVec3,
    pub(super) outline: Outline,
    /// Length of the sweep.
    pub(super) depth_mm: f64,
    /// From face to face, or only a part of the way (a notch, a recess).
    pub(super) through: bool,
}

/// Outline of a void.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Outline {
    Round {
        diameter_mm: f64,
    },
    /// Along the first axis, and square to it.
    Rectangle {
        x_mm: f64,
        y_mm: f64,
    },
}

impl Void {
    /// The void of a cut; `None` for what removes nothing.
    pub(super) fn of(report: &Report, cut: &Cut) -> Option<Self> {
        let member = report.members.get(cut.member.at())?;
        match cut.kind {
            CutKind::Joinery | CutKind::BetweenWebs => None,
            CutKind::Hole | CutKind::WebHole => Some(hole(report, member, cut)),
            CutKind::Bore if cut.shape == CutShape::Round => Some(bore(member, cut)),
            _ => Some(block(member, cut)),
        }
    }
}

/// Through the breadth: round where a bit makes it, else its envelope.
fn hole(report: &Report, member: &Member, cut: &Cut) -> Void {
    if let Some(circle) = &cut.besides.circle {
        let centre = DVec3::new(circle.x_mm, mid(cut).y, circle.z_mm);
        return round(member, cut, centre, DVec3::Y, circle.diameter_mm);
    }
    if cut.shape != CutShape::Round {
        return block(member, cut);
    }
    if cut.skew_deg <= SQUARE_DEG && (cut.width_mm() - cut.height_mm()).abs() <= SAME_MM {
        return round(member, cut, mid(cut), DVec3::Y, cut.width_mm().max(cut.height_mm()));
    }
    match inclined(report, member, cut) {
        Some((along, diameter_mm)) => round(member, cut, mid(cut), along, diameter_mm),
        None => block(member, cut),
    }
}

fn mid(cut: &Cut) -> DVec3 {
    cut.min_mm.midpoint(cut.max_mm)
}

/// A bit's hole through the breadth, along a direction of the member's frame.
fn round(member: &Member, cut: &Cut, centre_mm: DVec3, along: DVec3, diameter_mm: f64) -> Void {
    // An inclined bit has to come out with its whole rim.
    let rim = diameter_mm / 2.0 * (1.0 - along.y * along.y).max(0.0).sqrt();
    let half = ((cut.max_mm.y - cut.min_mm.y) / 2.0 + PAST_MM + rim) / along.y;
    swept(
        member,
        cut,
        centre_mm - half * along,
        along,
        Outline::Round { diameter_mm },
        2.0 * half,
        true,
    )
}

/// Direction in the member's frame and diameter of an inclined hole, if the cut is that of one
/// straight round service: its width and its height must ask for the same diameter.
fn inclined(report: &Report, member: &Member, cut: &Cut) -> Option<(DVec3, f64)> {
    let [service] = cut.services[..] else { return None };
    let Some(Some(Solid::Cylinder(bar))) = report.service_solids.get(service.at()) else {
        return None;
    };
    let along = member.frame.turn(bar.to - bar.from).try_normalize()?;
    let along = if along.y < 0.0 { -along } else { along };
    if along.y < 0.1 {
        return None;
    }
    let breadth = cut.max_mm.y - cut.min_mm.y;
    // The section of the bar in a plane along the member is an ellipse that reaches
    // r √(1 + (u/v)²) to each side, and it wanders by b u/v from face to face.
    let diameter =
        |extent: f64, lean: f64| (extent - breadth * lean.abs()) / (1.0 + lean * lean).sqrt();
    let by_width = diameter(cut.width_mm(), along.x / along.y);
    let by_height = diameter(cut.height_mm(), along.z / along.y);
    let same = (by_width - by_height).abs() <= SAME_MM && by_width > 0.0;
    same.then(|| (along, f64::midpoint(by_width, by_height)))
}

/// A round bore up the depth.
fn bore(member: &Member, cut: &Cut) -> Void {
    let across = cut.max_mm.y - cut.min_mm.y;
    if (across - cut.width_mm()).abs() > SAME_MM {
        return block(member, cut);
    }
    let start = mid(cut).with_z(cut.min_mm.z - PAST_MM);
    let depth = cut.height_mm() + 2.0 * PAST_MM;
    let outline = Outline::Round { diameter_mm: cut.width_mm().max(across) };
    swept(member, cut, start, DVec3::Z, outline, depth, true)
}

/// The envelope of the cut, past the faces that it reaches.
fn block(member: &Member, cut: &Cut) -> Void {
    let (mut min, mut max) = (cut.min_mm, cut.max_mm);
    if matches!(cut.edge, Edge::Top | Edge::Full) {
        max.z += PAST_MM;
    }
    if matches!(cut.edge, Edge::Bottom | Edge::Full) {
        min.z -= PAST_MM;
    }
    let half = cut.breadth_mm / 2.0;
    let (right, left) = (min.y <= SAME_MM - half, max.y >= half - SAME_MM);
    // A hole in a web, or between the flanges, reaches both sides of a part thinner than the member.
    let sides = matches!(cut.kind, CutKind::Hole | CutKind::WebHole | CutKind::WebCut);
    if right || sides {
        min.y -= PAST_MM;
    }
    if left || sides {
        max.y += PAST_MM;
    }
    if min.x <= SAME_MM {
        min.x -= PAST_MM;
    }
    if max.x >= member.length_mm - SAME_MM {
        max.x += PAST_MM;
    }
    let size = max - min;
    let start = min.midpoint(max).with_y(min.y);
    let through = matches!(cut.kind, CutKind::Hole | CutKind::WebHole | CutKind::Bore);
    let outline = Outline::Rectangle { x_mm: size.x, y_mm: size.z };
    swept(member, cut, start, DVec3::Y, outline, size.y, through)
}

/// Where a member varies along its length, the levels of a cut count from mid-depth at the cut:
/// how far that is from the member's frame.
fn lift(member: &Member, cut: &Cut) -> DVec3 {
    if member.varies { cut.besides.middle_mm } else { DVec3::ZERO }
}

/// A void of the member's frame in the world.
fn swept(
    member: &Member,
    cut: &Cut,
    start_mm: DVec3,
    along: DVec3,
    outline: Outline,
    depth_mm: f64,
    through: bool,
) -> Void {
    let frame = &member.frame;
    let start_mm = start_mm + lift(member, cut);
    let world = |d: DVec3| d.x * frame.x + d.y * frame.y() + d.z * frame.z;
    // Square to the sweep, and along the member as far as that can be.
    let across = (DVec3::X - along * along.x).try_normalize().unwrap_or(DVec3::Z);
    Void {
        start_m: frame.world_m(start_mm),
        along: world(along),
        across: world(across),
        outline,
        depth_mm,
        through,
    }
}

/// What a person calls the void: the services it is for.
pub(super) fn purpose(report: &Report, cut: &Cut) -> String {
    let services = cut.services.iter().filter_map(|service| report.services.get(service.at()));
    let names: Vec<&str> = services.map(name).collect();
    if names.is_empty() { cut.kind.word().into() } else { names.join(", ") }
}

fn name(service: &Service) -> &str {
    service.element.name.as_deref().unwrap_or_else(|| service.kind.word())
}
