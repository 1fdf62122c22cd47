//! What a cut is asked: the rules of the chosen packs that its member alone does not settle.
//!
//! Most rules of a pack are silent on a given member, or ask something of it that holds for every
//! cut. Those are asked once for each kind of cut and span, not once for each cut: what remains is
//! a handful. An outcome is the same with the whole pack; the tests ask both.

use super::Outcome;
use super::cut::{Selected, gives_margin, speaks_for};
use crate::check::{Context, Free, Known, Missing, OfCut, Short, Taken, Told, asked, speaks_of};
use crate::pack::{Check, Condition, Otherwise, Pack, Rule};
use crate::subject::Subject;
use smallvec::SmallVec;
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::OnceLock;
use wimble_model::CutKind;

/// What the rules left in a brief depend on; nothing else of a cut decides which they are.
#[derive(Debug, Clone, Copy, PartialEq)]
struct BriefFor {
    kind: CutKind,
    span: Option<usize>,
    with_doubtful: bool,
    other_reading: bool,
    depth: f64,
    breadth: f64,
}

impl BriefFor {
    fn of(subject: &Subject<'_>) -> Self {
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
#[derive(Debug)]
pub(super) struct Brief<'p> {
    made_for: BriefFor,
    pub(super) packs: Vec<PackBrief<'p>>,
    /// How far it lies from the brief of the other reading of spans ([`Brief::shift_mm`]), once it
    /// has been asked.
    pub(super) reread: OnceLock<Option<f64>>,
}

/// The rules to ask of one pack.
#[derive(Debug)]
pub(super) struct PackBrief<'p> {
    pub(super) pack: &'p Pack,
    /// Those that decide whether the pack speaks at all, then the others in the pack's order; a group
    /// stands where its first rule does.
    rules: Vec<Ready<'p>>,
    /// How many of them decide that.
    scope: usize,
    /// Which of the others are asked together.
    asked: Vec<Range<usize>>,
    /// Whether one of the others is a group.
    has_groups: bool,
}

/// What is asked together.
pub(super) enum Asked<'b, 'p> {
    /// A rule that stands alone.
    Alone(&'b Ready<'p>),
    /// The rules of a group: the best of their options counts.
    Group(&'b [Ready<'p>]),
}

/// A rule, with all put in that is the same for every cut like the subject.
#[derive(Debug)]
pub(super) struct Ready<'p> {
    pub(super) rule: &'p Rule,
    /// As [`speaks_for`] says.
    pub(super) speaks: bool,
    /// As [`gives_margin`] says.
    pub(super) gives_margin: bool,
    short: Option<ShortRule>,
}

/// What a rule comes to that has nothing to say of a cut, or plainly holds: most do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Heard {
    Silent,
    /// With so much room, mm: infinite where it has none that is a length.
    Holds(f64),
    /// It has to be asked at length.
    More,
}

/// The short way to ask a rule.
#[derive(Debug)]
struct ShortRule {
    /// What its `when` asks of the cut; what it asks of the member holds, or …
    when: Box<[OfCut]>,
    /// … is not known.
    missing: bool,
    /// The rule that has to hold before this one speaks.
    after: Option<Box<(Otherwise, ShortRule)>>,
    check: Short,
    taken: Option<Taken>,
}

impl<'p> Brief<'p> {
    /// What is left to ask of cuts like the subject.
    pub(super) fn new(
        selected: &Selected<'p>,
        known: Known,
        allow: &BTreeSet<String>,
        subject: &Subject<'_>,
    ) -> Self {
        let ready = |pack: &'p Pack, rule: &'p Rule| {
            let maker = Maker { pack, known, allow, subject };
            maker.ready(rule)
        };
        Self::of(selected, subject, ready)
    }

    /// Every rule of every pack, the long way.
    #[cfg(test)]
    pub(super) fn whole(selected: &Selected<'p>, subject: &Subject<'_>) -> Self {
        Self::of(selected, subject, |_, rule| Some(Ready::of(rule, None)))
    }

    fn of(
        selected: &Selected<'p>,
        subject: &Subject<'_>,
        ready: impl Fn(&'p Pack, &'p Rule) -> Option<Ready<'p>>,
    ) -> Self {
        let packs = selected.packs.iter().map(|pack| PackBrief::of(pack, &ready)).collect();
        Self { made_for: BriefFor::of(subject), packs, reread: OnceLock::new() }
    }
}

