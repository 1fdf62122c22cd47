//! A check with the figures of a member put in: what it comes to, without the words.
//!
//! Where the faces of a span are, what a length of the pack comes to, what is kept clear: all that
//! is the same for every cut of one kind in one span. It is worked out once, from the same answer
//! that the long way gives ([`super::reply`]); then a cut is asked with a few comparisons. What
//! does not hold is asked the long way, which has its figures and what it is about.

use super::free::Taken;
use super::of_cut::OfCut;
use super::{Context, HOLDS_MM, Parts, Reply, Room, across, along, pairs, reply};
use crate::interval::Intervals;
use crate::pack::{
    Along, Check, EdgeOf, KindSet, ObligeOf, Otherwise, Part, SizeOf, Spacing, Value,
};
use crate::subject::Subject;
use smallvec::SmallVec;
use wimble_model::CutKind;

/// A check, ready for the cuts of one kind in one span.
#[derive(Debug, PartialEq)]
pub(crate) enum Short {
    /// The same for all of them.
    Settled(Told),
    /// Where along the member they may lie: inside each of these.
    Along {
        part: Part,
        allowed: SmallVec<[Intervals; 1]>,
    },
    Size {
        of: SizeOf,
        at_most: f64,
    },
    Level {
        band: f64,
        reach: Option<f64>,
    },
    Edge {
        of: EdgeOf,
        from: f64,
        to: f64,
    },
    Left {
        along: Along,
        whole: f64,
        least: f64,
    },
    Apart {
        counted: KindSet,
        measure: Spacing,
        fixed: f64,
        times_larger: f64,
    },
    /// Notches in both edges: a member is rarely cut so, and has no short form where it is.
    BothEdges {
        opposite: CutKind,
    },
    OfCut(OfCut),
    Oblige {
        of: ObligeOf,
        needs: f64,
    },
}

/// What a check comes to for one cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Told {
    /// It does not speak of it.
    Silent,
    /// A fact is missing.
    Missing,
    /// Something has to be done besides.
    Obliged,
    /// All its parts together.
    Parts(Sum),
}

/// What the parts of an answer come to together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sum {
    /// Whether there is any.
    pub(crate) any: bool,
    /// The least room of those that are a length, mm.
    pub(crate) least_mm: f64,
    /// Whether one can never hold.
    pub(crate) never: bool,
    /// The worst of what does not hold.
    pub(crate) broken: Option<Otherwise>,
}

impl Told {
    /// Whether a rule that comes after it may speak.
    pub(crate) fn holds(&self) -> bool {
        match self {
            Self::Silent | Self::Obliged => true,
            Self::Missing => false,
            Self::Parts(sum) => sum.broken.is_none(),
        }
    }
}

impl Sum {
    const NOTHING: Self = Self { any: false, least_mm: f64::INFINITY, never: false, broken: None };

    /// Of one part.
    fn of(room: Room, otherwise: Otherwise) -> Self {
        Self::NOTHING.with(room, otherwise)
    }

    /// With another part.
    fn with(mut self, room: Room, otherwise: Otherwise) -> Self {
        self.any = true;
        match room {
            Room::Mm(mm) => self.least_mm = self.least_mm.min(mm),
            Room::Never => self.never = true,
            Room::Other(_) | Room::Plain => {}
        }
        if !room.holds() {
            self.broken = self.broken.max(Some(otherwise));
        }
        self
    }
}

impl Short {
    /// The short form of a rule's check; `None` where it has none and is asked the long way.
    pub(crate) fn of(context: &Context<'_>, subject: &Subject<'_>) -> Option<Self> {
        let mut parts = Parts::new();
        let mm = |length: &crate::expression::Length| length.mm(&subject.given(context.basis()));
        let or_missing = |short: Option<Self>| Some(short.unwrap_or(Self::Settled(Told::Missing)));
        match &context.rule.check {
            Check::Zone { part, .. }
            | Check::SupportDistance { part, value: Value::Length(_), .. } => {
                let answer = reply(context, subject, &mut parts);
                Self::along(context, answer, parts, *part)
            }
            Check::KeepOut(_) => {
                let answer = reply(context, subject, &mut parts);
                Self::along(context, answer, parts, Part::Whole)
            }
            Check::Size { of, .. } => match reply(context, subject, &mut parts) {
                Reply::Parts => {
                    let at_most = parts.first()?.figure?.limit;
                    Some(Self::Size { of: *of, at_most })
                }
                Reply::Missing(_) => Some(Self::Settled(Told::Missing)),
                Reply::Silent | Reply::Obliged { .. } => Some(Self::Settled(Told::Silent)),
            },
            Check::Level { at_most, refer_to } => {
                let reach = refer_to.as_ref().map(mm);
                let known = mm(at_most).filter(|_| reach != Some(None));
                or_missing(known.map(|band| Self::Level { band, reach: reach.flatten() }))
            }
            Check::Edge { of, at_least } => or_missing(mm(at_least).and_then(|least| {
                let (from, to) = across::between_edges(subject, *of, least)?;
                Some(Self::Edge { of: *of, from, to })
            })),
            Check::Left { along, at_least } => or_missing(mm(at_least).and_then(|least| {
                let whole = across::whole(subject, *along)?;
                Some(Self::Left { along: *along, whole, least })
            })),
            Check::Apart { with, measure, at_least, times_larger } => {
                let fixed = at_least.as_ref().map_or(Some(0.0), mm);
                or_missing(fixed.map(|fixed| Self::Apart {
                    counted: pairs::counted(context.rule.cut, *with, &subject.mark),
                    measure: *measure,
                    fixed,
                    times_larger: *times_larger,
                }))
            }
            Check::BothEdges { gap, .. } => {
                let opposite = match subject.mark.kind {
                    CutKind::TopNotch => CutKind::BottomNotch,
                    CutKind::BottomNotch => CutKind::TopNotch,
                    _ => return Some(Self::Settled(Told::Silent)),
                };
                if gap.as_ref().is_some_and(|gap| mm(gap).is_none()) {
                    return Some(Self::Settled(Told::Missing));
                }
                Some(Self::BothEdges { opposite })
            }
            Check::Forbid { .. } => Some(Self::settled(context, subject)),
            Check::Member(condition) if condition.fact.of_the_cut() => {
                OfCut::of(condition).map(Self::OfCut)
            }
            Check::Member(_) => Some(Self::settled(context, subject)),
            Check::Oblige { of, at_least, .. } => {
                or_missing(mm(at_least).map(|needs| Self::Oblige { of: *of, needs }))
            }
            Check::SupportDistance { value: Value::Table(_), .. } | Check::Count { .. } => None,
        }
    }

