//! Why a pack was refused, and where.

use std::ops::Range;

/// A mistake in a pack, with its place, in words that help to put it right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{pack}:{line}:{column}: {message}")]
pub struct PackError {
    /// Name of the pack's text (its file, as given).
    pub pack: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The bytes of the text that it speaks of.
    pub span: Range<usize>,
    /// What is wrong and what to write instead.
    pub message: String,
}

/// A pack's text with its name: makes places out of byte positions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PackText<'t> {
    pub(crate) name: &'t str,
    pub(crate) text: &'t str,
}

impl PackText<'_> {
    /// A mistake at these bytes.
    pub(crate) fn wrong(&self, span: Range<usize>, message: impl Into<String>) -> PackError {
        let start = span.start.min(self.text.len());
        let before = self.text.get(..start).unwrap_or_default();
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        PackError { pack: self.name.to_owned(), line, column, span, message: message.into() }
    }

    /// A mistake that the TOML reader found, in plainer words where they are needed.
    pub(crate) fn unread(&self, error: &toml::de::Error) -> PackError {
        self.wrong(error.span().unwrap_or(0..0), plainer(error.message()))
    }
}

/// The reader's `unknown field …` and `missing field …` in the words of a pack.
fn plainer(message: &str) -> String {
    let mut quoted = message.split('`').skip(1).step_by(2);
    if message.starts_with("unknown field") {
        let unknown = quoted.next().unwrap_or_default();
        let known: Vec<&str> = quoted.collect();
        let near =
            nearest(unknown, &known).map(|n| format!(" Did you mean `{n}`?")).unwrap_or_default();
        return format!("`{unknown}` is no key here.{near} Known keys: {}.", known.join(", "));
    }
    if message.starts_with("unknown variant") {
        let unknown = quoted.next().unwrap_or_default();
        let known: Vec<&str> = quoted.collect();
        let near =
            nearest(unknown, &known).map(|n| format!(" Did you mean `{n}`?")).unwrap_or_default();
        return format!("`{unknown}` is no word here.{near} Known words: {}.", known.join(", "));
    }
    if message.starts_with("missing field") {
        let missing = quoted.next().unwrap_or_default();
        return format!("the key `{missing}` is missing");
    }
    message.trim().to_owned()
}

/// The known word that is within a slip or two of what was written.
pub(crate) fn nearest<'k>(written: &str, known: &[&'k str]) -> Option<&'k str> {
    known
        .iter()
        .map(|&word| (slips(written, word), word))
        .filter(|(slips, word)| *slips <= 2.max(word.len() / 4))
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, word)| word)
}

/// Edit distance.
fn slips(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let above = row[j + 1];
            row[j + 1] = (before + usize::from(ca != *cb)).min(above + 1).min(row[j] + 1);
            before = above;
        }
    }
    row.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_a_line_and_a_column_in_characters() {
        let text = PackText { name: "my.toml", text: "id = \"é\"\nfoo = 1\n" };
        let error = text.wrong(16..17, "odd");
        assert_eq!((error.line, error.column), (2, 7));
        assert_eq!(text.wrong(900..901, "x").line, 3);
        assert_eq!(text.wrong(8..9, "x").column, 8);
    }

    #[test]
    fn an_unknown_key_names_the_one_that_was_meant() {
        let told = plainer("unknown field `at-mots`, expected one of `at-most`, `at-least`");
        assert!(told.contains("Did you mean `at-most`?"), "{told}");
    }
}
