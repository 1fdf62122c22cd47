//! Two JSON reports of the same building: what is new, fixed, moved, unchanged.
//!
//! A finding is known again by its fingerprint; where GlobalIds have changed, by its rule and
//! place. One whose fingerprint is the same and whose place is another has moved. Notes are left
//! out: they are no findings to act on.

use crate::json::{Document, FindingRow};
use crate::say;
use crate::summary::plural;
use serde::Serialize;
use std::collections::{BTreeMap, VecDeque};
use std::io::{self, Write};
use wimble_model::Verdict;

/// What became of the findings.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Comparison<'a> {
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
        let mut comparison = Self::default();
        let mut before: Vec<Option<&FindingRow<'_>>> = open(old).map(Some).collect();
        let mut by_print: BTreeMap<&str, VecDeque<usize>> = BTreeMap::new();
        for (at, finding) in open(old).enumerate() {
            by_print.entry(&finding.fingerprint).or_default().push_back(at);
        }
        let mut rest = Vec::new();
        for finding in open(new) {
            let found = by_print.get_mut(&*finding.fingerprint).and_then(VecDeque::pop_front);
            match found.and_then(|at| before.get_mut(at)).and_then(Option::take) {
                Some(was) if was.place == finding.place => {
                    comparison.unchanged.push(entry(new, finding, Some(was.verdict)));
                }
                Some(was) => comparison.moved.push(entry(new, finding, Some(was.verdict))),
                None => rest.push(finding),
            }
        }
        // GlobalIds that changed: the same rule at the same place is the same finding.
        let mut by_place: BTreeMap<(&str, &str), VecDeque<usize>> = BTreeMap::new();
        for (at, finding) in before.iter().enumerate() {
            if let Some(finding) = finding {
                by_place.entry((&finding.rule, &finding.place)).or_default().push_back(at);
            }
        }
        for finding in rest {
            let key = (&*finding.rule, &*finding.place);
            let found = by_place.get_mut(&key).and_then(VecDeque::pop_front);
            match found.and_then(|at| before.get_mut(at)).and_then(Option::take) {
                Some(was) => comparison.unchanged.push(entry(new, finding, Some(was.verdict))),
                None => comparison.new.push(entry(new, finding, None)),
            }
        }
        comparison.fixed = before.into_iter().flatten().map(|f| entry(old, f, None)).collect();
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
    use glam::DVec3;

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
        moved.cuts[1].point_m += DVec3::new(0.2, 0.0, 0.0);
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
