//! Storey by storey the members that need attention, worst first, a block for each finding.

use super::page::{LABEL, Page, Tone};
use super::strip;
use crate::summary::{Verdicts, plural};
use crate::{Report, say};
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{Action, Cut, CutIx, Finding, Member, MemberIx, Remedy, Verdict};

/// More members than this in a storey are folded.
const MEMBERS_SHOWN: usize = 12;
/// More findings than this of a member are folded.
const FINDINGS_SHOWN: usize = 4;
/// How far a member's findings stand in.
const INDENT: usize = 4;

/// A member with all that is said of it.
struct Entry<'a> {
    ix: MemberIx,
    member: &'a Member,
    /// Its cuts with their numbers along the member.
    cuts: Vec<(usize, CutIx, &'a Cut)>,
    findings: Vec<&'a Finding>,
    worst: Verdict,
}

pub(super) fn write<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    let mut storeys: BTreeMap<Option<u32>, Vec<Entry<'_>>> = BTreeMap::new();
    for entry in entries(report) {
        storeys.entry(entry.member.storey).or_default().push(entry);
    }
    // What is on no storey comes last.
    let lost = storeys.remove(&None);
    let storeys = storeys.into_iter().chain(lost.map(|entries| (None, entries)));
    for (at, mut entries) in storeys {
        let attention = entries.iter().filter(|e| e.worst > Verdict::Pass).count();
        if attention == 0 && !page.options.all {
            continue;
        }
        let counts = Verdicts::count(entries.iter().flat_map(|e| &e.cuts).map(|c| c.2.verdict));
        page.heading(&format!("{}: {}", say::storey(report, at), counts.sentence()))?;
        entries.sort_by_cached_key(|e| {
            (Reverse(e.worst), say::natural(&say::member_name(e.member)), e.ix)
        });
        let shown = if page.options.all { entries.len() } else { attention.min(MEMBERS_SHOWN) };
        for entry in entries.iter().take(shown) {
            member(page, report, entry)?;
        }
        folded(page, entries.iter().skip(shown))?;
    }
    Ok(())
}

/// The members of which anything is said.
fn entries(report: &Report) -> Vec<Entry<'_>> {
    let mut entries: BTreeMap<MemberIx, Entry<'_>> = BTreeMap::new();
    let new = |ix: MemberIx| {
        let member = report.members.get(ix.at())?;
        let (cuts, findings) = (vec![], vec![]);
        Some(Entry { ix, member, cuts, findings, worst: Verdict::Pass })
    };
    for (at, cut) in report.cuts.iter().enumerate() {
        if !entries.contains_key(&cut.member)
            && let Some(entry) = new(cut.member)
        {
            entries.insert(cut.member, entry);
        }
        if let Some(entry) = entries.get_mut(&cut.member) {
            entry.cuts.push((entry.cuts.len() + 1, CutIx::from(at), cut));
            entry.worst = entry.worst.max(cut.verdict);
        }
    }
    for finding in &report.findings {
        if !entries.contains_key(&finding.member)
            && let Some(entry) = new(finding.member)
        {
            entries.insert(finding.member, entry);
        }
        if let Some(entry) = entries.get_mut(&finding.member) {
            entry.findings.push(finding);
            entry.worst = entry.worst.max(finding.verdict);
        }
    }
    let mut entries: Vec<_> = entries.into_values().collect();
    for entry in &mut entries {
        entry.findings.sort_by_key(|finding| Reverse(finding.verdict));
    }
    entries
}

