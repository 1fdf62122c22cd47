//! Facts of the member and of the services in a cut.

use super::{About, Answered, Axis, Context, Figure, Missing, Parts, Reply, Room};
use crate::interval::Intervals;
use crate::pack::{
    Condition, Fact, Range, SpanBasis, Test, kind_known, load_word, make_word, place_word,
    role_word, shape_word,
};
use crate::subject::{Subject, View, service_bit, trade_bit};
use wimble_model::{Bound, DeckLoad, Member, Section, Unit};

/// What is known or assumed beyond the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Known {
    /// Domestic use, stated or assumed.
    pub(crate) domestic: bool,
    /// Studs, posts and plates whose `LoadBearing` is not stated count as bearing.
    pub(crate) assume_bearing: bool,
}

impl Known {
    /// What the settings say, with what is assumed where they are silent.
    pub(crate) fn of(settings: &crate::judge::RuleSettings) -> Self {
        Self {
            domestic: settings.domestic.unwrap_or(true),
            assume_bearing: settings.assume_bearing,
        }
    }
}

/// A `member` check.
pub(super) fn member(
    context: &Context<'_>,
    subject: &Subject<'_>,
    condition: &Condition,
    parts: &mut Parts,
) -> Reply {
    let basis = context.basis();
    let (lo, allowed, room, figure) = match &condition.test {
        Test::Lengths(range) => {
            let Some(value) = length(subject, condition.fact, basis) else {
                return Reply::Missing(super::along::no_span(subject));
            };
            let given = subject.given(basis);
            let least = range.at_least.as_ref().and_then(|l| l.mm(&given));
            let most = range.at_most.as_ref().and_then(|l| l.mm(&given));
            bounds(value, least, most, Unit::Mm)
        }
        Test::Figures(range) => {
            let Some(value) = figure_of(subject, condition.fact) else {
                return Reply::Missing(super::along::no_span(subject));
            };
            let unit = if condition.fact == Fact::SpanToDepth { Unit::Depth } else { Unit::Count };
            let (lo, allowed, room, figure) = bounds(value, range.at_least, range.at_most, unit);
            (lo, allowed, other(room), figure)
        }
        Test::Words { .. } | Test::YesNo(_) => {
            match asked(context.known, subject, condition, basis) {
                Err(missing) => return Reply::Missing(missing),
                Ok(true) => (0.0, Intervals::all(), Room::Plain, None),
                Ok(false) => (0.0, Intervals::none(), Room::Never, None),
            }
        }
    };
    parts.push(Answered {
        lo,
        hi: lo,
        allowed,
        axis: Axis::Fixed,
        room,
        otherwise: context.rule.otherwise,
        about: the_load(subject, condition).map_or(About::Nothing, About::Load),
        figure,
    });
    Reply::Parts
}

const fn other(room: Room) -> Room {
    match room {
        Room::Mm(room) => Room::Other(room),
        room => room,
    }
}

fn bounds(
    value: f64,
    least: Option<f64>,
    most: Option<f64>,
    unit: Unit,
) -> (f64, Intervals, Room, Option<Figure>) {
    let low = least.map_or(f64::INFINITY, |l| value - l);
    let high = most.map_or(f64::INFINITY, |m| m - value);
    let allowed = Intervals::one(least.unwrap_or(f64::NEG_INFINITY), most.unwrap_or(f64::INFINITY));
    let figure = if low < high {
        least.map(|limit| Figure { value, limit, unit, bound: Bound::AtLeast })
    } else {
        most.map(|limit| Figure { value, limit, unit, bound: Bound::AtMost })
    };
    (value, allowed, Room::Mm(low.min(high)), figure)
}

/// The load that a condition on loads trips over.
fn the_load(subject: &Subject<'_>, condition: &Condition) -> Option<usize> {
    let Test::Words { not, .. } = &condition.test else { return None };
    if condition.fact != Fact::Load {
        return None;
    }
    subject
        .member()
        .loads
        .iter()
        .position(|load| stands_here(subject, load) && not.contains(&load_word(load.kind)))
}

/// Whether a load stands over the cut's span (anywhere, where the span is not known).
fn stands_here(subject: &Subject<'_>, load: &DeckLoad) -> bool {
    subject.span().is_none_or(|span| load.to_mm >= span.from_mm && load.from_mm <= span.to_mm)
}

