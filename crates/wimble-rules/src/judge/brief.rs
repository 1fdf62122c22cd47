//! What a cut is asked: the rules of the chosen packs that its member alone does not settle.
//!
//! Most rules of a pack are silent on a given member, or ask something of it that holds for every
//! cut. Those are asked once for each kind of cut and span, not once for each cut: what remains is
//! a handful. An outcome is the same with the whole pack; the tests ask both.

use super::Selected;
use crate::check::{Context, Known, Parts, Reply, asked, reply, speaks_of};
use crate::pack::{Check, Condition, Pack, Rule};
use crate::subject::Subject;
use std::collections::BTreeSet;
use wimble_model::CutKind;

/// What the rules left in a brief depend on; nothing else of a cut decides which they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BriefFor {
    kind: CutKind,
    span: Option<usize>,
    with_doubtful: bool,
    other_reading: bool,
    depth: f64,
    breadth: f64,
}

impl BriefFor {
    pub(super) fn of(subject: &Subject<'_>) -> Self {
        Self {
            kind: subject.mark.kind,
            span: subject.span,
            with_doubtful: subject.view.with_doubtful,
            other_reading: subject.view.other_reading,
            depth: subject.mark.depth,
            breadth: subject.mark.breadth,
        }
    }
}

/// The rules to ask, pack by pack, in the order of the packs.
#[derive(Debug, Default)]
pub(super) struct Brief<'p> {
    pub(super) packs: Vec<PackBrief<'p>>,
}

/// The rules to ask of one pack.
#[derive(Debug)]
pub(super) struct PackBrief<'p> {
    pub(super) pack: &'p Pack,
    /// Rules that decide whether the pack speaks at all.
    pub(super) scope: Vec<&'p Rule>,
    /// The others, in the pack's order; a group stands where its first rule does.
    pub(super) asked: Vec<Asked<'p>>,
}

/// What is asked together.
#[derive(Debug)]
pub(super) enum Asked<'p> {
    /// A rule that stands alone.
    Alone(&'p Rule),
    /// The rules of a group: the best of their options counts.
    Group(Vec<&'p Rule>),
}

impl<'p> Brief<'p> {
    /// What is left to ask of cuts like the subject.
    pub(super) fn new(
        selected: &Selected<'p>,
        known: Known,
        allow: &BTreeSet<String>,
        subject: &Subject<'_>,
    ) -> Self {
        let left = |pack: &'p Pack, rule: &Rule| !is_settled(known, allow, pack, rule, subject);
        Self { packs: selected.packs.iter().map(|pack| PackBrief::of(pack, left)).collect() }
    }

    /// Every rule of every pack.
    #[cfg(test)]
    pub(super) fn whole(selected: &Selected<'p>) -> Self {
        Self { packs: selected.packs.iter().map(|pack| PackBrief::of(pack, |_, _| true)).collect() }
    }
}

impl<'p> PackBrief<'p> {
    fn of(pack: &'p Pack, left: impl Fn(&'p Pack, &Rule) -> bool) -> Self {
        let mut brief = Self { pack, scope: Vec::new(), asked: Vec::new() };
        for rule in pack.rules.iter().filter(|rule| left(pack, rule)) {
            if rule.is_scope() {
                brief.scope.push(rule);
                continue;
            }
            let Some(group) = &rule.group else {
                brief.asked.push(Asked::Alone(rule));
                continue;
            };
            let begun = brief.asked.iter_mut().find_map(|asked| match asked {
                Asked::Group(rules) if rules.iter().any(|r| r.group.as_ref() == Some(group)) => {
                    Some(rules)
                }
                _ => None,
            });
            match begun {
                Some(rules) => rules.push(rule),
                None => brief.asked.push(Asked::Group(vec![rule])),
            }
        }
        brief
    }
}

