//! The tables after the drawings: every cut, what to fit besides, rules with their sources.

use super::members::{rule_target, target};
use crate::rows_by::RowsBy;
use crate::{Report, say};
use std::collections::{BTreeMap, BTreeSet};
use wimble_model::{Member, MemberIx, ObligationKind, Verdict};

/// A cut in the schedule.
pub(super) struct CutRow {
    pub(super) mark: String,
    pub(super) storey: String,
    pub(super) cut: String,
    pub(super) service: String,
    pub(super) place: String,
    pub(super) verdict: Verdict,
    pub(super) spare: String,
    pub(super) besides: String,
    /// The member's place on the page, if it has one.
    pub(super) target: Option<String>,
}

/// Every cut, by storey and member.
pub(super) fn cuts<'a>(
    report: &'a Report,
    rows: &'a RowsBy,
) -> impl Iterator<Item = CutRow> + use<'a> {
    let mut members: Vec<(MemberIx, &Member)> =
        report.members.iter().enumerate().map(|(at, m)| (MemberIx::from(at), m)).collect();
    members.sort_by_cached_key(|(ix, m)| {
        (m.storey.is_none(), m.storey, say::natural(&say::member_name(m)), *ix)
    });
    members.into_iter().flat_map(move |(ix, member)| {
        let wants = rows.worst(report, ix).is_some_and(|worst| worst > Verdict::Pass);
        (1..).zip(rows.cuts(ix)).filter_map(move |(number, cut)| {
            let cut = report.cuts.get(cut.at())?;
            let texts: BTreeSet<&str> = cut.obligations.iter().map(|o| o.text.as_str()).collect();
            let spare = match cut.margin_mm {
                Some(margin) if cut.verdict == Verdict::Pass => {
                    format!("{}{}", say::mm(margin), if cut.tight { ", tight" } else { "" })
                }
                _ => String::new(),
            };
            Some(CutRow {
                mark: format!("{}/{number}", say::member_name(member)),
                storey: say::storey(report, member.storey),
                cut: say::cut(cut),
                service: say::services(report, cut),
                place: say::place(member, cut),
                verdict: cut.verdict,
                spare,
                besides: texts.into_iter().map(say::sentence).collect::<Vec<_>>().join("; "),
                target: wants.then(|| target(ix)),
            })
        })
    })
}

/// Something to fit besides, in one storey.
pub(super) struct Obliged {
    pub(super) storey: String,
    pub(super) text: String,
    pub(super) marks: Vec<String>,
}

/// What is to be fitted besides, by storey and kind, with the cuts where.
pub(super) fn obliged(report: &Report) -> Vec<Obliged> {
    let rows = RowsBy::of(report);
    let mut all: BTreeMap<(bool, Option<u32>, ObligationKind, &str), Vec<String>> = BTreeMap::new();
    for (at, member) in report.members.iter().enumerate() {
        for (number, cut) in (1..).zip(rows.cuts(MemberIx::from(at))) {
            let Some(cut) = report.cuts.get(cut.at()) else { continue };
            for obligation in &cut.obligations {
                let key =
                    (member.storey.is_none(), member.storey, obligation.kind, &*obligation.text);
                let mark = format!("{}/{number}", say::member_name(member));
                all.entry(key).or_default().push(mark);
            }
        }
    }
    all.into_iter()
        .map(|((_, storey, _, text), mut marks)| {
            marks.sort_by_cached_key(|mark| say::natural(mark));
            marks.dedup();
            Obliged {
                storey: say::storey(report, storey),
                text: say::capital(&say::sentence(text)),
                marks,
            }
        })
        .collect()
}

/// A rule that spoke.
pub(super) struct RuleRow {
    pub(super) rule: String,
    pub(super) target: String,
    pub(super) sources: Vec<String>,
    pub(super) counts: String,
}

/// Every rule of which a finding speaks, with its sources.
pub(super) fn rules(report: &Report) -> Vec<RuleRow> {
    let mut all: BTreeMap<&str, (BTreeSet<&str>, Vec<Verdict>)> = BTreeMap::new();
    for finding in &report.findings {
        let row = all.entry(&finding.rule).or_default();
        row.0.extend(finding.source.split("; ").filter(|source| !source.is_empty()));
        row.1.push(finding.verdict);
    }
    all.into_iter()
        .map(|(rule, (sources, verdicts))| RuleRow {
            rule: say::plain(rule),
            target: rule_target(rule),
            sources: sources.into_iter().map(say::sentence).collect(),
            counts: counts(&verdicts),
        })
        .collect()
}

/// `3 fail, 1 note`.
fn counts(verdicts: &[Verdict]) -> String {
    let words = [
        (Verdict::Fail, "fail"),
        (Verdict::Refer, "refer"),
        (Verdict::Unknown, "unknown"),
        (Verdict::Pass, "note"),
    ];
    let parts = words.into_iter().filter_map(|(verdict, word)| {
        let n = verdicts.iter().filter(|v| **v == verdict).count();
        (n > 0).then(|| format!("{n} {word}"))
    });
    parts.collect::<Vec<_>>().join(", ")
}