/// Whether a condition holds, or which fact is missing.
pub(crate) fn asked(
    known: Known,
    subject: &Subject<'_>,
    condition: &Condition,
    basis: SpanBasis,
) -> Result<bool, Missing> {
    let fact = condition.fact;
    match &condition.test {
        Test::Words { is, not } => words(known, subject, fact, is, not),
        Test::YesNo(wanted) => {
            let value = match fact {
                Fact::LoadBearing => {
                    subject.member().load_bearing.or(known.assume_bearing.then_some(true))
                }
                Fact::WebsKnown => match subject.member().section {
                    Section::OpenWeb { webs_known, .. } => Some(webs_known),
                    _ => Some(true),
                },
                Fact::SizeKnown => Some(subject.mark.sizes_known),
                _ => None,
            };
            value.map(|value| value == *wanted).ok_or(Missing::Fact(fact))
        }
        Test::Lengths(range) => {
            let value = length(subject, fact, basis).ok_or(super::along::no_span(subject))?;
            let given = subject.given(basis);
            let mm = |l: &Option<crate::expression::Length>| l.as_ref().and_then(|l| l.mm(&given));
            Ok(inside(
                value,
                &Range {
                    at_least: mm(&range.at_least),
                    at_most: mm(&range.at_most),
                    above: mm(&range.above),
                    below: mm(&range.below),
                },
            ))
        }
        Test::Figures(range) => {
            let value = figure_of(subject, fact).ok_or(super::along::no_span(subject))?;
            Ok(inside(value, range))
        }
    }
}

fn inside(value: f64, range: &Range<f64>) -> bool {
    let hair = super::HOLDS_MM;
    range.at_least.is_none_or(|l| value >= l - hair)
        && range.below.is_none_or(|l| value < l - hair)
        && range.at_most.is_none_or(|m| value <= m + hair)
        && range.above.is_none_or(|m| value > m + hair)
}

fn words(
    known: Known,
    subject: &Subject<'_>,
    fact: Fact,
    is: &[&'static str],
    not: &[&'static str],
) -> Result<bool, Missing> {
    let member = subject.member();
    let one =
        |word: &'static str| Ok((is.is_empty() || is.contains(&word)) && !not.contains(&word));
    match fact {
        // A condition that only rules words out holds of what is not known too.
        Fact::Kind if is.is_empty() || kind_known(member.kind) || is.contains(&"unknown") => {
            one(member.kind.word())
        }
        Fact::Section if is.is_empty() || !matches!(member.section, Section::Unknown { .. }) => {
            one(member.section.word())
        }
        Fact::Kind | Fact::Section => Err(Missing::Fact(fact)),
        Fact::Make => one(make_word(member.make)),
        Fact::Place => one(place_word(member.place)),
        Fact::Role => one(role_word(member.role)),
        Fact::Use => one(if known.domestic { "domestic" } else { "other" }),
        Fact::Shape => one(shape_word(subject.mark.shape)),
        Fact::Load => Ok(several(is, not, |word| {
            member
                .loads
                .iter()
                .any(|load| load_word(load.kind) == word && stands_here(subject, load))
        })),
        Fact::Trade => Ok(several(is, not, |word| {
            crate::pack::ALL_TRADES.iter().any(|&trade| {
                crate::pack::trade_word(trade) == word
                    && subject.mark.trades & trade_bit(trade) != 0
            })
        })),
        Fact::Service => Ok(several(is, not, |word| {
            crate::pack::ALL_SERVICES
                .iter()
                .any(|&kind| kind.word() == word && subject.mark.services & service_bit(kind) != 0)
        })),
        _ => Err(Missing::Fact(fact)),
    }
}

fn several(is: &[&'static str], not: &[&'static str], has: impl Fn(&str) -> bool) -> bool {
    (is.is_empty() || is.iter().any(|word| has(word))) && !not.iter().any(|word| has(word))
}

fn length(subject: &Subject<'_>, fact: Fact, basis: SpanBasis) -> Option<f64> {
    match fact {
        Fact::Depth => Some(subject.mark.depth),
        Fact::Breadth => Some(subject.mark.breadth),
        Fact::Length => Some(subject.member().length_mm),
        Fact::Span => subject.given(basis).span_mm,
        Fact::Overhang => Some(overhang(subject.view)),
        _ => None,
    }
}

/// An overhang with a load on it counts as a long one.
fn overhang(view: &View<'_>) -> f64 {
    let member: &Member = view.member;
    let over = view.overhang();
    let first = view.bearings().map(|b| b.from_mm).reduce(f64::min);
    let last = view.bearings().map(|b| b.to_mm).reduce(f64::max);
    let loaded = over > 0.0
        && member.loads.iter().any(|load| {
            first.is_some_and(|f| load.from_mm < f - 1.0)
                || last.is_some_and(|l| load.to_mm > l + 1.0)
        });
    if loaded { member.length_mm } else { over }
}

fn figure_of(subject: &Subject<'_>, fact: Fact) -> Option<f64> {
    match fact {
        Fact::SpanToDepth => Some(subject.given(SpanBasis::Clear).span_mm? / subject.mark.depth),
        Fact::Spans => Some(f64::from(u32::try_from(subject.view.spans.len()).unwrap_or(u32::MAX))),
        Fact::Shared => Some(f64::from(subject.mark.shared)),
        _ => None,
    }
}
