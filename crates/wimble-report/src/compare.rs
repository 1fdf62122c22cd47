//! Two JSON reports of the same building: what is new, fixed, moved, unchanged.
//!
//! A finding is known again by its fingerprint; where GlobalIds have changed, by its rule and
//! place. One whose fingerprint is the same and whose place is another has moved. Notes are left
//! out: they are no findings to act on.

use crate::json::{Document, FindingRow};
use crate::say;
use crate::summary::plural;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::io::{self, Write};
use wimble_model::Verdict;

/// What became of the findings.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Comparison<'a> {
    /// What makes the two reports hard to compare (other rules, another version), in sentences.
    pub differences: Vec<String>,
    /// Only in the new report.
    pub new: Vec<Entry<'a>>,
    /// Only in the old report.
    pub fixed: Vec<Entry<'a>>,
    /// In both, at another place.
    pub moved: Vec<Entry<'a>>,
    /// In both, at the same place.
    pub unchanged: Vec<Entry<'a>>,
}

/// A finding that is compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry<'a> {
    /// Its fingerprint in the new report; of a fixed one, in the old.
    pub fingerprint: &'a str,
    /// `pack/rule`.
    pub rule: &'a str,
    /// What is said now; of a fixed one, what was said.
    pub verdict: Verdict,
    /// What was said before, if it is in both.
    pub was: Option<Verdict>,
    /// Id of the member.
    pub member: &'a str,
    /// What a person calls the member.
    pub name: String,
    /// What is so.
    pub message: &'a str,
    /// Whether a waiver lifts it.
    pub waived: bool,
}

impl<'a> Comparison<'a> {
    /// Compares two reports.
    #[must_use]
    pub fn of(old: &'a Document<'a>, new: &'a Document<'a>) -> Self {
        let before: Vec<&FindingRow<'_>> = open(old).collect();
        let now: Vec<&FindingRow<'_>> = open(new).collect();
        let keys = |rows: &[&'a FindingRow<'a>]| -> Vec<Key<'a>> {
            rows.iter().map(|row| key(row)).collect()
        };
        let (old_keys, new_keys) = (keys(&before), keys(&now));
        let paired = pair(&old_keys, &new_keys);
        let mut comparison = Self { differences: differences(old, new), ..Self::default() };
        for (finding, was) in now.iter().zip(&paired) {
            let was = was.and_then(|at| before.get(at));
            let entry = entry(new, finding, was.map(|was| was.verdict));
            match was {
                None => comparison.new.push(entry),
                Some(was)
                    if was.fingerprint == finding.fingerprint && was.place != finding.place =>
                {
                    comparison.moved.push(entry);
                }
                Some(_) => comparison.unchanged.push(entry),
            }
        }
        let kept: BTreeSet<usize> = paired.iter().flatten().copied().collect();
        let gone = before.iter().enumerate().filter(|(at, _)| !kept.contains(at));
        comparison.fixed = gone.map(|(_, finding)| entry(old, finding, None)).collect();
        comparison
    }

    /// `2 new, 1 fixed, 0 moved, 7 unchanged.`
    #[must_use]
    pub fn sentence(&self) -> String {
        format!(
            "{}: {} new, {} fixed, {} moved, {} unchanged.",
            plural(
                self.new.len() + self.fixed.len() + self.moved.len() + self.unchanged.len(),
                "finding"
            ),
            self.new.len(),
            self.fixed.len(),
            self.moved.len(),
            self.unchanged.len()
        )
    }

    /// The worst verdict of what is new and not waived, or has become worse.
    #[must_use]
    pub fn worst_new(&self) -> Verdict {
        let worse = |e: &&Entry<'_>| e.was.is_none_or(|was| e.verdict > was);
        let both = self.moved.iter().chain(&self.unchanged);
        let worse = self.new.iter().chain(both).filter(worse).filter(|e| !e.waived);
        worse.map(|e| e.verdict).max().unwrap_or_default()
    }

    /// Writes what a person reads: new first, then moved, fixed, and the unchanged as a count.
    ///
    /// # Errors
    /// Those of the writer.
    pub fn write(&self, out: &mut impl Write) -> io::Result<()> {
        writeln!(out, "{}", self.sentence())?;
        for text in &self.differences {
            writeln!(out, "Take care: {text}")?;
        }
        for (title, entries) in [("New", &self.new), ("Moved", &self.moved), ("Fixed", &self.fixed)]
        {
            if entries.is_empty() {
                continue;
            }
            writeln!(out, "\n{title}")?;
            for entry in entries {
                let was = match entry.was {
                    Some(was) if was != entry.verdict => format!(", was {}", was.word()),
                    _ => String::new(),
                };
                let waived = if entry.waived { ", waived" } else { "" };
                let head = format!("{}{was}{waived}", entry.verdict.word());
                let (name, message) = (say::plain(&entry.name), say::sentence(entry.message));
                writeln!(out, "  {head:<10} {name}: {message} ({})", entry.rule)?;
            }
        }
        let changed: Vec<&Entry<'_>> =
            self.unchanged.iter().filter(|e| e.was.is_some_and(|was| was != e.verdict)).collect();
        if !changed.is_empty() {
            writeln!(out, "\nSame place, another verdict")?;
            for entry in changed {
                let was = entry.was.map_or("", Verdict::word);
                let name = say::plain(&entry.name);
                writeln!(out, "  {name}: {was}, now {} ({})", entry.verdict.word(), entry.rule)?;
            }
        }
        Ok(())
    }
}

/// What a finding is known again by.
#[derive(Debug, Clone)]
pub(crate) struct Key<'a> {
    pub(crate) fingerprint: &'a str,
    pub(crate) rule: &'a str,
    pub(crate) place: Cow<'a, str>,
}

