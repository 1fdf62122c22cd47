//! A sheet written as a table: the first line names the columns, each further line is a cut. What
//! is said of a member stands in the first line that names it; later lines may leave it out.
//! Lines above the columns whose first cell ends in a colon are the head (`measured by:, A. Smith`).

use crate::cut::CUT_KEYS;
use crate::error::{SheetError, no_such};
use crate::head::{HEAD_KEYS, MEASURED_KEYS};
use crate::member::MEMBER_KEYS;
use crate::row::{Cell, Entry, RawMember, RawSheet, Row};

pub(crate) fn read(text: &str) -> Result<RawSheet, SheetError> {
    let lines = lines(text)?;
    let mut lines = lines.into_iter().filter(|line| line.iter().any(|c| !c.text.is_empty()));
    let mut sheet = RawSheet::default();
    let mut columns = Vec::new();
    for line in lines.by_ref() {
        let Some(first) = line.first() else { continue };
        let Some(key) = first.text.strip_suffix(':') else {
            columns = head(&line)?;
            break;
        };
        head_line(&mut sheet, key, &line)?;
    }
    for line in lines {
        let span = line.first().map_or(0, |c| c.span.start)..line.last().map_or(0, |c| c.span.end);
        let (mut member, mut cut) = (Row::default(), Row::default());
        (member.span, cut.span) = (span.clone(), span);
        for (at, mut cell) in line.into_iter().enumerate() {
            if cell.text.is_empty() {
                continue;
            }
            let Some(column) = columns.get(at) else {
                return cell.wrong("this cell stands under no column", "give the column a name");
            };
            if let Some(unit) = column.unit
                && cell
                    .text
                    .bytes()
                    .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'/' | b' ' | b'-'))
            {
                cell.text = format!("{} {unit}", cell.text);
            }
            let entry = Entry { key: column.key.clone(), key_span: column.cell.span.clone(), cell };
            if column.of_member { member.cells.push(entry) } else { cut.cells.push(entry) }
        }
        add(&mut sheet, member, cut)?;
    }
    Ok(sheet)
}

struct Column {
    key: String,
    cell: Cell,
    of_member: bool,
    /// The unit of bare figures in it (`depth (in)`).
    unit: Option<&'static str>,
}

fn head(line: &[Cell]) -> Result<Vec<Column>, SheetError> {
    let mut columns: Vec<Column> = Vec::new();
    for cell in line {
        let (name, unit) = match cell.text.split_once('(') {
            None => (cell.text.as_str(), None),
            Some((name, unit)) => match unit.trim_end_matches(')').trim() {
                "mm" => (name, Some("mm")),
                "m" => (name, Some("m")),
                "in" | "inch" | "inches" => (name, Some("in")),
                "ft" => (name, Some("ft")),
                other => {
                    let (message, help) = no_such("unit", other, &["mm", "m", "in", "ft"]);
                    return cell.wrong(message, help);
                }
            },
        };
        let mut key = name.trim().to_lowercase().replace([' ', '_'], "-");
        let known = |key: &str| MEMBER_KEYS.contains(&key) || CUT_KEYS.contains(&key);
        let of_member = match key.as_str() {
            // `name` would be said of both: the member's stands under `member`.
            "member" => {
                key = "name".to_owned();
                true
            }
            "name" => false,
            "" => true,
            key if known(key) => MEMBER_KEYS.contains(&key),
            _ => {
                let mut keys = vec!["member"];
                keys.extend(MEMBER_KEYS.iter().chain(CUT_KEYS).filter(|k| **k != "name"));
                let (message, help) = no_such("column", &key, &keys);
                return cell.wrong(message, help);
            }
        };
        if columns.iter().any(|c| !key.is_empty() && c.key == key && c.of_member == of_member) {
            return cell.wrong(format!("two columns are called `{}`", cell.text), "");
        }
        columns.push(Column { key, cell: cell.clone(), of_member, unit });
    }
    if !columns.iter().any(|column| column.of_member && column.key == "name") {
        let span = line.first().map_or(0..0, |cell| cell.span.clone());
        let help = "the columns are, for example: member, section, span, pipe, at, from";
        return Err(SheetError::new(span, "there is no column `member`", help));
    }
    Ok(columns)
}

