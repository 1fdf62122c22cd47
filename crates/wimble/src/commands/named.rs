//! Members by their GlobalId or name.

use anyhow::{Result, bail};
use wimble_model::{Member, MemberIx};
use wimble_report::Report;

/// The members of this GlobalId or name; at least one.
pub(super) fn all(report: &Report, wanted: &str) -> Result<Vec<MemberIx>> {
    let is_it = |m: &Member| m.element.guid == wanted || m.element.name.as_deref() == Some(wanted);
    let found: Vec<MemberIx> = report
        .members
        .iter()
        .enumerate()
        .filter(|(_, member)| is_it(member))
        .map(|(at, _)| MemberIx::from(at))
        .collect();
    if found.is_empty() {
        let names = report.members.iter().filter_map(|m| m.element.name.as_deref());
        let near = crate::settings::near(wanted, names);
        let hint = match near.as_slice() {
            [] => "`wimble inspect` lists the members".to_owned(),
            names => format!("did you mean {}?", names.join(" or ")),
        };
        bail!("no member has the GlobalId or name `{wanted}`; {hint}");
    }
    Ok(found)
}

/// The one member of this GlobalId or name.
pub(super) fn one(report: &Report, wanted: &str) -> Result<MemberIx> {
    let found = all(report, wanted)?;
    if let [one] = found.as_slice() {
        return Ok(*one);
    }
    let storey = |member: &Member| {
        let storey = member.storey.and_then(|at| report.storeys.get(at as usize));
        storey.map_or("on no storey", |storey| storey.name.as_str())
    };
    let each: Vec<String> = found
        .iter()
        .filter_map(|ix| report.members.get(ix.at()))
        .map(|member| format!("{} ({})", member.element.guid, storey(member)))
        .collect();
    bail!("{} members are called `{wanted}`: name the GlobalId, {}", found.len(), each.join(" or "))
}
