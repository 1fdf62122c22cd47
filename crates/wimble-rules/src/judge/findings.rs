//! What did not hold, as findings.

use super::merge::Said;
use super::{Broken, Cause, Outcome, Situation};
use crate::check::About;
use crate::pack::{Check, Once, Otherwise, Proposal, Rule, Status};
use crate::subject::{Mark, Neighbours, View};
use crate::words;
use std::collections::BTreeMap;
use wimble_model::{
    Action, CutIx, CutKind, Finding, Level, Limit, Measured, MemberIx, MemberKind, Obligation,
    Remedy, ServiceIx, Verdict,
};

/// Findings of one member, one for each rule and what it is about.
pub(crate) fn of_member(
    situation: &Situation<'_>,
    ix: MemberIx,
    view: &View<'_>,
    marks: Neighbours<'_>,
    broken: Vec<Broken<'_>>,
) -> Vec<Said> {
    let twice = doubled(&broken);
    let mut said: BTreeMap<(String, Vec<u32>, u8), Said> = BTreeMap::new();
    for one in broken {
        if twice.contains(&pair_key(&one)) && by_always(&one) {
            continue;
        }
        let (rule, cuts, once) = place(&one);
        let whole_member = cuts.is_empty();
        let key = (rule.clone(), cuts.clone(), one.otherwise as u8);
        if let Some(old) = said.get_mut(&key) {
            if whole_member {
                old.add(one.cut);
            }
            continue;
        }
        let Some(mark) = marks.of_cut(one.cut) else { continue };
        let verdict = one.otherwise.verdict();
        let (measured, limit) = figures(&one.cause);
        let finding = Finding {
            rule,
            level: Level::of(verdict),
            verdict,
            member: ix,
            cuts: Vec::new(),
            services: Vec::new(),
            measured,
            limit,
            message: words::message(view, mark, marks, &one),
            source: source(&one.cause),
            waived: None,
            remedies: remedies(&one, mark),
        };
        let cuts = if whole_member { vec![one.cut] } else { cuts };
        said.insert(key, Said { finding, cuts, once, silent_on_cuts: about_member(&one) });
    }
    said.into_values()
        .map(|mut said| {
            said.name_cuts(situation);
            said
        })
        .collect()
}

/// The rule's name as printed, the cuts that it is said of (none: gathered over the member).
fn place(one: &Broken<'_>) -> (String, Vec<u32>, Option<Once>) {
    let own = vec![one.cut];
    match &one.cause {
        Cause::Part { pack, rule, part } => {
            let cuts = match part.about {
                About::Cut(other) => vec![one.cut.min(other), one.cut.max(other)],
                // A fact of the member is said once for all its cuts.
                _ if of_the_member(rule) => Vec::new(),
                _ => own,
            };
            (format!("{}/{}", pack.id, rule.said_as()), cuts, rule.once_per)
        }
        Cause::Missing { pack, rule, .. } => {
            let cuts = if of_the_member(rule) { Vec::new() } else { own };
            (format!("{}/{}", pack.id, rule.said_as()), cuts, rule.once_per)
        }
        Cause::WhichPack { .. } => ("scope/fact-missing".to_owned(), Vec::new(), None),
        Cause::NoPack => ("scope/no-pack".to_owned(), Vec::new(), Some(Once::Run)),
        Cause::Remark { rule, .. } => ((*rule).to_owned(), own, None),
    }
}

/// Whether a rule is about the member alone.
fn of_the_member(rule: &Rule) -> bool {
    matches!(&rule.check, Check::Member(condition) if !condition.fact.of_the_cut())
}

/// A note about the member alone names no cuts.
fn about_member(one: &Broken<'_>) -> bool {
    match &one.cause {
        Cause::Part { rule, .. } => of_the_member(rule) && one.otherwise == Otherwise::Note,
        _ => false,
    }
}

type PairKey = Option<(u32, u32)>;

/// The pair of cuts that a both-edges failure is about.
fn pair_key(one: &Broken<'_>) -> PairKey {
    match &one.cause {
        Cause::Part { rule, part, .. } => match (&rule.check, part.about) {
            (Check::BothEdges { .. }, About::Cut(other)) => {
                Some((one.cut.min(other), one.cut.max(other)))
            }
            _ => None,
        },
        _ => None,
    }
}

fn by_always(one: &Broken<'_>) -> bool {
    matches!(&one.cause, Cause::Part { rule: Rule { always: true, .. }, .. })
}

