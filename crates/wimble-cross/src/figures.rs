//! The figures of a cut.

use crate::body::Body;
use crate::crossed::{Crossed, Source};
use crate::group::Pieces;
use crate::kind::{Reach, kind};
use crate::merge::Merged;
use crate::settings::Clearance;
use crate::timber::{LocalSection, Timber};
use glam::DVec3;
use smallvec::SmallVec;
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Disc, least_circle};
use wimble_model::{
    Besides, Circle, Cut, CutKind, CutShape, Member, MemberIx, Note, Seldom, Service, ServiceIx,
    Verdict,
};

/// What the figures need besides the member and the merged cut.
pub(crate) struct Around<'a> {
    pub(crate) member: MemberIx,
    pub(crate) services: &'a [Service],
    pub(crate) clearance: &'a Clearance,
}

/// The cut of merged removals; its y and z are measured from the middle of the section there.
pub(crate) fn cut(
    timber: &Timber<'_>,
    merged: &Merged<'_>,
    joinery: bool,
    around: &Around<'_>,
) -> Cut {
    let LocalSection { y, z, breadth, depth } = merged.section;
    let middle = DVec3::new(0.0, y, z);
    let Aabb { min, max } = merged.bounds;
    let reach = Reach::of(merged.bounds, merged.section);
    let kind = kind(timber, merged, reach, joinery);
    let hosts: Pieces<'_> = merged.hosts().collect();
    let bodies: Pieces<'_> = merged.bodies().collect();
    let all_cables = bodies.iter().all(|body| body.cable);
    let shared = merged.shared();
    let circle = (shared > 1 && matches!(kind, CutKind::Hole | CutKind::WebHole))
        .then(|| circle(timber, merged, all_cables.then_some(around.clearance.cable_bunch_mm)))
        .flatten()
        .map(|c| Circle { x_mm: c.centre.x, z_mm: c.centre.y - z, diameter_mm: 2.0 * c.radius });
    let mut bit_mm = circle.as_ref().map_or((max.x - min.x).max(max.z - min.z), |c| c.diameter_mm);
    if all_cables {
        bit_mm = bit_mm.max(around.clearance.cable_tool_mm);
    }
    Cut {
        member: around.member,
        services: services(&bodies),
        openings: merged.openings(),
        kind,
        edge: reach.edge(),
        shape: shape(&hosts),
        span: span_of(timber.member, min.x, max.x),
        shared: u32::try_from(shared).unwrap_or(u32::MAX),
        min_mm: min - middle,
        max_mm: max - middle,
        sizes_known: !bodies.iter().any(|b| matches!(b.bare, Body::Line(_)) || b.lagging_unknown),
        bit_mm,
        skew_deg: bodies.iter().map(|b| b.skew_deg()).fold(0.0, f64::max),
        depth_mm: depth,
        breadth_mm: breadth,
        margin_mm: None,
        tight: false,
        obligations: ThinVec::new(),
        verdict: Verdict::Pass,
        besides: Besides::from(Seldom {
            too_small: merged.too_small(),
            inside: merged.inside(),
            circle,
            proud_mm: bodies
                .iter()
                .filter(|b| b.is_service())
                .map(|b| b.proud(timber, merged.section))
                .fold(0.0, f64::max),
            middle_mm: middle,
            notes: notes(merged, around.services),
        }),
    }
}

/// The services among bodies, each once, in order.
fn services(bodies: &[&Crossed]) -> SmallVec<[ServiceIx; 4]> {
    let mut found: SmallVec<_> = bodies.iter().filter_map(|b| b.source.service()).collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// The least circle round the bare group, plus the largest clearance in it (a bunch of cables has
/// its own); with openings in it, round all as they are cut.
fn circle(timber: &Timber<'_>, merged: &Merged<'_>, bunch_mm: Option<f64>) -> Option<Disc> {
    let as_cut = merged.has_openings();
    let discs: Vec<Disc> =
        merged.hosts().flat_map(|b| b.outline(timber, merged.section, as_cut)).collect();
    let mut circle = least_circle(&discs)?;
    if !as_cut {
        circle.radius += match bunch_mm {
            Some(bunch_mm) => bunch_mm / 2.0,
            None => merged.hosts().map(|b| b.grow).fold(0.0, f64::max),
        };
    }
    Some(circle)
}

fn shape(hosts: &[&Crossed]) -> CutShape {
    if hosts.iter().all(|b| matches!(b.bare, Body::Round(_))) {
        CutShape::Round
    } else if hosts.iter().all(|b| matches!(b.bare, Body::Block(..))) {
        CutShape::Rectangular
    } else {
        CutShape::Other
    }
}

/// The span that a cut belongs to.
fn span_of(member: &Member, x0: f64, x1: f64) -> Option<u32> {
    let mid = f64::midpoint(x0, x1);
    let off = |span: &wimble_model::Span| (span.from_mm - mid).max(mid - span.to_mm).max(0.0);
    let nearest =
        member.spans.iter().enumerate().min_by(|(_, a), (_, b)| off(a).total_cmp(&off(b)));
    let (index, span) = nearest?;
    let over_bearing = || member.bearings.iter().any(|b| b.from_mm <= mid && mid <= b.to_mm);
    // Between two spans there is a bearing, listed or not.
    let between = || {
        member.spans.iter().any(|s| s.to_mm <= mid) && member.spans.iter().any(|s| mid <= s.from_mm)
    };
    if off(span) > 0.0 && !over_bearing() && !between() {
        return None;
    }
    u32::try_from(index).ok()
}

fn notes(merged: &Merged<'_>, services: &[Service]) -> ThinVec<Note> {
    let mut notes: ThinVec<Note> = merged.notes.iter().cloned().collect();
    let name = |source: Source| match source {
        Source::Service(ix) => {
            services.get(ix.at()).and_then(|s| s.element.name.as_deref()).unwrap_or("a service")
        }
        Source::Opening(_) => "an opening",
    };
    for body in merged.bodies() {
        if matches!(body.bare, Body::Line(_)) {
            let name = name(body.source);
            notes
                .push(Note::from(format!("{name}: its size is not in the model, taken as a line")));
        }
        if body.lagging_unknown {
            let name = name(body.source);
            notes.push(Note::from(format!("{name}: thickness of its lagging is not in the model")));
        }
    }
    if !merged.too_small().is_empty() {
        notes.push(Note::from("opening too small for the service with its clearance".to_owned()));
    }
    notes
}
