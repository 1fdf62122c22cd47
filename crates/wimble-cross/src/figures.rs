//! The figures of a cut.

use crate::body::Body;
use crate::crossed::{Crossed, Envelope, Source};
use crate::group::Pieces;
use crate::kind::{Reach, kind};
use crate::merge::Merged;
use crate::settings::Clearance;
use crate::timber::{LocalSection, Make, Timber};
use glam::DVec3;
use smallvec::SmallVec;
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Disc, least_circle};
use wimble_model::{
    Besides, Circle, Cut, CutKind, CutShape, Member, MemberIx, Note, Seldom, Service, ServiceIx,
    Verdict,
};
use wimble_recognise::PartKind;

/// What the figures need besides the member and the merged cut.
pub(crate) struct Around<'a> {
    pub(crate) member: MemberIx,
    pub(crate) services: &'a [Service],
    pub(crate) clearance: &'a Clearance,
}

/// What is taken by one cut.
pub(crate) struct Taken<'t, 'c> {
    pub(crate) envelope: Envelope,
    /// The bodies that make the envelope: not those inside an opening.
    pub(crate) hosts: &'t [&'c Crossed],
    /// Every body, also those inside an opening.
    pub(crate) bodies: &'t [&'c Crossed],
    /// How many services share it, the pieces of one run as one.
    pub(crate) shared: usize,
    /// It passes a void of the member and takes nothing of it.
    pub(crate) in_void: bool,
    /// The part of an open-web joist that it takes.
    pub(crate) part: Option<PartKind>,
}

/// The cut of merged removals.
pub(crate) fn cut(
    timber: &Timber<'_>,
    merged: &Merged<'_>,
    joinery: bool,
    around: &Around<'_>,
) -> Cut {
    let hosts: Pieces<'_> = merged.hosts().collect();
    let bodies: Pieces<'_> = merged.bodies().collect();
    let taken = Taken {
        envelope: merged.envelope(),
        hosts: &hosts,
        bodies: &bodies,
        shared: merged.shared(),
        in_void: merged.in_void,
        part: merged.part_taken(timber),
    };
    let reach = Reach::of(&taken.envelope);
    let kind = if joinery { CutKind::Joinery } else { kind(timber, &taken, reach) };
    let bunch_mm = all_cables(&bodies).then_some(around.clearance.cable_bunch_mm);
    let circle = (taken.shared > 1 && matches!(kind, CutKind::Hole | CutKind::WebHole))
        .then(|| circle(timber, merged, bunch_mm))
        .flatten();
    let z = merged.section.z;
    let circle = circle.map(|c| Circle {
        x_mm: c.centre.x,
        z_mm: c.centre.y - z,
        diameter_mm: 2.0 * c.radius,
    });
    let too_small = merged.too_small();
    let mut notes: ThinVec<Note> = merged.notes.iter().cloned().collect();
    note_sizes(&mut notes, &bodies, around.services);
    if !too_small.is_empty() {
        notes.push(Note::from("opening too small for the service with its clearance".to_owned()));
    }
    let seldom = Seldom { too_small, inside: merged.inside(), circle, notes, ..Seldom::NONE };
    let cut = figures(timber, &taken, reach, kind, seldom, around);
    Cut { openings: merged.openings(), ..cut }
}

/// The cut of a service with nothing beside it, as nearly every cut is: the short way of [`cut`],
/// with nothing to unite, to nest or to merge.
pub(crate) fn lone(timber: &Timber<'_>, piece: &Crossed, around: &Around<'_>) -> Cut {
    let part = piece.part_taken(timber, &piece.envelope);
    let section = timber.section_at(piece.envelope.bounds.centre().x);
    let taken = Taken {
        envelope: Envelope { section, ..piece.envelope },
        hosts: &[piece],
        bodies: &[piece],
        shared: 1,
        in_void: part.is_none() && matches!(timber.make, Make::OpenWeb { .. }),
        part,
    };
    let reach = Reach::of(&taken.envelope);
    let kind = kind(timber, &taken, reach);
    let mut seldom = Seldom::NONE;
    note_sizes(&mut seldom.notes, taken.bodies, around.services);
    figures(timber, &taken, reach, kind, seldom, around)
}

/// The figures of a cut without openings; its y and z are measured from the middle of the section
/// there.
fn figures(
    timber: &Timber<'_>,
    taken: &Taken<'_, '_>,
    reach: Reach,
    kind: CutKind,
    mut seldom: Seldom,
    around: &Around<'_>,
) -> Cut {
    let Taken { bodies, shared, .. } = *taken;
    let Envelope { section, bounds: Aabb { min, max }, .. } = taken.envelope;
    let LocalSection { y, z, breadth, depth } = section;
    let middle = DVec3::new(0.0, y, z);
    let circle = seldom.circle.as_ref();
    let mut bit_mm = circle.map_or((max.x - min.x).max(max.z - min.z), |c| c.diameter_mm);
    if all_cables(bodies) {
        bit_mm = bit_mm.max(around.clearance.cable_tool_mm);
    }
    let services = bodies.iter().filter(|b| b.is_service());
    seldom.proud_mm = services.map(|b| b.proud(timber, section)).fold(0.0, f64::max);
    seldom.middle_mm = middle;
    Cut {
        member: around.member,
        services: services_of(bodies),
        openings: ThinVec::new(),
        kind,
        edge: reach.edge(),
        shape: shape(taken.hosts),
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
        besides: Besides::from(seldom),
    }
}

fn all_cables(bodies: &[&Crossed]) -> bool {
    bodies.iter().all(|body| body.cable)
}

/// The services among bodies, each once, in order.
fn services_of(bodies: &[&Crossed]) -> SmallVec<[ServiceIx; 4]> {
    let mut found: SmallVec<_> = bodies.iter().filter_map(|b| b.source.service()).collect();
    if found.len() > 1 {
        found.sort_unstable();
        found.dedup();
    }
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

/// Notes whose sizes are not known.
fn note_sizes(notes: &mut ThinVec<Note>, bodies: &[&Crossed], services: &[Service]) {
    let name = |source: Source| match source {
        Source::Service(ix) => {
            services.get(ix.at()).and_then(|s| s.element.name.as_deref()).unwrap_or("a service")
        }
        Source::Opening(_) => "an opening",
    };
    for body in bodies {
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
}