    /// What does not depend on the cut.
    fn settled(context: &Context<'_>, subject: &Subject<'_>) -> Self {
        let mut parts = Parts::new();
        Self::Settled(match reply(context, subject, &mut parts) {
            Reply::Silent => Told::Silent,
            Reply::Missing(_) => Told::Missing,
            Reply::Obliged { .. } => Told::Obliged,
            Reply::Parts => {
                let with = |sum: Sum, part: &super::Answered| sum.with(part.room, part.otherwise);
                Told::Parts(parts.iter().fold(Sum::NOTHING, with))
            }
        })
    }

    /// Of places: what is allowed is the same wherever the cut lies.
    fn along(context: &Context<'_>, answer: Reply, parts: Parts, part: Part) -> Option<Self> {
        if let Reply::Missing(_) = answer {
            return Some(Self::Settled(Told::Missing));
        }
        let allowed: SmallVec<_> = parts.into_iter().map(|part| part.allowed).collect();
        let nowhere = |allowed: &Intervals| allowed.iter().next().is_none();
        // How far a cut is from a support tells its room even where there is no place for it.
        let measured = matches!(context.rule.check, Check::SupportDistance { .. });
        let short = !(measured && allowed.iter().any(nowhere));
        short.then_some(Self::Along { part, allowed })
    }

    /// How far the places that are allowed lie from those that another allows, at most, mm; `None`
    /// where the two differ in anything else.
    pub(crate) fn shift_mm(&self, other: &Self) -> Option<f64> {
        match (self, other) {
            (
                Self::Along { part: one, allowed: ours },
                Self::Along { part: two, allowed: others },
            ) if one == two && ours.len() == others.len() => {
                let shifts = ours.iter().zip(others).map(|(ours, others)| ours.shift(others));
                shifts.reduce(|a, b| Some(a?.max(b?))).unwrap_or(Some(0.0))
            }
            (one, two) => (one == two).then_some(0.0),
        }
    }

    /// How much of its room an error takes; `None` where it takes nothing.
    pub(crate) fn taken(&self, kind: CutKind) -> Option<Taken> {
        let notch = matches!(kind, CutKind::TopNotch | CutKind::BottomNotch);
        // A notch grows as it is made lower in its edge, and what stands proud stands out more.
        let as_it_sinks = |stays: bool| if stays && !notch { 0.0 } else { 1.0 };
        let (along, level, size) = match self {
            Self::Settled(_) | Self::OfCut(_) | Self::BothEdges { .. } | Self::Oblige { .. } => {
                return None;
            }
            Self::Along { .. } => (1.0, 0.0, 1.0),
            Self::Size { of, .. } => (0.0, as_it_sinks(*of != SizeOf::Proud), 1.0),
            Self::Left { .. } => (0.0, as_it_sinks(true), 1.0),
            Self::Level { .. } | Self::Edge { .. } => (0.0, 1.0, 1.0),
            // Which cuts are round, and so measured to a circle, hangs on a hair.
            Self::Apart { measure: Spacing::Clear, .. } => {
                (f64::INFINITY, f64::INFINITY, f64::INFINITY)
            }
            // The distance, and what is wanted by the diameter.
            Self::Apart { times_larger, .. } => (1.0, 1.0 + times_larger, 1.0 + times_larger),
        };
        Some(Taken { along, level, size })
    }

