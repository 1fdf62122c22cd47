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
    let counted = counted(context.rule.cut, with, mark);
    if counted.and(subject.neighbours.kinds).is_empty() {
        return Reply::Parts;
    }
    let counts = |other: &&Mark| counted.has(other.kind);
    let limit = |larger: f64| fixed + times_larger * mark.diameter().max(larger);
    if context.places {
        for other in subject.others().filter(counts) {
            parts.push(beside(context, mark, other, measure, limit(other.diameter())));
        }
        return Reply::Parts;
    }
    // For a verdict: those that are too near, and of the others the one with the least room.
    let mut nearest: Option<(f64, &Mark)> = None;
    let mut see = |other| {
        let room = distance(mark, other, measure) - limit(other.diameter());
        if !Room::Mm(room).holds() {
            parts.push(beside(context, mark, other, measure, limit(other.diameter())));
        } else if nearest.is_none_or(|(least, _)| room < least) {
            nearest = Some((room, other));
        }
        nearest.map_or(f64::INFINITY, |(least, _)| least)
    };
    match subject.neighbours.largest_of_sorted() {
        None => subject.others().filter(counts).for_each(|other| _ = see(other)),
        Some(largest) => {
            let most = limit(largest) + ROUNDED_MM;
            let mut least = f64::INFINITY;
            for side in subject.outwards() {
                for (gap, other) in side {
                    if gap - most > least.max(0.0) {
                        break;
                    }
                    if counts(&other) {
                        least = see(other);
                    }
                }
            }
        }
    }
    if let Some((_, other)) = nearest {
        parts.push(beside(context, mark, other, measure, limit(other.diameter())));
    }
    Reply::Parts
}

/// The kinds of neighbour that count. A pair is told from both sides.
pub(super) fn counted(cut: KindSet, with: With, mark: &Mark) -> KindSet {
    match with {
        With::Same => KindSet::of(&[mark.kind]),
        With::Kinds(with) => {
            let beside =
                |own: KindSet, other| if own.has(mark.kind) { other } else { KindSet::of(&[]) };
            beside(cut, with).or(beside(with, cut))
        }
    }
}

/// The least room to the neighbours that count: those further away than the nearest, or than what
/// may be too near, are not asked.
pub(super) fn least_room(
    subject: &Subject<'_>,
    counted: KindSet,
    measure: Spacing,
    fixed: f64,
    times_larger: f64,
) -> Option<f64> {
    if counted.and(subject.neighbours.kinds).is_empty() {
        return None;
    }
    let (mark, diameter) = (&subject.mark, subject.mark.diameter());
    let limit = |larger: f64| fixed + times_larger * diameter.max(larger);
    let room = |other: &Mark| distance(mark, other, measure) - limit(other.diameter());
    let counts = |other: &&Mark| counted.has(other.kind);
    let Some(largest) = subject.neighbours.largest_of_sorted() else {
        return subject.others().filter(counts).map(room).reduce(f64::min);
    };
    let most = limit(largest) + ROUNDED_MM;
    let mut least: Option<f64> = None;
    for side in subject.outwards() {
        for (gap, other) in side {
            if gap - most > least.unwrap_or(f64::INFINITY).max(0.0) {
                break;
            }
            if counts(&other) {
                let room = room(other);
                least = Some(least.map_or(room, |least| least.min(room)));
            }
        }
    }
    least
}

/// A round cut may be so much narrower than it is high, and so nearer than its gap along x, mm.
const ROUNDED_MM: f64 = 0.2;

