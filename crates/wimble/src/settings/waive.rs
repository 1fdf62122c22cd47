//! `[[waive]]`: what is accepted, why, until when.

use super::raw;
use super::resolve::{Outcome, Text};
use crate::Waiver;
use jiff::civil::Date;
use toml::Spanned;

pub(super) fn read(text: Text<'_>, raw: &[Spanned<raw::Waive>]) -> Outcome<Vec<Waiver>> {
    raw.iter().map(|waive| one(text, waive)).collect()
}

/// A day, in quotes or as TOML writes days.
pub(super) fn day(text: Text<'_>, given: &Spanned<toml::Value>) -> Outcome<Date> {
    let day = match given.get_ref() {
        toml::Value::String(day) => day.clone(),
        other => other.to_string(),
    };
    match day.trim().parse::<Date>() {
        Ok(day) => Ok(day),
        Err(_) => {
            let help = "write a day as \"2027-03-01\"";
            text.wrong(given.span(), format!("`{day}` is no day"), help)
        }
    }
}

fn one(text: Text<'_>, raw: &Spanned<raw::Waive>) -> Outcome<Waiver> {
    let waive = raw.get_ref();
    if waive.finding.is_none() && waive.member.is_none() && waive.service.is_none() {
        let help = "name a finding (its fingerprint), a member or a service";
        return text.wrong(raw.span(), "this waives more than anyone can answer for", help);
    }
    let reason = waive.reason.get_ref().trim();
    if reason.is_empty() {
        let help = "say who agreed to what, for example reason = \"engineer's letter of 3 March\"";
        return text.wrong(waive.reason.span(), "a waiver needs a reason", help);
    }
    let until = day(text, &waive.until)?;
    Ok(Waiver {
        finding: waive.finding.clone(),
        rule: waive.rule.clone(),
        member: waive.member.clone(),
        service: waive.service.clone(),
        storey: waive.storey.clone(),
        reason: reason.to_owned(),
        by: waive.by.clone(),
        until,
        line: text.line(raw.span().start),
    })
}
