//! Attributes of instances by the names that the schema gives them.

use crate::Model;
use std::borrow::Cow;
use wimble_step::{Row, Value};

impl Model<'_> {
    /// Position of an attribute in an instance's record.
    #[must_use]
    pub fn position(&self, row: Row, attribute: &str) -> Option<usize> {
        self.keyword(row)?.position(attribute)
    }

    /// An attribute by the name that the schema gives it; unset where the class has no such
    /// attribute.
    #[must_use]
    pub fn attribute(&self, row: Row, attribute: &str) -> Value<'_> {
        let Some(position) = self.position(row, attribute) else { return Value::Unset };
        self.step.record(row).get(position)
    }

    /// An attribute's text, decoded; `None` if unset, blank or not a text.
    #[must_use]
    pub fn text(&self, row: Row, attribute: &str) -> Option<String> {
        self.text_of(row, self.attribute(row, attribute)).map(Cow::into_owned)
    }

    /// An attribute's number; a typed value gives what it holds.
    #[must_use]
    pub fn number(&self, row: Row, attribute: &str) -> Option<f64> {
        self.attribute(row, attribute).number()
    }

    /// The numbers of an attribute's list.
    #[must_use]
    pub fn numbers(&self, row: Row, attribute: &str) -> Vec<f64> {
        self.attribute(row, attribute)
            .list()
            .map(|list| list.numbers().collect())
            .unwrap_or_default()
    }

    /// An attribute that is true or false.
    #[must_use]
    pub fn boolean(&self, row: Row, attribute: &str) -> Option<bool> {
        self.attribute(row, attribute).boolean()
    }

    /// An attribute's enumeration in capitals, without its dots.
    #[must_use]
    pub fn enumeration(&self, row: Row, attribute: &str) -> Option<String> {
        self.attribute(row, attribute).enumeration().map(str::to_ascii_uppercase)
    }

    /// The instance that an attribute refers to; a reference to nothing makes a diagnostic.
    #[must_use]
    pub fn reference(&self, row: Row, attribute: &str) -> Option<Row> {
        self.follow(row, self.attribute(row, attribute).reference()?)
    }

    /// The instances in an attribute's list; a single reference counts as a list of one.
    #[must_use]
    pub fn references(&self, row: Row, attribute: &str) -> Vec<Row> {
        let mut found = Vec::new();
        self.gather(row, self.attribute(row, attribute), &mut |at| found.push(at));
        found
    }

    pub(crate) fn text_at(&self, row: Row, position: usize) -> Option<String> {
        self.text_of(row, self.step.record(row).get(position)).map(Cow::into_owned)
    }

    /// A text that says something. Directives in it that cannot be followed are told.
    pub(crate) fn text_of<'v>(&self, row: Row, value: Value<'v>) -> Option<Cow<'v, str>> {
        if let Value::Text(text) = value
            && text.raw().contains(&b'\\')
            && let Some(fault) = text.faults().first()
        {
            self.diagnostics.odd_text(row, fault.message);
        }
        let text = value.text()?;
        (!text.trim_start().is_empty()).then_some(text)
    }

    pub(crate) fn references_at(&self, row: Row, position: usize) -> Vec<Row> {
        let mut found = Vec::new();
        self.gather(row, self.step.record(row).get(position), &mut |at| found.push(at));
        found
    }

    /// Takes all references in a value, inside typed values and lists too.
    pub(crate) fn gather(&self, row: Row, value: Value<'_>, take: &mut impl FnMut(Row)) {
        match value.untyped() {
            Value::Reference(name) => {
                if let Some(found) = self.follow(row, name) {
                    take(found);
                }
            }
            Value::List(list) => {
                for item in list {
                    self.gather(row, item, take);
                }
            }
            _ => {}
        }
    }

    /// The row of an instance name that `row` refers to.
    pub(crate) fn follow(&self, row: Row, name: u64) -> Option<Row> {
        let found = self.step.find(name);
        if found.is_none() {
            let keyword = self.step.keyword(row);
            self.note(row, format!("{keyword} refers to #{name}, which the file does not have"));
        }
        found
    }
}
