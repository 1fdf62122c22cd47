//! Checks of how large a cut is, at what level it lies, and what it leaves.

use super::{About, Answered, Axis, Context, Figure, Missing, Parts, Reply, Room};
use crate::expression::Length;
use crate::interval::Intervals;
use crate::pack::{Along, EdgeOf, Lookup, ObligeOf, Otherwise, SizeOf, Value};
use crate::subject::Subject;
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
    let mark = &subject.mark;
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
            // The whole hole within the wider band: |offset| + height/2 at most the reach.
            let wide = (reach - subject.mark.height() / 2.0).max(band);
            parts.push(part(band, Otherwise::Refer));
            parts.push(part(wide, context.rule.otherwise));
            Reply::Parts
        }
    }
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
    let mark = &subject.mark;
    let half = mark.depth / 2.0;
    let (lo, hi, from, to, axis) = match of {
        EdgeOf::Top => (mark.z0, mark.z1, f64::NEG_INFINITY, half - least, Axis::Z),
        EdgeOf::Bottom => (mark.z0, mark.z1, -half + least, f64::INFINITY, Axis::Z),
        EdgeOf::Nearest => (mark.z0, mark.z1, -half + least, half - least, Axis::Z),
        EdgeOf::Flange => {
            let Some(flange) = subject.flange() else { return Reply::Missing(Missing::Flange) };
            let inner = half - flange - least;
            (mark.z0, mark.z1, -inner, inner, Axis::Z)
        }
        EdgeOf::Side => {
            let half = mark.breadth / 2.0;
            (mark.y0, mark.y1, -half + least, half - least, Axis::Y)
        }
    };
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
    let mark = &subject.mark;
    let (whole, cut) = match along {
        Along::Depth => (mark.depth, mark.notch_depth()),
        Along::Breadth => (mark.breadth, mark.across()),
        Along::Web => match subject.flange() {
            Some(flange) => (mark.depth - 2.0 * flange, mark.height()),
            None => return Reply::Missing(Missing::Flange),
        },
    };
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
    let mark = &subject.mark;
    let (half, side) = (mark.depth / 2.0, mark.breadth / 2.0);
    let has_mm = match of {
        ObligeOf::Cover => (mark.z0 + half).min(half - mark.z1),
        ObligeOf::SideCover => (mark.y0 + side).min(side - mark.y1),
        ObligeOf::LeftDepth => mark.depth - mark.notch_depth(),
        ObligeOf::LeftBreadth => mark.breadth - mark.across(),
    };
    if has_mm >= needs_mm - super::HOLDS_MM {
        Reply::Parts
    } else {
        Reply::Obliged { obligation, has_mm, needs_mm }
    }
}
