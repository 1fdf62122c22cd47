//! Which rows belong to which: cuts and windows by member, findings by member and by cut.

use crate::Report;
use crate::grouped::Grouped;
use wimble_model::{CutIx, MemberIx, Verdict};

/// Positions in the report's lists, each in the report's order.
pub(crate) struct RowsBy {
    cuts_of_member: Grouped<CutIx>,
    findings_of_member: Grouped<usize>,
    findings_of_cut: Grouped<usize>,
    windows_of_member: Grouped<usize>,
}

impl RowsBy {
    pub(crate) fn of(report: &Report) -> Self {
        let members = report.members.len();
        let cuts = || (0..).map(CutIx).zip(&report.cuts);
        let findings = || report.findings.iter().enumerate();
        let windows = || report.windows.iter().enumerate();
        Self {
            cuts_of_member: Grouped::of(members, || cuts().map(|(at, cut)| (cut.member.at(), at))),
            findings_of_member: Grouped::of(members, || {
                findings().map(|(at, finding)| (finding.member.at(), at))
            }),
            findings_of_cut: report.findings_of_cuts(),
            windows_of_member: Grouped::of(members, || {
                windows().map(|(at, windows)| (windows.member.at(), at))
            }),
        }
    }

    /// The cuts of a member, by place along it.
    pub(crate) fn cuts(&self, member: MemberIx) -> &[CutIx] {
        self.cuts_of_member.get(member.at())
    }

    /// The findings about a member or its cuts, worst first.
    pub(crate) fn findings(&self, member: MemberIx) -> &[usize] {
        self.findings_of_member.get(member.at())
    }

    /// The findings that speak of a cut, worst first.
    pub(crate) fn findings_of_cut(&self, cut: CutIx) -> &[usize] {
        self.findings_of_cut.get(cut.at())
    }

    /// The windows of a member.
    pub(crate) fn windows(&self, member: MemberIx) -> &[usize] {
        self.windows_of_member.get(member.at())
    }

    /// The worst that is said of a member or of a cut of it; `None` where nothing is.
    pub(crate) fn worst(&self, report: &Report, member: MemberIx) -> Option<Verdict> {
        let cuts = self.cuts(member).iter().filter_map(|cut| report.cuts.get(cut.at()));
        let findings = self.findings(member).iter().filter_map(|at| report.findings.get(*at));
        cuts.map(|cut| cut.verdict).chain(findings.map(|finding| finding.verdict)).max()
    }

    /// The members that need attention, worst first, then by storey and name as people count.
    pub(crate) fn attention(&self, report: &Report) -> Vec<(MemberIx, Verdict)> {
        let mut members: Vec<(MemberIx, Verdict)> = (0..report.members.len())
            .map(MemberIx::from)
            .filter_map(|member| Some((member, self.worst(report, member)?)))
            .filter(|(_, worst)| *worst > Verdict::Pass)
            .collect();
        members.sort_by_cached_key(|(ix, worst)| {
            let member = report.members.get(ix.at());
            let name = member.map(crate::say::member_name).unwrap_or_default();
            let storey = member.and_then(|m| m.storey).unwrap_or(u32::MAX);
            (std::cmp::Reverse(*worst), storey, crate::say::natural(&name), *ix)
        });
        members
    }
}
