//! One cut in one view of its member, by every pack that applies.
//!
//! A rule is asked the short way. Only where it has something to say besides room, and words are
//! wanted, it is asked again the long way ([`super::in_words`]).

use super::brief::{Asked, Brief, Heard, PackBrief, Ready};
use super::{Cause, Outcome, RuleSettings};
use crate::check::{Free, Known, Missing, Told, asked};
use crate::pack::{Check, Fact, Otherwise, Pack, PackSet, Rule};
use crate::subject::{Mark, Neighbours, Subject, View};
use smallvec::SmallVec;
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex, PoisonError};
use wimble_model::{CutKind, CutShape, Member, Verdict};

/// The packs that apply to a member.
#[derive(Debug, Default)]
pub(crate) struct Selected<'p> {
    pub(crate) packs: Vec<&'p Pack>,
    /// A fact without which it cannot be told whether a further pack applies.
    pub(crate) missing: Option<Missing>,
}

impl Pack {
    /// Whether one of its rules asks for a fact.
    pub(crate) fn asks(&self, fact: Fact) -> bool {
        self.rules.iter().any(|rule| {
            rule.when.iter().any(|c| c.fact == fact)
                || matches!(&rule.check, Check::Member(c) if c.fact == fact)
        })
    }
}

/// The packs in force that apply to a member.
fn select<'p>(packs: &'p PackSet, member: &Member, known: Known) -> Selected<'p> {
    let view = View::of(member);
    let mark = whole(member);
    let subject = Subject::new(&view, mark, [].as_slice());
    let mut selected = Selected::default();
    for pack in packs.in_force() {
        let mut missing = None;
        let mut applies = true;
        for condition in &pack.applies {
            match asked(known, &subject, condition, pack.span_basis) {
                Ok(true) => {}
                Ok(false) => applies = false,
                Err(fact) => missing = Some(fact),
            }
        }
        match (applies, missing) {
            (true, None) => selected.packs.push(pack),
            (true, Some(fact)) => {
                selected.missing.get_or_insert(fact);
            }
            (false, _) => {}
        }
    }
    selected
}

/// A mark that stands for the member as a whole.
fn whole(member: &Member) -> Mark {
    let (depth, breadth) = (member.section.depth_mm(), member.section.breadth_mm());
    Mark {
        cut: u32::MAX,
        kind: CutKind::Hole,
        shape: CutShape::Round,
        x0: member.length_mm / 2.0,
        x1: member.length_mm / 2.0,
        y0: -breadth / 2.0,
        y1: breadth / 2.0,
        z0: 0.0,
        z1: 0.0,
        bit: 0.0,
        shared: 0,
        proud: 0.0,
        sizes_known: true,
        trades: 0,
        services: 0,
        depth,
        breadth,
    }
}

/// Judges cuts of one member, or of members that are alike.
#[derive(Debug)]
pub(crate) struct Judge<'p> {
    pub(crate) selected: Selected<'p>,
    pub(crate) known: Known,
    pub(crate) allow: &'p BTreeSet<String>,
    briefs: Mutex<Vec<Arc<Brief<'p>>>>,
}

/// Briefs that are kept: four kinds of cut in two spans, read in two ways.
const MOST_BRIEFS: usize = 16;

/// Whether what does not hold is wanted with what there is to say of it, or the verdict alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    Words,
    Verdict,
}

/// What one option of a group comes to.
struct OptionTold<'p> {
    name: &'p str,
    verdict: Otherwise,
    room: f64,
    /// Whether something in it does not hold or is not known.
    broken: bool,
    free: Free,
}

impl<'p> Judge<'p> {
    /// A judge of a member, by the packs in force that apply to it.
    pub(crate) fn of(member: &Member, packs: &'p PackSet, settings: &'p RuleSettings) -> Self {
        let known = Known::of(settings);
        let selected = select(packs, member, known);
        Self { selected, known, allow: &settings.allow, briefs: Mutex::default() }
    }

    /// The verdict alone.
    pub(crate) fn verdict(
        &self,
        view: &View<'_>,
        mark: Mark,
        neighbours: Neighbours<'_>,
    ) -> Verdict {
        let subject = Subject::new(view, mark, neighbours);
        self.by(&self.brief(&subject), &subject, Wanted::Verdict).verdict
    }

