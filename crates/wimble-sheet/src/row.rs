//! A sheet as it is written: rows of cells, each with its place in the text. TOML and tables both
//! come to this, so that what a cell means is decided once.

use crate::error::{SheetError, no_such};
use crate::tape::{TapeUnit, read_tape};
use std::ops::Range;

/// What is written in one place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cell {
    pub(crate) text: String,
    pub(crate) span: Range<usize>,
}

impl Cell {
    pub(crate) fn wrong<T>(
        &self,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Result<T, SheetError> {
        Err(SheetError::new(self.span.clone(), message, help))
    }

    /// A length of zero or more, mm.
    pub(crate) fn length(&self, unit: TapeUnit) -> Result<f64, SheetError> {
        read_tape(&self.text, unit).map(|t| t.mm).or_else(|why| self.wrong(why, ""))
    }

    /// A length of more than nothing, mm.
    pub(crate) fn size(&self, unit: TapeUnit) -> Result<f64, SheetError> {
        match self.length(unit)? {
            mm if mm > 0.0 => Ok(mm),
            _ => self.wrong("this has to be more than nothing", ""),
        }
    }

    /// One of several words.
    pub(crate) fn word<T: Copy>(&self, what: &str, words: &[(&str, T)]) -> Result<T, SheetError> {
        let written = self.text.trim().to_lowercase().replace([' ', '_'], "-");
        match words.iter().find(|(word, _)| *word == written) {
            Some((_, value)) => Ok(*value),
            None => {
                let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                let (message, help) = no_such(what, self.text.trim(), &known);
                self.wrong(message, help)
            }
        }
    }

    pub(crate) fn yes(&self) -> Result<bool, SheetError> {
        let words = [("yes", true), ("true", true), ("x", true), ("no", false), ("false", false)];
        self.word("answer", &words)
    }
}

/// Two sizes: `47 x 220`, `27×22 mm`.
pub(crate) fn pair(cell: &Cell, unit: TapeUnit) -> Result<[f64; 2], SheetError> {
    let sides: Vec<&str> = cell.text.split(['x', '×', 'X', '*']).map(str::trim).collect();
    let [first, second] = sides.as_slice() else {
        return cell.wrong(
            format!("`{}` is not two sizes", cell.text.trim()),
            "write both with an x between them, for example 47 x 220",
        );
    };
    // `1-1/2 x 9-1/4 in`: the unit at the end is that of both.
    let tail = read_tape(second, unit).or_else(|why| cell.wrong(why, ""))?;
    let head = read_tape(first, tail.unit).or_else(|why| cell.wrong(why, ""))?;
    if head.mm <= 0.0 || tail.mm <= 0.0 {
        return cell.wrong("both sizes have to be more than nothing", "");
    }
    Ok([head.mm, tail.mm])
}

/// The cells of one thing, by key; what is taken is used, what is left is a mistake.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Row {
    pub(crate) cells: Vec<Entry>,
    /// Where the row stands, for what it lacks.
    pub(crate) span: Range<usize>,
}

/// A key with its cell.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) key_span: Range<usize>,
    pub(crate) cell: Cell,
}

impl Row {
    pub(crate) fn take(&mut self, key: &str) -> Option<Cell> {
        let at = self.cells.iter().position(|entry| entry.key == key)?;
        Some(self.cells.remove(at).cell)
    }

    pub(crate) fn take_all(&mut self, key: &str) -> Vec<Cell> {
        std::iter::from_fn(|| self.take(key)).collect()
    }

    pub(crate) fn lacks<T>(&self, message: &str, help: &str) -> Result<T, SheetError> {
        Err(SheetError::new(self.span.clone(), message, help))
    }

    /// Every key is one that there is: looked at first, so that a slip in a key is not told as
    /// something missing.
    pub(crate) fn keys(&self, known: &[&str]) -> Result<(), SheetError> {
        match self.cells.iter().find(|entry| !known.contains(&entry.key.as_str())) {
            None => Ok(()),
            Some(entry) => {
                let (message, help) = no_such("key", &entry.key, known);
                Err(SheetError::new(entry.key_span.clone(), message, help))
            }
        }
    }

    /// What is left says something that does not go with the rest.
    pub(crate) fn done(self) -> Result<(), SheetError> {
        let Some(left) = self.cells.into_iter().next() else { return Ok(()) };
        let message = format!("`{}` does not go with the rest of this entry", left.key);
        Err(SheetError::new(left.key_span, message, "take it out, or say it once"))
    }
}

/// A whole sheet as written.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct RawSheet {
    pub(crate) head: Row,
    pub(crate) measured: Option<Row>,
    pub(crate) members: Vec<RawMember>,
}

/// A member as written, with its cuts.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct RawMember {
    pub(crate) row: Row,
    pub(crate) cuts: Vec<Row>,
}