fn member<W: Write>(page: &mut Page<'_, W>, report: &Report, entry: &Entry<'_>) -> io::Result<()> {
    page.blank()?;
    let name = page.paint(Tone::Strong, &say::member_name(entry.member));
    page.text(0, &format!("{name}, {}", say::member_facts(entry.member)))?;
    let cuts: Vec<_> = entry.cuts.iter().map(|(number, _, cut)| (*number, *cut)).collect();
    if !cuts.is_empty() {
        strip::write(page, INDENT, entry.member, &cuts)?;
    }
    let (loud, quiet): (Vec<_>, Vec<_>) =
        entry.findings.iter().copied().partition(|finding| finding.verdict > Verdict::Pass);
    let shown = if page.options.all { loud.len() } else { FINDINGS_SHOWN };
    let mut before: &[CutIx] = &[];
    for finding in loud.iter().take(shown) {
        block(page, entry, report, finding, before)?;
        before = &finding.cuts;
    }
    let more = loud.len().saturating_sub(shown);
    if more > 0 {
        let rest = Verdicts::count(loud.iter().skip(shown).map(|f| f.verdict));
        let text = format!("and {}: {}", plural(more, "more finding"), rest.sentence());
        page.text(INDENT, &format!("{text} (see them with --all)"))?;
    }
    for (number, ix, cut) in &entry.cuts {
        let spoken = loud.iter().any(|finding| finding.cuts.contains(ix));
        if !spoken && (page.options.all || cut.verdict > Verdict::Pass) {
            lone_cut(page, report, entry.member, *number, cut)?;
        }
    }
    if page.options.all {
        for finding in quiet {
            block(page, entry, report, finding, &[])?;
        }
        for note in &entry.member.notes {
            page.labelled(INDENT, Tone::Quiet, "note", &say::sentence(&note.0))?;
        }
    }
    Ok(())
}

/// Verdict, what and where, measured against limit, source, next step. Cuts that the block before
/// told of are named only.
fn block<W: Write>(
    page: &mut Page<'_, W>,
    entry: &Entry<'_>,
    report: &Report,
    finding: &Finding,
    before: &[CutIx],
) -> io::Result<()> {
    let cuts = entry.cuts.iter().filter(|(_, ix, _)| finding.cuts.contains(ix));
    let mut texts: Vec<String> = if !before.is_empty() && finding.cuts[..] == *before {
        let marks: Vec<String> = cuts.map(|(number, ..)| strip::mark(*number).into()).collect();
        let word = if marks.len() == 1 { "cut" } else { "cuts" };
        vec![format!("The same {word} {}.", say::all_of(&marks))]
    } else {
        let line = |number, cut| format!("{}.", cut_line(report, entry.member, number, cut));
        cuts.map(|(number, _, cut)| line(*number, cut)).collect()
    };
    texts.push(say::sentence(&finding.message));
    texts.extend(say::measured(finding.measured, finding.limit));
    let (tone, mut label) = match finding.verdict {
        Verdict::Pass => (Tone::Quiet, "note".to_owned()),
        verdict => (Tone::Of(verdict), format!("{} {}", verdict.word(), say::sign(verdict))),
    };
    for text in texts {
        page.labelled(INDENT, tone, &label, &text)?;
        label.clear();
    }
    page.text(INDENT + LABEL, &source(finding, page.options.all))?;
    if let Some(waiver) = &finding.waived {
        page.text(INDENT + LABEL, &format!("Waived: {}", say::sentence(waiver)))?;
    }
    if let Some(next) = next_step(finding) {
        page.text(INDENT + LABEL, &format!("Next: {next}"))?;
    }
    Ok(())
}

/// Where the rule comes from: its first source and how many more, since the rule's own page lists
/// them all.
fn source(finding: &Finding, all: bool) -> String {
    let said = say::sentence(&finding.source);
    let mut sources: Vec<&str> = said.split("; ").filter(|source| !source.is_empty()).collect();
    let more = if all { 0 } else { sources.len().saturating_sub(1) };
    sources.truncate(sources.len() - more);
    let sources = sources.join("; ");
    let rule = &finding.rule;
    match more {
        _ if sources.is_empty() => format!("Rule {rule}."),
        0 => format!("Source: {}. Rule {rule}.", sources.trim_end_matches('.')),
        n => format!("Source: {sources} and {n} more. Rule {rule}."),
    }
}

/// A cut of which no finding that is shown speaks.
fn lone_cut<W: Write>(
    page: &mut Page<'_, W>,
    report: &Report,
    member: &Member,
    number: usize,
    cut: &Cut,
) -> io::Result<()> {
    let label = format!("{} {}", cut.verdict.word(), say::sign(cut.verdict));
    let mut text = cut_line(report, member, number, cut);
    if let Some(margin) = cut.margin_mm.filter(|_| cut.verdict == Verdict::Pass) {
        text.push_str(&format!("; {} mm to spare", say::mm(margin)));
    }
    if cut.tight {
        text.push_str("; tight: a small slip on site would break a rule");
    }
    text.push('.');
    page.labelled(INDENT, Tone::Of(cut.verdict), &label, &text)?;
    for note in &cut.besides.notes {
        page.text(INDENT + LABEL, &format!("Note: {}", say::sentence(&note.0)))?;
    }
    Ok(())
}

