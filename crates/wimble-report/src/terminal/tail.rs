//! What must be done besides, and the cautions that no report leaves out.

use super::page::Page;
use crate::summary::plural;
use crate::{Report, say};
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{ObligationKind, ServiceKind, Verdict};

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
pub(super) fn cautions<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    page.heading("Before anyone cuts")?;
    let mut cautions = vec![
        "This checks geometry against published rules and your settings. It is not a structural \
         design. Local code and a licensed person decide."
            .to_owned(),
        checked(report),
        "refer and unknown are not permission.".into(),
        "Do not cut flanges of I-joists, parts of trusses, metal webs, lintels or trimmers.".into(),
        "Cut only to this issue. Stop at a knot, a split, rot, an old cut, a hidden cable or \
         anything not drawn, and ask."
            .into(),
        "Isolate services and prove them dead or drained before drilling.".into(),
    ];
    if report.cuts.iter().any(|cut| !cut.obligations.is_empty()) {
        cautions.push(
            "Fit the plates listed before the deck. Fire-stops listed are reminders: product and \
             seal are not checked."
                .into(),
        );
    }
    for (number, caution) in (1..).zip(&cautions) {
        page.numbered(number, caution)?;
    }
    Ok(())
}

/// `Checked: 31 cuts. Not modelled, not checked: ducts, cables.`
fn checked(report: &Report) -> String {
    let trades = [
        (ServiceKind::Pipe, "pipes"),
        (ServiceKind::Duct, "ducts"),
        (ServiceKind::Cable, "cables"),
    ];
    let missing: Vec<String> = trades
        .iter()
        .filter(|(kind, _)| !report.services.iter().any(|service| service.kind == *kind))
        .map(|(_, word)| (*word).to_owned())
        .collect();
    let checked = format!("Checked: {}.", plural(report.cuts.len(), "cut"));
    if missing.is_empty() {
        return checked;
    }
    format!("{checked} Not modelled, not checked: {}.", say::all_of(&missing))
}
