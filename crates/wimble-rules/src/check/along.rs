//! Checks of where a cut lies along its member.

use super::{About, Answered, Axis, Context, Figure, Missing, Parts, Reply, Room};
use crate::expression::{Length, Name};
use crate::interval::Intervals;
use crate::pack::{Around, Datum, DistanceBound, KeepOut, Lookup, Otherwise, Part, Value};
use crate::subject::{Mark, Subject};
use wimble_model::{Basis, Bound, DeckLoadKind, Unit};

/// The two points that a distance is measured from.
fn datums(
    context: &Context<'_>,
    subject: &Subject<'_>,
    datum: Datum,
) -> Result<(f64, f64), Missing> {
    match datum {
        Datum::End => Ok((0.0, subject.member().length_mm)),
        Datum::Face => subject.faces(context.basis()).ok_or(no_span(subject)),
        Datum::CentreOfBearing => {
            subject.faces(crate::pack::SpanBasis::BearingCentres).ok_or(no_span(subject))
        }
    }
}

/// Why there is no span.
pub(super) fn no_span(subject: &Subject<'_>) -> Missing {
    match subject.span() {
        Some(span) if span.basis == Basis::NearContact => Missing::NearContact,
        _ => Missing::Span,
    }
}

/// The part of the cut that is measured.
pub(super) fn extent(mark: &Mark, part: Part) -> (f64, f64) {
    match part {
        Part::Whole => (mark.x0, mark.x1),
        Part::Centre => (mark.mid_x(), mark.mid_x()),
    }
}

/// Millimetres, or a part of the span where the limit is one.
fn in_its_unit(value: f64, length: &Length, limit: f64, span: f64, bound: Bound) -> Figure {
    match length.factor_of(Name::Span) {
        Some(factor) if factor > 0.0 => {
            Figure { value: value / span, limit: factor, unit: Unit::Span, bound }
        }
        _ => Figure { value, limit, unit: Unit::Mm, bound },
    }
}

/// The cut lies in `[from, to]` of one of its two supports.
pub(super) fn zone(
    context: &Context<'_>,
    subject: &Subject<'_>,
    from: &Length,
    to: &Length,
    datum: Datum,
    part: Part,
    parts: &mut Parts,
) -> Reply {
    let (left, right) = match datums(context, subject, datum) {
        Ok(points) => points,
        Err(missing) => return Reply::Missing(missing),
    };
    let given = subject.given(context.basis());
    let (Some(a), Some(b)) = (from.mm(&given), to.mm(&given)) else {
        return Reply::Missing(no_span(subject));
    };
    let (lo, hi) = extent(&subject.mark, part);
    let near = Intervals::one(left + a, left + b);
    let far = Intervals::one(right - b, right - a);
    let (room_near, room_far) = (near.slack(lo, hi), far.slack(lo, hi));
    let allowed = near.or(&far);
    let room = allowed.slack(lo, hi).map_or(Room::Never, Room::Mm);
    // Told from the support whose zone suits better.
    let (first, last) =
        if room_far > room_near { (right - hi, right - lo) } else { (lo - left, hi - left) };
    let span = given.span_mm.unwrap_or(right - left);
    let figure = if first - a < b - last {
        in_its_unit(first, from, a, span, Bound::AtLeast)
    } else {
        in_its_unit(last, to, b, span, Bound::AtMost)
    };
    one(lo, hi, allowed, room, context, figure, parts)
}

/// No part of the cut lies inside.
pub(super) fn keep_out(
    context: &Context<'_>,
    subject: &Subject<'_>,
    what: &KeepOut,
    parts: &mut Parts,
) -> Reply {
    match what {
        KeepOut::Stretch { from, to, datum } => stretch(context, subject, from, to, *datum, parts),
        KeepOut::Around { what, within } => around(context, subject, *what, within, parts),
    }
}

fn stretch(
    context: &Context<'_>,
    subject: &Subject<'_>,
    from: &Length,
    to: &Length,
    datum: Datum,
    parts: &mut Parts,
) -> Reply {
    let (left, right) = match datums(context, subject, datum) {
        Ok(points) => points,
        Err(missing) => return Reply::Missing(missing),
    };
    let given = subject.given(context.basis());
    let (Some(a), Some(b)) = (from.mm(&given), to.mm(&given)) else {
        return Reply::Missing(no_span(subject));
    };
    let (lo, hi) = extent(&subject.mark, Part::Whole);
    let allowed =
        Intervals::without(left + a, left + b).and(&Intervals::without(right - b, right - a));
    let room = allowed.slack(lo, hi).map_or(Room::Never, Room::Mm);
    let span = given.span_mm.unwrap_or(right - left);
    // Told from the nearer support: the way out is towards it, or past the stretch.
    let (first, last) =
        if lo - left <= right - hi { (lo - left, hi - left) } else { (right - hi, right - lo) };
    let figure = if last - a <= b - first {
        in_its_unit(last, from, a, span, Bound::AtMost)
    } else {
        in_its_unit(first, to, b, span, Bound::AtLeast)
    };
    one(lo, hi, allowed, room, context, figure, parts)
}

