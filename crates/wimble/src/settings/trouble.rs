//! A mistake in a text file of the user's, pointed at.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::ops::Range;

/// A mistake in settings or in a pack: which file, where in it, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{path}:{}:{}: {message}", self.line(), self.column())]
pub struct Trouble {
    /// The file, as given.
    pub path: String,
    /// Its text.
    pub text: String,
    /// The bytes of the text that the message speaks of.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What to do; may be empty.
    pub help: String,
}

impl Trouble {
    /// Line of the mistake, from 1.
    #[must_use]
    pub fn line(&self) -> usize {
        self.before().matches('\n').count() + 1
    }

    /// Column of the mistake in characters, from 1.
    #[must_use]
    pub fn column(&self) -> usize {
        self.before().rsplit('\n').next().unwrap_or_default().chars().count() + 1
    }

    fn before(&self) -> &str {
        self.text.get(..self.span.start).unwrap_or(&self.text)
    }

    /// The message with the line that it points at.
    #[must_use]
    pub fn render(&self, colour: bool) -> String {
        let end = self.text.len();
        let start = self.span.start.min(end);
        let span = start..self.span.end.clamp(start, end);
        let snippet = Snippet::source(&self.text)
            .path(&self.path)
            .annotation(AnnotationKind::Primary.span(span));
        let mut group = Level::ERROR.primary_title(&self.message).element(snippet);
        if !self.help.is_empty() {
            group = group.element(Level::HELP.message(&self.help));
        }
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        renderer.render(&[group])
    }
}

/// The names that are most like a word, for "did you mean".
pub(crate) fn near<'a>(word: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let word = word.to_lowercase();
    let mut ranked: Vec<(usize, &str)> = names
        .into_iter()
        .map(|name| (distance(&word, &name.to_lowercase()), name))
        .filter(|(steps, name)| {
            *steps <= 1 + word.chars().count() / 3
                || name.split(['-', '/']).any(|part| part.len() > 2 && part == word)
        })
        .collect();
    ranked.sort();
    ranked.into_iter().take(3).map(|(_, name)| name).collect()
}

/// How many letters must be added, taken away or changed.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        if let Some(first) = row.first_mut() {
            *first = left;
        }
        for (cell, y) in row.iter_mut().skip(1).zip(&b) {
            let step = (diagonal + usize::from(x != *y)).min(*cell + 1).min(left + 1);
            diagonal = *cell;
            *cell = step;
            left = step;
        }
    }
    row.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mistake_is_pointed_at_by_line_and_column() {
        let trouble = Trouble {
            path: "wimble.toml".into(),
            text: "[rules]\npacs = 1\n".into(),
            span: 8..12,
            message: "there is no key `pacs` in [rules]".into(),
            help: "did you mean `packs`?".into(),
        };
        assert_eq!(trouble.to_string(), "wimble.toml:2:1: there is no key `pacs` in [rules]");
        let drawn = trouble.render(false);
        assert!(drawn.contains("wimble.toml:2:1"), "{drawn}");
        assert!(drawn.contains("pacs = 1"), "{drawn}");
        assert!(drawn.contains("did you mean `packs`?"), "{drawn}");
    }

    #[test]
    fn a_span_beyond_the_text_is_no_trouble() {
        let trouble = Trouble {
            path: "x".into(),
            text: String::new(),
            span: 5..9,
            message: "m".into(),
            help: String::new(),
        };
        assert!(trouble.render(false).contains("error"));
    }

    #[test]
    fn near_names_are_found_and_far_ones_are_not() {
        let names = ["uk-solid-joist", "uk-stud", "always"];
        assert_eq!(near("uk-solid-joists", names), ["uk-solid-joist"]);
        assert_eq!(near("stud", names), ["uk-stud"]);
        assert_eq!(near("bananas", names), Vec::<&str>::new());
        assert_eq!(distance("kitten", "sitting"), 3);
    }
}