    /// The verdict with spans read the other way, of a cut of which a brief told an outcome.
    pub(super) fn reread(
        &self,
        asked: &Brief<'p>,
        first: &Outcome<'_>,
        subject: &Subject<'_>,
        other: &View<'_>,
    ) -> Verdict {
        // It changes where along the member a cut may lie. A cut that may lie further off passes
        // all the same, as it would shifted, and one that lies too far off fails.
        let reread = || Subject { view: other, ..*subject };
        let shift = asked.reread.get_or_init(|| asked.shift_mm(&self.brief(&reread())));
        let stays_mm = match first.verdict {
            Verdict::Pass => first.free.along_mm,
            Verdict::Fail => first.fails_by_mm,
            _ => f64::NEG_INFINITY,
        };
        if shift.is_some_and(|mm| mm <= stays_mm) {
            return first.verdict;
        }
        let subject = reread();
        self.by(&self.brief(&subject), &subject, Wanted::Verdict).verdict
    }

    /// Everything that is said of a cut.
    pub(crate) fn cut(
        &self,
        view: &View<'_>,
        mark: Mark,
        neighbours: Neighbours<'_>,
    ) -> Outcome<'p> {
        let subject = Subject::new(view, mark, neighbours);
        self.by(&self.brief(&subject), &subject, Wanted::Words)
    }

    /// The rules to ask of a subject; what was asked of the last like it is kept.
    pub(super) fn brief(&self, subject: &Subject<'_>) -> Arc<Brief<'p>> {
        // What was worked out before a panic elsewhere is as good as ever.
        let mut briefs = self.briefs.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(brief) = briefs.iter().find(|brief| brief.is_for(subject)) {
            return Arc::clone(brief);
        }
        let brief = Arc::new(Brief::new(&self.selected, self.known, self.allow, subject));
        // A member that tapers has another depth at every cut.
        if briefs.len() == MOST_BRIEFS {
            briefs.clear();
        }
        briefs.push(Arc::clone(&brief));
        brief
    }

    /// The same for who asks of one cut after the other, with that of the last at hand.
    pub(super) fn brief_again<'b>(
        &self,
        subject: &Subject<'_>,
        at_hand: &'b mut Option<Arc<Brief<'p>>>,
    ) -> &'b Brief<'p> {
        if !at_hand.as_ref().is_some_and(|brief| brief.is_for(subject)) {
            *at_hand = None;
        }
        at_hand.get_or_insert_with(|| self.brief(subject))
    }

    /// What is said of a subject by the rules of a brief.
    pub(super) fn by(
        &self,
        brief: &Brief<'p>,
        subject: &Subject<'_>,
        wanted: Wanted,
    ) -> Outcome<'p> {
        let mut outcome = Outcome::default();
        let mut spoke = false;
        for pack in &brief.packs {
            spoke |= self.pack(pack, subject, wanted, &mut outcome);
        }
        let (otherwise, cause) = match self.selected.missing {
            Some(missing) => (Otherwise::Unknown, Cause::WhichPack { missing }),
            None => (Otherwise::Refer, Cause::NoPack),
        };
        if !spoke && outcome.verdict < otherwise.verdict() {
            outcome.push(subject.mark.cut, otherwise, cause);
        }
        outcome
    }

    /// One pack; whether one of its rules spoke of the cut.
    fn pack(
        &self,
        brief: &PackBrief<'p>,
        subject: &Subject<'_>,
        wanted: Wanted,
        outcome: &mut Outcome<'p>,
    ) -> bool {
        let pack = brief.pack;
        let mut spoke = pack.free.has(subject.mark.kind);
        if let Some(by_a_rule) = brief.holds_plainly(subject, outcome) {
            return spoke || by_a_rule;
        }
        let mut in_scope = true;
        for rule in brief.scope() {
            if let Some(held) = self.single(pack, rule, subject, wanted, outcome) {
                in_scope &= held;
            }
        }
        spoke |= !in_scope;
        for asked in brief.asked() {
            match asked {
                Asked::Alone(rule) if in_scope || rule.rule.always => {
                    let held = self.single(pack, rule, subject, wanted, outcome);
                    spoke |= held.is_some() && rule.speaks;
                }
                Asked::Alone(_) => {}
                Asked::Group(rules) => {
                    let rules = rules.iter().filter(|rule| in_scope || rule.rule.always);
                    spoke |= self.group(pack, rules, subject, wanted, outcome);
                }
            }
        }
        spoke
    }

    /// A rule that stands alone; `None` if it has nothing to say, else whether it holds.
    fn single(
        &self,
        pack: &'p Pack,
        ready: &Ready<'p>,
        subject: &Subject<'_>,
        wanted: Wanted,
        outcome: &mut Outcome<'p>,
    ) -> Option<bool> {
        match ready.hear(subject, &mut outcome.free) {
            Heard::Silent => return None,
            Heard::Holds(room_mm) => {
                if ready.gives_margin && room_mm.is_finite() {
                    outcome.room(room_mm);
                }
                return Some(true);
            }
            Heard::More => {}
        }
        let rule = ready.rule;
        let Some(told) = ready.ask(subject, &mut outcome.free) else {
            outcome.free = Free::UNTOLD;
            return self.single_in_words(pack, rule, subject, outcome);
        };
        outcome.fails_by_mm = outcome.fails_by_mm.max(ready.fails_by_mm(told));
        match told {
            Told::Silent => None,
            Told::Missing if rule.otherwise == Otherwise::Note => None,
            Told::Parts(sum) if !sum.any => None,
            Told::Parts(sum) if sum.broken.is_none() || wanted == Wanted::Verdict => {
                if ready.gives_margin && sum.least_mm.is_finite() {
                    outcome.room(sum.least_mm);
                }
                outcome.worsen(sum.broken);
                Some(sum.broken.is_none())
            }
            Told::Missing if wanted == Wanted::Verdict => {
                outcome.worsen(Some(Otherwise::Unknown));
                Some(false)
            }
            Told::Obliged if wanted == Wanted::Verdict => Some(true),
            Told::Missing | Told::Obliged | Told::Parts(_) => {
                self.single_in_words(pack, rule, subject, outcome)
            }
        }
    }

    /// A group: its rules are and-ed by option, the options or-ed; the best option counts.
    fn group<'b>(
        &self,
        pack: &'p Pack,
        rules: impl Iterator<Item = &'b Ready<'p>> + Clone,
        subject: &Subject<'_>,
        wanted: Wanted,
        outcome: &mut Outcome<'p>,
    ) -> bool
    where
        'p: 'b,
    {
        let mut options: SmallVec<[OptionTold<'p>; 3]> = SmallVec::new();
        for ready in rules.clone() {
            let mut free = Free::WHOLLY;
            let Some(told) = ready.ask(subject, &mut free) else {
                outcome.free = Free::UNTOLD;
                let rules = rules.map(|ready| ready.rule);
                return self.group_in_words(pack, rules, subject, outcome);
            };
            let (broken, room) = match told {
                Told::Silent | Told::Obliged => {
                    outcome.free = outcome.free.and(free);
                    continue;
                }
                Told::Missing => (Some(Otherwise::Unknown), f64::INFINITY),
                Told::Parts(sum) if sum.never => (sum.broken, f64::NEG_INFINITY),
                Told::Parts(sum) => (sum.broken, sum.least_mm),
            };
            let name = ready.rule.option.as_deref().unwrap_or_default();
            let verdict = broken.unwrap_or(Otherwise::Note);
            let broken = broken.is_some();
            match options.iter_mut().find(|option| option.name == name) {
                Some(option) => {
                    option.verdict = option.verdict.max(verdict);
                    option.room = option.room.min(room);
                    option.broken |= broken;
                    option.free = option.free.and(free);
                }
                None => options.push(OptionTold { name, verdict, room, broken, free }),
            }
        }
        let best = options.into_iter().reduce(|best, next| {
            let better = is_better((next.verdict, next.room), (best.verdict, best.room));
            if better { next } else { best }
        });
        let Some(best) = best else { return false };
        // As long as this option holds, none that is better can come to less.
        outcome.free = outcome.free.and(best.free);
        if best.broken && wanted == Wanted::Words {
            return self.group_in_words(pack, rules.map(|ready| ready.rule), subject, outcome);
        }
        if best.room.is_finite() {
            outcome.room(best.room);
        }
        outcome.worsen(best.broken.then_some(best.verdict));
        true
    }
}

/// Whether the room of a rule is a margin of the cut: a note's and a fact's is not.
pub(super) fn gives_margin(rule: &Rule) -> bool {
    rule.otherwise != Otherwise::Note && !matches!(rule.check, Check::Member(_))
}

/// Whether an option of a group is better than another, each by what it comes to and its room.
pub(super) fn is_better(next: (Otherwise, f64), best: (Otherwise, f64)) -> bool {
    next.0 < best.0 || (next.0 == best.0 && next.1 > best.1)
}

/// Whether a rule's word is enough for a pass: a note, a duty, a fact of the member or a
/// distance to neighbours is not.
pub(crate) fn speaks_for(rule: &Rule) -> bool {
    !rule.always
        && rule.otherwise != Otherwise::Note
        && !matches!(
            rule.check,
            Check::Oblige { .. }
                | Check::Member(_)
                | Check::Apart { .. }
                | Check::BothEdges { .. }
                | Check::Count { .. }
        )
}