impl Brief<'_> {
    /// Whether it is what to ask of a subject.
    pub(super) fn is_for(&self, subject: &Subject<'_>) -> bool {
        self.made_for == BriefFor::of(subject)
    }

    /// How far the places that it allows along the member lie from those that another allows, at
    /// most, mm; `None` where the two ask anything else of a cut.
    pub(super) fn shift_mm(&self, other: &Self) -> Option<f64> {
        let mut others = other.packs.iter().flat_map(|pack| &pack.rules);
        let mut most = 0.0_f64;
        for ours in self.packs.iter().flat_map(|pack| &pack.rules) {
            let theirs = others.next().filter(|theirs| std::ptr::eq(ours.rule, theirs.rule))?;
            most = most.max(ours.short.as_ref()?.shift_mm(theirs.short.as_ref()?)?);
        }
        others.next().is_none().then_some(most)
    }
}

impl<'p> PackBrief<'p> {
    /// Rules that decide whether the pack speaks at all.
    pub(super) fn scope(&self) -> &[Ready<'p>] {
        &self.rules[..self.scope]
    }

    /// The others, in the pack's order.
    pub(super) fn asked(&self) -> impl Iterator<Item = Asked<'_, 'p>> {
        self.asked.iter().map(|its| match &self.rules[its.clone()] {
            [rule] if rule.rule.group.is_none() => Asked::Alone(rule),
            rules => Asked::Group(rules),
        })
    }

    /// Whether one of its rules spoke, if they all plainly hold or have nothing to say, as they do of
    /// most cuts. What rooms were found until one does not is as good if all are asked again.
    pub(super) fn holds_plainly(
        &self,
        subject: &Subject<'_>,
        outcome: &mut Outcome<'p>,
    ) -> Option<bool> {
        if self.has_groups {
            return None;
        }
        let (mut free, mut least_mm, mut spoke) = (outcome.free, f64::INFINITY, Some(false));
        for rule in &self.rules {
            match rule.hear(subject, &mut free) {
                Heard::Silent => {}
                Heard::Holds(room_mm) => {
                    if rule.gives_margin {
                        least_mm = least_mm.min(room_mm);
                    }
                    spoke = spoke.map(|spoke| spoke | rule.speaks);
                }
                Heard::More => {
                    spoke = None;
                    break;
                }
            }
        }
        outcome.free = free;
        if least_mm.is_finite() {
            outcome.room(least_mm);
        }
        spoke
    }

    fn of(pack: &'p Pack, ready: impl Fn(&'p Pack, &'p Rule) -> Option<Ready<'p>>) -> Self {
        let (mut scope, mut asked) = (Vec::new(), Vec::<Vec<Ready<'p>>>::new());
        for ready in pack.rules.iter().filter_map(|rule| ready(pack, rule)) {
            if ready.rule.is_scope() {
                scope.push(ready);
                continue;
            }
            let group = ready.rule.group.as_ref();
            let begun = asked.iter_mut().find(|its| {
                group.is_some() && its.iter().any(|its| its.rule.group.as_ref() == group)
            });
            match begun {
                Some(its) => its.push(ready),
                None => asked.push(vec![ready]),
            }
        }
        let mut brief = Self {
            pack,
            scope: scope.len(),
            rules: scope,
            asked: Vec::with_capacity(asked.len()),
            has_groups: asked.iter().flatten().any(|ready| ready.rule.group.is_some()),
        };
        for its in asked {
            let first = brief.rules.len();
            brief.rules.extend(its);
            brief.asked.push(first..brief.rules.len());
        }
        brief
    }
}

impl<'p> Ready<'p> {
    fn of(rule: &'p Rule, short: Option<ShortRule>) -> Self {
        Self { rule, speaks: speaks_for(rule), gives_margin: gives_margin(rule), short }
    }

    /// As [`Self::ask`] of a rule that stands alone, where it has nothing to say or plainly holds.
    pub(super) fn hear(&self, subject: &Subject<'_>, free: &mut Free) -> Heard {
        self.short.as_ref().map_or(Heard::More, |short| short.hear(subject, free))
    }

    /// How far the places that it allows may shift, if it comes to this, for the cut to fail all
    /// the same, mm.
    pub(super) fn fails_by_mm(&self, told: Told) -> f64 {
        match (&self.short, told) {
            (Some(ShortRule { after: None, check, .. }), Told::Parts(sum)) => {
                check.fails_by_mm(sum)
            }
            _ => f64::NEG_INFINITY,
        }
    }

    /// What the rule comes to for a cut, and into `free` how far the cut may turn out otherwise for
    /// it to say the same; `None` where only the long way tells.
    pub(super) fn ask(&self, subject: &Subject<'_>, free: &mut Free) -> Option<Told> {
        self.short.as_ref()?.ask(subject, self.rule.otherwise, free)
    }
}

impl ShortRule {
    fn hear(&self, subject: &Subject<'_>, free: &mut Free) -> Heard {
        if !self.when.iter().all(|condition| condition.holds(&subject.mark)) {
            return Heard::Silent;
        }
        if self.after.as_ref().is_some_and(|after| !after.1.is_past(subject, free)) {
            return Heard::More;
        }
        match self.check.room_mm(subject) {
            Some(room_mm) if !self.missing => {
                if let Some(taken) = self.taken {
                    free.take(room_mm, taken);
                }
                Heard::Holds(room_mm)
            }
            _ => Heard::More,
        }
    }

