//! What was recognised: members by storey, services by system, what carries.

use super::page::{LABEL, Page, Tone};
use crate::summary::plural;
use crate::{Report, say};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use wimble_model::Member;

/// More names than this in one row are folded.
const NAMES_SHOWN: usize = 12;

pub(super) fn write<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    members(page, report)?;
    supports(page, report)?;
    services(page, report)
}

/// Members that are alike in all that matters are one row.
fn members<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    page.heading(&format!("Members: {}", report.members.len()))?;
    if report.members.is_empty() {
        return page.text(
            0,
            "No timber member was found. The last table says what each element was taken for; \
             [[model.map]] in wimble.toml can say which are timber.",
        );
    }
    let mut storeys: BTreeMap<Option<u32>, BTreeMap<String, Vec<&Member>>> = BTreeMap::new();
    for member in &report.members {
        let mut facts = say::member_facts(member);
        if let Some(basis) = member.spans.iter().map(|span| span.basis).max() {
            facts.push_str(&format!(" ({})", basis.word()));
        }
        storeys.entry(member.storey).or_default().entry(facts).or_default().push(member);
    }
    for (storey, rows) in storeys {
        let count: usize = rows.values().map(Vec::len).sum();
        page.blank()?;
        let title = format!("{}: {}", say::storey(report, storey), plural(count, "member"));
        let title = page.paint(Tone::Strong, &title);
        page.text(0, &title)?;
        for (facts, members) in rows {
            let label = format!("{:>6}", members.len());
            page.labelled(0, Tone::Strong, &label, &facts)?;
            let listed = names(page, members.iter().map(|m| say::member_name(m)));
            page.text(LABEL, &listed)?;
            if page.options.all {
                for member in members {
                    details(page, member)?;
                }
            }
        }
    }
    Ok(())
}

/// Bearings and remarks of one member.
fn details<W: Write>(page: &mut Page<'_, W>, member: &Member) -> io::Result<()> {
    let bearings: Vec<String> = member
        .bearings
        .iter()
        .map(|b| {
            let (from, to) = (say::mm(b.from_mm), say::mm(b.to_mm));
            format!("{} {from} to {to} ({})", say::plain(&b.name), b.basis.word())
        })
        .collect();
    let bears =
        if bearings.is_empty() { "bears on nothing found".into() } else { bearings.join("; ") };
    let name = say::member_name(member);
    page.text(LABEL, &format!("{name}: {} long; {bears}", say::mm(member.length_mm)))?;
    for note in &member.notes {
        page.text(LABEL + 2, &format!("note: {}", say::sentence(&note.0)))?;
    }
    Ok(())
}

fn supports<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    let mut carriers: BTreeMap<Vec<(String, u64)>, (String, usize)> = BTreeMap::new();
    let mut members: BTreeSet<_> = BTreeSet::new();
    for bearing in report.members.iter().flat_map(|member| &member.bearings) {
        if let Some(member) = bearing.member {
            members.insert(member);
            continue;
        }
        let name = say::plain(&bearing.name);
        carriers.entry(say::natural(&name)).or_insert((name, 0)).1 += 1;
    }
    page.heading(&format!("What carries them: {}", carriers.len() + members.len()))?;
    let shown = if page.options.all { carriers.len() } else { 2 * NAMES_SHOWN };
    for (name, count) in carriers.values().take(shown) {
        let ends = if *count == 1 { "bearing" } else { "bearings" };
        page.labelled(0, Tone::Strong, &format!("{count:>6}"), &format!("{ends} on {name}"))?;
    }
    let more = carriers.len().saturating_sub(shown);
    if more > 0 {
        page.text(LABEL, &format!("and {more} more (see them with --all)"))?;
    }
    if !members.is_empty() {
        page.text(0, &format!("{} carry others.", plural(members.len(), "member")))?;
    }
    let open = report.members.iter().filter(|m| !m.open_ends.is_empty()).count();
    if open > 0 {
        let verb = if open == 1 { "has" } else { "have" };
        page.text(
            0,
            &format!("{} {verb} an end that bears on nothing found.", plural(open, "member")),
        )?;
    }
    Ok(())
}

fn services<W: Write>(page: &mut Page<'_, W>, report: &Report) -> io::Result<()> {
    page.heading(&format!("Services: {}", report.services.len()))?;
    if report.services.is_empty() {
        return page.text(0, "No service was found. The last table says what each element is.");
    }
    let mut systems: BTreeMap<String, BTreeMap<String, Vec<String>>> = BTreeMap::new();
    for service in &report.services {
        let system = service.system.as_deref().map(say::plain).filter(|s| !s.is_empty());
        let system = system.unwrap_or_else(|| "no system named".into());
        let size = match service.shape {
            wimble_model::ServiceShape::RoundMm(d) => format!(" {} mm", say::mm(d)),
            wimble_model::ServiceShape::RectangleMm([a, b]) => {
                format!(" {} × {} mm", say::mm(a), say::mm(b))
            }
            wimble_model::ServiceShape::Mesh => String::new(),
            wimble_model::ServiceShape::Unknown => ", size not known".into(),
        };
        let facts = format!("{}{size}", say::service_kind(service));
        let row = systems.entry(system).or_default().entry(facts).or_default();
        row.push(say::element_name(&service.element));
    }
    for (system, rows) in systems {
        page.blank()?;
        let title = page.paint(Tone::Strong, &system);
        page.text(0, &title)?;
        for (facts, members) in rows {
            let label = format!("{:>6}", members.len());
            let listed = names(page, members.into_iter());
            page.labelled(0, Tone::Strong, &label, &format!("{facts}: {listed}"))?;
        }
    }
    Ok(())
}

/// Names in a row, folded after a dozen.
fn names<W: Write>(page: &Page<'_, W>, names: impl Iterator<Item = String>) -> String {
    let mut names: Vec<String> = names.collect();
    names.sort_by_cached_key(|name| say::natural(name));
    names.dedup();
    let shown = if page.options.all { names.len() } else { NAMES_SHOWN };
    let more = names.len().saturating_sub(shown);
    names.truncate(shown);
    let listed = names.join(", ");
    if more == 0 { listed } else { format!("{listed} and {more} more") }
}
