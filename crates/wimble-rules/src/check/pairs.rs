//! Checks of a cut against its neighbours in the member.

use super::{About, Answered, Axis, Context, Figure, Parts, Reply, Room};
use crate::expression::Length;
use crate::interval::Intervals;
use crate::pack::{KindSet, Otherwise, Spacing, With};
use crate::subject::{Mark, Subject};
use wimble_model::{Bound, CutKind, Unit};

/// Every neighbour is far enough away.
pub(super) fn apart(
    context: &Context<'_>,
    subject: &Subject<'_>,
    with: With,
    measure: Spacing,
    at_least: Option<&Length>,
    times_larger: f64,
    parts: &mut Parts,
) -> Reply {
    let given = subject.given(context.basis());
    let fixed = match at_least {
        None => 0.0,
        Some(length) => match length.mm(&given) {
            Some(mm) => mm,
            None => return Reply::Missing(super::along::no_span(subject)),
        },
    };
    let mark = &subject.mark;
    let cut = context.rule.cut;
    let counts = |other: &&Mark| match with {
        With::Same => other.kind == mark.kind,
        With::Kinds(with) => {
            (cut.has(mark.kind) && with.has(other.kind))
                || (cut.has(other.kind) && with.has(mark.kind))
        }
    };
    for other in subject.others().filter(counts) {
        let limit = fixed + times_larger * mark.diameter().max(other.diameter());
        parts.push(beside(context, mark, other, measure, limit));
    }
    Reply::Parts
}

/// The distance to one neighbour, and where it would be enough.
fn beside(
    context: &Context<'_>,
    mark: &Mark,
    other: &Mark,
    measure: Spacing,
    limit: f64,
) -> Answered {
    let (mid, beside) = (mark.mid_x(), other.mid_x());
    let (dx, dz) = (beside - mid, other.offset() - mark.offset());
    // `clear` and `reach`: distance now, and how far apart along x it would do.
    let (value, keep, lo, hi) = match measure {
        Spacing::Centres => {
            let reach = square_left(limit, dz);
            (dx.hypot(dz), Intervals::without(beside - reach, beside + reach), mid, mid)
        }
        Spacing::GapX => {
            let gap = (other.x0 - mark.x1).max(mark.x0 - other.x1);
            let keep = Intervals::without(other.x0 - limit, other.x1 + limit);
            (gap, keep, mark.x0, mark.x1)
        }
        Spacing::Clear if round(mark) && round(other) => {
            let radii = f64::midpoint(mark.diameter(), other.diameter());
            let reach = square_left(limit + radii, dz);
            let keep = Intervals::without(beside - reach, beside + reach);
            (dx.hypot(dz) - radii, keep, mid, mid)
        }
        Spacing::Clear => {
            let gap_x = (other.x0 - mark.x1).max(mark.x0 - other.x1);
            let gap_z = (other.z0 - mark.z1).max(mark.z0 - other.z1).max(0.0);
            let value = if gap_x > 0.0 { gap_x.hypot(gap_z) } else { gap_z.max(gap_x) };
            let reach = square_left(limit, gap_z);
            let keep = if gap_z >= limit {
                Intervals::all()
            } else {
                Intervals::without(other.x0 - reach, other.x1 + reach)
            };
            (value, keep, mark.x0, mark.x1)
        }
    };
    Answered {
        lo,
        hi,
        allowed: keep,
        axis: Axis::X,
        room: Room::Mm(value - limit),
        otherwise: context.rule.otherwise,
        about: About::Cut(other.cut),
        figure: Some(Figure { value, limit, unit: Unit::Mm, bound: Bound::AtLeast }),
    }
}

/// Whether a cut is made with a bit, so that distances to it are to a circle.
fn round(mark: &Mark) -> bool {
    mark.shape == wimble_model::CutShape::Round
        && matches!(mark.kind, CutKind::Hole | CutKind::WebHole)
        && (mark.width() - mark.height()).abs() < 0.2
}

