//! The header: what the file says of itself. Nothing in it is worth refusing a file for.

use crate::diagnostic::{DiagnosticKind, Note, excerpt};
use crate::grammar::{self, Spans};
use crate::layout::clean;
use crate::sections::Sections;
use crate::value::Value;

/// The header of a file. What is missing or unset is empty.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Header {
    /// FILE_DESCRIPTION: the description, one text a line.
    pub description: Vec<String>,
    /// FILE_DESCRIPTION: the edition and conformance class, usually `2;1`.
    pub implementation_level: String,
    /// FILE_NAME: the name the file was written under.
    pub name: String,
    /// FILE_NAME: when it was written, as the exporter put it.
    pub time_stamp: String,
    /// FILE_NAME: the authors.
    pub authors: Vec<String>,
    /// FILE_NAME: their organisations.
    pub organisations: Vec<String>,
    /// FILE_NAME: the program library that wrote the file.
    pub preprocessor: String,
    /// FILE_NAME: the program the data came from.
    pub originating_system: String,
    /// FILE_NAME: who authorised the file.
    pub authorisation: String,
    /// FILE_SCHEMA: names of schemas as written, without an object identifier in braces.
    pub schemas: Vec<String>,
}

impl Header {
    pub(crate) fn read(bytes: &[u8], sections: &Sections, notes: &mut Vec<Note>) -> Self {
        let mut header = Self::default();
        let mut seen: Vec<String> = Vec::new();
        for &(start, end) in &sections.header {
            let raw = bytes.get(start..end).unwrap_or_default();
            let text = clean(raw);
            let mut spans = Spans::new();
            let Ok((_, keyword)) = grammar::header_entry(&text, &mut spans) else {
                let message =
                    format!("the header entry \"{}\" cannot be read; it was skipped", excerpt(raw));
                notes.push(Note::new(start, DiagnosticKind::Header, message));
                continue;
            };
            let keyword = String::from_utf8_lossy(keyword).to_ascii_uppercase();
            let values: Vec<Value<'_>> = spans.iter().map(|span| Value::of(span)).collect();
            if seen.contains(&keyword) {
                let message = format!("the header holds {keyword} twice; the first is kept");
                notes.push(Note::new(start, DiagnosticKind::Header, message));
                continue;
            }
            match keyword.as_str() {
                "FILE_DESCRIPTION" => header.set_description(&values),
                "FILE_NAME" => {
                    header.set_name(&values);
                    if values.len() != 7 {
                        let message = format!(
                            "FILE_NAME has {} parameters instead of 7; they were read by their kind",
                            values.len()
                        );
                        notes.push(Note::new(start, DiagnosticKind::Header, message));
                    }
                }
                "FILE_SCHEMA" => header.set_schemas(&values),
                _ => continue,
            }
            seen.push(keyword);
        }
        let at = sections.header.first().map_or(0, |&(start, _)| start);
        if header.schemas.is_empty() {
            let message = "the header names no schema (FILE_SCHEMA)";
            notes.push(Note::new(at, DiagnosticKind::Header, message));
        }
        header
    }

    fn set_description(&mut self, values: &[Value<'_>]) {
        for value in values {
            match value {
                Value::List(_) if self.description.is_empty() => self.description = texts(*value),
                Value::Text(text) => self.implementation_level = text.decode().into_owned(),
                _ => {}
            }
        }
    }

    /// In the standard's order: name, time stamp, (authors), (organisations), preprocessor, system,
    /// authorisation. With a wrong number of parameters the two lists tell where the others belong.
    fn set_name(&mut self, values: &[Value<'_>]) {
        let mut lists = 0;
        let mut before = 0;
        let mut after = 0;
        for (place, value) in values.iter().enumerate() {
            let text = value.text().map(std::borrow::Cow::into_owned).unwrap_or_default();
            let standard = values.len() == 7 && !matches!(value, Value::List(_));
            match value {
                Value::List(_) if lists == 0 => {
                    self.authors = texts(*value);
                    lists = 1;
                }
                Value::List(_) => {
                    self.organisations = texts(*value);
                    lists = 2;
                }
                // `$` in place of a list.
                _ if standard && (place == 2 || place == 3) => lists = place - 1,
                _ if lists == 0 => {
                    match before {
                        0 => self.name = text,
                        _ => self.time_stamp = text,
                    }
                    before += 1;
                }
                _ => {
                    match after {
                        0 => self.preprocessor = text,
                        1 => self.originating_system = text,
                        _ => self.authorisation = text,
                    }
                    after += 1;
                }
            }
        }
    }

    fn set_schemas(&mut self, values: &[Value<'_>]) {
        for value in values {
            for schema in texts(*value) {
                let name = schema.split(['{', ' ']).next().unwrap_or_default().trim();
                if !name.is_empty() {
                    self.schemas.push(name.to_owned());
                }
            }
        }
    }
}

/// The texts of a list, of lists in it, or of a single text.
fn texts(value: Value<'_>) -> Vec<String> {
    match value {
        Value::List(list) => list
            .iter()
            .flat_map(|value| match value {
                Value::List(inner) => inner.iter().filter_map(Value::text).collect::<Vec<_>>(),
                value => value.text().into_iter().collect(),
            })
            .map(std::borrow::Cow::into_owned)
            .collect(),
        value => value.text().into_iter().map(std::borrow::Cow::into_owned).collect(),
    }
}
