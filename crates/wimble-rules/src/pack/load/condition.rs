//! Conditions on facts, as `when`, `applies` and `member` checks write them.

use super::{Loader, Read, Text};
use crate::pack::error::nearest;
use crate::pack::fact::{Condition, Fact, Range, Sort, Test};
use crate::pack::raw::RawRule;
use toml::{Spanned, Value as Toml};

impl Loader<'_> {
    pub(super) fn fact(&self, name: &Text) -> Read<Fact> {
        if let Some(fact) = Fact::named(name.get_ref()) {
            return Ok(fact);
        }
        let known = Fact::names();
        let near = nearest(name.get_ref(), &known)
            .map(|n| format!(" Did you mean `{n}`?"))
            .unwrap_or_default();
        self.wrong(
            name.span(),
            format!("`{}` is no fact.{near} Facts: {}.", name.get_ref(), known.join(", ")),
        )
    }

    /// `when = { kind = "joist", depth = { at-most = "250 mm" } }`.
    pub(super) fn condition(&self, name: &Text, value: &Spanned<Toml>) -> Read<Condition> {
        let fact = self.fact(name)?;
        let at = value.span();
        let test = match (fact.sort(), value.get_ref()) {
            (Sort::Words(known), Toml::Table(table)) => {
                let mut not = Vec::new();
                for (key, words) in table {
                    if key != "not" {
                        return self.wrong(at, format!("`{key}` is no test of words: `not` is"));
                    }
                    not.extend(self.words(words, known, &at)?);
                }
                Test::Words { is: Vec::new(), not }
            }
            (Sort::Words(known), words) => {
                Test::Words { is: self.words(words, known, &at)?, not: Vec::new() }
            }
            (Sort::YesNo, Toml::Boolean(yes)) => Test::YesNo(*yes),
            (Sort::YesNo, _) => return self.wrong(at, "this fact is true or false"),
            (Sort::Length, Toml::Table(table)) => {
                Test::Lengths(self.bounds(table, &at, |v| {
                    self.value_length(&Spanned::new(at.clone(), v.clone()))
                })?)
            }
            (Sort::Length, _) => {
                return self
                    .wrong(at, "a length is asked for with bounds: { at-most = \"250 mm\" }");
            }
            (Sort::Figure, Toml::Table(table)) => {
                Test::Figures(self.bounds(table, &at, |v| self.figure(v, &at))?)
            }
            (Sort::Figure, figure) => {
                let figure = self.figure(figure, &at)?;
                Test::Figures(Range {
                    at_least: Some(figure),
                    at_most: Some(figure),
                    ..Range::default()
                })
            }
        };
        Ok(Condition { fact, test })
    }

    /// A `member` check: `fact`, and `is`, `not`, `at-least`, `at-most`.
    pub(super) fn member(&self, name: &Text, raw: &RawRule) -> Read<Condition> {
        let fact = self.fact(name)?;
        let at = name.span();
        let test = match fact.sort() {
            Sort::Words(known) => {
                let list = |written: &Option<Spanned<Toml>>| {
                    written
                        .as_ref()
                        .map_or(Ok(Vec::new()), |w| self.words(w.get_ref(), known, &w.span()))
                };
                let (is, not) = (list(&raw.is)?, list(&raw.not)?);
                if is.is_empty() && not.is_empty() {
                    return self.wrong(at, "this fact is a word: it needs `is` or `not`");
                }
                Test::Words { is, not }
            }
            Sort::YesNo => match raw.is.as_ref().map(Spanned::get_ref) {
                Some(Toml::Boolean(yes)) => Test::YesNo(*yes),
                _ => return self.wrong(at, "this fact needs `is = true` or `is = false`"),
            },
            Sort::Length => {
                let one = |written: &Option<Spanned<Toml>>| {
                    written.as_ref().map(|w| self.value_length(w)).transpose()
                };
                let range = Range {
                    at_least: one(&raw.at_least)?,
                    at_most: one(&raw.at_most)?,
                    ..Range::default()
                };
                if range.at_least.is_none() && range.at_most.is_none() {
                    return self
                        .wrong(at, "this fact is a length: it needs `at-least` or `at-most`");
                }
                Test::Lengths(range)
            }
            Sort::Figure => {
                let one = |written: &Option<Spanned<Toml>>| {
                    written.as_ref().map(|w| self.figure(w.get_ref(), &w.span())).transpose()
                };
                let range = Range {
                    at_least: one(&raw.at_least)?,
                    at_most: one(&raw.at_most)?,
                    ..Range::default()
                };
                if range.at_least.is_none() && range.at_most.is_none() {
                    return self
                        .wrong(at, "this fact is a figure: it needs `at-least` or `at-most`");
                }
                Test::Figures(range)
            }
        };
        let empty = match &test {
            Test::Lengths(Range { at_least: Some(a), at_most: Some(b), .. }) => {
                a != b && crate::pack::reach::never_less(a, b)
            }
            Test::Figures(Range { at_least: Some(a), at_most: Some(b), .. }) => a > b,
            _ => false,
        };
        if empty {
            return self.wrong(at, "no member can be both: `at-least` is more than `at-most`");
        }
        Ok(Condition { fact, test })
    }

    pub(super) fn words(
        &self,
        value: &Toml,
        known: &'static [&'static str],
        at: &std::ops::Range<usize>,
    ) -> Read<Vec<&'static str>> {
        let written: Vec<&str> = match value {
            Toml::String(one) => vec![one.as_str()],
            Toml::Array(several) => several.iter().filter_map(Toml::as_str).collect(),
            _ => Vec::new(),
        };
        if written.is_empty() {
            return self.wrong(
                at.clone(),
                format!("a word or a list of words is needed: {}", known.join(", ")),
            );
        }
        written
            .into_iter()
            .map(|word| match known.iter().find(|k| **k == word) {
                Some(word) => Ok(*word),
                None => {
                    let near = nearest(word, known)
                        .map(|n| format!(" Did you mean `{n}`?"))
                        .unwrap_or_default();
                    self.wrong(
                        at.clone(),
                        format!(
                            "`{word}` is no word of this fact.{near} Known words: {}.",
                            known.join(", ")
                        ),
                    )
                }
            })
            .collect()
    }

    pub(super) fn bounds<T>(
        &self,
        table: &toml::Table,
        at: &std::ops::Range<usize>,
        read: impl Fn(&Toml) -> Read<T>,
    ) -> Read<Range<T>> {
        let mut range = Range::default();
        for (key, value) in table {
            let value = Some(read(value)?);
            match key.as_str() {
                "at-least" => range.at_least = value,
                "at-most" => range.at_most = value,
                "above" => range.above = value,
                "below" => range.below = value,
                odd => {
                    return self.wrong(
                        at.clone(),
                        format!("`{odd}` is no bound: at-least, at-most, above, below"),
                    );
                }
            }
        }
        Ok(range)
    }

    pub(super) fn figure(&self, value: &Toml, at: &std::ops::Range<usize>) -> Read<f64> {
        match value {
            #[expect(clippy::cast_precision_loss, reason = "counts and ratios are small")]
            Toml::Integer(n) => Ok(*n as f64),
            Toml::Float(f) => Ok(*f),
            _ => self.wrong(at.clone(), "a plain figure is needed here, without a unit"),
        }
    }
}