fn head_line(sheet: &mut RawSheet, key: &str, line: &[Cell]) -> Result<(), SheetError> {
    let Some(first) = line.first() else { return Ok(()) };
    let written = key.trim().to_lowercase().replace([' ', '_'], "-");
    let row = match written.strip_prefix("measured-") {
        Some(_) => sheet.measured.get_or_insert_with(Row::default),
        None => &mut sheet.head,
    };
    let key = written.strip_prefix("measured-").unwrap_or(&written);
    let known: &[&str] = if key == written { HEAD_KEYS } else { MEASURED_KEYS };
    if !known.contains(&key) {
        let (message, help) = no_such("head line", key, known);
        return first.wrong(message, help);
    }
    for cell in line.iter().skip(1).filter(|cell| !cell.text.is_empty()) {
        row.span = first.span.clone();
        row.cells.push(Entry {
            key: key.to_owned(),
            key_span: first.span.clone(),
            cell: cell.clone(),
        });
    }
    Ok(())
}

/// Puts a line to the member that it names (or to the last one).
fn add(sheet: &mut RawSheet, row: Row, cut: Row) -> Result<(), SheetError> {
    let name = |row: &Row| {
        row.cells.iter().find(|entry| entry.key == "name").map(|entry| entry.cell.text.clone())
    };
    let at = match name(&row) {
        Some(wanted) => {
            sheet.members.iter().position(|m| name(&m.row).as_deref() == Some(wanted.as_str()))
        }
        None => sheet.members.len().checked_sub(1),
    };
    let Some(member) = at.and_then(|at| sheet.members.get_mut(at)) else {
        if name(&row).is_none() {
            return row.lacks("the first line names no member", "fill in the column `member`");
        }
        let cuts = if cut.cells.is_empty() { Vec::new() } else { vec![cut] };
        sheet.members.push(RawMember { row, cuts });
        return Ok(());
    };
    for entry in row.cells {
        match member.row.cells.iter().find(|before| before.key == entry.key) {
            Some(before) if before.cell.text == entry.cell.text => {}
            Some(before) => {
                let message = format!(
                    "`{}` of this member is `{}` in an earlier line",
                    entry.key, before.cell.text
                );
                return entry.cell.wrong(message, "say it once, or give the member another name");
            }
            None => member.row.cells.push(entry),
        }
    }
    if !cut.cells.is_empty() {
        member.cuts.push(cut);
    }
    Ok(())
}

/// The cells of each line, trimmed, with their places. Quoted cells may hold separators, line ends
/// and doubled quotes. The separator is the one that the first line has most of.
fn lines(text: &str) -> Result<Vec<Vec<Cell>>, SheetError> {
    let start = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let first = text.get(start..).unwrap_or_default().lines().next().unwrap_or_default();
    let count = |c: char| first.matches(c).count();
    let separator = [';', '\t', ',']
        .into_iter()
        .max_by_key(|c| count(*c))
        .filter(|c| count(*c) > 0)
        .unwrap_or(',');
    let mut lines = vec![Vec::new()];
    let mut cell = String::new();
    let mut from = start;
    let mut quoted: Option<usize> = None;
    let mut chars = text.char_indices().skip_while(|(at, _)| *at < start).peekable();
    let push = |lines: &mut Vec<Vec<Cell>>, cell: &mut String, span: std::ops::Range<usize>| {
        let text = std::mem::take(cell).trim().to_owned();
        if let Some(line) = lines.last_mut() {
            line.push(Cell { text, span });
        }
    };
    while let Some((at, c)) = chars.next() {
        match (c, quoted) {
            ('"', Some(_)) => {
                if chars.next_if(|(_, next)| *next == '"').is_some() {
                    cell.push('"');
                } else {
                    quoted = None;
                }
            }
            // A quote inside a cell that does not begin with one is an inch mark.
            ('"', None) if cell.trim().is_empty() => quoted = Some(at),
            (c, None) if c == separator => {
                push(&mut lines, &mut cell, from..at);
                from = at + c.len_utf8();
            }
            ('\n', None) => {
                push(&mut lines, &mut cell, from..at);
                lines.push(Vec::new());
                from = at + 1;
            }
            (c, _) => cell.push(c),
        }
    }
    if let Some(at) = quoted {
        let help = "close it, or write inches as `in`";
        return Err(SheetError::new(at..at + 1, "this quotation mark is never closed", help));
    }
    push(&mut lines, &mut cell, from..text.len());
    Ok(lines)
}
