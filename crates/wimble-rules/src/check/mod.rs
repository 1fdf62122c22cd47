//! The closed set of checks. Each gives one answer: what it allows on one axis, and where the
//! cut lies on it. Whether the cut holds, how much room it has, what the limit is and where it
//! would hold are all read from that same answer, so that they cannot disagree.

mod across;
mod along;
mod free;
mod of_cut;
mod pairs;
mod short;
mod things;

pub(crate) use free::{Free, Taken};
pub(crate) use of_cut::OfCut;
pub(crate) use short::{Short, Told};
pub(crate) use things::{Known, asked};

use crate::interval::Intervals;
use crate::pack::{Check, Fact, Otherwise, Pack, Rule, SpanBasis};
use crate::subject::Subject;
use smallvec::SmallVec;
use wimble_model::{Bound, ObligationKind, Unit};

/// How much a check may be missed: 0.05 mm and a hair, in favour of the cut.
pub const HOLDS_MM: f64 = 0.05 + 1e-9;

/// The parts of an answer: nearly always one or two.
pub(crate) type Parts = SmallVec<[Answered; 2]>;

/// What a check says of a cut.
#[derive(Debug, Clone)]
pub(crate) enum Answer {
    /// It does not speak of this cut.
    Silent,
    /// A fact is missing.
    Missing(Missing),
    /// What it allows; every part has to hold.
    Parts(Vec<Answered>),
    /// Holds, but something has to be done besides.
    Obliged { has_mm: f64, needs_mm: f64 },
}

/// The same with its parts in a list that the caller keeps: judging asks nothing more often, and
/// an answer is too large to be handed from one function to the next.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Reply {
    /// It does not speak of this cut.
    Silent,
    /// A fact is missing.
    Missing(Missing),
    /// What it allows is in the list of parts.
    Parts,
    /// Holds, but something has to be done besides.
    Obliged { obligation: ObligationKind, has_mm: f64, needs_mm: f64 },
}

/// A fact that a rule needs and that is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Missing {
    /// The clear span: a bearing is missing.
    Span,
    /// The clear span: a gap over a bearing wall.
    NearContact,
    /// Any other fact.
    Fact(Fact),
    /// The flange of a joist.
    Flange,
    /// Which product it is.
    Product,
}

/// One thing that has to hold.
#[derive(Debug, Clone)]
pub(crate) struct Answered {
    /// Where the cut lies on the axis.
    pub(crate) lo: f64,
    pub(crate) hi: f64,
    /// What is allowed there.
    pub(crate) allowed: Intervals,
    /// Which axis.
    pub(crate) axis: Axis,
    /// How much room there is.
    pub(crate) room: Room,
    /// What it means when it does not hold.
    pub(crate) otherwise: Otherwise,
    /// What it is about besides the cut.
    pub(crate) about: About,
    /// What is measured and held against what.
    pub(crate) figure: Option<Figure>,
}

/// What a part speaks of besides the cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum About {
    Nothing,
    /// Another cut, by its index.
    Cut(u32),
    /// A bearing of the member.
    Bearing(usize),
    /// A load on the member.
    Load(usize),
    /// The table does not reach so far: the largest size or the longest span, in mm.
    BeyondTable,
}

/// The axis of an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Axis {
    /// Along the member.
    X,
    /// Up the depth.
    Z,
    /// Across the breadth.
    Y,
    /// A size of the cut, by which it can be solved for a limit.
    Size,
    /// A fact of the member, or a number: nothing of the cut moves it.
    Fixed,
}

/// How much room there is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Room {
    /// Millimetres; negative is broken.
    Mm(f64),
    /// In another measure than length; negative is broken.
    Other(f64),
    /// Never holds.
    Never,
    /// Holds without a measure.
    Plain,
}

impl Room {
    /// Whether it holds, in favour of the cut by a hair.
    pub(crate) fn holds(self) -> bool {
        match self {
            Self::Mm(mm) => mm >= -HOLDS_MM,
            Self::Other(room) => room >= -1e-9,
            Self::Never => false,
            Self::Plain => true,
        }
    }

