//! The cautions that no report leaves out, each true of its report.

use crate::summary::plural;
use crate::{Report, say};
use wimble_model::ServiceKind;

/// In the order in which they are printed.
pub(crate) fn cautions(report: &Report) -> Vec<String> {
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
    cautions
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
