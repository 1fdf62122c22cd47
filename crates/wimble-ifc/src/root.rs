//! What every element says of itself.

use crate::{Class, Model};
use std::borrow::Cow;
use wimble_step::{Record, Row};

/// What an element says of itself, completed by its type.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Root<'a> {
    /// `GlobalId` as written: a label only, since real models repeat them.
    pub guid: Cow<'a, str>,
    /// `Name`.
    pub name: Option<Cow<'a, str>>,
    /// `ObjectType` of an occurrence, `ElementType` of a type.
    pub object_type: Option<Cow<'a, str>>,
    /// `Tag`.
    pub tag: Option<Cow<'a, str>>,
    /// The effective predefined type: the occurrence's own unless unset or `NOTDEFINED`, else its
    /// type's. `USERDEFINED` gives the text of `ObjectType` or `ElementType`, if there is one.
    pub predefined_type: Option<Cow<'a, str>>,
    /// The type that defines it.
    pub type_row: Option<Row>,
    /// That type's `Name`.
    pub type_name: Option<Cow<'a, str>>,
    /// That type's class.
    pub type_class: Option<Class>,
}

/// How a text is no GlobalId.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, thiserror::Error)]
pub enum GuidFault {
    /// Unset, empty, or something else than a text.
    #[error("missing")]
    Missing,
    /// Blanks stand before, in or behind it.
    #[error("with blanks")]
    Blanks,
    /// It is shorter or longer than a GlobalId.
    #[error("not of 22 characters")]
    Length,
    /// It holds characters that are not of the alphabet.
    #[error("with other characters than 0-9 A-Z a-z _ $")]
    Alphabet,
    /// Its first character stands for more than the two bits that are left for it.
    #[error("not beginning with 0, 1, 2 or 3")]
    TooLarge,
}

/// How a text is no GlobalId, if it is none: 128 bits in base 64, so 22 characters of which the first
/// holds two bits (documentation of the schema, `IfcGloballyUniqueId`).
#[must_use]
pub fn guid_fault(text: &str) -> Option<GuidFault> {
    let of_alphabet = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '$');
    // Nearly all are none of the below.
    if let [b'0'..=b'3', rest @ ..] = text.as_bytes()
        && rest.len() == 21
        && rest.iter().all(|&byte| of_alphabet(byte.into()))
    {
        return None;
    }
    if text.is_empty() {
        Some(GuidFault::Missing)
    } else if text.contains(char::is_whitespace) {
        Some(GuidFault::Blanks)
    } else if text.chars().count() != 22 {
        Some(GuidFault::Length)
    } else if !text.chars().all(of_alphabet) {
        Some(GuidFault::Alphabet)
    } else if !text.starts_with(['0', '1', '2', '3']) {
        Some(GuidFault::TooLarge)
    } else {
        None
    }
}

/// Positions that `IfcRoot` gives all its subtypes in every schema.
const GLOBAL_ID: usize = 0;
const NAME: usize = 2;

impl Model<'_> {
    /// What an element says of itself. Of an instance without a class only what stands where
    /// `IfcRoot` puts it.
    #[must_use]
    pub fn root(&self, row: Row) -> Root<'_> {
        self.root_of(&self.step().record(row))
    }

    /// As [`Model::root`], of a record that is read already.
    #[must_use]
    pub fn root_of<'m>(&'m self, record: &Record<'m>) -> Root<'m> {
        let row = record.row();
        let type_row = self.type_of(row);
        let keyword = self.keyword(row);
        let text = |position: Option<usize>| self.text_of(row, record.get(position?));
        let of_type = type_row.map(|row| self.step().record(row));
        Root {
            guid: text(Some(GLOBAL_ID)).unwrap_or_default(),
            name: text(Some(NAME)),
            object_type: text(keyword.and_then(|keyword| keyword.object_type)),
            tag: text(keyword.and_then(|keyword| keyword.tag)),
            predefined_type: self
                .own_predefined_type(record)
                .or_else(|| self.own_predefined_type(of_type.as_ref()?)),
            type_row,
            type_name: of_type.as_ref().and_then(|of| self.text_of(of.row(), of.get(NAME))),
            type_class: type_row.and_then(|row| self.class(row)),
        }
    }

    /// `GlobalId` as written, empty if unset.
    #[must_use]
    pub fn guid(&self, row: Row) -> String {
        self.text_at(row, GLOBAL_ID).unwrap_or_default()
    }

    /// `Name`, if set and not empty.
    #[must_use]
    pub fn name(&self, row: Row) -> Option<String> {
        self.text_at(row, NAME)
    }

    /// The predefined type of this instance alone.
    fn own_predefined_type<'m>(&self, record: &Record<'m>) -> Option<Cow<'m, str>> {
        let keyword = self.keyword(record.row())?;
        let value = record.get(keyword.predefined_type?);
        let value = in_capitals(value.enumeration()?);
        match &*value {
            "NOTDEFINED" => None,
            "USERDEFINED" => {
                let said = |at: usize| self.text_of(record.row(), record.get(at));
                Some(keyword.object_type.and_then(said).unwrap_or(value))
            }
            _ => Some(value),
        }
    }
}

/// In capitals, as most are written.
fn in_capitals(name: &str) -> Cow<'_, str> {
    if name.bytes().any(|byte| byte.is_ascii_lowercase()) {
        name.to_ascii_uppercase().into()
    } else {
        name.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_globalid_is_22_characters_of_which_the_first_holds_two_bits() {
        for good in ["3t3TDZl_D9NOIWB0BSjzJI", "0000000000000000000000", "3$$$$$$$$$$$$$$$$$$$$$"] {
            assert_eq!(guid_fault(good), None, "{good}");
        }
        for (text, fault) in [
            ("", GuidFault::Missing),
            (" ", GuidFault::Blanks),
            (" 3t3TDZl_D9NOIWB0BSjzJI", GuidFault::Blanks),
            ("3t3TDZl_D9NOIWB0BSjzJ\u{a0}", GuidFault::Blanks),
            ("f70dd363-bfe3-495d-84a0-2c02dcb7d4d2", GuidFault::Length),
            ("3t3TDZl_D9NOIWB0BSjzJ", GuidFault::Length),
            ("3t3TDZl-D9NOIWB0BSjzJI", GuidFault::Alphabet),
            ("3t3TDZlÄD9NOIWB0BSjzJI", GuidFault::Alphabet),
            ("4t3TDZl_D9NOIWB0BSjzJI", GuidFault::TooLarge),
            ("Wt3TDZl_D9NOIWB0BSjzJI", GuidFault::TooLarge),
        ] {
            assert_eq!(guid_fault(text), Some(fault), "{text}");
        }
    }
}
