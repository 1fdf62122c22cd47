//! What must be done besides, and the cautions that no report leaves out.

use super::page::Page;
use crate::cautions::cautions;
use crate::summary::plural;
use crate::{Report, say};
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{ObligationKind, Verdict};

/// Obligations per storey, each kind counted.
pub(super) fn obligations<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    let mut counts: BTreeMap<(Option<u32>, ObligationKind, &str), usize> = BTreeMap::new();
    for cut in &report.cuts {
        let storey = report.members.get(cut.member.at()).and_then(|m| m.storey);
        for obligation in &cut.obligations {
            *counts.entry((storey, obligation.kind, &obligation.text)).or_default() += 1;
        }
    }
    let tight = report.cuts.iter().filter(|c| c.tight && c.verdict == Verdict::Pass).count();
    if counts.is_empty() && tight == 0 {
        return Ok(());
    }
    page.heading("To do besides")?;
    for ((storey, _, text), count) in counts {
        let storey = say::storey(report, storey);
        page.text(0, &format!("{storey}: at {}, {}.", plural(count, "cut"), say::sentence(text)))?;
    }
    if tight > 0 {
        let many = plural(tight, "cut");
        let verb = if tight == 1 { "passes" } else { "pass" };
        page.text(
            0,
            &format!("{many} {verb} but tightly: a small slip on site would break a rule."),
        )?;
    }
    Ok(())
}

/// The cautions, each true of this report.
pub(super) fn before_cutting<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    page.heading("Before anyone cuts")?;
    for (number, caution) in (1..).zip(&cautions(report)) {
        page.numbered(number, caution)?;
    }
    Ok(())
}
