//! A report against an earlier one: which findings are new, which are gone.
//!
//! A gate on every new model is only bearable if it speaks of what the new model brings. With a
//! baseline the exit code counts findings that are new or have become worse; all of them are still
//! in every report.

use crate::compare::{Key, pair};
use crate::json::Document;
use crate::{Names, Report};
use std::borrow::Cow;
use wimble_model::Verdict;

/// An earlier report, as far as the new one is held against it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Baseline {
    /// The file, as given.
    pub name: String,
    /// What became of each finding (parallel to the report's); `None` for a note.
    pub since: Vec<Option<Since>>,
    /// What the earlier report had and this one has not.
    pub gone: Vec<Gone>,
    /// What was not known of the models as a whole already then, in sentences.
    pub unanswered: Vec<String>,
}

/// What became of a finding since the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Since {
    /// It was not there.
    New,
    /// It was there with a better verdict.
    Worse,
    /// It was there, at another place.
    Moved,
    /// It was there.
    Unchanged,
}

impl Since {
    /// Whether a gate has to speak of it.
    #[must_use]
    pub const fn counts(self) -> bool {
        matches!(self, Self::New | Self::Worse)
    }
}

/// A finding of the baseline that is no more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gone {
    /// Its fingerprint.
    pub fingerprint: String,
    /// Its rule.
    pub rule: String,
    /// What was said.
    pub verdict: Verdict,
    /// What a person called the member.
    pub member: String,
    /// The message.
    pub message: String,
}

impl Baseline {
    /// Holds a report, in its final order, against an earlier one.
    #[must_use]
    pub fn of(report: &Report, name: &str, old: &Document<'_>) -> Self {
        let names = Names::of(report);
        let before: Vec<_> = old.findings.iter().filter(|f| f.verdict > Verdict::Pass).collect();
        let old_keys: Vec<Key<'_>> = before
            .iter()
            .map(|f| Key {
                fingerprint: &f.fingerprint,
                rule: &f.rule,
                place: Cow::Borrowed(&*f.place),
            })
            .collect();
        let loud: Vec<usize> = (0..report.findings.len())
            .filter(|at| report.findings.get(*at).is_some_and(|f| f.verdict > Verdict::Pass))
            .collect();
        let new_keys: Vec<Key<'_>> =
            loud.iter().filter_map(|at| key(report, &names, *at)).collect();
        let paired = pair(&old_keys, &new_keys);
        let mut since = vec![None; report.findings.len()];
        for ((at, was), new) in loud.iter().zip(&paired).zip(&new_keys) {
            let was = was.and_then(|old| Some((before.get(old)?, old_keys.get(old)?)));
            let now = report.findings.get(*at).map(|f| f.verdict).unwrap_or_default();
            let state = match was {
                None => Since::New,
                Some((row, _)) if now > row.verdict => Since::Worse,
                Some((_, key)) if key.fingerprint == new.fingerprint && key.place != new.place => {
                    Since::Moved
                }
                Some(_) => Since::Unchanged,
            };
            if let Some(slot) = since.get_mut(*at) {
                *slot = Some(state);
            }
        }
        let kept: std::collections::BTreeSet<usize> = paired.iter().flatten().copied().collect();
        let gone =
            before.iter().enumerate().filter(|(at, _)| !kept.contains(at)).map(|(_, row)| {
                let member = old.members.iter().find(|m| m.id == row.member);
                let member = member.and_then(|m| m.name.as_deref()).unwrap_or(&row.member);
                Gone {
                    fingerprint: row.fingerprint.to_string(),
                    rule: row.rule.to_string(),
                    verdict: row.verdict,
                    member: member.to_owned(),
                    message: row.message.to_string(),
                }
            });
        let said = |text: &&String| old.warnings.iter().any(|w| w.text == text.as_str());
        Self {
            name: name.to_owned(),
            since,
            gone: gone.collect(),
            unanswered: report.unanswered.iter().filter(said).cloned().collect(),
        }
    }

    /// What became of a finding; without an answer it is new.
    #[must_use]
    pub fn of_finding(&self, at: usize) -> Since {
        self.since.get(at).copied().flatten().unwrap_or(Since::New)
    }

    /// `Against old.json: 2 new, 1 worse, 0 moved, 7 unchanged, 3 gone.`
    #[must_use]
    pub fn sentence(&self) -> String {
        let count = |wanted| self.since.iter().flatten().filter(|s| **s == wanted).count();
        format!(
            "Against {}: {} new, {} worse, {} moved, {} unchanged, {} gone.",
            crate::say::plain(&self.name),
            count(Since::New),
            count(Since::Worse),
            count(Since::Moved),
            count(Since::Unchanged),
            self.gone.len()
        )
    }
}

fn key<'a>(report: &'a Report, names: &'a Names, at: usize) -> Option<Key<'a>> {
    let finding = report.findings.get(at)?;
    Some(Key {
        fingerprint: names.fingerprints.get(at)?,
        rule: &finding.rule,
        place: names.place(report, finding).into(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    fn text(report: &Report) -> String {
        let mut out = Vec::new();
        crate::json::write(report, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    fn against(old: &Report, mut new: Report) -> Report {
        let text = text(old);
        let old = serde_json::from_str(&text).unwrap();
        new.baseline = Some(Baseline::of(&new, "old.json", &old));
        new
    }

    #[test]
    fn what_was_there_before_does_not_count() {
        let report = against(&fixture::report(), fixture::report());
        assert_eq!(report.worst(), Verdict::Pass);
        let baseline = report.baseline.unwrap();
        assert_eq!(
            baseline.sentence(),
            "Against old.json: 0 new, 0 worse, 0 moved, 4 unchanged, 0 gone."
        );
    }

    #[test]
    fn a_new_finding_counts_and_a_gone_one_is_named() {
        let mut less = fixture::report();
        less.findings.remove(0);
        let more = against(&less, fixture::report());
        assert_eq!(more.worst(), Verdict::Fail);
        let fewer = against(&fixture::report(), less).baseline.unwrap();
        assert_eq!(fewer.gone.len(), 1);
        assert_eq!(fewer.gone[0].rule, "uk-solid-joist/hole-size");
    }

    #[test]
    fn a_finding_that_got_worse_counts() {
        let mut milder = fixture::report();
        milder.findings[0].verdict = Verdict::Refer;
        let report = against(&milder, fixture::report());
        assert_eq!(report.baseline.as_ref().unwrap().of_finding(0), Since::Worse);
        assert_eq!(report.worst(), Verdict::Fail);
    }

    #[test]
    fn what_the_models_lack_counts_until_the_baseline_lacks_it_too() {
        let mut lacking = fixture::report();
        lacking.unanswered = vec!["The settings expect cable and the models have none.".into()];
        assert_eq!(against(&fixture::report(), lacking.clone()).worst(), Verdict::Unknown);
        assert_eq!(against(&lacking, lacking.clone()).worst(), Verdict::Pass);
    }
}
