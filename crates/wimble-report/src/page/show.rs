//! Filters as sentences: "show what fails in Level 1".

use crate::rows_by::RowsBy;
use crate::{Report, say};
use std::collections::BTreeMap;
use wimble_model::{MemberIx, Service, Verdict};

/// What the filters offer: only what is there.
pub(super) struct Choices {
    /// Verdicts: key, and the words after "show".
    pub(super) verdicts: Vec<(&'static str, &'static str)>,
    /// Storeys: key and name.
    pub(super) storeys: Vec<(String, String)>,
    /// Kinds of service: key and words.
    pub(super) trades: Vec<(String, String)>,
    /// Ready sentences.
    pub(super) ready: Vec<Ready>,
}

/// A sentence to press.
pub(super) struct Ready {
    pub(super) words: String,
    pub(super) verdict: &'static str,
    pub(super) storey: String,
    pub(super) members: usize,
}

/// Whether it is on none, and which: what is on no storey comes last.
type StoreyKey = (bool, Option<u32>);

impl Choices {
    pub(super) fn of(report: &Report, attention: &[(MemberIx, Verdict)]) -> Self {
        let rows = RowsBy::of(report);
        let mut verdicts: BTreeMap<std::cmp::Reverse<Verdict>, usize> = BTreeMap::new();
        let mut storeys: BTreeMap<(bool, Option<u32>), ()> = BTreeMap::new();
        let mut trades: BTreeMap<String, String> = BTreeMap::new();
        let mut both: BTreeMap<(std::cmp::Reverse<Verdict>, StoreyKey), usize> = BTreeMap::new();
        for (ix, _) in attention {
            let Some(member) = report.members.get(ix.at()) else { continue };
            let storey = (member.storey.is_none(), member.storey);
            storeys.insert(storey, ());
            for verdict in verdicts_of(report, &rows, *ix) {
                *verdicts.entry(std::cmp::Reverse(verdict)).or_default() += 1;
                *both.entry((std::cmp::Reverse(verdict), storey)).or_default() += 1;
            }
            for cut in rows.cuts(*ix).iter().filter_map(|cut| report.cuts.get(cut.at())) {
                for service in cut.services.iter().filter_map(|s| report.services.get(s.at())) {
                    let (key, words) = trade(service);
                    trades.insert(key, words);
                }
            }
        }
        let ready = both
            .into_iter()
            .map(|((verdict, storey), members)| Ready {
                words: format!("{} in {}", words(verdict.0), say::storey(report, storey.1)),
                verdict: verdict.0.word(),
                storey: storey_key(storey.1),
                members,
            })
            .take(12)
            .collect();
        Self {
            verdicts: verdicts.into_keys().map(|v| (v.0.word(), words(v.0))).collect(),
            storeys: storeys
                .into_keys()
                .map(|(_, storey)| (storey_key(storey), say::storey(report, storey)))
                .collect(),
            trades: trades.into_iter().collect(),
            ready,
        }
    }
}

/// A verdict as the object of "show".
const fn words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fail => "what fails",
        Verdict::Refer => "what needs an engineer",
        Verdict::Unknown => "what lacks a fact",
        Verdict::Pass => "what passes",
    }
}

/// The verdicts, other than pass, that are said of a member.
fn verdicts_of(report: &Report, rows: &RowsBy, member: MemberIx) -> Vec<Verdict> {
    let findings = rows.findings(member).iter().filter_map(|at| report.findings.get(*at));
    let cuts = rows.cuts(member).iter().filter_map(|cut| report.cuts.get(cut.at()));
    let mut all: Vec<Verdict> = findings
        .map(|f| f.verdict)
        .chain(cuts.map(|c| c.verdict))
        .filter(|verdict| *verdict > Verdict::Pass)
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The key of a storey in the filters.
pub(super) fn storey_key(storey: Option<u32>) -> String {
    storey.map_or_else(|| "none".into(), |s| s.to_string())
}

/// The keys of the services that cut a member.
pub(super) fn trades_of(report: &Report, rows: &RowsBy, member: MemberIx) -> Vec<String> {
    let cuts = rows.cuts(member).iter().filter_map(|cut| report.cuts.get(cut.at()));
    let services = cuts.flat_map(|cut| &cut.services).filter_map(|s| report.services.get(s.at()));
    let mut keys: Vec<String> = services.map(|service| trade(service).0).collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}

/// Key and words of a kind of service: `waste-pipe`, `waste pipe`.
fn trade(service: &Service) -> (String, String) {
    let words = say::service_kind(service);
    (words.replace(' ', "-"), words)
}
