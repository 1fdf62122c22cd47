//! What was checked, by which rules, and what was assumed: before any verdict.

use super::page::{LABEL, Page, Tone};
use crate::{Report, say};
use std::io::{self, Write};
use wimble_model::Verdict;

pub(super) fn write<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    let title = format!("Wimble {}", env!("CARGO_PKG_VERSION"));
    let title = page.paint(Tone::Strong, &title);
    page.raw(&title)?;
    page.blank()?;
    let files = report.inputs.iter().map(|input| {
        let part = if input.partial { ", read only in part" } else { "" };
        format!(
            "{} ({}, {}, {} instances{part})",
            say::plain(&input.path),
            say::plain(&input.schema),
            say::plain(&input.length_unit),
            input.instances
        )
    });
    list(page, "Files", files)?;
    let packs: Vec<&str> = report.packs.iter().map(|pack| pack.id.as_str()).collect();
    list(page, "Rules", Some(packs.join(", ")).into_iter())?;
    list(page, "Assumed", report.assumptions.iter().map(|text| say::sentence(text)))?;
    let folded = if page.options.all { usize::MAX } else { 8 };
    list(page, "Take care", report.warnings.iter().take(folded).map(|w| say::warning(report, w)))?;
    let more = report.warnings.len().saturating_sub(folded);
    if more > 0 {
        page.text(LABEL, &format!("and {more} more (see them with --all)"))?;
    }
    Ok(())
}

/// What is not known of the models as a whole.
pub(super) fn unanswered<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    let label = format!("{} {}", Verdict::Unknown.word(), say::sign(Verdict::Unknown));
    for text in &report.unanswered {
        page.labelled(0, Tone::Of(Verdict::Unknown), &label, &say::sentence(text))?;
    }
    Ok(())
}

/// What is new since the baseline: with one, that is what counts.
pub(super) fn baseline<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    let Some(baseline) = &report.baseline else { return Ok(()) };
    page.labelled(0, Tone::Strong, "Baseline", &baseline.sentence())?;
    for (_, finding) in report.findings.iter().enumerate().filter(|(at, f)| {
        f.verdict > Verdict::Pass && f.waived.is_none() && baseline.of_finding(*at).counts()
    }) {
        let member = report.members.get(finding.member.at()).map(say::member_name);
        let label = format!("{} {}", finding.verdict.word(), say::sign(finding.verdict));
        let text = format!("{}: {}", member.unwrap_or_default(), say::sentence(&finding.message));
        page.labelled(0, Tone::Of(finding.verdict), &label, &text)?;
    }
    Ok(())
}

/// Several paragraphs under one label.
fn list<W: Write>(
    page: &mut Page<'_, W>,
    label: &str,
    texts: impl Iterator<Item = String>,
) -> io::Result<()> {
    let mut label = label;
    for text in texts {
        page.labelled(0, Tone::Quiet, label, &text)?;
        label = "";
    }
    Ok(())
}
