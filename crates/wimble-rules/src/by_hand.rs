//! Members and cuts without a model: for limits, worked examples and tests.

use glam::DVec3;
use wimble_model::{
    Basis, Bearing, Besides, Cut, CutKind, CutShape, Edge, Element, Frame, Member, MemberIx,
    MemberKind, Place, Section, Span, TimberMake, Verdict,
};

/// Length of each bearing of a member given by hand, mm.
pub const BEARING_BY_HAND_MM: f64 = 100.0;

/// A member on two supports, its clear span as stated. It runs over both bearings to their outer
/// faces; studs stand between plates instead, so that their length is the span.
#[must_use]
pub fn member_by_hand(kind: MemberKind, section: Section, clear_span_mm: f64) -> Member {
    let upright = matches!(kind, MemberKind::Stud | MemberKind::Post);
    let seat = if upright { 0.0 } else { BEARING_BY_HAND_MM };
    let bearing = |from_mm: f64, name: &str| Bearing {
        from_mm,
        to_mm: from_mm + seat,
        member: None,
        element: None,
        name: name.into(),
        basis: Basis::Stated,
        doubtful: false,
    };
    let (names, frame) = if upright {
        (
            ["the bottom plate", "the top plate"],
            Frame { origin_m: DVec3::ZERO, x: DVec3::Z, z: DVec3::Y },
        )
    } else {
        (
            ["the left support", "the right support"],
            Frame { origin_m: DVec3::ZERO, x: DVec3::X, z: DVec3::Z },
        )
    };
    Member {
        element: Element {
            name: Some(format!("{} by hand", kind.word()).into()),
            ..Element::default()
        },
        kind,
        role: None,
        with: [].into(),
        duplicates: [].into(),
        storey: None,
        place: if upright { Place::Wall } else { Place::Floor },
        material: None,
        make: match section {
            Section::IJoist { .. } | Section::OpenWeb { .. } => TimberMake::Engineered,
            _ => TimberMake::Solid,
        },
        section,
        varies: false,
        length_mm: clear_span_mm + 2.0 * seat,
        frame,
        bearings: [bearing(0.0, names[0]), bearing(clear_span_mm + seat, names[1])].into(),
        spans: [Span {
            from_mm: seat,
            to_mm: clear_span_mm + seat,
            basis: Basis::Stated,
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

/// A cut straight across a member, its box from `x0` to `x1` and `z0` to `z1`, made with a bit
/// as large as its greater side.
#[must_use]
pub fn cut_by_hand(
    ix: MemberIx,
    member: &Member,
    kind: CutKind,
    (x0, x1): (f64, f64),
    (z0, z1): (f64, f64),
) -> Cut {
    let (depth, breadth) = (member.section.depth_mm(), member.section.breadth_mm());
    let mid = DVec3::new(f64::midpoint(x0, x1), 0.0, f64::midpoint(z0, z1));
    let span = member.spans.iter().position(|s| s.from_mm <= mid.x && mid.x <= s.to_mm);
    Cut {
        member: ix,
        services: Vec::new().into(),
        openings: Vec::new().into(),
        sizes_known: true,
        kind,
        edge: match kind {
            CutKind::TopNotch => Edge::Top,
            CutKind::BottomNotch => Edge::Bottom,
            CutKind::Severed => Edge::Full,
            _ => Edge::None,
        },
        shape: CutShape::Round,
        span: span.and_then(|s| u32::try_from(s).ok()),
        shared: 1,
        min_mm: DVec3::new(x0, -breadth / 2.0, z0),
        max_mm: DVec3::new(x1, breadth / 2.0, z1),
        bit_mm: (x1 - x0).max(z1 - z0),
        skew_deg: 0.0,
        depth_mm: depth,
        breadth_mm: breadth,
        margin_mm: None,
        tight: false,
        obligations: Vec::new().into(),
        verdict: Verdict::Pass,
        besides: Besides::default(),
    }
}
