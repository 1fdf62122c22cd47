//! A sheet written as TOML.

use crate::error::{SheetError, no_such};
use crate::row::{Cell, Entry, RawMember, RawSheet, Row};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Tables that a sheet has.
const TABLES: [&str; 2] = ["measured", "member"];

pub(crate) fn read(text: &str) -> Result<RawSheet, SheetError> {
    let table = DeTable::parse(text).map_err(|error| {
        SheetError::new(error.span().unwrap_or(0..0), error.message().to_owned(), "")
    })?;
    let mut sheet = RawSheet::default();
    let mut head = DeTable::new();
    for (key, value) in table.into_inner() {
        let span = value.span();
        match (key.get_ref().as_ref(), value.into_inner()) {
            ("measured", DeValue::Table(table)) => {
                sheet.measured = Some(row(table, span)?);
            }
            ("member", DeValue::Array(members)) => {
                for value in members {
                    sheet.members.push(member(value)?);
                }
            }
            ("member", DeValue::Table(table)) => {
                sheet.members.push(member(Spanned::new(span, DeValue::Table(table)))?);
            }
            (name, DeValue::Table(_) | DeValue::Array(_)) if name != "packs" => {
                let (message, help) = no_such("table", name, &TABLES);
                return Err(SheetError::new(key.span(), message, help));
            }
            (_, value) => {
                head.insert(key, Spanned::new(span, value));
            }
        }
    }
    sheet.head = row(head, 0..text.len().min(1))?;
    Ok(sheet)
}

fn member(value: Spanned<DeValue<'_>>) -> Result<RawMember, SheetError> {
    let span = value.span();
    let DeValue::Table(mut table) = value.into_inner() else {
        let help = "write [[member]] and its keys under it";
        return Err(SheetError::new(span, "a member is a table", help));
    };
    let cuts = table.remove("cut").map(|cuts| (cuts.span(), cuts.into_inner()));
    let mut member = RawMember { row: row(table, span)?, cuts: Vec::new() };
    match cuts {
        None => {}
        Some((_, DeValue::Array(cuts))) => {
            for cut in cuts {
                let span = cut.span();
                let DeValue::Table(table) = cut.into_inner() else {
                    return Err(not_a_cut(span));
                };
                member.cuts.push(row(table, span)?);
            }
        }
        Some((span, DeValue::Table(table))) => member.cuts.push(row(table, span)?),
        Some((span, _)) => return Err(not_a_cut(span)),
    }
    Ok(member)
}

fn not_a_cut(span: Range<usize>) -> SheetError {
    SheetError::new(span, "a cut is a table", "write [[member.cut]] and its keys under it")
}

/// A table's keys in the order of the text.
fn row(table: DeTable<'_>, span: Range<usize>) -> Result<Row, SheetError> {
    let mut cells = Vec::new();
    for (key, value) in table {
        let key_span = key.span();
        let key = key.into_inner().into_owned();
        let span = value.span();
        let values = match value.into_inner() {
            DeValue::Array(values) => values.into_iter().collect(),
            value => vec![Spanned::new(span, value)],
        };
        for value in values {
            let span = value.span();
            let text = plain(value.into_inner()).ok_or_else(|| {
                SheetError::new(span.clone(), format!("`{key}` is not written like this"), "")
            })?;
            let cell = Cell { text, span };
            cells.push(Entry { key: key.clone(), key_span: key_span.clone(), cell });
        }
    }
    cells.sort_by_key(|entry| entry.cell.span.start);
    Ok(Row { cells, span })
}

fn plain(value: DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(text) => Some(text.into_owned()),
        DeValue::Integer(figure) => Some(figure.to_string()),
        DeValue::Float(figure) => Some(figure.to_string()),
        DeValue::Boolean(yes) => Some(yes.to_string()),
        DeValue::Datetime(date) => Some(date.to_string()),
        DeValue::Array(_) | DeValue::Table(_) => None,
    }
}
