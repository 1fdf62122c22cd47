//! From cuts to verdicts and findings, member by member.

mod brief;
mod broken;
mod cut;
mod findings;
mod merge;

pub(crate) use broken::{Broken, Cause, Outcome};
pub(crate) use cut::{Judge, Selected, select, speaks_for};

use crate::check::Known;
use crate::pack::PackSet;
use crate::subject::{Mark, Neighbours, View};
use rayon::prelude::*;
use std::collections::BTreeSet;
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

/// Errors on site, each alone: a cut that one of them would break is `tight`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SiteTolerance {
    /// Along the member, either way.
    pub along_mm: f64,
    /// In level, either way.
    pub level_mm: f64,
    /// Larger than planned.
    pub size_mm: f64,
}

impl Default for SiteTolerance {
    fn default() -> Self {
        Self { along_mm: 10.0, level_mm: 3.0, size_mm: 2.0 }
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
    /// Writes verdicts, margins and obligations into the cuts that were judged.
    pub fn write_into(&self, cuts: &mut [Cut]) {
        for (cut, judged) in cuts.iter_mut().zip(&self.cuts) {
            cut.verdict = judged.verdict;
            cut.margin_mm = judged.margin_mm;
            cut.tight = judged.tight;
            cut.obligations = judged.obligations.iter().cloned().collect();
        }
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
    pub obligations: Vec<Obligation>,
}

/// Judges every cut by the packs in force.
#[must_use]
pub fn check(situation: &Situation<'_>, packs: &PackSet, settings: &RuleSettings) -> Judgement {
    let mut by_member: Vec<Vec<u32>> = vec![Vec::new(); situation.members.len()];
    let mut lost = Vec::new();
    for (n, cut) in situation.cuts.iter().enumerate() {
        match by_member.get_mut(cut.member.at()) {
            Some(list) => list.push(CutIx::from(n).0),
            None => lost.push(n),
        }
    }
    let known = Known::of(settings);
    let judged: Vec<MemberJudged> = by_member
        .par_iter()
        .enumerate()
        .filter(|(_, cuts)| !cuts.is_empty())
        .map(|(n, cuts)| judge_member(situation, packs, settings, known, MemberIx::from(n), cuts))
        .collect();
    let mut all = vec![CutJudgement::default(); situation.cuts.len()];
    // A cut of a member that is not in the list cannot be judged.
    for n in lost {
        all[n].verdict = Verdict::Unknown;
    }
    let mut findings = Vec::new();
    let mut assumed_bearing = false;
    for member in judged {
        assumed_bearing |= member.assumed_bearing;
        for (cut, judgement) in member.cuts {
            all[cut as usize] = judgement;
        }
        findings.extend(member.findings);
    }
    let findings = merge::said_once(findings, situation);
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
    Judgement { cuts: all, findings, assumptions }
}

/// What is said of one member.
struct MemberJudged {
    cuts: Vec<(u32, CutJudgement)>,
    findings: Vec<merge::Said>,
    assumed_bearing: bool,
}

fn judge_member(
    situation: &Situation<'_>,
    packs: &PackSet,
    settings: &RuleSettings,
    known: Known,
    ix: MemberIx,
    cuts: &[u32],
) -> MemberJudged {
    let member = &situation.members[ix.at()];
    let view = View::of(member);
    let without = View::without_doubtful(member);
    let marks: Vec<Mark> = cuts
        .iter()
        .map(|&n| Mark::of(n, &situation.cuts[n as usize], situation.services))
        .collect();
    let beside = Neighbours::from(&marks);
    let selected = select(packs, member, known);
    let judge = Judge::new(&selected, known, &settings.allow);
    let mut judged = Vec::with_capacity(cuts.len());
    let mut broken = Vec::new();
    for &mark in &marks {
        let main = judge.cut(&view, mark, beside);
        let (outcome, doubt) = match &without {
            None => (main, None),
            Some(other) => {
                let second = judge.cut(other, mark, beside);
                (main.worse(second), Some(()))
            }
        };
        let tight = outcome.verdict == Verdict::Pass
            && errors(mark, settings.site).any(|moved| {
                judge.verdict(&view, moved, beside) != Verdict::Pass
                    || without
                        .as_ref()
                        .is_some_and(|v| judge.verdict(v, moved, beside) != Verdict::Pass)
            });
        let other_reading = View { other_reading: true, ..view.clone() };
        let reread = judge.verdict(&other_reading, mark, beside);
        let reading = (doubt.is_none() && reread != outcome.verdict).then_some(reread);
        judged.push((
            mark.cut,
            CutJudgement {
                verdict: outcome.verdict,
                margin_mm: outcome.margin_mm,
                tight,
                obligations: findings::obligations(&outcome, situation, mark.cut),
            },
        ));
        broken.extend(findings::remarks(member, mark, doubt.is_some(), reading, situation));
        broken.extend(outcome.broken);
    }
    let assumed_bearing = member.load_bearing.is_none()
        && settings.assume_bearing
        && selected.packs.iter().any(|p| p.asks(crate::pack::Fact::LoadBearing));
    MemberJudged {
        cuts: judged,
        findings: findings::of_member(situation, ix, &view, beside, broken),
        assumed_bearing,
    }
}

/// The cut as it may turn out on site, each error alone.
fn errors(mark: Mark, site: SiteTolerance) -> impl Iterator<Item = Mark> {
    [
        mark.shifted(site.along_mm),
        mark.shifted(-site.along_mm),
        mark.raised(site.level_mm),
        mark.raised(-site.level_mm),
        mark.grown(site.size_mm),
    ]
    .into_iter()
}
