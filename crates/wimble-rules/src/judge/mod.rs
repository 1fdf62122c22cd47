//! From cuts to verdicts and findings, member by member.

mod alike;
mod brief;
mod broken;
mod cut;
mod findings;
mod in_words;
mod merge;
mod site;
#[cfg(test)]
mod trials;

pub(crate) use alike::Judges;
pub(crate) use broken::{Broken, Cause, Outcome};
use cut::Wanted;
pub(crate) use cut::{Judge, Selected, speaks_for};
use merge::Gathered;
pub use site::SiteTolerance;

use crate::pack::PackSet;
use crate::subject::{Mark, Neighbours, Subject, View};
use rayon::prelude::*;
use std::collections::BTreeSet;
use thin_vec::ThinVec;
use wimble_model::{Cut, CutIx, Finding, Member, MemberIx, Obligation, Opening, Service, Verdict};

/// What was found in a building.
#[derive(Debug, Clone, Copy)]
pub struct Situation<'s> {
    /// Timber members.
    pub members: &'s [Member],
    /// Services.
    pub services: &'s [Service],
    /// Openings.
    pub openings: &'s [Opening],
    /// Cuts, of any member, in any order.
    pub cuts: &'s [Cut],
}

/// What the user's settings say to the rules.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleSettings {
    /// Switches that are on (`bottom-notch`); [`PackSet::switches`] lists those that there are.
    pub allow: BTreeSet<String>,
    /// Whether the floors are in domestic use: stated, or `None` (domestic is assumed, said so).
    pub domestic: Option<bool>,
    /// Studs, posts and plates whose `LoadBearing` is not stated count as bearing.
    pub assume_bearing: bool,
    /// Errors on site that a pass should survive.
    pub site: SiteTolerance,
}

impl Default for RuleSettings {
    fn default() -> Self {
        Self {
            allow: BTreeSet::new(),
            domestic: None,
            assume_bearing: true,
            site: SiteTolerance::default(),
        }
    }
}

/// What the rules say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judgement {
    /// One for each cut, in the order of the cuts.
    pub cuts: Vec<CutJudgement>,
    /// By member, worst first, then rule and first cut.
    pub findings: Vec<Finding>,
    /// What was assumed, for the head of the report.
    pub assumptions: Vec<String>,
}

impl Judgement {
    /// Puts verdicts, margins and obligations into the cuts that were judged, which are said here
    /// no more.
    pub fn write_into(&mut self, cuts: &mut [Cut]) {
        cuts.par_iter_mut().zip(std::mem::take(&mut self.cuts)).for_each(|(cut, judged)| {
            cut.verdict = judged.verdict;
            cut.margin_mm = judged.margin_mm;
            cut.tight = judged.tight;
            cut.obligations = judged.obligations;
        });
    }
}

/// What the rules say of one cut.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CutJudgement {
    /// The worst of all rules.
    pub verdict: Verdict,
    /// Least signed slack over the rules evaluated; `None` if none is a length.
    pub margin_mm: Option<f64>,
    /// Passes, but would not after an error on site.
    pub tight: bool,
    /// What must be done besides.
    pub obligations: ThinVec<Obligation>,
}

/// Members that are judged in one piece at most: the threads are to end together.
const PIECE: usize = 1 << 9;
/// Members that each thread judges in one round.
const ROUND: usize = 8 * PIECE;

/// Judges every cut by the packs in force.
#[must_use]
pub fn check(situation: &Situation<'_>, packs: &PackSet, settings: &RuleSettings) -> Judgement {
    check_beside(situation, packs, settings, std::iter::empty())
}

/// Judges every cut by the packs in force, and puts what others found among what is found; it comes
/// [in order](Finding::order).
#[must_use]
pub fn check_beside(
    situation: &Situation<'_>,
    packs: &PackSet,
    settings: &RuleSettings,
    others: impl Iterator<Item = Finding> + Send,
) -> Judgement {
    let order = by_member(situation.cuts);
    let mut judged: Vec<CutJudgement> = order.par_iter().map(|_| CutJudgement::default()).collect();
    let mut rest = judged.as_mut_slice();
    let mut members: Vec<(&[u32], &mut [CutJudgement])> = order
        .chunk_by(|&a, &b| member_of(situation, a) == member_of(situation, b))
        .map(|cuts| {
            let (own, left) = std::mem::take(&mut rest).split_at_mut(cuts.len());
            rest = left;
            (cuts, own)
        })
        .collect();
    let judges = Judges::new(packs, settings);
    let judge = |members: &mut [(&[u32], &mut [CutJudgement])]| -> Vec<MemberSaid> {
        let members = members.par_iter_mut().with_max_len(PIECE);
        let said =
            members.map(|(cuts, judged)| judge_member(situation, &judges, settings, cuts, judged));
        said.collect()
    };
    // A round at a time, so that no more than a round is held twice; while one is judged what is
    // said in that before it is gathered.
    let round = ROUND * rayon::current_num_threads();
    let rounds = members.len().div_ceil(round);
    let mut gathered = Gathered::beside(others);
    let mut said = Vec::new();
    for (n, members) in members.chunks_mut(round).enumerate() {
        let ((), next) = rayon::join(|| gathered.add(std::mem::take(&mut said)), || judge(members));
        said = next;
        if n == 0 && rounds > 1 {
            // Members are much alike; room that is not used costs nothing.
            let found: usize = said.iter().map(|said| said.findings.len()).sum();
            gathered.expect(found.saturating_mul(rounds) / 4 * 5);
        }
    }
    gathered.add(said);
    if !order.is_sorted() {
        judged = back_in_order(&order, judged);
    }
    let assumed_bearing = gathered.assumed_bearing;
    let findings = gathered.finish(situation);
    let mut assumptions = Vec::new();
    match settings.domestic {
        None => assumptions.push("Use: domestic (assumed)".to_owned()),
        Some(true) => assumptions.push("Use: domestic (stated)".to_owned()),
        Some(false) => assumptions.push("Use: not domestic (stated)".to_owned()),
    }
    if assumed_bearing {
        assumptions
            .push("Studs, posts and plates that do not say so: taken as loadbearing".to_owned());
    }
    Judgement { cuts: judged, findings, assumptions }
}

