//! `[bcf]`: how topics for modelling tools are made.

use super::resolve::{Outcome, Text};
use super::{raw, waive};
use toml::Spanned;
use wimble_model::Trade;
use wimble_report::bcf::{Told, Version};

/// What a service carries, as the settings call it.
const TRADES: [(&str, Trade); 9] = [
    ("soil", Trade::Soil),
    ("waste", Trade::Waste),
    ("flue", Trade::Flue),
    ("gas", Trade::Gas),
    ("air", Trade::Air),
    ("heating", Trade::Heating),
    ("water", Trade::Water),
    ("chilled", Trade::Chilled),
    ("electric", Trade::Electric),
];

pub(super) fn read(text: Text<'_>, raw: &raw::Bcf) -> Outcome<Told> {
    let mut told = Told::default();
    if let Some(version) = &raw.version {
        told.version = match Version::of(version.get_ref()) {
            Some(version) => Some(version),
            None => {
                let message = format!("there is no version `{}`", version.get_ref());
                return text.wrong(version.span(), message, "there are \"2.1\" and \"3.0\"");
            }
        };
    }
    if let Some(group) = raw.group {
        told.group = group.into();
    }
    if let Some(author) = raw.author.as_deref().map(str::trim).filter(|a| !a.is_empty()) {
        author.clone_into(&mut told.author);
    }
    if let Some(given) = &raw.assigned_to {
        assigned(text, given, &mut told)?;
    }
    if let Some(due) = &raw.due {
        told.due = Some(format!("{}T00:00:00Z", waive::day(text, due)?));
    }
    told.labels.clone_from(&raw.labels);
    let given = [&raw.priority.fail, &raw.priority.refer, &raw.priority.unknown];
    for (priority, given) in told.priorities.iter_mut().zip(given) {
        if let Some(given) = given.as_deref().map(str::trim).filter(|given| !given.is_empty()) {
            given.clone_into(priority);
        }
    }
    Ok(told)
}

fn assigned(text: Text<'_>, given: &Spanned<toml::Value>, told: &mut Told) -> Outcome<()> {
    let wrong = |message: String| {
        let known: Vec<&str> = TRADES.iter().map(|(word, _)| *word).collect();
        let help = format!("one address in quotes, or a table by {} and other", known.join(", "));
        text.wrong(given.span(), message, help)
    };
    match given.get_ref() {
        toml::Value::String(who) => told.assigned_else = Some(who.clone()),
        toml::Value::Table(table) => {
            for (word, who) in table {
                let toml::Value::String(who) = who else {
                    return wrong(format!("`{word}` is no address in quotes"));
                };
                match TRADES.iter().find(|(known, _)| known == word) {
                    Some((_, trade)) => drop(told.assigned.insert(*trade, who.clone())),
                    None if word == "other" => told.assigned_else = Some(who.clone()),
                    None => return wrong(format!("services carry no `{word}`")),
                }
            }
        }
        _ => return wrong("this is no address".into()),
    }
    Ok(())
}