    /// The room that it leaves a cut, if all of it holds: infinite where it is no length, or where
    /// it speaks of nothing. `None` where something does not hold, or only [`Self::ask`] tells.
    #[inline]
    pub(crate) fn room_mm(&self, subject: &Subject<'_>) -> Option<f64> {
        let mark = &subject.mark;
        let room = match self {
            Self::Along { part, allowed } => {
                let (lo, hi) = along::extent(mark, *part);
                allowed.iter().map(|allowed| allowed.slack(lo, hi)).reduce(|one, other| {
                    // What is allowed nowhere leaves no room at all.
                    Some(one?.min(other?))
                })??
            }
            Self::Size { of, at_most } => match across::size_room(*of, mark, *at_most).1 {
                Room::Mm(mm) => mm,
                Room::Plain => f64::INFINITY,
                Room::Other(_) | Room::Never => return None,
            },
            // Where the narrower band holds the wider one does.
            Self::Level { band, .. } => band - mark.offset().abs(),
            Self::Edge { of, from, to } => {
                let (lo, hi) = across::edges(mark, *of);
                let room = (lo - from).min(to - hi);
                if from.is_finite() && to.is_finite() {
                    room.min(to - from - (hi - lo))
                } else {
                    room
                }
            }
            Self::Left { along, whole, least } => whole - across::taken(mark, *along) - least,
            Self::Apart { counted, measure, fixed, times_larger } => {
                pairs::least_room(subject, *counted, *measure, *fixed, *times_larger)
                    .unwrap_or(f64::INFINITY)
            }
            Self::BothEdges { opposite } if !subject.neighbours.kinds.has(*opposite) => {
                f64::INFINITY
            }
            Self::OfCut(condition) if condition.holds(mark) => f64::INFINITY,
            Self::Oblige { of, needs } if across::beside(mark, *of) >= needs - HOLDS_MM => {
                f64::INFINITY
            }
            Self::Settled(_) | Self::BothEdges { .. } | Self::OfCut(_) | Self::Oblige { .. } => {
                return None;
            }
        };
        Room::Mm(room).holds().then_some(room)
    }

    /// How far the places that are allowed may shift, if it comes to this, for a cut to fail all the
    /// same, mm; less than nothing where that cannot be told.
    pub(crate) fn fails_by_mm(&self, sum: Sum) -> f64 {
        match self {
            _ if sum.broken != Some(Otherwise::Fail) => f64::NEG_INFINITY,
            // A hair on either side of the one by which it would hold.
            Self::Along { .. } if !sum.never => -sum.least_mm - 2.0 * HOLDS_MM,
            Self::Along { .. } => f64::NEG_INFINITY,
            _ => f64::INFINITY,
        }
    }

    /// What it comes to for a cut; `None` where only the long way tells.
    pub(crate) fn ask(&self, subject: &Subject<'_>, otherwise: Otherwise) -> Option<Told> {
        let mark = &subject.mark;
        let one = |room| Told::Parts(Sum::of(room, otherwise));
        Some(match self {
            Self::Settled(told) => *told,
            Self::Along { part, allowed } => {
                let (lo, hi) = along::extent(mark, *part);
                let room =
                    |allowed: &Intervals| allowed.slack(lo, hi).map_or(Room::Never, Room::Mm);
                let with = |sum: Sum, allowed| sum.with(room(allowed), otherwise);
                Told::Parts(allowed.iter().fold(Sum::NOTHING, with))
            }
            Self::Size { of, at_most } => one(across::size_room(*of, mark, *at_most).1),
            Self::Level { band, reach: None } => one(Room::Mm(band - mark.offset().abs())),
            Self::Level { band, reach: Some(reach) } => {
                let off = mark.offset().abs();
                let wide = across::wider_band(mark, *band, *reach);
                let within = Sum::of(Room::Mm(band - off), Otherwise::Refer);
                Told::Parts(within.with(Room::Mm(wide - off), otherwise))
            }
            Self::Edge { of, from, to } => {
                let (lo, hi) = across::edges(mark, *of);
                let sum = Sum::of(Room::Mm((lo - from).min(to - hi)), otherwise);
                Told::Parts(if from.is_finite() && to.is_finite() {
                    sum.with(Room::Mm(to - from - (hi - lo)), otherwise)
                } else {
                    sum
                })
            }
            Self::Left { along, whole, least } => {
                one(Room::Mm(whole - across::taken(mark, *along) - least))
            }
            Self::Apart { counted, measure, fixed, times_larger } => {
                pairs::least_room(subject, *counted, *measure, *fixed, *times_larger)
                    .map_or(Told::Parts(Sum::NOTHING), |room| one(Room::Mm(room)))
            }
            Self::BothEdges { opposite } if subject.neighbours.kinds.has(*opposite) => return None,
            Self::BothEdges { .. } => Told::Parts(Sum::NOTHING),
            Self::OfCut(condition) if condition.holds(mark) => one(Room::Plain),
            Self::OfCut(_) => one(Room::Never),
            Self::Oblige { of, needs } if across::beside(mark, *of) >= needs - HOLDS_MM => {
                Told::Parts(Sum::NOTHING)
            }
            Self::Oblige { .. } => Told::Obliged,
        })
    }
}
