//! Findings of several members that are said once: of a built-up member, of a run along a wall,
//! of a product.

use super::Situation;
use crate::pack::Once;
use std::collections::BTreeMap;
use wimble_model::{Finding, Member, MemberIx};

/// A finding, with what it needs to be joined to others.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Said {
    pub(crate) finding: Finding,
    pub(crate) cuts: Vec<u32>,
    pub(crate) once: Option<Once>,
    /// A remark about the member alone.
    pub(crate) silent_on_cuts: bool,
}

/// Joins what is said once and puts all in order.
pub(crate) fn said_once(all: Vec<Said>, situation: &Situation<'_>) -> Vec<Finding> {
    let mut joined: BTreeMap<String, Said> = BTreeMap::new();
    let mut findings: Vec<Finding> = Vec::new();
    for said in all {
        let member = situation.members.get(said.finding.member.at());
        let key = said.once.zip(member).map(|(once, member)| key(once, member, &said, situation));
        let Some(key) = key.flatten() else {
            findings.push(said.finding);
            continue;
        };
        match joined.get_mut(&key) {
            None => {
                joined.insert(key, said);
            }
            Some(first) => {
                first.cuts.extend(said.cuts.iter().copied());
                if said.finding.member < first.finding.member {
                    let cuts = std::mem::take(&mut first.cuts);
                    *first = Said { cuts, ..said };
                }
            }
        }
    }
    for mut said in joined.into_values() {
        said.name_cuts(situation);
        findings.push(said.finding);
    }
    findings.sort_by(|a, b| {
        a.member
            .cmp(&b.member)
            .then(b.verdict.cmp(&a.verdict))
            .then_with(|| a.rule.cmp(&b.rule))
            .then_with(|| a.cuts.cmp(&b.cuts))
            .then_with(|| a.message.cmp(&b.message))
    });
    findings
}

/// What findings have in common that are said once; `None` for one that stands alone.
fn key(once: Once, member: &Member, said: &Said, situation: &Situation<'_>) -> Option<String> {
    let rule = &said.finding.rule;
    match once {
        Once::Plies => {
            if member.with.is_empty() {
                return None;
            }
            let mut plies: Vec<MemberIx> = member.with.clone();
            plies.push(said.finding.member);
            plies.sort_unstable();
            plies.dedup();
            Some(format!("{rule} plies {plies:?}"))
        }
        Once::Run => {
            use wimble_model::MemberKind::{Plate, Rim};
            if !matches!(member.kind, Plate | Rim) {
                return None;
            }
            let mut runs: Vec<u32> = said
                .finding
                .services
                .iter()
                .filter_map(|ix| situation.services.get(ix.at()))
                .map(|service| service.run)
                .collect();
            runs.sort_unstable();
            runs.dedup();
            // The wall is where its plates are: the same runs through the same line of plates.
            Some(format!("{rule} run {runs:?} {}", member.kind.word()))
        }
        Once::Product => Some(format!(
            "{rule} product {:.0} {:.0} {} {:?}",
            member.section.breadth_mm(),
            member.section.depth_mm(),
            member.section.word(),
            member.material
        )),
    }
}