fn around(
    context: &Context<'_>,
    subject: &Subject<'_>,
    what: Around,
    within: &Length,
    parts: &mut Parts,
) -> Reply {
    let given = subject.given(context.basis());
    let Some(within) = within.mm(&given) else { return Reply::Missing(no_span(subject)) };
    let (lo, hi) = extent(&subject.mark, Part::Whole);
    let mut thing = |from: f64, to: f64, about: About| {
        let allowed = Intervals::without(from - within, to + within);
        let gap = (from - hi).max(lo - to);
        parts.push(Answered {
            lo,
            hi,
            room: allowed.slack(lo, hi).map_or(Room::Never, Room::Mm),
            allowed,
            axis: Axis::X,
            otherwise: context.rule.otherwise,
            about,
            figure: Some(Figure {
                value: gap,
                limit: within,
                unit: Unit::Mm,
                bound: Bound::AtLeast,
            }),
        });
    };
    match what {
        Around::Bearings | Around::Hangers => {
            let doubtful = subject.view.with_doubtful;
            for (n, bearing) in subject.member().bearings.iter().enumerate() {
                let hanger = bearing.basis == Basis::Hanger;
                if (doubtful || !bearing.doubtful) && (what == Around::Bearings || hanger) {
                    thing(bearing.from_mm, bearing.to_mm, About::Bearing(n));
                }
            }
        }
        Around::Ends => {
            let length = subject.member().length_mm;
            thing(0.0, 0.0, About::Nothing);
            thing(length, length, About::Nothing);
        }
        Around::PartitionsAcross | Around::Vessels => {
            let wanted = if what == Around::Vessels {
                DeckLoadKind::Vessel
            } else {
                DeckLoadKind::PartitionAcross
            };
            for (n, load) in subject.member().loads.iter().enumerate() {
                if load.kind == wanted {
                    thing(load.from_mm, load.to_mm, About::Load(n));
                }
            }
        }
    }
    Reply::Parts
}

/// Distance to both supports (`at-least`), or to one of them (`at-most`).
pub(super) fn support_distance(
    context: &Context<'_>,
    subject: &Subject<'_>,
    bound: DistanceBound,
    value: &Value,
    part: Part,
    parts: &mut Parts,
) -> Reply {
    let (left, right) = match datums(context, subject, Datum::Face) {
        Ok(points) => points,
        Err(missing) => return Reply::Missing(missing),
    };
    let given = subject.given(context.basis());
    let (lo, hi) = extent(&subject.mark, part);
    let distance = match value {
        Value::Length(length) => match length.mm(&given) {
            Some(mm) => mm,
            None => return Reply::Missing(no_span(subject)),
        },
        Value::Table(at) => {
            let Some(table) = context.pack.tables.get(*at) else { return Reply::Silent };
            let size = subject.mark.diameter();
            let found = table.distance(
                &subject.product(),
                subject.mark.depth,
                subject.inner_support(),
                size,
                right - left,
            );
            match found {
                Lookup::Mm(mm) => mm,
                Lookup::NoProduct => return Reply::Missing(Missing::Product),
                Lookup::TooLarge { largest_mm } => {
                    return beyond(size, largest_mm, context.rule.otherwise, parts);
                }
                Lookup::SpanTooLong { limit_mm } => {
                    return beyond(right - left, limit_mm, Otherwise::Refer, parts);
                }
            }
        }
    };
    let (allowed, bound) = match bound {
        DistanceBound::AtLeast => {
            (Intervals::one(left + distance, right - distance), Bound::AtLeast)
        }
        DistanceBound::AtMost => (
            Intervals::one(left, left + distance).or(&Intervals::one(right - distance, right)),
            Bound::AtMost,
        ),
    };
    let (from_left, from_right) = (lo - left, right - hi);
    let measured = match bound {
        Bound::AtMost => (hi - left).min(right - lo),
        _ => from_left.min(from_right),
    };
    let room = allowed.slack(lo, hi).map_or(Room::Mm(measured - distance), Room::Mm);
    let figure = match value {
        Value::Length(length) => in_its_unit(measured, length, distance, right - left, bound),
        Value::Table(_) => Figure { value: measured, limit: distance, unit: Unit::Mm, bound },
    };
    one(lo, hi, allowed, room, context, figure, parts)
}

/// Beyond what a table is made for.
fn beyond(value: f64, limit: f64, otherwise: Otherwise, parts: &mut Parts) -> Reply {
    parts.push(Answered {
        lo: value,
        hi: value,
        allowed: Intervals::at_most(limit),
        axis: Axis::Size,
        room: Room::Mm(limit - value),
        otherwise,
        about: About::BeyondTable,
        figure: Some(Figure { value, limit, unit: Unit::Mm, bound: Bound::AtMost }),
    });
    Reply::Parts
}

fn one(
    lo: f64,
    hi: f64,
    allowed: Intervals,
    room: Room,
    context: &Context<'_>,
    figure: Figure,
    parts: &mut Parts,
) -> Reply {
    parts.push(Answered {
        lo,
        hi,
        allowed,
        axis: Axis::X,
        room,
        otherwise: context.rule.otherwise,
        about: About::Nothing,
        figure: Some(figure),
    });
    Reply::Parts
}
