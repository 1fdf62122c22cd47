//! Mistakes in a sheet, with the cell that they are in.

use std::ops::Range;

/// A mistake in a sheet: which bytes of its text, what is wrong, what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct SheetError {
    /// The bytes of the text that the message speaks of.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What to do; may be empty.
    pub help: String,
}

impl SheetError {
    pub(crate) fn new(
        span: Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self { span, message: message.into(), help: help.into() }
    }
}

/// The known word that is most like one that is not known, if any is near.
pub(crate) fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let word = word.to_lowercase();
    let most = 1 + word.chars().count() / 3;
    known
        .iter()
        .map(|name| (steps(&word, name), *name))
        .filter(|(steps, _)| *steps <= most)
        .min()
        .map(|(_, name)| name)
}

/// How many letters must be added, taken away or changed.
fn steps(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let (mut diagonal, mut left) = (i, i + 1);
        for (cell, y) in row.iter_mut().skip(1).zip(&b) {
            let step = (diagonal + usize::from(x != *y)).min(*cell + 1).min(left + 1);
            diagonal = *cell;
            *cell = step;
            left = step;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or_default()
}

/// `unknown key` with the key that was meant.
pub(crate) fn no_such(what: &str, word: &str, known: &[&str]) -> (String, String) {
    let message = format!("there is no {what} `{word}`");
    let help = match nearest(word, known) {
        Some(name) => format!("did you mean `{name}`? There are {}", known.join(", ")),
        None => format!("there are {}", known.join(", ")),
    };
    (message, help)
}
