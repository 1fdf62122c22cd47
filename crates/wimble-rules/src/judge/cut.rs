//! One cut in one view of its member, by every pack that applies.

use super::brief::{Asked, Brief, BriefFor, PackBrief};
use super::{Broken, Cause, Outcome};
use crate::check::{
    Answer, Answered, Context, Known, Missing, Parts, Reply, Room, answer, asked, reply, speaks_of,
};
use crate::pack::{Check, Fact, Otherwise, Pack, PackSet, Rule};
use crate::subject::{Mark, Neighbours, Subject, View};
use smallvec::SmallVec;
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;
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
pub(crate) fn select<'p>(packs: &'p PackSet, member: &Member, known: Known) -> Selected<'p> {
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

/// Judges cuts of one member.
pub(crate) struct Judge<'j, 'p> {
    pub(crate) selected: &'j Selected<'p>,
    pub(crate) known: Known,
    pub(crate) allow: &'j BTreeSet<String>,
    briefs: RefCell<Briefs<'p>>,
}

/// Briefs, each with what it is for.
type Briefs<'p> = SmallVec<[(BriefFor, Rc<Brief<'p>>); MOST_BRIEFS]>;

/// Briefs that are kept: two kinds of cut in two spans, read in two ways.
const MOST_BRIEFS: usize = 8;