    /// Whether it plainly lets one speak that comes after it.
    fn is_past(&self, subject: &Subject<'_>, free: &mut Free) -> bool {
        self.hear(subject, free) != Heard::More
    }

    fn ask(&self, subject: &Subject<'_>, otherwise: Otherwise, free: &mut Free) -> Option<Told> {
        if !self.when.iter().all(|condition| condition.holds(&subject.mark)) {
            return Some(Told::Silent);
        }
        if let Some(after) = &self.after {
            let (otherwise, first) = &**after;
            if !first.ask(subject, *otherwise, free)?.holds() {
                return Some(Told::Silent);
            }
        }
        if self.missing {
            return Some(Told::Missing);
        }
        let told = self.check.ask(subject, otherwise)?;
        if let (Told::Parts(sum), Some(taken)) = (told, self.taken) {
            free.take(sum.least_mm, taken);
        }
        Some(told)
    }

    /// As [`Brief::shift_mm`].
    fn shift_mm(&self, other: &Self) -> Option<f64> {
        let first = match (&self.after, &other.after) {
            (None, None) => 0.0,
            (Some(one), Some(two)) if one.0 == two.0 => one.1.shift_mm(&two.1)?,
            _ => return None,
        };
        let same =
            (&self.when, self.missing, self.taken) == (&other.when, other.missing, other.taken);
        Some(first.max(same.then(|| self.check.shift_mm(&other.check))??))
    }

