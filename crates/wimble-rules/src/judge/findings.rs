//! What did not hold, as findings.

use super::merge::{self, Once};
use super::{Broken, Cause, MemberSaid, Outcome, Situation};
use crate::check::About;
use crate::pack::{Check, Once as OncePer, Otherwise, Proposal, Rule, Said, Status};
use crate::subject::{Mark, Neighbours, View};
use crate::words;
use std::sync::{Arc, LazyLock};
use thin_vec::ThinVec;
use wimble_model::{
    CutIx, CutKind, Few, Finding, Level, Limit, Measured, MemberIx, MemberKind, Obligation,
    ServiceIx, Verdict,
};

/// Findings of one member, one for each rule and what it is about, worst first; those that are said
/// once with those of other members apart.
pub(super) fn of_member(
    situation: &Situation<'_>,
    ix: MemberIx,
    view: &View<'_>,
    marks: Neighbours<'_>,
    broken: &[Broken<'_>],
) -> MemberSaid {
    let mut said = MemberSaid::default();
    if broken.is_empty() {
        return said;
    }
    let twice = doubled(broken);
    let heard = |one: &&Broken<'_>| !(by_always(one) && twice.contains(&pair_key(one)));
    let mut places: Vec<(Place<'_>, &Broken<'_>)> =
        broken.iter().filter(heard).map(|one| (Place::of(one), one)).collect();
    // Of what is said of the same cuts by the same rule, the first is told.
    places.sort_by_key(|(place, _)| *place);
    let places = || places.chunk_by(|(a, _), (b, _)| a == b);
    said.findings.reserve_exact(places().count());
    for alike in places() {
        let Some((place, one)) = alike.first() else { continue };
        let Some(mark) = marks.of_cut(one.cut) else { continue };
        let mut cuts: Few<CutIx> = match place.cuts {
            Some((cut, other)) => std::iter::once(cut).chain(other).map(CutIx).collect(),
            None => alike.iter().map(|(_, one)| CutIx(one.cut)).collect(),
        };
        cuts.sort_unstable();
        cuts.dedup();
        let common = common(&one.cause, mark);
        let verdict = one.otherwise.verdict();
        let (measured, limit) = figures(&one.cause);
        let asks = !matches!(one.otherwise, Otherwise::Note | Otherwise::Unknown);
        let mut finding = Finding {
            rule: common.name.clone(),
            level: Level::of(verdict),
            verdict,
            member: ix,
            cuts: Few::new(),
            services: Few::new(),
            measured,
            limit,
            message: words::message(view, mark, marks, one),
            source: common.source.clone(),
            waived: None,
            remedies: if asks { Arc::clone(&common.proposals) } else { Arc::default() },
        };
        let silent_on_cuts = about_member(one);
        if !silent_on_cuts {
            finding.services = services(&cuts, situation);
            finding.cuts.clone_from(&cuts);
        }
        match merge::key(once_per(&one.cause), &finding, situation) {
            None => said.findings.push(finding),
            Some(key) => said.once.push(Once { key, finding, cuts, silent_on_cuts }),
        }
    }
    said.findings.sort_by(Finding::order);
    said
}

/// The services in some cuts, sorted.
pub(super) fn services(cuts: &[CutIx], situation: &Situation<'_>) -> Few<ServiceIx> {
    let cuts = cuts.iter().filter_map(|cut| situation.cuts.get(cut.at()));
    let mut services: Few<ServiceIx> = cuts.flat_map(|cut| cut.services.iter().copied()).collect();
    services.sort_unstable();
    services.dedup();
    services
}

/// The rule that says something, the cuts that it says it of, and what it means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Place<'b> {
    rule: &'b str,
    /// A cut, or a pair of them; `None`: gathered over the member.
    cuts: Option<(u32, Option<u32>)>,
    otherwise: Otherwise,
}

impl<'b> Place<'b> {
    fn of(one: &'b Broken<'_>) -> Self {
        let own = Some((one.cut, None));
        let (rule, cuts) = match &one.cause {
            Cause::Part { rule, part, .. } => {
                let cuts = match part.about {
                    About::Cut(other) => Some((one.cut.min(other), Some(one.cut.max(other)))),
                    // A fact of the member is said once for all its cuts.
                    _ if of_the_member(rule) => None,
                    _ => own,
                };
                (&*rule.said.name, cuts)
            }
            Cause::Missing { rule, .. } => {
                (&*rule.said.name, if of_the_member(rule) { None } else { own })
            }
            Cause::WhichPack { .. } => (&*FACT_MISSING.name, None),
            Cause::NoPack => (&*NO_PACK.name, None),
            Cause::Remark { remark, .. } => (&*remark.name, own),
        };
        Self { rule, cuts, otherwise: one.otherwise }
    }
}

