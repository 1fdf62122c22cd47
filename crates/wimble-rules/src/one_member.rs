//! One member asked again and again: what remedies are found and proved with.

use crate::check::{About, Answer, Axis};
use crate::interval::Intervals;
use crate::judge::{Judge, Judges, RuleSettings};
use crate::pack::{Check, Otherwise, PackSet, Spacing};
use crate::subject::{Mark, Neighbours, Subject, View};
use crate::windows::in_view_of;
use std::sync::Arc;
use wimble_model::{Cut, CutIx, CutKind, Member, Service, Verdict};

/// The rules that apply to one member, chosen once.
#[derive(Debug)]
pub struct MemberRules<'a> {
    view: View<'a>,
    without: Option<View<'a>>,
    judge: Arc<Judge<'a>>,
}

/// The rules that apply to members that are asked in any order, and mostly are alike.
#[derive(Debug)]
pub struct RulesByMember<'a>(Judges<'a>);

impl<'a> RulesByMember<'a> {
    /// By the packs in force.
    #[must_use]
    pub fn new(packs: &'a PackSet, settings: &'a RuleSettings) -> Self {
        Self(Judges::new(packs, settings))
    }

    /// The rules for a member.
    #[must_use]
    pub fn of(&self, member: &'a Member) -> MemberRules<'a> {
        MemberRules::by(self.0.of(member), member)
    }
}

/// A level, or a circle round a neighbour, at which an answer about a cut may change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Turning {
    /// The cut's middle at this level above mid-depth, mm.
    Middle(f64),
    /// Its lower edge at this level, mm.
    Lower(f64),
    /// Its upper edge at this level, mm.
    Upper(f64),
    /// The cut's middle at this distance from a neighbour's (x, z of its middle; radius), mm.
    Circle {
        /// Along the member.
        x_mm: f64,
        /// Above mid-depth.
        z_mm: f64,
        /// Distance of the middles.
        radius_mm: f64,
    },
}

impl Turning {
    const fn is_finite(&self) -> bool {
        match self {
            Self::Middle(z) | Self::Lower(z) | Self::Upper(z) => z.is_finite(),
            Self::Circle { x_mm, z_mm, radius_mm } => {
                x_mm.is_finite() && z_mm.is_finite() && radius_mm.is_finite()
            }
        }
    }
}

impl<'a> MemberRules<'a> {
    /// The rules of the packs in force for a member.
    #[must_use]
    pub fn of(member: &'a Member, packs: &'a PackSet, settings: &'a RuleSettings) -> Self {
        Self::by(Arc::new(Judge::of(member, packs, settings)), member)
    }

    fn by(judge: Arc<Judge<'a>>, member: &'a Member) -> Self {
        Self { view: View::of(member), without: View::without_doubtful(member), judge }
    }

    /// The verdict on each cut, as [`crate::check()`] gives it.
    #[must_use]
    pub fn verdicts(&self, cuts: &[Cut], services: &[Service]) -> Vec<Verdict> {
        let marks = marks(cuts, services);
        let beside = Neighbours::from(&marks);
        marks
            .iter()
            .map(|&mark| {
                let verdict = self.judge.verdict(&self.view, mark, beside);
                let other =
                    self.without.as_ref().map(|view| self.judge.verdict(view, mark, beside));
                verdict.max(other.unwrap_or_default())
            })
            .collect()
    }

    /// The places (of its middle, mm along the member) where a cut of this size and level would
    /// come to `target` or better beside its neighbours, on exact limits. Where it would overlap
    /// a neighbour and so become one cut with it is not looked at.
    #[must_use]
    pub fn windows(
        &self,
        cut: &Cut,
        neighbours: &[Cut],
        services: &[Service],
        target: Verdict,
    ) -> Vec<(f64, f64)> {
        let mark = Mark::of(u32::MAX, cut, services);
        let marks = marks(neighbours, services);
        let judge = &*self.judge;
        let at = |x: f64| mark.shifted(x - mark.mid_x());
        let mut places = in_view_of(judge, &self.view, &at, &marks, target);
        if let Some(without) = &self.without {
            places = places.and(&in_view_of(judge, without, &at, &marks, target));
        }
        places.iter().collect()
    }

    /// Every level and circle at which an answer about a cut may change, as it moves along and up
    /// or down without changing its kind.
    #[must_use]
    pub fn turnings(&self, cut: &Cut, neighbours: &[Cut], services: &[Service]) -> Vec<Turning> {
        let mark = Mark::of(u32::MAX, cut, services);
        let marks = marks(neighbours, services);
        let subject = Subject::new(&self.view, mark, &marks);
        let mut found = Vec::new();
        for pack in &self.judge.selected.packs {
            for rule in pack.rules.iter().filter(|r| r.otherwise != Otherwise::Note) {
                let Answer::Parts(parts) = self.judge.asks_anywhere(pack, rule, &subject) else {
                    continue;
                };
                for part in &parts {
                    let other = match part.about {
                        About::Cut(n) => marks.iter().find(|m| m.cut == n),
                        _ => None,
                    };
                    match (part.axis, &rule.check, other, part.figure) {
                        (Axis::Z, ..) => levels(&part.allowed, part.lo, part.hi, &mut found),
                        (Axis::Size, ..) => sizes(&part.allowed, part.lo, &mark, &mut found),
                        (Axis::X, Check::Apart { measure, .. }, Some(other), Some(figure)) => {
                            beside(*measure, &mark, other, figure.limit, &mut found);
                        }
                        _ => {}
                    }
                }
            }
        }
        found.retain(Turning::is_finite);
        found
    }
}

fn marks(cuts: &[Cut], services: &[Service]) -> Vec<Mark> {
    cuts.iter().enumerate().map(|(n, cut)| Mark::of(CutIx::from(n).0, cut, services)).collect()
}

/// Levels at which `[lo, hi]` (the middle, or both edges) meets an end of what is allowed.
fn levels(allowed: &Intervals, lo: f64, hi: f64, found: &mut Vec<Turning>) {
    for (from, to) in allowed.iter() {
        if lo < hi {
            found.extend([Turning::Lower(from), Turning::Upper(to)]);
        } else {
            found.extend([Turning::Middle(from), Turning::Middle(to)]);
        }
    }
}

/// Levels at which a notch is as deep as it may be.
fn sizes(allowed: &Intervals, depth: f64, mark: &Mark, found: &mut Vec<Turning>) {
    if (depth - mark.notch_depth()).abs() > 1e-9 {
        return;
    }
    let half = mark.depth / 2.0;
    for (_, most) in allowed.iter() {
        match mark.kind {
            CutKind::TopNotch => found.push(Turning::Lower(half - most)),
            CutKind::BottomNotch => found.push(Turning::Upper(most - half)),
            _ => {}
        }
    }
}

/// Where the distance to a neighbour is as small as it may be.
fn beside(measure: Spacing, mark: &Mark, other: &Mark, limit: f64, found: &mut Vec<Turning>) {
    let radius_mm = match measure {
        Spacing::GapX => return,
        Spacing::Centres => limit,
        Spacing::Clear => limit + f64::midpoint(mark.diameter(), other.diameter()),
    };
    let (x_mm, z_mm) = (other.mid_x(), other.offset());
    found.push(Turning::Circle { x_mm, z_mm, radius_mm });
    if measure == Spacing::Clear {
        found.extend([Turning::Lower(other.z1 + limit), Turning::Upper(other.z0 - limit)]);
    }
}
