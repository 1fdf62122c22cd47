//! Findings of several members that are said once: of a built-up member, of a run along a wall,
//! of a product.

use super::{MemberSaid, Situation, findings};
use crate::pack::Once as OncePer;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use wimble_model::{CutIx, Few, Finding};

/// A finding that is said once, with what it needs to be joined to others.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Once {
    /// What those have in common that are said once.
    pub(super) key: String,
    pub(super) finding: Finding,
    pub(super) cuts: Few<CutIx>,
    /// A remark about the member alone.
    pub(super) silent_on_cuts: bool,
}

/// The order of findings: by member, worst first, then rule and cuts.
pub(super) fn order(a: &Finding, b: &Finding) -> Ordering {
    a.member
        .cmp(&b.member)
        .then(b.verdict.cmp(&a.verdict))
        .then_with(|| a.rule.cmp(&b.rule))
        .then_with(|| a.cuts.cmp(&b.cuts))
        .then_with(|| a.message.cmp(&b.message))
}

/// Joins what is said once and puts all in order, with room for others. What is said of each member
/// is in order.
pub(super) fn said_once(
    all: Vec<MemberSaid>,
    situation: &Situation<'_>,
    others: usize,
) -> Vec<Finding> {
    let said: usize = all.iter().map(|said| said.findings.len() + said.once.len()).sum();
    let mut findings: Vec<Finding> = Vec::with_capacity(said + others);
    let mut joined: BTreeMap<String, Once> = BTreeMap::new();
    for said in all {
        findings.extend(said.findings);
        for once in said.once {
            join(&mut joined, once);
        }
    }
    if joined.is_empty() {
        return findings;
    }
    for mut once in joined.into_values() {
        once.cuts.sort_unstable();
        once.cuts.dedup();
        if !once.silent_on_cuts {
            once.finding.services = findings::services(&once.cuts, situation);
            once.finding.cuts = once.cuts;
        }
        findings.push(once.finding);
    }
    findings.sort_by(order);
    findings
}

/// Puts a finding beside those that it is one with; it is told of the first member.
fn join(joined: &mut BTreeMap<String, Once>, once: Once) {
    match joined.get_mut(&once.key) {
        None => {
            joined.insert(once.key.clone(), once);
        }
        Some(first) => {
            first.cuts.extend(once.cuts.iter().copied());
            if once.finding.member < first.finding.member {
                let cuts = std::mem::take(&mut first.cuts);
                *first = Once { cuts, ..once };
            }
        }
    }
}

/// What findings have in common that are said once; `None` for one that stands alone.
pub(super) fn key(
    once: Option<OncePer>,
    finding: &Finding,
    situation: &Situation<'_>,
) -> Option<String> {
    let member = situation.members.get(finding.member.at())?;
    let rule = &finding.rule;
    match once? {
        OncePer::Plies => {
            if member.with.is_empty() {
                return None;
            }
            let mut plies = member.with.clone();
            plies.push(finding.member);
            plies.sort_unstable();
            plies.dedup();
            Some(format!("{rule} plies {plies:?}"))
        }
        OncePer::Run => {
            use wimble_model::MemberKind::{Plate, Rim};
            if !matches!(member.kind, Plate | Rim) {
                return None;
            }
            let services = finding.services.iter().filter_map(|ix| situation.services.get(ix.at()));
            let mut runs: Vec<u32> = services.map(|service| service.run).collect();
            runs.sort_unstable();
            runs.dedup();
            // The wall is where its plates are: the same runs through the same line of plates.
            Some(format!("{rule} run {runs:?} {}", member.kind.word()))
        }
        OncePer::Product => Some(format!(
            "{rule} product {:.0} {:.0} {} {:?}",
            member.section.breadth_mm(),
            member.section.depth_mm(),
            member.section.word(),
            member.material
        )),
    }
}