    /// Whether it holds on the exact limit.
    pub(crate) fn holds_exactly(self) -> bool {
        match self {
            Self::Mm(mm) => mm >= -1e-7,
            room => room.holds(),
        }
    }
}

/// A figure and what it is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Figure {
    pub(crate) value: f64,
    pub(crate) limit: f64,
    pub(crate) unit: Unit,
    pub(crate) bound: Bound,
}

/// What a check needs besides the cut.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Context<'c> {
    pub(crate) pack: &'c Pack,
    pub(crate) rule: &'c Rule,
    pub(crate) known: Known,
    /// Whether places are asked for, and not only a verdict: then every neighbour counts, however
    /// far away it is.
    pub(crate) places: bool,
}

impl Context<'_> {
    pub(crate) fn basis(&self) -> SpanBasis {
        self.pack.span_basis
    }
}

/// Asks a rule's check about a cut; what has to hold is added to `parts`, whose room a caller that
/// asks a thousand times keeps. `when`, `after` and the kinds of cut are the caller's.
pub(crate) fn reply(context: &Context<'_>, subject: &Subject<'_>, parts: &mut Parts) -> Reply {
    let rule = context.rule;
    match &rule.check {
        Check::Zone { from, to, datum, part } => {
            along::zone(context, subject, from, to, *datum, *part, parts)
        }
        Check::KeepOut(what) => along::keep_out(context, subject, what, parts),
        Check::SupportDistance { bound, value, part } => {
            along::support_distance(context, subject, *bound, value, *part, parts)
        }
        Check::Size { of, at_most } => across::size(context, subject, *of, at_most, parts),
        Check::Level { at_most, refer_to } => {
            across::level(context, subject, at_most, refer_to.as_ref(), parts)
        }
        Check::Edge { of, at_least } => across::edge(context, subject, *of, at_least, parts),
        Check::Left { along, at_least } => across::left(context, subject, *along, at_least, parts),
        Check::Apart { with, measure, at_least, times_larger } => {
            let at_least = at_least.as_ref();
            pairs::apart(context, subject, *with, *measure, at_least, *times_larger, parts)
        }
        Check::BothEdges { gap, same_half } => {
            pairs::both_edges(context, subject, gap.as_ref(), *same_half, parts)
        }
        Check::Count { kinds, ignore_under, at_most } => {
            pairs::count(context, subject, *kinds, ignore_under, *at_most, parts)
        }
        Check::Forbid { kinds } => {
            if !kinds.has(subject.mark.kind) {
                return Reply::Silent;
            }
            parts.push(Answered {
                lo: 0.0,
                hi: 0.0,
                allowed: Intervals::none(),
                axis: Axis::Fixed,
                room: Room::Never,
                otherwise: rule.otherwise,
                about: About::Nothing,
                figure: None,
            });
            Reply::Parts
        }
        Check::Member(condition) => things::member(context, subject, condition, parts),
        Check::Oblige { of, at_least, obligation } => {
            across::oblige(context, subject, *of, at_least, *obligation)
        }
    }
}

/// The same with its parts.
pub(crate) fn answer(context: &Context<'_>, subject: &Subject<'_>) -> Answer {
    let mut parts = Parts::new();
    match reply(context, subject, &mut parts) {
        Reply::Silent => Answer::Silent,
        Reply::Missing(missing) => Answer::Missing(missing),
        Reply::Parts => Answer::Parts(parts.into_vec()),
        Reply::Obliged { has_mm, needs_mm, .. } => Answer::Obliged { has_mm, needs_mm },
    }
}

/// Whether a rule speaks of a cut beside another: pairs are told from both sides.
pub(crate) fn speaks_of(rule: &Rule, subject: &Subject<'_>) -> bool {
    let kind = subject.mark.kind;
    match &rule.check {
        Check::Apart { with: crate::pack::With::Kinds(with), .. } => {
            rule.cut.has(kind) || with.has(kind)
        }
        _ => rule.cut.has(kind),
    }
}
