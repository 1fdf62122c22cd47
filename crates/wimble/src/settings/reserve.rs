//! `[[reserve]]`: what members keep for a trade.

use super::resolve::{Outcome, Text, expected};
use super::{Expected, raw};
use toml::Spanned;

/// A place for a hole that members keep for a trade.
#[derive(Debug, Clone, PartialEq)]
pub struct Reserve {
    /// The trade, as it is written.
    pub word: String,
    /// The same, as it is meant.
    pub trade: Expected,
    /// Diameter of the hole, mm.
    pub size_mm: f64,
    /// Pattern of the members' names; `None` for all.
    pub member: Option<String>,
    /// Pattern of the name of their storey.
    pub storey: Option<String>,
}

pub(super) fn read(text: Text<'_>, raw: &[Spanned<raw::Reserve>]) -> Outcome<Vec<Reserve>> {
    raw.iter().map(|reserve| one(text, reserve.get_ref())).collect()
}

fn one(text: Text<'_>, raw: &raw::Reserve) -> Outcome<Reserve> {
    let size_mm = text.length_mm(&raw.size)?;
    if size_mm <= 0.0 {
        let help = "write the diameter of the hole, for example \"32 mm\"";
        return text.wrong(raw.size.span(), "no hole is as small as this", help);
    }
    Ok(Reserve {
        word: raw.trade.get_ref().clone(),
        trade: expected(text, &raw.trade)?,
        size_mm,
        member: raw.member.clone(),
        storey: raw.storey.clone(),
    })
}