/// The distance to one neighbour.
fn distance(mark: &Mark, other: &Mark, measure: Spacing) -> f64 {
    let (dx, dz) = (other.mid_x() - mark.mid_x(), other.offset() - mark.offset());
    let gap_x = (other.x0 - mark.x1).max(mark.x0 - other.x1);
    match measure {
        Spacing::Centres => dx.hypot(dz),
        Spacing::GapX => gap_x,
        Spacing::Clear if round(mark) && round(other) => {
            dx.hypot(dz) - f64::midpoint(mark.diameter(), other.diameter())
        }
        Spacing::Clear => {
            let gap_z = (other.z0 - mark.z1).max(mark.z0 - other.z1).max(0.0);
            if gap_x > 0.0 { gap_x.hypot(gap_z) } else { gap_z.max(gap_x) }
        }
    }
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
    let dz = other.offset() - mark.offset();
    // `reach`: how far apart along x it would do.
    let (keep, lo, hi) = match measure {
        Spacing::Centres => {
            let reach = square_left(limit, dz);
            (Intervals::without(beside - reach, beside + reach), mid, mid)
        }
        Spacing::GapX => (Intervals::without(other.x0 - limit, other.x1 + limit), mark.x0, mark.x1),
        Spacing::Clear if round(mark) && round(other) => {
            let radii = f64::midpoint(mark.diameter(), other.diameter());
            let reach = square_left(limit + radii, dz);
            (Intervals::without(beside - reach, beside + reach), mid, mid)
        }
        Spacing::Clear => {
            let gap_z = (other.z0 - mark.z1).max(mark.z0 - other.z1).max(0.0);
            let reach = square_left(limit, gap_z);
            let keep = if gap_z >= limit {
                Intervals::all()
            } else {
                Intervals::without(other.x0 - reach, other.x1 + reach)
            };
            (keep, mark.x0, mark.x1)
        }
    };
    let value = distance(mark, other, measure);
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
        && (mark.width() - mark.height()).abs() < ROUNDED_MM
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::by_hand::member_by_hand;
    use crate::check::{Known, reply};
    use crate::judge::RuleSettings;
    use crate::pack::{Check, PackSet};
    use crate::subject::View;
    use crate::windows::Probe;
    use proptest::prelude::*;
    use wimble_model::{MemberKind, Section};

    /// What a verdict depends on: who is too near, and the least room.
    fn told(parts: &[Answered]) -> (Vec<u32>, f64) {
        let broken = parts.iter().filter(|part| !part.room.holds());
        let mut broken: Vec<u32> = broken
            .filter_map(|part| if let About::Cut(cut) = part.about { Some(cut) } else { None })
            .collect();
        broken.sort_unstable();
        let rooms =
            parts.iter().filter_map(|p| if let Room::Mm(mm) = p.room { Some(mm) } else { None });
        (broken, rooms.fold(f64::INFINITY, f64::min))
    }

    proptest! {
        #[test]
        fn a_verdict_asks_of_near_neighbours_what_all_would_say(
            places in prop::collection::vec((0.0..4200.0f64, 10.0..140.0f64, 0..4usize, -60.0..60.0f64), 1..40),
            own in 0..40usize,
            sorted in any::<bool>(),
        ) {
            let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
            let member = member_by_hand(MemberKind::Joist, section, 4200.0);
            let mut marks: Vec<Mark> = places.iter().map(|&(x, size, kind, level)| {
                let probe = match kind {
                    0 => Probe::notch(CutKind::TopNotch, size, 0.2 * size),
                    1 => Probe::notch(CutKind::BottomNotch, size, 0.2 * size),
                    2 => Probe::hole(size, level).as_kind(CutKind::WebHole),
                    _ => Probe::hole(size, level),
                };
                probe.at(x, &member)
            }).collect();
            if sorted {
                marks.sort_by(|a, b| a.x0.total_cmp(&b.x0));
            }
            for (n, mark) in (0..).zip(&mut marks) {
                mark.cut = n;
            }
            let view = View::of(&member);
            let subject = Subject::new(&view, marks[own % marks.len()], &marks);
            let known = Known::of(&RuleSettings::default());
            let packs = PackSet::built_in();
            let rules = packs.known().flat_map(|pack| pack.rules.iter().map(move |rule| (pack, rule)));
            for (pack, rule) in rules.filter(|(_, rule)| matches!(rule.check, Check::Apart { .. })) {
                let ask = |places| {
                    let mut parts = Parts::new();
                    let context = Context { pack, rule, known, places };
                    let said = reply(&context, &subject, &mut parts);
                    (matches!(said, Reply::Parts), told(&parts))
                };
                prop_assert_eq!(ask(false), ask(true), "{}", rule.id);
            }
        }
    }
}
