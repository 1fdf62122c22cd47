//! Checks of how large a cut is, at what level it lies, and what it leaves.

use super::{About, Answered, Axis, Context, Figure, Missing, Parts, Reply, Room};
use crate::expression::Length;
use crate::interval::Intervals;
use crate::pack::{Along, EdgeOf, Lookup, ObligeOf, Otherwise, SizeOf, Value};
use crate::subject::{Mark, Subject};
use wimble_model::{Bound, ObligationKind, Unit};

/// A length of the member that needs no span, or what is missing.
fn length(context: &Context<'_>, subject: &Subject<'_>, length: &Length) -> Result<f64, Missing> {
    length.mm(&subject.given(context.basis())).ok_or_else(|| super::along::no_span(subject))
}

/// A size of the cut is at most so much.
pub(super) fn size(
    context: &Context<'_>,
    subject: &Subject<'_>,
    of: SizeOf,
    at_most: &Value,
    parts: &mut Parts,
) -> Reply {
    let limit = match at_most {
        Value::Length(limit) => match length(context, subject, limit) {
            Ok(limit) => limit,
            Err(missing) => return Reply::Missing(missing),
        },
        Value::Table(at) => {
            let Some(table) = context.pack.tables.get(*at) else { return Reply::Silent };
            match table.greatest(&subject.product(), subject.mark.depth) {
                Lookup::Mm(limit) => limit,
                _ => return Reply::Missing(Missing::Product),
            }
        }
    };
    let (value, room) = size_room(of, &subject.mark, limit);
    parts.push(Answered {
        lo: value,
        hi: value,
        allowed: Intervals::at_most(limit),
        axis: Axis::Size,
        room,
        otherwise: context.rule.otherwise,
        about: About::Nothing,
        figure: Some(Figure { value, limit, unit: Unit::Mm, bound: Bound::AtMost }),
    });
    Reply::Parts
}

/// A size of the cut, and its room below a limit.
pub(super) fn size_room(of: SizeOf, mark: &Mark, limit: f64) -> (f64, Room) {
    let value = match of {
        SizeOf::Height => mark.height(),
        SizeOf::Width => mark.width(),
        SizeOf::NotchDepth => mark.notch_depth(),
        SizeOf::Bit => mark.bit,
        SizeOf::Across => mark.across(),
        SizeOf::Larger => mark.diameter(),
        SizeOf::Proud => mark.proud,
    };
    // How far a service lies inside its member is not measured, only how far it stands out.
    let room = match of {
        SizeOf::Proud if value <= 0.0 => Room::Plain,
        _ => Room::Mm(limit - value),
    };
    (value, room)
}

/// The centre lies within a band of mid-depth; within a wider one the answer is `refer`.
pub(super) fn level(
    context: &Context<'_>,
    subject: &Subject<'_>,
    at_most: &Length,
    refer_to: Option<&Length>,
    parts: &mut Parts,
) -> Reply {
    let band = match length(context, subject, at_most) {
        Ok(band) => band,
        Err(missing) => return Reply::Missing(missing),
    };
    let offset = subject.mark.offset();
    let part = |limit: f64, otherwise: Otherwise| {
        let room = limit - offset.abs();
        Answered {
            lo: offset,
            hi: offset,
            allowed: Intervals::one(-limit, limit),
            axis: Axis::Z,
            room: Room::Mm(room),
            otherwise,
            about: About::Nothing,
            figure: Some(Figure {
                value: offset.abs(),
                limit,
                unit: Unit::Mm,
                bound: Bound::AtMost,
            }),
        }
    };
    let Some(refer_to) = refer_to else {
        parts.push(part(band, context.rule.otherwise));
        return Reply::Parts;
    };
    match length(context, subject, refer_to) {
        Err(missing) => Reply::Missing(missing),
        Ok(reach) => {
            parts.push(part(band, Otherwise::Refer));
            parts.push(part(wider_band(&subject.mark, band, reach), context.rule.otherwise));
            Reply::Parts
        }
    }
}

/// The band within which an engineer decides: the whole hole lies within the reach of mid-depth,
/// |offset| + height/2 at most the reach.
pub(super) fn wider_band(mark: &Mark, band: f64, reach: f64) -> f64 {
    (reach - mark.height() / 2.0).max(band)
}

