//! GlobalIds that are none.

use crate::candidate::Candidate;
use crate::scene::Warning;
use rayon::prelude::*;
use std::collections::BTreeMap;
use wimble_ifc::{GuidFault, Model, guid_fault};

/// So many elements of each fault are named.
const NAMED: usize = 3;
/// So much of a text is shown.
const SHOWN: usize = 40;

/// One warning for each fault that GlobalIds of a file have, at the line of the first. The elements
/// stay in: within a run they go by file and instance.
pub(super) fn faulty(model: &Model<'_>, input: u32, candidates: &[Candidate]) -> Vec<Warning> {
    let mut found: BTreeMap<GuidFault, Vec<&Candidate>> = BTreeMap::new();
    let faults = candidates.par_iter().filter_map(|c| Some((guid_fault(&c.element.guid)?, c)));
    for (fault, candidate) in faults.collect::<Vec<_>>() {
        found.entry(fault).or_default().push(candidate);
    }
    found.into_iter().map(|(fault, of_it)| warning(model, input, fault, &of_it)).collect()
}

fn warning(model: &Model<'_>, input: u32, fault: GuidFault, of_it: &[&Candidate]) -> Warning {
    let named: Vec<String> = of_it.iter().take(NAMED).map(|c| named(c, fault)).collect();
    let rest = of_it.len().saturating_sub(NAMED);
    let more = if rest > 0 { format!(" and {rest} more") } else { String::new() };
    let one = of_it.len() == 1;
    let (what, key) = match fault {
        GuidFault::Missing => {
            let what = if one {
                "an element has no GlobalId".to_owned()
            } else {
                format!("{} elements have no GlobalId", of_it.len())
            };
            (what, "file and place (~1, ~2 and so on)")
        }
        fault => {
            let what = if one {
                format!("a malformed GlobalId ({fault})")
            } else {
                format!("{} malformed GlobalIds ({fault})", of_it.len())
            };
            (what, "the text as written")
        }
    };
    let stays = if one { "It stays in and goes by" } else { "They stay in and go by" };
    let first = of_it.first().and_then(|c| model.step().find(c.element.instance));
    Warning {
        input: Some(input),
        line: first.map(|row| model.step().line(row)),
        text: format!(
            "{what}: {}{more}. {stays} {key}; topics, waivers and earlier reports may not find {} \
             again: export the model with GlobalIds of 22 characters",
            named.join(", "),
            if one { "it" } else { "them" }
        ),
    }
}

/// An element for a person: instance, class, name, and the text that is no GlobalId.
fn named(candidate: &Candidate, fault: GuidFault) -> String {
    let element = &candidate.element;
    let name = element.name.as_deref().filter(|name| !name.trim().is_empty());
    let name = name.map_or_else(String::new, |name| format!(" “{}”", short(name)));
    let of = format!("#{} {}{name}", element.instance, element.class);
    match fault {
        GuidFault::Missing => of,
        _ => format!("`{}` of {of}", short(&element.guid)),
    }
}

fn short(text: &str) -> String {
    let mut shown: String = text.chars().take(SHOWN).collect();
    if text.chars().nth(SHOWN).is_some() {
        shown.push('…');
    }
    shown
}
