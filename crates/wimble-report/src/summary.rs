//! The counts, and the one sentence that answers the question.

use crate::Report;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use wimble_model::{Cut, Verdict};

/// Counts of a report, as they stand at its end.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Summary {
    /// Members recognised.
    pub members: usize,
    /// Services recognised.
    pub services: usize,
    /// Cuts found.
    pub cuts: usize,
    /// Cuts by verdict.
    pub verdicts: Verdicts,
    /// Findings that a waiver lifts.
    pub waived: usize,
    /// Things that must be done besides, over all cuts.
    pub obligations: usize,
}

/// Counts by verdict.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Verdicts {
    /// Every rule that applies holds.
    pub pass: usize,
    /// A rule is broken.
    pub fail: usize,
    /// Only an engineer or the maker can say.
    pub refer: usize,
    /// A fact is missing.
    pub unknown: usize,
}

impl Verdicts {
    /// Counts verdicts.
    pub fn count(verdicts: impl IntoIterator<Item = Verdict>) -> Self {
        let mut counts = Self::default();
        for verdict in verdicts {
            match verdict {
                Verdict::Pass => counts.pass += 1,
                Verdict::Fail => counts.fail += 1,
                Verdict::Refer => counts.refer += 1,
                Verdict::Unknown => counts.unknown += 1,
            }
        }
        counts
    }

    /// Counts the verdicts of cuts.
    fn of(cuts: &[Cut]) -> Self {
        let counts =
            cuts.par_chunks(1 << 12).map(|cuts| Self::count(cuts.iter().map(|c| c.verdict)));
        counts.reduce(Self::default, |a, b| Self {
            pass: a.pass + b.pass,
            fail: a.fail + b.fail,
            refer: a.refer + b.refer,
            unknown: a.unknown + b.unknown,
        })
    }

    /// `9 fail, 1 needs an engineer, 1 lacks a fact, 20 pass`; what is not there is not said.
    #[must_use]
    pub fn sentence(&self) -> String {
        let words = [
            (self.fail, "fails", "fail"),
            (self.refer, "needs an engineer", "need an engineer"),
            (self.unknown, "lacks a fact", "lack a fact"),
            (self.pass, "passes", "pass"),
        ];
        let parts: Vec<String> = words
            .into_iter()
            .filter(|(n, ..)| *n > 0)
            .map(|(n, one, many)| format!("{n} {}", if n == 1 { one } else { many }))
            .collect();
        parts.join(", ")
    }
}

/// What is said, and what to do, where nothing was taken for timber.
const NO_MEMBER: &str = "No timber member was found, so no cut was checked. `wimble inspect` says \
                         what each element was taken for; [[model.map]] in wimble.toml can say \
                         which are timber.";

impl Summary {
    /// Counts a report.
    #[must_use]
    pub fn of(report: &Report) -> Self {
        Self {
            members: report.members.len(),
            services: report.services.len(),
            cuts: report.cuts.len(),
            verdicts: Verdicts::of(&report.cuts),
            waived: report.findings.par_iter().filter(|f| f.waived.is_some()).count(),
            obligations: report.cuts.par_iter().map(|cut| cut.obligations.len()).sum(),
        }
    }

    /// The question answered in one sentence:
    /// `31 cuts in 12 members: 9 fail, 1 needs an engineer, 1 lacks a fact, 20 pass.`
    #[must_use]
    pub fn sentence(report: &Report) -> String {
        if report.members.is_empty() {
            return NO_MEMBER.into();
        }
        if report.cuts.is_empty() {
            let services = match report.services.len() {
                0 => "no service was found".into(),
                1 => "the one service meets none of them".into(),
                n => format!("none of the {n} services meets one"),
            };
            return format!(
                "No cuts: {} found, {services}.",
                plural(report.members.len(), "member")
            );
        }
        let cut_members: BTreeSet<_> = report.cuts.iter().map(|cut| cut.member).collect();
        format!(
            "{} in {}: {}.",
            plural(report.cuts.len(), "cut"),
            plural(cut_members.len(), "member"),
            Self::of(report).verdicts.sentence()
        )
    }
}

/// `1 cut`, `2 cuts`.
pub(crate) fn plural(n: usize, word: &str) -> String {
    format!("{n} {word}{}", if n == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn the_sentence_counts_cuts_and_the_members_that_they_are_in() {
        assert_eq!(
            Summary::sentence(&fixture::report()),
            "6 cuts in 4 members: 2 fail, 1 needs an engineer, 1 lacks a fact, 2 pass."
        );
    }

    #[test]
    fn one_of_each_is_said_in_the_singular_and_none_is_not_said() {
        let counts = Verdicts::count([Verdict::Fail, Verdict::Unknown]);
        assert_eq!(counts.sentence(), "1 fails, 1 lacks a fact");
    }

    #[test]
    fn without_members_or_cuts_the_sentence_says_so() {
        let mut report = fixture::report();
        report.cuts.clear();
        assert_eq!(
            Summary::sentence(&report),
            "No cuts: 5 members found, none of the 4 services meets one."
        );
        report.members.clear();
        assert_eq!(Summary::sentence(&report), NO_MEMBER);
    }
}