/// Whether kind, switches and facts of the member settle that a rule adds nothing to an outcome:
/// it does not speak, or it asks of the member alone what holds.
fn is_settled(
    known: Known,
    allow: &BTreeSet<String>,
    pack: &Pack,
    rule: &Rule,
    subject: &Subject<'_>,
) -> bool {
    let lifted = rule.lifted_by.as_ref().is_some_and(|switch| allow.contains(switch));
    if lifted || !speaks_of(rule, subject) {
        return true;
    }
    let of_the_member = |condition: &&Condition| !condition.fact.of_the_cut();
    let asked = |condition| asked(known, subject, condition, pack.span_basis);
    if rule.when.iter().filter(of_the_member).any(|condition| asked(condition) == Ok(false)) {
        return true;
    }
    let Check::Member(condition) = &rule.check else { return false };
    // In a group what holds is an option that the others are held against.
    if rule.group.is_some() || condition.fact.of_the_cut() {
        return false;
    }
    let sure = rule.when.iter().all(|c| !c.fact.of_the_cut() && asked(c) == Ok(true));
    let mut parts = Parts::new();
    let context = Context { pack, rule, known, places: false };
    sure && matches!(reply(&context, subject, &mut parts), Reply::Parts)
        && !parts.is_empty()
        && parts.iter().all(|part| part.room.holds())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::by_hand::member_by_hand;
    use crate::judge::{Cause, Judge, Outcome, RuleSettings, select};
    use crate::pack::{ALL_KINDS, PackSet};
    use crate::subject::{Mark, View};
    use crate::windows::Probe;
    use wimble_model::{Member, MemberKind, Section, ServiceKind, TimberMake, Trade};

    fn members() -> Vec<Member> {
        let rectangle = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
        let i_joist =
            Section::IJoist { breadth_mm: 63.5, depth_mm: 240.0, flange_mm: 45.0, web_mm: 10.0 };
        let mut members = Vec::new();
        for kind in [MemberKind::Joist, MemberKind::Stud, MemberKind::Plate, MemberKind::Unknown] {
            for section in [rectangle, i_joist] {
                for span in [0.0, 1800.0, 4200.0] {
                    let mut member = member_by_hand(kind, section, span);
                    member.make = TimberMake::Solid;
                    members.push(member.clone());
                    // Two spans, one of them doubtful at its end.
                    if let Some(first) = member.spans.first().copied() {
                        let middle = f64::midpoint(first.from_mm, first.to_mm);
                        let half = |from_mm, to_mm| wimble_model::Span { from_mm, to_mm, ..first };
                        member.spans = vec![half(first.from_mm, middle), half(middle, first.to_mm)];
                        members.push(member);
                    }
                }
            }
        }
        members
    }

    /// Cuts of every kind along a member, with services of several trades.
    fn marks(member: &Member) -> Vec<Mark> {
        let mut marks = Vec::new();
        for (n, kind) in ALL_KINDS.into_iter().enumerate() {
            for (size, part) in [(20.0, 0.1), (45.0, 0.3), (110.0, 0.5)] {
                let probe = match kind {
                    CutKind::TopNotch | CutKind::BottomNotch => Probe::notch(kind, size, size),
                    _ => Probe::hole(size, 0.2 * size).as_kind(kind),
                };
                let mut mark = probe.at(part * member.length_mm, member);
                mark.cut = u32::try_from(marks.len()).unwrap();
                let trade = [Trade::Gas, Trade::Waste, Trade::Electric][n % 3];
                mark.trades |= crate::subject::trade_bit(trade);
                mark.services |= crate::subject::service_bit(ServiceKind::Pipe);
                mark.sizes_known = n % 5 > 0;
                marks.push(mark);
            }
        }
        marks
    }

    fn told(outcome: &Outcome<'_>) -> String {
        let broken = outcome.broken.iter().map(|b| match &b.cause {
            Cause::Part { rule, part, .. } => format!("{} {:?} {part:?}", rule.id, b.otherwise),
            Cause::Missing { rule, missing, .. } => format!("{} {missing:?}", rule.id),
            Cause::WhichPack { missing } => format!("which pack {missing:?}"),
            Cause::NoPack => "no pack".to_owned(),
            Cause::Remark { rule, .. } => (*rule).to_owned(),
        });
        let broken: Vec<String> = broken.collect();
        let obliged: Vec<String> =
            outcome.obliged.iter().map(|(_, rule, ..)| rule.id.clone()).collect();
        format!("{:?} {:?} {broken:?} {obliged:?}", outcome.verdict, outcome.margin_mm)
    }

    #[test]
    fn what_a_member_settles_changes_no_outcome_whatever_the_pack_the_cut_and_the_span() {
        let settings = RuleSettings::default();
        let known = Known::of(&settings);
        let mut left_out = 0;
        for pack in PackSet::built_in().known() {
            let packs = PackSet::built_in().choose(&[pack.id()]).unwrap();
            for member in members() {
                let selected = select(&packs, &member, known);
                let judge = Judge::new(&selected, known, &settings.allow);
                let whole = Brief::whole(&selected);
                let marks = marks(&member);
                let view = View::of(&member);
                let other = View { other_reading: true, ..view.clone() };
                for view in [&view, &other] {
                    for &mark in &marks {
                        let subject = Subject::new(view, mark, &marks);
                        let brief = Brief::new(&selected, known, &settings.allow, &subject);
                        let rules = |brief: &Brief<'_>| {
                            brief.packs.iter().map(|p| p.scope.len() + p.asked.len()).sum::<usize>()
                        };
                        left_out += rules(&whole) - rules(&brief);
                        assert_eq!(
                            told(&judge.subject(&subject)),
                            told(&judge.by(&whole, &subject)),
                            "{} {:?} {mark:?}",
                            pack.id(),
                            member.kind
                        );
                    }
                }
            }
        }
        assert!(left_out > 10_000, "{left_out}");
    }
}
