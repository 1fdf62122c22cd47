//! Columns under each other.

use std::fmt::Write;

/// Rows of cells as text: each column as wide as its widest cell, two spaces between; what does
/// not fit into `width` goes on under its own column (only the last column wraps).
pub(super) fn text(indent: usize, rows: &[Vec<String>], width: usize) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or_default();
    let wide = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or_default()
    };
    let widths: Vec<usize> = (0..columns).map(wide).collect();
    let before: usize = widths.iter().rev().skip(1).map(|w| w + 2).sum::<usize>() + indent;
    let room = width.saturating_sub(before).max(24);
    let mut out = String::new();
    for row in rows {
        let mut line = " ".repeat(indent);
        for (cell, wide) in row.iter().zip(&widths).take(columns.saturating_sub(1)) {
            let _ = write!(line, "{cell}{:1$}", "", wide + 2 - cell.chars().count());
        }
        let last = row.get(columns.saturating_sub(1)).map(String::as_str).unwrap_or_default();
        for (at, part) in wrapped(last, room).into_iter().enumerate() {
            if at > 0 {
                line = " ".repeat(before);
            }
            line.push_str(&part);
            out.push_str(line.trim_end());
            out.push('\n');
        }
    }
    out
}

/// Words in lines of at most `room` letters; at least one line.
pub(in crate::commands) fn wrapped(text: &str, room: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let Some(line) = lines.last_mut() else { break };
        let long = line.chars().count() + 1 + word.chars().count() > room;
        if line.is_empty() {
            line.push_str(word);
        } else if long {
            lines.push(word.to_owned());
        } else {
            line.push(' ');
            line.push_str(word);
        }
    }
    lines
}
