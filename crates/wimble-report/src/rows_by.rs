//! Which rows belong to which: cuts and windows by member, findings by member and by cut.

use crate::Report;
use wimble_model::{CutIx, MemberIx, Verdict};

/// Positions in the report's lists, each in the report's order.
pub(crate) struct RowsBy {
    cuts_of_member: Vec<Vec<CutIx>>,
    findings_of_member: Vec<Vec<usize>>,
    findings_of_cut: Vec<Vec<usize>>,
    windows_of_member: Vec<Vec<usize>>,
}

impl RowsBy {
    pub(crate) fn of(report: &Report) -> Self {
        let mut rows = Self {
            cuts_of_member: vec![Vec::new(); report.members.len()],
            findings_of_member: vec![Vec::new(); report.members.len()],
            findings_of_cut: report.findings_of_cuts(),
            windows_of_member: vec![Vec::new(); report.members.len()],
        };
        for (at, cut) in report.cuts.iter().enumerate() {
            put(&mut rows.cuts_of_member, cut.member, CutIx::from(at));
        }
        for (at, finding) in report.findings.iter().enumerate() {
            put(&mut rows.findings_of_member, finding.member, at);
        }
        for (at, windows) in report.windows.iter().enumerate() {
            put(&mut rows.windows_of_member, windows.member, at);
        }
        rows
    }

    /// The cuts of a member, by place along it.
    pub(crate) fn cuts(&self, member: MemberIx) -> &[CutIx] {
        self.cuts_of_member.get(member.at()).map_or(&[], Vec::as_slice)
    }

    /// The findings about a member or its cuts, worst first.
    pub(crate) fn findings(&self, member: MemberIx) -> &[usize] {
        self.findings_of_member.get(member.at()).map_or(&[], Vec::as_slice)
    }

    /// The findings that speak of a cut, worst first.
    pub(crate) fn findings_of_cut(&self, cut: CutIx) -> &[usize] {
        self.findings_of_cut.get(cut.at()).map_or(&[], Vec::as_slice)
    }

    /// The windows of a member.
    pub(crate) fn windows(&self, member: MemberIx) -> &[usize] {
        self.windows_of_member.get(member.at()).map_or(&[], Vec::as_slice)
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

fn put<T>(lists: &mut [Vec<T>], member: MemberIx, row: T) {
    if let Some(list) = lists.get_mut(member.at()) {
        list.push(row);
    }
}
