//! A rule asked the long way: with what does not hold, and what there is to say of it.

use super::cut::{Judge, gives_margin, is_better};
use super::{Cause, Outcome};
use crate::check::{
    Answer, Answered, Context, Missing, Parts, Reply, Room, answer, asked, reply, speaks_of,
};
use crate::pack::{Otherwise, Pack, Rule};
use crate::subject::Subject;
use smallvec::SmallVec;

/// What one option of a group comes to.
struct OptionOutcome<'p> {
    name: &'p str,
    verdict: Otherwise,
    room: f64,
    spoke: bool,
    missing: Option<(&'p Rule, Missing)>,
    worst: Option<(&'p Rule, Box<Answered>)>,
}

impl<'p> Judge<'p> {
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
    pub(super) fn single_in_words(
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
                    _ => Cause::Missing { rule, missing },
                };
                outcome.push(subject.mark.cut, Otherwise::Unknown, cause);
                Some(false)
            }
            Reply::Obliged { obligation, has_mm, needs_mm } => {
                outcome.obliged.push((pack, rule, obligation, has_mm, needs_mm));
                Some(true)
            }
            Reply::Parts if parts.is_empty() => None,
            Reply::Parts => {
                let mut held = true;
                for part in &parts {
                    if let (Room::Mm(mm), true) = (part.room, gives_margin(rule)) {
                        outcome.room(mm);
                    }
                    held &= part.room.holds();
                }
                if !held {
                    for part in broken_parts(parts) {
                        let otherwise = part.otherwise;
                        outcome.push(subject.mark.cut, otherwise, Cause::Part { rule, part });
                    }
                }
                Some(held)
            }
        }
    }

    /// A group: its rules are and-ed by option, the options or-ed; the best option counts.
    pub(super) fn group_in_words(
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
            let better = is_better((next.verdict, next.room), (best.verdict, best.room));
            if better { next } else { best }
        });
        let Some(best) = best else { return false };
        if best.room.is_finite() {
            outcome.room(best.room);
        }
        match (best.worst, best.missing) {
            (Some((rule, part)), _) if part.otherwise == best.verdict => {
                let part = *part;
                outcome.push(subject.mark.cut, best.verdict, Cause::Part { rule, part });
            }
            (_, Some((rule, missing))) => {
                let cause = Cause::Missing { rule, missing };
                outcome.push(subject.mark.cut, Otherwise::Unknown, cause);
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

fn less_room(a: &Answered, b: &Answered) -> bool {
    let mm = |part: &Answered| match part.room {
        Room::Mm(mm) | Room::Other(mm) => mm,
        Room::Never => f64::NEG_INFINITY,
        Room::Plain => f64::INFINITY,
    };
    mm(a) < mm(b)
}
