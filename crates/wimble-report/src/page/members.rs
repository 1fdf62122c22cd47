//! A member that needs attention: its drawing, what is said of it, what to do.

use crate::drawing;
use crate::rows_by::RowsBy;
use crate::{Report, say};
use std::cmp::Reverse;
use std::collections::BTreeSet;
use wimble_model::{CutIx, Finding, MemberIx, Remedy, Verdict};

/// A member's part of the page.
pub(super) struct Sheet {
    pub(super) target: String,
    pub(super) mark: String,
    pub(super) facts: String,
    pub(super) storey: String,
    pub(super) worst: Verdict,
    /// What the filters look at.
    pub(super) storey_key: String,
    pub(super) verdicts: String,
    pub(super) trades: String,
    pub(super) rules: String,
    pub(super) drawing: String,
    pub(super) blocks: Vec<Block>,
    pub(super) passing: Vec<String>,
    pub(super) notes: Vec<String>,
}

/// One finding.
pub(super) struct Block {
    pub(super) verdict: Verdict,
    /// The cuts that it speaks of, each with what and where.
    pub(super) cuts: Vec<String>,
    pub(super) message: String,
    pub(super) measured: Option<String>,
    pub(super) steps: Vec<String>,
    pub(super) rule: String,
    pub(super) rule_target: String,
    pub(super) source: String,
    pub(super) waived: Option<String>,
}

/// The place of a member on the page.
pub(super) fn target(ix: MemberIx) -> String {
    format!("m{}", ix.0)
}

/// The place of a rule on the page.
pub(super) fn rule_target(rule: &str) -> String {
    let safe = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '.' };
    format!("rule.{}", rule.chars().map(safe).collect::<String>())
}

impl Sheet {
    pub(super) fn of(report: &Report, rows: &RowsBy, ix: MemberIx, worst: Verdict) -> Option<Self> {
        let member = report.members.get(ix.at())?;
        let mark = say::member_name(member);
        // One finding may speak of the cuts of several members, and stands with the first of them.
        let of_cuts = rows.cuts(ix).iter().flat_map(|cut| rows.findings_of_cut(*cut));
        let all: BTreeSet<usize> = rows.findings(ix).iter().chain(of_cuts).copied().collect();
        let findings: Vec<&Finding> =
            all.into_iter().filter_map(|at| report.findings.get(at)).collect();
        let (mut loud, quiet): (Vec<&Finding>, Vec<&Finding>) =
            findings.into_iter().partition(|finding| finding.verdict > Verdict::Pass);
        loud.sort_by_key(|finding| Reverse(finding.verdict));
        let said = |cut_ix: &CutIx| {
            let number = rows.cuts(ix).iter().position(|c| c == cut_ix)? + 1;
            let cut = report.cuts.get(cut_ix.at())?;
            Some(format!(
                "{mark}/{number}: {}, for {}, {}",
                say::cut(cut),
                say::services(report, cut),
                say::place(member, cut)
            ))
        };
        let blocks = loud.iter().map(|finding| Block::of(finding, &said)).collect();
        // A cut that does not pass and of which no finding speaks is still said.
        let silent = rows.cuts(ix).iter().filter_map(|c| {
            let cut = report.cuts.get(c.at())?;
            let spoken = loud.iter().any(|finding| finding.cuts.contains(c));
            (cut.verdict > Verdict::Pass && !spoken).then(|| Block::silent(cut.verdict, said(c)))
        });
        let mut blocks: Vec<Block> = blocks;
        blocks.extend(silent);
        let passing = rows.cuts(ix).iter().filter_map(|c| {
            let cut = report.cuts.get(c.at()).filter(|cut| cut.verdict == Verdict::Pass)?;
            let spare = cut.margin_mm.map(|m| format!("; {} mm to spare", say::mm(m)));
            let tight = if cut.tight { "; tight: a small slip would break a rule" } else { "" };
            Some(format!("{}{}{tight}", said(c)?, spare.unwrap_or_default()))
        });
        let mut verdicts: Vec<&str> = blocks.iter().map(|b| b.verdict.word()).collect();
        verdicts.sort_unstable();
        verdicts.dedup();
        let notes = quiet.iter().map(|f| say::sentence(&f.message));
        let notes = notes.chain(member.notes.iter().map(|n| say::sentence(&n.0)));
        Some(Self {
            target: target(ix),
            facts: say::member_facts(member),
            storey: say::storey(report, member.storey),
            worst,
            storey_key: super::show::storey_key(member.storey),
            verdicts: verdicts.join(" "),
            trades: super::show::trades_of(report, rows, ix).join(" "),
            rules: loud.iter().map(|f| rule_target(&f.rule)).collect::<Vec<_>>().join(" "),
            drawing: drawing::of_member(report, rows, ix)?.inline(),
            passing: passing.collect(),
            notes: notes.collect(),
            blocks,
            mark,
        })
    }
}

impl Block {
    fn of(finding: &Finding, said: &dyn Fn(&CutIx) -> Option<String>) -> Self {
        Self {
            verdict: finding.verdict,
            cuts: finding.cuts.iter().filter_map(said).collect(),
            message: say::sentence(&finding.message),
            measured: say::measured(finding.measured, finding.limit),
            steps: steps(finding),
            rule_target: rule_target(&finding.rule),
            rule: say::plain(&finding.rule),
            source: say::sentence(&finding.source),
            waived: finding.waived.as_deref().map(say::sentence),
        }
    }

    fn silent(verdict: Verdict, said: Option<String>) -> Self {
        Self {
            verdict,
            cuts: said.into_iter().collect(),
            message: String::new(),
            measured: None,
            steps: say::without_remedy(verdict).map(say::capital).into_iter().collect(),
            rule: String::new(),
            rule_target: String::new(),
            source: String::new(),
            waived: None,
        }
    }
}

/// The remedies, nearest first; without any, what the verdict itself asks for.
fn steps(finding: &Finding) -> Vec<String> {
    // A message that already sends to the engineer or the maker need not say it twice.
    let advises = ["engineer", "maker"].iter().any(|who| finding.message.contains(who));
    let says_more = |remedy: &&Remedy| !(advises && remedy.only_asks());
    let remedies: Vec<String> =
        finding.remedies.iter().filter(says_more).map(|r| say::sentence(&r.text)).collect();
    match say::without_remedy(finding.verdict) {
        Some(text) if remedies.is_empty() && !advises => vec![say::capital(text)],
        _ => remedies,
    }
}