/// For each new finding the old one that it is: by fingerprint, then (GlobalIds that changed) the
/// same rule at the same place. Each old one is taken once.
pub(crate) fn pair(old: &[Key<'_>], new: &[Key<'_>]) -> Vec<Option<usize>> {
    let mut by_print: BTreeMap<&str, VecDeque<usize>> = BTreeMap::new();
    for (at, key) in old.iter().enumerate() {
        by_print.entry(key.fingerprint).or_default().push_back(at);
    }
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    let mut paired: Vec<Option<usize>> = Vec::with_capacity(new.len());
    for key in new {
        let found = by_print.get_mut(key.fingerprint).and_then(VecDeque::pop_front);
        taken.extend(found);
        paired.push(found);
    }
    let mut by_place: BTreeMap<(&str, &str), VecDeque<usize>> = BTreeMap::new();
    for (at, key) in old.iter().enumerate().filter(|(at, _)| !taken.contains(at)) {
        by_place.entry((key.rule, &key.place)).or_default().push_back(at);
    }
    for (key, slot) in new.iter().zip(&mut paired) {
        if slot.is_none() {
            *slot = by_place.get_mut(&(key.rule, &*key.place)).and_then(VecDeque::pop_front);
        }
    }
    paired
}

/// Findings may come and go because the check is another one: that is said first.
fn differences(old: &Document<'_>, new: &Document<'_>) -> Vec<String> {
    let mut said = Vec::new();
    let version = |document: &Document<'_>| say::plain(&document.tool.version);
    if old.tool != new.tool {
        said.push(format!("they were made by versions {} and {}.", version(old), version(new)));
    }
    let packs = |document: &Document<'_>| -> BTreeSet<(String, String)> {
        document.packs.iter().map(|p| (say::plain(&p.id), say::plain(&p.version))).collect()
    };
    let (before, now) = (packs(old), packs(new));
    let named = |set: &BTreeSet<(String, String)>, other: &BTreeSet<(String, String)>| {
        let ids: Vec<String> = set.difference(other).map(|(id, _)| id.clone()).collect();
        if ids.is_empty() { "none".to_owned() } else { say::all_of(&ids) }
    };
    if before != now {
        said.push(format!(
            "the rules differ: only in the old report {}, only in the new one {}.",
            named(&before, &now),
            named(&now, &before)
        ));
    }
    said
}

fn key<'a>(row: &'a FindingRow<'a>) -> Key<'a> {
    Key { fingerprint: &row.fingerprint, rule: &row.rule, place: Cow::Borrowed(&*row.place) }
}

fn open<'a>(document: &'a Document<'a>) -> impl Iterator<Item = &'a FindingRow<'a>> {
    document.findings.iter().filter(|finding| finding.verdict > Verdict::Pass)
}

fn entry<'a>(
    document: &'a Document<'a>,
    finding: &'a FindingRow<'a>,
    was: Option<Verdict>,
) -> Entry<'a> {
    let member = document.members.iter().find(|m| m.id == finding.member);
    let name = member.and_then(|m| m.name.as_deref()).unwrap_or(&finding.member);
    Entry {
        fingerprint: &finding.fingerprint,
        rule: &finding.rule,
        verdict: finding.verdict,
        was,
        member: &finding.member,
        name: name.to_owned(),
        message: &finding.message,
        waived: finding.waived.is_some(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Report, fixture};

    fn text(report: &Report) -> String {
        let mut out = Vec::new();
        crate::json::write(report, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    /// Counts of new, fixed, moved, unchanged.
    fn counts(old: &Report, new: &Report) -> [usize; 4] {
        let (old, new) = (text(old), text(new));
        let (old, new) = (serde_json::from_str(&old).unwrap(), serde_json::from_str(&new).unwrap());
        let found = Comparison::of(&old, &new);
        [found.new.len(), found.fixed.len(), found.moved.len(), found.unchanged.len()]
    }

    #[test]
    fn the_same_report_is_unchanged() {
        assert_eq!(counts(&fixture::report(), &fixture::report()), [0, 0, 0, 4]);
    }

    #[test]
    fn a_finding_that_goes_is_fixed_and_one_that_comes_is_new() {
        let mut less = fixture::report();
        less.findings.remove(0);
        assert_eq!(counts(&fixture::report(), &less), [0, 1, 0, 3]);
        assert_eq!(counts(&less, &fixture::report()), [1, 0, 0, 3]);
    }

    #[test]
    fn a_cut_that_moves_is_moved() {
        let mut moved = fixture::report();
        moved.cuts[1].min_mm.x += 200.0;
        moved.cuts[1].max_mm.x += 200.0;
        assert_eq!(counts(&fixture::report(), &moved), [0, 0, 1, 3]);
    }

    #[test]
    fn new_global_ids_at_the_same_places_change_nothing() {
        let mut other = fixture::report();
        for member in &mut other.members {
            member.element.guid.insert(0, 'N');
        }
        assert_eq!(counts(&fixture::report(), &other), [0, 0, 0, 4]);
    }

    #[test]
    fn what_is_new_or_worse_decides_and_waivers_do_not() {
        let old = {
            let mut report = fixture::report();
            report.findings.remove(0);
            report
        };
        let judge = |new: &Report| {
            let (old, new) = (text(&old), text(new));
            let (old, new) =
                (serde_json::from_str(&old).unwrap(), serde_json::from_str(&new).unwrap());
            Comparison::of(&old, &new).worst_new()
        };
        let mut new = fixture::report();
        assert_eq!(judge(&new), Verdict::Fail);
        new.findings[0].waived = Some("agreed".into());
        assert_eq!(judge(&new), Verdict::Pass);
    }
}
