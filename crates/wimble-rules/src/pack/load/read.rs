//! Words, lengths, kinds and sources as a pack writes them.

use super::{Loader, Read, Text};
use crate::expression::Length;
use crate::pack::error::nearest;
use crate::pack::raw::RawRule;
use crate::pack::{KindSet, Pack, Value};
use toml::{Spanned, Value as Toml};

impl Loader<'_> {
    pub(super) fn wrong<T>(
        &self,
        at: std::ops::Range<usize>,
        message: impl Into<String>,
    ) -> Read<T> {
        Err(self.text.wrong(at, message))
    }

    pub(super) fn name(&self, id: &Text) -> Read<()> {
        let good = !id.get_ref().is_empty()
            && id.get_ref().split('-').all(|part| {
                !part.is_empty()
                    && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
            });
        if good {
            return Ok(());
        }
        self.wrong(
            id.span(),
            format!(
                "`{}` is no name: use lower-case letters, digits and single hyphens (`hole-zone`)",
                id.get_ref()
            ),
        )
    }

    pub(super) fn needed<'r, T>(
        &self,
        value: &'r Option<Spanned<T>>,
        at: &std::ops::Range<usize>,
        key: &str,
    ) -> Read<&'r Spanned<T>> {
        match value {
            Some(value) => Ok(value),
            None => self.wrong(at.clone(), format!("this check needs `{key}`")),
        }
    }

    pub(super) fn needed_word<T: Copy>(
        &self,
        written: &Option<Text>,
        at: &std::ops::Range<usize>,
        key: &str,
        words: &[(&str, T)],
    ) -> Read<T> {
        let written = self.needed(written, at, key)?;
        self.one_of(written, words)
    }

    pub(super) fn word<T: Copy>(
        &self,
        written: &Option<Text>,
        usual: T,
        words: &[(&str, T)],
    ) -> Read<T> {
        written.as_ref().map_or(Ok(usual), |written| self.one_of(written, words))
    }

    pub(super) fn one_of<T: Copy>(&self, written: &Text, words: &[(&str, T)]) -> Read<T> {
        if let Some((_, value)) = words.iter().find(|(word, _)| word == written.get_ref()) {
            return Ok(*value);
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let near = nearest(written.get_ref(), &known)
            .map(|n| format!(" Did you mean `{n}`?"))
            .unwrap_or_default();
        self.wrong(
            written.span(),
            format!(
                "`{}` is no word here.{near} Known words: {}.",
                written.get_ref(),
                known.join(", ")
            ),
        )
    }

    pub(super) fn kinds(&self, written: &[Text]) -> Read<KindSet> {
        let words: Vec<_> = crate::pack::kinds::ALL_KINDS.iter().map(|&k| (k.word(), k)).collect();
        let kinds =
            written.iter().map(|word| self.one_of(word, &words)).collect::<Read<Vec<_>>>()?;
        Ok(KindSet::of(&kinds))
    }

    pub(super) fn length(&self, written: &Text) -> Read<Length> {
        Length::parse(written.get_ref()).map_err(|e| {
            // The text lies one quote inside the value's span.
            let start = written.span().start + 1;
            self.text.wrong(start + e.at.start..start + e.at.end, e.message)
        })
    }

    pub(super) fn constant(&self, written: &Text) -> Read<f64> {
        match self.length(written)? {
            Length::Mm(mm) if mm > 0.0 => Ok(mm),
            _ => {
                self.wrong(written.span(), "a plain length with its unit is needed here: `220 mm`")
            }
        }
    }

    pub(super) fn value_length(&self, written: &Spanned<Toml>) -> Read<Length> {
        match written.get_ref() {
            Toml::String(text) => self.length(&Spanned::new(written.span(), text.clone())),
            Toml::Integer(_) | Toml::Float(_) => self.wrong(
                written.span(),
                "a plain number is no length: write it in quotes with its unit or name (\"35 mm\", \"0.125 h\")",
            ),
            _ => self.wrong(written.span(), "a length is needed here: \"0.125 h\", \"35 mm\""),
        }
    }

    pub(super) fn value(&self, written: &Spanned<Toml>, pack: &Pack) -> Read<Value> {
        if let Toml::String(text) = written.get_ref()
            && let Some(key) = text.trim().strip_prefix("table(").and_then(|t| t.strip_suffix(')'))
        {
            let found = pack.tables.iter().position(|table| table.key == key.trim());
            return match found {
                Some(at) => Ok(Value::Table(at)),
                None => self.wrong(
                    written.span(),
                    format!("there is no table `{}` in this pack", key.trim()),
                ),
            };
        }
        self.value_length(written).map(Value::Length)
    }

    pub(super) fn sources(&self, raw: &RawRule, pack: &Pack) -> Read<Vec<usize>> {
        let Some(written) = &raw.source else {
            return self.wrong(
                raw.id.span(),
                format!(
                    "rule `{}` cites no `source`: name one of the pack's [[source]] keys (use a source with status \"own\" for a figure of your own)",
                    raw.id.get_ref()
                ),
            );
        };
        let keys: Vec<&str> = match written.get_ref() {
            Toml::String(one) => vec![one],
            Toml::Array(several) => several.iter().filter_map(Toml::as_str).collect(),
            _ => Vec::new(),
        };
        if keys.is_empty() {
            return self.wrong(written.span(), "a source is a key, or a list of keys");
        }
        keys.into_iter()
            .map(|key| match pack.sources.iter().position(|s| s.key == key) {
                Some(at) => Ok(at),
                None => self.wrong(
                    written.span(),
                    format!("the source `{key}` is missing: add a [[source]] with this key"),
                ),
            })
            .collect()
    }
}
