//! A summary in Markdown, for a comment on a change of the model.

use crate::{Report, Since, Summary, evidence, say};
use std::cmp::Reverse;
use std::io::{self, Write};
use wimble_model::{Finding, Verdict};

/// More findings than this are counted, not listed: a comment is read, not searched.
const SHOWN: usize = 20;

/// Writes the page.
///
/// # Errors
/// Those of the writer.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "## Cuts in timber\n\n**{}**\n", Summary::sentence(report))?;
    for text in &report.unanswered {
        writeln!(out, "- unknown: {}", markdown(text))?;
    }
    let mut open: Vec<&Finding> = report
        .findings
        .iter()
        .filter(|f| f.verdict > Verdict::Pass && f.waived.is_none())
        .collect();
    open.sort_by_key(|f| Reverse(f.verdict));
    if let Some(baseline) = &report.baseline {
        writeln!(out, "\n{}\n", markdown(&baseline.sentence()))?;
        // What the change brings stands first; the rest was there before.
        let new = |f: &&Finding| {
            let at = report.findings.iter().position(|g| std::ptr::eq(g, *f));
            at.is_some_and(|at| Since::counts(baseline.of_finding(at)))
        };
        open.sort_by_key(|f| !new(f));
    }
    if !open.is_empty() {
        writeln!(out, "\n| verdict | where | what is so | next |\n| --- | --- | --- | --- |")?;
    }
    for finding in open.iter().take(SHOWN) {
        row(report, finding, out)?;
    }
    let more = open.len().saturating_sub(SHOWN);
    if more > 0 {
        writeln!(out, "\n{more} more in the full report.")?;
    }
    let summary = Summary::of(report);
    if summary.waived > 0 {
        writeln!(out, "\n{} waived.", crate::summary::plural(summary.waived, "finding"))?;
    }
    if summary.obligations > 0 {
        let plates = crate::summary::plural(summary.obligations, "thing");
        writeln!(out, "\n{plates} to fit besides (plates, straps, reminders).")?;
    }
    writeln!(out, "\n<details><summary>What was checked and assumed</summary>\n")?;
    for (title, text) in evidence(report) {
        writeln!(out, "- {title}: {}", markdown(&text))?;
    }
    for text in &report.assumptions {
        writeln!(out, "- {}", markdown(text))?;
    }
    for warning in report.warnings.iter().take(SHOWN) {
        writeln!(out, "- take care: {}", markdown(&warning.text))?;
    }
    writeln!(out, "\n</details>\n")?;
    writeln!(
        out,
        "A check of geometry against published rules, not a structural design; refer and unknown \
         are not permission. Wimble {}.",
        env!("CARGO_PKG_VERSION")
    )
}

fn row(report: &Report, finding: &Finding, out: &mut impl Write) -> io::Result<()> {
    let member = report.members.get(finding.member.at());
    let storey = say::storey(report, member.and_then(|m| m.storey));
    let name = member.map(say::member_name).unwrap_or_default();
    let first = finding.cuts.first().and_then(|c| report.cuts.get(c.at()));
    let place = match (member, first) {
        (Some(member), Some(cut)) => format!(", {}, {}", say::cut(cut), say::place(member, cut)),
        _ => String::new(),
    };
    let mut says = say::sentence(&finding.message);
    if let Some(measured) = say::measured(finding.measured, finding.limit) {
        says = format!("{says} {measured}");
    }
    let next: Vec<String> =
        finding.remedies.iter().take(2).map(|r| say::sentence(&r.text)).collect();
    writeln!(
        out,
        "| {} | {} | {} | {} |",
        finding.verdict.word(),
        markdown(&format!("{storey}, {name}{place}")),
        markdown(&says),
        markdown(&next.join(" Or: "))
    )
}

/// Text that is only text: no markup, no mention, no link, no new cell.
pub(crate) fn markdown(text: &str) -> String {
    let mut safe = String::new();
    for c in say::sentence(text).chars() {
        match c {
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '&' => safe.push_str("&amp;"),
            '@' => safe.push_str("&#64;"),
            '|' | '*' | '_' | '`' | '[' | ']' | '\\' | '#' | '~' | '!' => {
                safe.push('\\');
                safe.push(c);
            }
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn the_page_answers_first_and_lists_the_worst_first() {
        let mut out = Vec::new();
        write(&fixture::report(), &mut out).unwrap();
        insta::assert_snapshot!(String::from_utf8(out).unwrap());
    }

    #[test]
    fn names_are_only_text() {
        assert_eq!(
            markdown("<script>|[a](b) @all `x`"),
            "&lt;script&gt;\\|\\[a\\](b) &#64;all \\`x\\`"
        );
    }
}