/// What a cut that was measured on site is called.
fn measured(report: &Report, cut: &Cut) -> Option<String> {
    cut.openings
        .iter()
        .filter_map(|opening| report.openings.get(opening.at()))
        .find(|opening| opening.source == wimble_model::OpeningSource::Measured)
        .and_then(|opening| opening.element.name.as_deref().map(say::plain))
}

/// `Cut 2: hole 105 mm for duct “Extract”, 220 × 90 mm; 1295 mm from the face of wall W-SP`.
fn cut_line(report: &Report, member: &Member, number: usize, cut: &Cut) -> String {
    let services: Vec<String> =
        cut.services.iter().filter_map(|s| report.services.get(s.at())).map(say::service).collect();
    let whom = match services.len() {
        0 if cut.openings.is_empty() => String::new(),
        0 => match measured(report, cut) {
            Some(name) => format!(" ({name}, measured)"),
            None => " (an opening already modelled)".into(),
        },
        1..=3 => format!(" for {}", say::all_of(&services)),
        n => {
            let first: Vec<_> = services.iter().take(2).cloned().collect();
            format!(" for {} and {} more", first.join(", "), n - 2)
        }
    };
    let mark = strip::mark(number);
    format!("Cut {mark}: {}{whom}; {}", say::cut(cut), say::place(member, cut))
}

/// Whether a move of a cut is told again, and better, by a shift of its whole run.
fn is_in_a_shift(remedy: &Remedy, finding: &Finding) -> bool {
    let (Action::MoveAlong { by_mm } | Action::MoveDepth { by_mm }) = remedy.action else {
        return false;
    };
    finding.remedies.iter().any(|other| match other.action {
        Action::ShiftRun { vector_m } => {
            let length_mm = 1000.0 * glam::DVec3::from_array(vector_m).length();
            (length_mm - by_mm.abs()).abs() < 1e-6 && other.services == remedy.services
        }
        _ => false,
    })
}

/// The remedies, nearest first; without any, what the verdict itself asks for.
fn next_step(finding: &Finding) -> Option<String> {
    // A message that already sends to the engineer or the maker need not say it twice.
    let advises = ["engineer", "maker"].iter().any(|who| finding.message.contains(who));
    let says_more = |remedy: &&Remedy| !(advises && remedy.only_asks());
    let texts: Vec<String> = finding
        .remedies
        .iter()
        .filter(says_more)
        .filter(|remedy| !is_in_a_shift(remedy, finding))
        .take(3)
        .map(|remedy| say::sentence(&remedy.text))
        .collect();
    if texts.is_empty() && advises {
        return None;
    }
    if !texts.is_empty() {
        let texts: Vec<&str> = texts.iter().map(|t| t.trim_end_matches('.')).collect();
        return Some(format!("{}.", texts.join("; or: ")));
    }
    say::without_remedy(finding.verdict).map(Into::into)
}

/// What is not shown, counted.
fn folded<'a, W: Write>(
    page: &mut Page<'_, W>,
    rest: impl Iterator<Item = &'a Entry<'a>> + Clone,
) -> io::Result<()> {
    let attention = rest.clone().filter(|e| e.worst > Verdict::Pass).count();
    let quiet = rest.clone().count() - attention;
    let mut parts = vec![];
    if attention > 0 {
        let worst = Verdicts::count(rest.map(|e| e.worst).filter(|v| *v > Verdict::Pass));
        parts.push(format!(
            "{} with findings ({})",
            plural(attention, "more member"),
            worst.sentence()
        ));
    }
    if quiet > 0 {
        parts.push(format!("{} where every cut passes", plural(quiet, "member")));
    }
    if parts.is_empty() {
        return Ok(());
    }
    page.blank()?;
    page.text(0, &format!("Not listed: {} (see them with --all).", say::all_of(&parts)))
}