/// What one option of a group comes to.
struct OptionOutcome<'p> {
    name: &'p str,
    verdict: Otherwise,
    room: f64,
    spoke: bool,
    missing: Option<(&'p Rule, Missing)>,
    worst: Option<(&'p Rule, Box<Answered>)>,
}

impl<'j, 'p> Judge<'j, 'p> {
    /// A judge of one member, by the packs chosen for it.
    pub(crate) fn new(
        selected: &'j Selected<'p>,
        known: Known,
        allow: &'j BTreeSet<String>,
    ) -> Self {
        Self { selected, known, allow, briefs: RefCell::default() }
    }

    /// The verdict alone.
    pub(crate) fn verdict(
        &self,
        view: &View<'_>,
        mark: Mark,
        neighbours: Neighbours<'_>,
    ) -> Verdict {
        self.cut(view, mark, neighbours).verdict
    }

    /// Everything that is said of a cut.
    pub(crate) fn cut(
        &self,
        view: &View<'_>,
        mark: Mark,
        neighbours: Neighbours<'_>,
    ) -> Outcome<'p> {
        let subject = Subject::new(view, mark, neighbours);
        self.subject(&subject)
    }

    /// The same of a subject whose span is given.
    pub(crate) fn subject(&self, subject: &Subject<'_>) -> Outcome<'p> {
        self.by(&self.brief(subject), subject)
    }

    /// The rules to ask of a subject; what was asked of the last like it is kept.
    fn brief(&self, subject: &Subject<'_>) -> Rc<Brief<'p>> {
        let wanted = BriefFor::of(subject);
        let mut briefs = self.briefs.borrow_mut();
        if let Some((_, brief)) = briefs.iter().find(|(known, _)| *known == wanted) {
            return Rc::clone(brief);
        }
        let brief = Rc::new(Brief::new(self.selected, self.known, self.allow, subject));
        // A member that tapers has another depth at every cut.
        if briefs.len() == MOST_BRIEFS {
            briefs.clear();
        }
        briefs.push((wanted, Rc::clone(&brief)));
        brief
    }

    /// What is said of a subject by the rules of a brief.
    pub(super) fn by(&self, brief: &Brief<'p>, subject: &Subject<'_>) -> Outcome<'p> {
        let mut outcome = Outcome::default();
        let mut spoke = false;
        for pack in &brief.packs {
            spoke |= self.pack(pack, subject, &mut outcome);
        }
        let (otherwise, cause) = match self.selected.missing {
            Some(missing) => (Otherwise::Unknown, Cause::WhichPack { missing }),
            None => (Otherwise::Refer, Cause::NoPack),
        };
        if !spoke && outcome.verdict < otherwise.verdict() {
            push(&mut outcome, subject, otherwise, cause);
        }
        outcome
    }

    /// One pack; whether one of its rules spoke of the cut.
    fn pack(
        &self,
        brief: &PackBrief<'p>,
        subject: &Subject<'_>,
        outcome: &mut Outcome<'p>,
    ) -> bool {
        let pack = brief.pack;
        let mut spoke = pack.free.has(subject.mark.kind);
        let mut in_scope = true;
        for rule in &brief.scope {
            if let Some(held) = self.single(pack, rule, subject, outcome) {
                in_scope &= held;
            }
        }
        spoke |= !in_scope;
        for asked in &brief.asked {
            match asked {
                Asked::Alone(rule) if in_scope || rule.always => {
                    let held = self.single(pack, rule, subject, outcome);
                    spoke |= held.is_some() && speaks_for(rule);
                }
                Asked::Alone(_) => {}
                Asked::Group(rules) => {
                    let rules = rules.iter().copied().filter(|rule| in_scope || rule.always);
                    spoke |= self.group(pack, rules, subject, outcome);
                }
            }
        }
        spoke
    }

    /// Whether a rule speaks of the subject at all: kind, switch, `when`, `after`.
    fn speaks(
        &self,
        pack: &'p Pack,
        rule: &'p Rule,
        subject: &Subject<'_>,
    ) -> Result<bool, Missing> {
        let may = self.may_speak(pack, rule, subject);
        let first = rule.after.and_then(|at| pack.rules.get(at));
        if may != Ok(false) && first.is_some_and(|first| !self.holds(pack, first, subject)) {
            return Ok(false);
        }
        may
    }

    /// The same but for `after`: nothing here depends on where the cut lies within its span.
    fn may_speak(
        &self,
        pack: &'p Pack,
        rule: &'p Rule,
        subject: &Subject<'_>,
    ) -> Result<bool, Missing> {
        if !speaks_of(rule, subject) {
            return Ok(false);
        }
        if rule.lifted_by.as_ref().is_some_and(|switch| self.allow.contains(switch)) {
            return Ok(false);
        }
        let mut missing = None;
        for condition in &rule.when {
            match asked(self.known, subject, condition, pack.span_basis) {
                Ok(true) => {}
                Ok(false) => return Ok(false),
                Err(fact) => missing = Some(fact),
            }
        }
        missing.map_or(Ok(true), Err)
    }

    /// Whether a rule holds (or does not speak).
    fn holds(&self, pack: &'p Pack, rule: &'p Rule, subject: &Subject<'_>) -> bool {
        match self.speaks(pack, rule, subject) {
            Ok(false) => true,
            Err(_) => false,
            Ok(true) => {
                let mut parts = Parts::new();
                match reply(&self.context(pack, rule), subject, &mut parts) {
                    Reply::Parts => parts.iter().all(|part| part.room.holds()),
                    Reply::Missing(_) => false,
                    Reply::Silent | Reply::Obliged { .. } => true,
                }
            }
        }
    }

    pub(crate) fn context<'c>(&self, pack: &'c Pack, rule: &'c Rule) -> Context<'c> {
        Context { pack, rule, known: self.known, places: false }
    }

    /// What a rule answers, if it speaks of the subject.
    fn asks(
        &self,
        pack: &'p Pack,
        rule: &'p Rule,
        subject: &Subject<'_>,
        parts: &mut Parts,
    ) -> Reply {
        match self.speaks(pack, rule, subject) {
            Ok(false) => Reply::Silent,
            Err(missing) => Reply::Missing(missing),
            Ok(true) => reply(&self.context(pack, rule), subject, parts),
        }
    }

    /// The same, wherever the cut lies within its span.
    pub(crate) fn asks_anywhere(
        &self,
        pack: &'p Pack,
        rule: &'p Rule,
        subject: &Subject<'_>,
    ) -> Answer {
        match self.may_speak(pack, rule, subject) {
            Ok(false) => Answer::Silent,
            Err(missing) => Answer::Missing(missing),
            Ok(true) => {
                let context = Context { places: true, ..self.context(pack, rule) };
                answer(&context, subject)
            }
        }
    }

    /// A rule that stands alone; `None` if it has nothing to say, else whether it holds.
    fn single(
        &self,
        pack: &'p Pack,
        rule: &'p Rule,
        subject: &Subject<'_>,
        outcome: &mut Outcome<'p>,
    ) -> Option<bool> {
        let mut parts = Parts::new();
        match self.asks(pack, rule, subject, &mut parts) {
            Reply::Silent => None,
            Reply::Missing(missing) => {
                if rule.otherwise == Otherwise::Note {
                    return None;
                }
                // What is always judged asks what the member is: said once, not rule by rule.
                let cause = match missing {
                    Missing::Fact(_) if rule.always => Cause::WhichPack { missing },
                    _ => Cause::Missing { pack, rule, missing },
                };
                push(outcome, subject, Otherwise::Unknown, cause);
                Some(false)
            }
            Reply::Obliged { obligation, has_mm, needs_mm } => {
                outcome.obliged.push((pack, rule, obligation, has_mm, needs_mm));
                Some(true)
            }
            Reply::Parts if parts.is_empty() => None,
            Reply::Parts => {
                let counts =
                    rule.otherwise != Otherwise::Note && !matches!(rule.check, Check::Member(_));
                let mut held = true;
                for part in &parts {
                    if let (Room::Mm(mm), true) = (part.room, counts) {
                        outcome.room(mm);
                    }
                    held &= part.room.holds();
                }
                if !held {
                    for part in broken_parts(parts) {
                        let otherwise = part.otherwise;
                        push(outcome, subject, otherwise, Cause::Part { pack, rule, part });
                    }
                }
                Some(held)
            }
        }
    }

    /// A group: its rules are and-ed by option, the options or-ed; the best option counts.
    fn group(
        &self,
        pack: &'p Pack,
        rules: impl Iterator<Item = &'p Rule>,
        subject: &Subject<'_>,
        outcome: &mut Outcome<'p>,
    ) -> bool {
        let mut parts = Parts::new();
        let mut options: SmallVec<[OptionOutcome<'p>; 3]> = SmallVec::new();
        for rule in rules {
            let name = rule.option.as_deref().unwrap_or_default();
            parts.clear();
            let missing = match self.asks(pack, rule, subject, &mut parts) {
                Reply::Silent | Reply::Obliged { .. } => continue,
                Reply::Missing(missing) => Some(missing),
                Reply::Parts => None,
            };
            let at = options.iter().position(|o| o.name == name).unwrap_or_else(|| {
                options.push(OptionOutcome {
                    name,
                    verdict: Otherwise::Note,
                    room: f64::INFINITY,
                    spoke: false,
                    missing: None,
                    worst: None,
                });
                options.len() - 1
            });
            let Some(option) = options.get_mut(at) else { continue };
            option.spoke = true;
            if let Some(missing) = missing {
                option.verdict = option.verdict.max(Otherwise::Unknown);
                option.missing.get_or_insert((rule, missing));
            }
            for part in &parts {
                let room = match part.room {
                    Room::Mm(mm) => mm,
                    Room::Never => f64::NEG_INFINITY,
                    Room::Other(_) | Room::Plain => f64::INFINITY,
                };
                option.room = option.room.min(room);
                if part.room.holds() {
                    continue;
                }
                let worse = option.worst.as_ref().is_none_or(|(_, old)| {
                    part.otherwise > old.otherwise
                        || (part.otherwise == old.otherwise && less_room(part, old))
                });
                option.verdict = option.verdict.max(part.otherwise);
                if worse {
                    option.worst = Some((rule, Box::new(part.clone())));
                }
            }
        }
        let best = options.into_iter().filter(|o| o.spoke).reduce(|best, next| {
            let better = next.verdict < best.verdict
                || (next.verdict == best.verdict && next.room > best.room);
            if better { next } else { best }
        });
        let Some(best) = best else { return false };
        if best.room.is_finite() {
            outcome.room(best.room);
        }
        match (best.worst, best.missing) {
            (Some((rule, part)), _) if part.otherwise == best.verdict => {
                let part = *part;
                push(outcome, subject, best.verdict, Cause::Part { pack, rule, part });
            }
            (_, Some((rule, missing))) => {
                let cause = Cause::Missing { pack, rule, missing };
                push(outcome, subject, Otherwise::Unknown, cause);
            }
            _ => {}
        }
        true
    }
}

/// The parts that do not hold; of two bands about one thing the worse.
fn broken_parts(parts: Parts) -> Parts {
    let mut kept = Parts::new();
    for part in parts.into_iter().filter(|part| !part.room.holds()) {
        match kept.iter_mut().find(|k| k.about == part.about) {
            Some(old) if part.otherwise > old.otherwise => *old = part,
            Some(_) => {}
            None => kept.push(part),
        }
    }
    kept
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

fn less_room(a: &Answered, b: &Answered) -> bool {
    let mm = |part: &Answered| match part.room {
        Room::Mm(mm) | Room::Other(mm) => mm,
        Room::Never => f64::NEG_INFINITY,
        Room::Plain => f64::INFINITY,
    };
    mm(a) < mm(b)
}

fn push<'p>(
    outcome: &mut Outcome<'p>,
    subject: &Subject<'_>,
    otherwise: Otherwise,
    cause: Cause<'p>,
) {
    outcome.verdict = outcome.verdict.max(otherwise.verdict());
    outcome.broken.push(Broken { cut: subject.mark.cut, otherwise, cause });
}