/// The indices of cuts by their member; mostly they come so.
fn by_member(cuts: &[Cut]) -> Vec<u32> {
    let mut order: Vec<u32> = (0..cuts.len()).map(|n| CutIx::from(n).0).collect();
    order.par_sort_by_key(|&n| cuts.get(n as usize).map(|cut| cut.member));
    order
}

fn member_of(situation: &Situation<'_>, cut: u32) -> Option<MemberIx> {
    situation.cuts.get(cut as usize).map(|cut| cut.member)
}

/// What was judged in an order, in the order of the cuts.
fn back_in_order(order: &[u32], judged: Vec<CutJudgement>) -> Vec<CutJudgement> {
    let mut all = vec![CutJudgement::default(); judged.len()];
    for (&n, judgement) in order.iter().zip(judged) {
        if let Some(place) = all.get_mut(n as usize) {
            *place = judgement;
        }
    }
    all
}

/// What is said of one member.
#[derive(Debug, Default)]
struct MemberSaid {
    findings: Vec<Finding>,
    /// What is to be joined to what is said of others.
    once: Vec<merge::Once>,
    assumed_bearing: bool,
}

/// Judges the cuts of one member.
fn judge_member<'s>(
    situation: &Situation<'s>,
    judges: &Judges<'s>,
    settings: &RuleSettings,
    cuts: &[u32],
    judged: &mut [CutJudgement],
) -> MemberSaid {
    let ix = cuts.first().and_then(|&cut| member_of(situation, cut));
    let Some((ix, member)) = ix.and_then(|ix| Some((ix, situation.members.get(ix.at())?))) else {
        // A cut of a member that is not in the list cannot be judged.
        judged.iter_mut().for_each(|judged| judged.verdict = Verdict::Unknown);
        return MemberSaid::default();
    };
    let view = View::of(member);
    let without = View::without_doubtful(member);
    let other_reading = View { other_reading: true, ..view.clone() };
    let mark = |&n: &u32| Some(Mark::of(n, situation.cuts.get(n as usize)?, situation.services));
    let mut marks = Vec::with_capacity(cuts.len());
    marks.extend(cuts.iter().filter_map(mark));
    let beside = Neighbours::from(&marks);
    let judge = judges.of(member);
    let mut broken = Vec::new();
    let one_span = std::iter::once(&view).chain(&without).all(|view| view.spans.len() < 2);
    // Mostly one serves all cuts of a member.
    let mut at_hand = None;
    for (&mark, judged) in marks.iter().zip(judged) {
        let subject = Subject::new(&view, mark, beside);
        let brief = judge.brief_again(&subject, &mut at_hand);
        let main = judge.by(brief, &subject, Wanted::Words);
        let (mut outcome, doubt) = match &without {
            None => (main, None),
            Some(other) => {
                let second = judge.cut(other, mark, beside);
                (main.worse(second), Some(()))
            }
        };
        let tight = outcome.verdict == Verdict::Pass
            && !(one_span && settings.site.is_within(outcome.free))
            && settings.site.errors().into_iter().any(|error| {
                let mut views = std::iter::once(&view).chain(&without);
                views.any(|view| {
                    !error.is_within(outcome.free, mark, view)
                        && judge.verdict(view, error.of(mark), beside) != Verdict::Pass
                })
            });
        // Where supports are doubtful that is said, not how the span is read.
        let read = || judge.reread(brief, &outcome, &subject, &other_reading);
        let reread = doubt.is_none().then(read);
        let reading = reread.filter(|reread| *reread != outcome.verdict);
        *judged = CutJudgement {
            verdict: outcome.verdict,
            margin_mm: outcome.margin_mm,
            tight,
            obligations: findings::obligations(&outcome, situation, mark.cut),
        };
        findings::remark(&mut broken, member, mark, doubt.is_some(), reading, situation);
        broken.append(&mut outcome.broken);
    }
    let assumed_bearing = member.load_bearing.is_none()
        && settings.assume_bearing
        && judge.selected.packs.iter().any(|p| p.asks(crate::pack::Fact::LoadBearing));
    MemberSaid { assumed_bearing, ..findings::of_member(situation, ix, &view, beside, &broken) }
}