    /// Whether it has nothing to say of any such cut, or asks of the member alone what holds.
    fn is_settled(&self, rule: &Rule) -> bool {
        let of_member = matches!(rule.check, Check::Member(_));
        let sure = !self.missing && self.when.is_empty();
        match &self.check {
            _ if self.missing => false,
            Short::Settled(Told::Silent) => true,
            Short::Settled(Told::Parts(sum)) if !sum.any => true,
            Short::Settled(Told::Parts(sum)) => sure && of_member && sum.broken.is_none(),
            Short::Along { allowed, .. } => allowed.is_empty(),
            _ => false,
        }
    }
}

/// Makes the rules of a pack ready for cuts like the subject.
struct Maker<'m, 'p> {
    pack: &'p Pack,
    known: Known,
    allow: &'m BTreeSet<String>,
    subject: &'m Subject<'m>,
}

impl<'p> Maker<'_, 'p> {
    /// The rule made ready; `None` if it adds nothing to an outcome: it does not speak, or it asks
    /// of the member alone what holds.
    fn ready(&self, rule: &'p Rule) -> Option<Ready<'p>> {
        if !self.may_speak(rule) {
            return None;
        }
        let short = self.short(rule);
        // In a group what holds is an option that the others are held against.
        let alone = rule.group.is_none();
        if alone && short.as_ref().is_some_and(|short| short.is_settled(rule)) {
            return None;
        }
        Some(Ready::of(rule, short))
    }

    /// Whether kind, switches and facts of the member let a rule speak.
    fn may_speak(&self, rule: &Rule) -> bool {
        let lifted = rule.lifted_by.as_ref().is_some_and(|switch| self.allow.contains(switch));
        let mut of_member = rule.when.iter().filter(|condition| !condition.fact.of_the_cut());
        !lifted
            && speaks_of(rule, self.subject)
            && of_member.all(|condition| self.asked(condition) != Ok(false))
    }

    fn asked(&self, condition: &Condition) -> Result<bool, Missing> {
        asked(self.known, self.subject, condition, self.pack.span_basis)
    }

    /// The short way to ask a rule that may speak, if there is one.
    fn short(&self, rule: &Rule) -> Option<ShortRule> {
        let (of_cut, of_member): (SmallVec<[_; 2]>, SmallVec<[_; 2]>) =
            rule.when.iter().partition(|condition| condition.fact.of_the_cut());
        let after = match rule.after.and_then(|at| self.pack.rules.get(at)) {
            Some(first) if self.may_speak(first) => {
                Some(Box::new((first.otherwise, self.short(first)?)))
            }
            _ => None,
        };
        let context = Context { pack: self.pack, rule, known: self.known, places: false };
        let check = Short::of(&context, self.subject)?;
        // A duty that is no more is an option that is no more.
        if rule.group.is_some() && matches!(check, Short::Oblige { .. }) {
            return None;
        }
        Some(ShortRule {
            when: of_cut.into_iter().map(OfCut::of).collect::<Option<_>>()?,
            missing: of_member.into_iter().any(|condition| self.asked(condition).is_err()),
            after,
            taken: check.taken(self.subject.mark.kind),
            check,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::cut::Wanted;
    use crate::judge::trials::{marks, members};
    use crate::judge::{Cause, Judge, RuleSettings};
    use crate::pack::PackSet;
    use crate::subject::{Neighbours, View};
    use wimble_model::Verdict;

    fn told(outcome: &Outcome<'_>) -> String {
        let broken = outcome.broken.iter().map(|b| match &b.cause {
            Cause::Part { rule, part, .. } => format!("{} {:?} {part:?}", rule.id, b.otherwise),
            Cause::Missing { rule, missing, .. } => format!("{} {missing:?}", rule.id),
            Cause::WhichPack { missing } => format!("which pack {missing:?}"),
            Cause::NoPack => "no pack".to_owned(),
            Cause::Remark { remark, .. } => remark.name.to_string(),
        });
        let broken: Vec<String> = broken.collect();
        let obliged: Vec<String> =
            outcome.obliged.iter().map(|(_, rule, ..)| rule.id.clone()).collect();
        format!("{:?} {:?} {broken:?} {obliged:?}", outcome.verdict, outcome.margin_mm)
    }

    #[test]
    fn what_is_free_or_fails_by_more_than_spans_are_read_otherwise_does_both_ways_by_every_pack() {
        let settings = RuleSettings::default();
        let (mut short, mut long, mut failing) = (0, 0, 0);
        for pack in PackSet::built_in().known() {
            let packs = PackSet::built_in().choose(&[pack.id()]).unwrap();
            for member in members() {
                let judge = Judge::of(&member, &packs, &settings);
                let view = View::of(&member);
                let other = View { other_reading: true, ..view.clone() };
                // Alone at many places, and beside all the others.
                let all = marks(&member);
                let steps = (0..40).map(|n| f64::from(n - 20) / 40.0 * member.length_mm);
                let moved = steps.flat_map(|by| all.iter().map(move |mark| mark.shifted(by)));
                let alone = moved.map(|mark| (mark, &[][..]));
                for (mark, beside) in alone.chain(all.iter().map(|mark| (*mark, &all[..]))) {
                    let beside = Neighbours::from(beside);
                    let first = judge.cut(&view, mark, beside);
                    let asked = judge.verdict(&other, mark, beside);
                    let subject = Subject::new(&view, mark, beside);
                    let brief = judge.brief(&subject);
                    let told = judge.reread(&brief, &first, &subject, &other);
                    assert_eq!(told, asked, "{} {:?} {mark:?}", pack.id(), member.kind);
                    let by = |view| judge.brief(&Subject::new(view, mark, beside));
                    let shift = by(&view).shift_mm(&by(&other));
                    let fails = first.verdict == Verdict::Fail;
                    let by_more = shift.is_some_and(|mm| mm > 0.0 && mm <= first.fails_by_mm);
                    failing += usize::from(fails && by_more);
                    match shift.is_some_and(|mm| mm > 0.0 && mm <= first.free.along_mm) {
                        true if first.verdict == Verdict::Pass => short += 1,
                        _ => long += 1,
                    }
                }
            }
        }
        assert!(short > 100 && long > 100 && failing > 100, "{short} {long} {failing}");
    }

    #[test]
    fn what_a_member_settles_changes_no_outcome_whatever_the_pack_the_cut_and_the_span() {
        let settings = RuleSettings::default();
        let mut left_out = 0;
        for pack in PackSet::built_in().known() {
            let packs = PackSet::built_in().choose(&[pack.id()]).unwrap();
            for member in members() {
                let judge = Judge::of(&member, &packs, &settings);
                let marks = marks(&member);
                let view = View::of(&member);
                let other = View { other_reading: true, ..view.clone() };
                for view in [&view, &other] {
                    for &mark in &marks {
                        let subject = Subject::new(view, mark, &marks);
                        let whole = Brief::whole(&judge.selected, &subject);
                        let brief = judge.brief(&subject);
                        let rules = |brief: &Brief<'_>| {
                            brief.packs.iter().map(|pack| pack.rules.len()).sum::<usize>()
                        };
                        left_out += rules(&whole) - rules(&brief);
                        let long = judge.by(&whole, &subject, Wanted::Words);
                        let at = format!("{} {:?} {mark:?}", pack.id(), member.kind);
                        let short = judge.by(&brief, &subject, Wanted::Words);
                        assert_eq!(told(&short), told(&long), "{at}");
                        let silent = judge.by(&brief, &subject, Wanted::Verdict);
                        let brief = (silent.verdict, silent.margin_mm);
                        assert_eq!(brief, (long.verdict, long.margin_mm), "{at}");
                    }
                }
            }
        }
        assert!(left_out > 10_000, "{left_out}");
    }
}