/// The other leg: how far along x, when the distance is `whole` and the level differs by `dz`.
fn square_left(whole: f64, dz: f64) -> f64 {
    (whole * whole - dz * dz).max(0.0).sqrt()
}

/// A top and a bottom notch: a gap along x, and not in the same half of the span.
pub(super) fn both_edges(
    context: &Context<'_>,
    subject: &Subject<'_>,
    gap: Option<&Length>,
    same_half: Option<Otherwise>,
    parts: &mut Parts,
) -> Reply {
    let mark = &subject.mark;
    let opposite = match mark.kind {
        CutKind::TopNotch => CutKind::BottomNotch,
        CutKind::BottomNotch => CutKind::TopNotch,
        _ => return Reply::Silent,
    };
    let given = subject.given(context.basis());
    let gap = match gap {
        None => None,
        Some(gap) => match gap.mm(&given) {
            Some(mm) => Some(mm),
            None => return Reply::Missing(super::along::no_span(subject)),
        },
    };
    for other in subject.others().filter(|other| other.kind == opposite) {
        let between = (other.x0 - mark.x1).max(mark.x0 - other.x1);
        if let Some(gap) = gap {
            parts.push(Answered {
                lo: mark.x0,
                hi: mark.x1,
                allowed: Intervals::without(other.x0 - gap, other.x1 + gap),
                axis: Axis::X,
                room: Room::Mm(between - gap),
                otherwise: context.rule.otherwise,
                about: About::Cut(other.cut),
                figure: Some(Figure {
                    value: between,
                    limit: gap,
                    unit: Unit::Mm,
                    bound: Bound::AtLeast,
                }),
            });
        }
        // Where the gap is too small as well, that is the worse of the two and is said.
        if let (Some(otherwise), Some(span)) = (same_half, subject.span()) {
            let middle = f64::midpoint(span.from_mm, span.to_mm);
            let theirs = other.mid_x() - middle;
            // Over a bearing the other belongs to the nearer span: both sides of a pair say the same.
            if subject.view.span_at(other.mid_x()) != subject.span || theirs == 0.0 {
                continue;
            }
            let mine = mark.mid_x();
            let allowed =
                if theirs > 0.0 { Intervals::at_most(middle) } else { Intervals::at_least(middle) };
            let room = allowed.slack(mine, mine).unwrap_or(0.0);
            parts.push(Answered {
                lo: mine,
                hi: mine,
                allowed,
                axis: Axis::X,
                // Which half is no length of the cut: it gives no margin.
                room: if room >= -super::HOLDS_MM { Room::Plain } else { Room::Never },
                otherwise,
                about: About::Cut(other.cut),
                figure: None,
            });
        }
    }
    Reply::Parts
}

/// How many per span.
pub(super) fn count(
    context: &Context<'_>,
    subject: &Subject<'_>,
    kinds: KindSet,
    ignore_under: &Length,
    at_most: u32,
    parts: &mut Parts,
) -> Reply {
    let given = subject.given(context.basis());
    let Some(least) = ignore_under.mm(&given) else {
        return Reply::Missing(super::along::no_span(subject));
    };
    let counts = |mark: &Mark| {
        kinds.has(mark.kind) && mark.diameter() >= least - super::HOLDS_MM && mark.diameter() > 0.0
    };
    if !counts(&subject.mark) {
        return Reply::Silent;
    }
    let same_span = |mark: &&Mark| subject.view.span_at(mark.mid_x()) == subject.span;
    let number = 1 + subject.others().filter(|mark| counts(mark)).filter(same_span).count();
    let number = f64::from(u32::try_from(number).unwrap_or(u32::MAX));
    let limit = f64::from(at_most);
    parts.push(Answered {
        lo: number,
        hi: number,
        allowed: Intervals::at_most(limit),
        axis: Axis::Fixed,
        room: Room::Other(limit - number),
        otherwise: context.rule.otherwise,
        about: About::Nothing,
        figure: Some(Figure { value: number, limit, unit: Unit::Count, bound: Bound::AtMost }),
    });
    Reply::Parts
}