/// Pairs that a pack's own rule speaks of too: what is always judged need not be said again.
fn doubled(broken: &[Broken<'_>]) -> Vec<PairKey> {
    broken.iter().filter(|one| !by_always(one)).map(pair_key).filter(Option::is_some).collect()
}

fn figures(cause: &Cause<'_>) -> (Option<Measured>, Option<Limit>) {
    let Cause::Part { part, .. } = cause else { return (None, None) };
    let Some(figure) = part.figure.filter(|f| f.value.is_finite() && f.limit.is_finite()) else {
        return (None, None);
    };
    (
        Some(Measured { value: figure.value, unit: figure.unit }),
        Some(Limit { value: figure.limit, unit: figure.unit, bound: figure.bound }),
    )
}

fn source(cause: &Cause<'_>) -> String {
    match cause {
        Cause::Part { pack, rule, .. } | Cause::Missing { pack, rule, .. } => pack.cites(rule),
        Cause::WhichPack { .. } | Cause::NoPack => {
            "Scopes of the packs in force (our own reading)".to_owned()
        }
        Cause::Remark { .. } => "How a cut is measured (our own definition)".to_owned(),
    }
}

fn remedies(one: &Broken<'_>, mark: &Mark) -> Vec<Remedy> {
    if one.otherwise == Otherwise::Note || one.otherwise == Otherwise::Unknown {
        return Vec::new();
    }
    let mut proposals: Vec<Proposal> = match &one.cause {
        Cause::Part { rule, .. } => rule.propose.clone(),
        Cause::NoPack if matches!(mark.kind, CutKind::Bore | CutKind::Severed) => {
            vec![Proposal::TrimOut]
        }
        _ => Vec::new(),
    };
    if !proposals.contains(&Proposal::Refer) {
        proposals.push(Proposal::Refer);
    }
    proposals
        .into_iter()
        .map(|proposal| match proposal {
            Proposal::Refer => Remedy {
                action: Action::Refer,
                services: Vec::new(),
                text: Remedy::ASK.to_owned(),
            },
            Proposal::Turn => Remedy {
                action: Action::Turn,
                services: Vec::new(),
                text: "Run it along the members instead of through them, if the services designer agrees."
                    .to_owned(),
            },
            Proposal::TrimOut => Remedy {
                action: Action::TrimOut,
                services: Vec::new(),
                text: "Trim out the members for it: a proposal to the engineer.".to_owned(),
            },
        })
        .collect()
}

/// Remarks that no rule makes: doubtful supports, the other reading of the span, and what was
/// noted while measuring.
pub(crate) fn remarks<'p>(
    member: &wimble_model::Member,
    mark: Mark,
    doubtful: bool,
    reading: Option<Verdict>,
    situation: &Situation<'_>,
) -> Vec<Broken<'p>> {
    let mut remarks = Vec::new();
    let mut remark = |rule: &'static str, words: String| {
        remarks.push(Broken {
            cut: mark.cut,
            otherwise: Otherwise::Note,
            cause: Cause::Remark { rule, words },
        });
    };
    if doubtful {
        let names: Vec<&str> =
            member.bearings.iter().filter(|b| b.doubtful).map(|b| b.name.as_str()).collect();
        remark(
            "supports/doubtful",
            format!(
                "{} below the middle does not say whether it carries: judged with and without it, the worse counts.",
                if names.is_empty() { "A wall".to_owned() } else { names.join(", ") }
            ),
        );
    }
    if let Some(verdict) = reading {
        remark(
            "supports/span-reading",
            format!(
                "Read on the other span (clear for effective, or the reverse) the verdict would be {}.",
                verdict.word()
            ),
        );
    }
    if let Some(cut) = situation.cuts.get(mark.cut as usize)
        && !cut.too_small.is_empty()
    {
        remark(
                "measuring/opening-too-small",
                "The opening that is modelled does not take the service with its clearance: judged as the cut that both need."
                    .to_owned(),
            );
    }
    remarks
}

/// What must be done besides, each kind once.
pub(crate) fn obligations(
    outcome: &Outcome<'_>,
    situation: &Situation<'_>,
    cut: u32,
) -> Vec<Obligation> {
    if outcome.verdict == Verdict::Fail {
        return Vec::new();
    }
    let mut all: Vec<Obligation> = Vec::new();
    for (pack, rule, kind, has_mm, needs_mm) in &outcome.obliged {
        if all.iter().any(|o| o.kind == *kind) {
            continue;
        }
        let member = situation
            .cuts
            .get(cut as usize)
            .and_then(|cut| situation.members.get(cut.member.at()))
            .map_or(MemberKind::Unknown, |m| m.kind);
        let mut text = words::obligation(*kind, member, *has_mm, *needs_mm);
        // A figure that nobody has read says so wherever it is shown.
        let sources = rule.sources.iter().filter_map(|at| pack.sources.get(*at));
        if sources.into_iter().any(|source| source.status == Status::Memory) {
            text.push_str(" The figure is from memory, to be confirmed.");
        }
        all.push(Obligation { kind: *kind, rule: format!("{}/{}", pack.id, rule.said_as()), text });
    }
    all.sort_by_key(|o| o.kind);
    all
}

impl Said {
    /// Another cut of the same finding.
    fn add(&mut self, cut: u32) {
        if !self.cuts.contains(&cut) {
            self.cuts.push(cut);
        }
    }

    /// Writes cuts and their services into the finding.
    pub(crate) fn name_cuts(&mut self, situation: &Situation<'_>) {
        self.cuts.sort_unstable();
        self.cuts.dedup();
        let mut services: Vec<ServiceIx> = self
            .cuts
            .iter()
            .filter_map(|&cut| situation.cuts.get(cut as usize))
            .flat_map(|cut| cut.services.iter().copied())
            .collect();
        services.sort_unstable();
        services.dedup();
        if self.silent_on_cuts {
            return;
        }
        self.finding.cuts = self.cuts.iter().map(|&cut| CutIx(cut)).collect();
        self.finding.services = services;
    }
}