/// Wood left beside the cut.
pub(super) fn edge(
    context: &Context<'_>,
    subject: &Subject<'_>,
    of: EdgeOf,
    at_least: &Length,
    parts: &mut Parts,
) -> Reply {
    let least = match length(context, subject, at_least) {
        Ok(least) => least,
        Err(missing) => return Reply::Missing(missing),
    };
    let Some((from, to)) = between_edges(subject, of, least) else {
        return Reply::Missing(Missing::Flange);
    };
    let (lo, hi) = edges(&subject.mark, of);
    let axis = if of == EdgeOf::Side { Axis::Y } else { Axis::Z };
    let room = (lo - from).min(to - hi);
    let part = |allowed: Intervals, axis: Axis, room: f64| Answered {
        lo: if axis == Axis::Size { hi - lo } else { lo },
        hi: if axis == Axis::Size { hi - lo } else { hi },
        allowed,
        axis,
        room: Room::Mm(room),
        otherwise: context.rule.otherwise,
        about: About::Nothing,
        figure: Some(Figure {
            value: (lo - from).min(to - hi) + least,
            limit: least,
            unit: Unit::Mm,
            bound: Bound::AtLeast,
        }),
    };
    parts.push(part(Intervals::one(from, to), axis, room));
    // Between two edges the size is limited too, by the same hair as any other size: half of it
    // is not given twice.
    if from.is_finite() && to.is_finite() {
        let most = to - from;
        parts.push(part(Intervals::at_most(most), Axis::Size, most - (hi - lo)));
    }
    Reply::Parts
}

/// Where a cut may lie that leaves so much to an edge; `None` if the flange is not known.
pub(super) fn between_edges(subject: &Subject<'_>, of: EdgeOf, least: f64) -> Option<(f64, f64)> {
    let half = subject.mark.depth / 2.0;
    Some(match of {
        EdgeOf::Top => (f64::NEG_INFINITY, half - least),
        EdgeOf::Bottom => (-half + least, f64::INFINITY),
        EdgeOf::Nearest => (-half + least, half - least),
        EdgeOf::Flange => {
            let inner = half - subject.flange()? - least;
            (-inner, inner)
        }
        EdgeOf::Side => {
            let half = subject.mark.breadth / 2.0;
            (-half + least, half - least)
        }
    })
}

/// The cut's extent towards an edge.
pub(super) fn edges(mark: &Mark, of: EdgeOf) -> (f64, f64) {
    if of == EdgeOf::Side { (mark.y0, mark.y1) } else { (mark.z0, mark.z1) }
}

/// What remains of the depth, the breadth or the clear web.
pub(super) fn left(
    context: &Context<'_>,
    subject: &Subject<'_>,
    along: Along,
    at_least: &Length,
    parts: &mut Parts,
) -> Reply {
    let least = match length(context, subject, at_least) {
        Ok(least) => least,
        Err(missing) => return Reply::Missing(missing),
    };
    let Some(whole) = whole(subject, along) else { return Reply::Missing(Missing::Flange) };
    let cut = taken(&subject.mark, along);
    parts.push(Answered {
        lo: cut,
        hi: cut,
        allowed: Intervals::at_most(whole - least),
        axis: Axis::Size,
        room: Room::Mm(whole - cut - least),
        otherwise: context.rule.otherwise,
        about: About::Nothing,
        figure: Some(Figure {
            value: whole - cut,
            limit: least,
            unit: Unit::Mm,
            bound: Bound::AtLeast,
        }),
    });
    Reply::Parts
}

/// What there is before the cut; `None` if the flange is not known.
pub(super) fn whole(subject: &Subject<'_>, along: Along) -> Option<f64> {
    Some(match along {
        Along::Depth => subject.mark.depth,
        Along::Breadth => subject.mark.breadth,
        Along::Web => subject.mark.depth - 2.0 * subject.flange()?,
    })
}

/// What the cut takes of it.
pub(super) fn taken(mark: &Mark, along: Along) -> f64 {
    match along {
        Along::Depth => mark.notch_depth(),
        Along::Breadth => mark.across(),
        Along::Web => mark.height(),
    }
}

/// Holds, but below the figure something has to be done besides.
pub(super) fn oblige(
    context: &Context<'_>,
    subject: &Subject<'_>,
    of: ObligeOf,
    at_least: &Length,
    obligation: ObligationKind,
) -> Reply {
    let needs_mm = match length(context, subject, at_least) {
        Ok(least) => least,
        Err(missing) => return Reply::Missing(missing),
    };
    let has_mm = beside(&subject.mark, of);
    if has_mm >= needs_mm - super::HOLDS_MM {
        Reply::Parts
    } else {
        Reply::Obliged { obligation, has_mm, needs_mm }
    }
}

/// The wood that a duty asks about.
pub(super) fn beside(mark: &Mark, of: ObligeOf) -> f64 {
    let (half, side) = (mark.depth / 2.0, mark.breadth / 2.0);
    match of {
        ObligeOf::Cover => (mark.z0 + half).min(half - mark.z1),
        ObligeOf::SideCover => (mark.y0 + side).min(side - mark.y1),
        ObligeOf::LeftDepth => mark.depth - mark.notch_depth(),
        ObligeOf::LeftBreadth => mark.breadth - mark.across(),
    }
}