const SCOPES: &str = "Scopes of the packs in force (our own reading)";
const MEASURED: &str = "How a cut is measured (our own definition)";

static FACT_MISSING: LazyLock<Said> =
    LazyLock::new(|| Said::new("scope/fact-missing", SCOPES, &[]));
static NO_PACK: LazyLock<Said> = LazyLock::new(|| Said::new("scope/no-pack", SCOPES, &[]));
static NO_PACK_TO_TRIM: LazyLock<Said> =
    LazyLock::new(|| Said::new("scope/no-pack", SCOPES, &[Proposal::TrimOut]));
static DOUBTFUL: LazyLock<Said> = LazyLock::new(|| Said::new("supports/doubtful", MEASURED, &[]));
static SPAN_READING: LazyLock<Said> =
    LazyLock::new(|| Said::new("supports/span-reading", MEASURED, &[]));
static TOO_SMALL: LazyLock<Said> =
    LazyLock::new(|| Said::new("measuring/opening-too-small", MEASURED, &[]));

/// What a finding has in common with others of its rule.
fn common<'b>(cause: &Cause<'b>, mark: &Mark) -> &'b Said {
    match cause {
        Cause::Part { rule, .. } | Cause::Missing { rule, .. } => &rule.said,
        Cause::WhichPack { .. } => &FACT_MISSING,
        Cause::NoPack if matches!(mark.kind, CutKind::Bore | CutKind::Severed) => &NO_PACK_TO_TRIM,
        Cause::NoPack => &NO_PACK,
        Cause::Remark { remark, .. } => remark,
    }
}

/// What several findings share when they are said once.
const fn once_per(cause: &Cause<'_>) -> Option<OncePer> {
    match cause {
        Cause::Part { rule, .. } | Cause::Missing { rule, .. } => rule.once_per,
        Cause::NoPack => Some(OncePer::Run),
        Cause::WhichPack { .. } | Cause::Remark { .. } => None,
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

/// Adds remarks that no rule makes: doubtful supports, the other reading of the span, and what was
/// noted while measuring.
pub(super) fn remark(
    broken: &mut Vec<Broken<'_>>,
    member: &wimble_model::Member,
    mark: Mark,
    doubtful: bool,
    reading: Option<Verdict>,
    situation: &Situation<'_>,
) {
    let mut remark = |remark: &'static Said, words: String| {
        let cause = Cause::Remark { remark, words };
        broken.push(Broken { cut: mark.cut, otherwise: Otherwise::Note, cause });
    };
    if doubtful {
        let names: Vec<&str> =
            member.bearings.iter().filter(|b| b.doubtful).map(|b| b.name.as_str()).collect();
        remark(
            &DOUBTFUL,
            format!(
                "{} below the middle does not say whether it carries: judged with and without it, the worse counts.",
                if names.is_empty() { "A wall".to_owned() } else { names.join(", ") }
            ),
        );
    }
    if let Some(verdict) = reading {
        remark(
            &SPAN_READING,
            format!(
                "Read on the other span (clear for effective, or the reverse) the verdict would be {}.",
                verdict.word()
            ),
        );
    }
    if let Some(cut) = situation.cuts.get(mark.cut as usize)
        && !cut.besides.too_small.is_empty()
    {
        remark(
                &TOO_SMALL,
                "The opening that is modelled does not take the service with its clearance: judged as the cut that both need."
                    .to_owned(),
            );
    }
}

/// What must be done besides, each kind once.
pub(crate) fn obligations(
    outcome: &Outcome<'_>,
    situation: &Situation<'_>,
    cut: u32,
) -> ThinVec<Obligation> {
    let mut all = ThinVec::new();
    if outcome.verdict == Verdict::Fail {
        return all;
    }
    for (pack, rule, kind, has_mm, needs_mm) in &outcome.obliged {
        if all.iter().any(|o: &Obligation| o.kind == *kind) {
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
        all.push(Obligation { kind: *kind, rule: rule.said.name.clone(), text });
    }
    all.sort_by_key(|o| o.kind);
    all
}
