//! Findings of several members that are said once: of a built-up member, of a run along a wall,
//! of a product.

use super::{MemberSaid, Situation, findings};
use crate::pack::Once as OncePer;
use std::collections::BTreeMap;
use std::iter::Peekable;
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

/// What is said of all members, in order: what is said of one after the other, what others found
/// among it.
pub(super) struct Gathered<O: Iterator<Item = Finding>> {
    findings: Vec<Finding>,
    others: Peekable<O>,
    joined: BTreeMap<String, Once>,
    /// Whether a member was taken as bearing that does not say so.
    pub(super) assumed_bearing: bool,
}

impl<O: Iterator<Item = Finding>> Gathered<O> {
    /// Nothing yet; what others found is in order.
    pub(super) fn beside(others: O) -> Self {
        Self {
            findings: Vec::new(),
            others: others.peekable(),
            joined: BTreeMap::new(),
            assumed_bearing: false,
        }
    }

    /// Room for so many findings, if there is so much.
    pub(super) fn expect(&mut self, findings: usize) {
        _ = self.findings.try_reserve(findings);
    }

    /// Adds what is said of the next members. What is said of each is in order.
    pub(super) fn add(&mut self, all: Vec<MemberSaid>) {
        for said in all {
            self.assumed_bearing |= said.assumed_bearing;
            for finding in said.findings {
                let before = |other: &Finding| other.order(&finding).is_lt();
                while let Some(other) = self.others.next_if(before) {
                    self.findings.push(other);
                }
                self.findings.push(finding);
            }
            for once in said.once {
                join(&mut self.joined, once);
            }
        }
    }

    /// All of it, what is said once joined.
    pub(super) fn finish(self, situation: &Situation<'_>) -> Vec<Finding> {
        let Self { mut findings, others, joined, .. } = self;
        findings.extend(others);
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
        findings.sort_by(Finding::order);
        findings
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use arcstr::literal;
    use wimble_model::{Level, MemberIx, Verdict};

    fn finding(member: u32, verdict: Verdict, message: &str) -> Finding {
        Finding {
            rule: literal!("some/rule"),
            level: Level::of(verdict),
            verdict,
            member: MemberIx(member),
            cuts: Few::new(),
            services: Few::new(),
            measured: None,
            limit: None,
            message: message.into(),
            source: literal!("Somebody"),
            waived: None,
            remedies: [].into(),
        }
    }

    #[test]
    fn what_others_found_stands_in_order_among_what_is_said() {
        let said = |member, verdicts: &[Verdict]| MemberSaid {
            findings: verdicts.iter().map(|v| finding(member, *v, "ours")).collect(),
            ..MemberSaid::default()
        };
        let all = vec![
            said(1, &[Verdict::Fail, Verdict::Refer]),
            said(2, &[]),
            said(4, &[Verdict::Unknown, Verdict::Pass]),
        ];
        let others: Vec<Finding> = [
            (0, Verdict::Pass),
            (1, Verdict::Fail),
            (1, Verdict::Pass),
            (3, Verdict::Pass),
            (4, Verdict::Fail),
            (9, Verdict::Pass),
        ]
        .map(|(member, verdict)| finding(member, verdict, "theirs"))
        .into();
        let mut twin: Vec<Finding> = all.iter().flat_map(|said| said.findings.clone()).collect();
        twin.extend(others.iter().cloned());
        twin.sort_by(Finding::order);
        let nothing = Situation { members: &[], services: &[], openings: &[], cuts: &[] };
        let mut gathered = Gathered::beside(others.into_iter());
        for said in all {
            gathered.add(vec![said]);
        }
        assert_eq!(gathered.finish(&nothing), twin);
    }
}
