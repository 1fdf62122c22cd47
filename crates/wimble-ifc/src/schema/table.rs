//! Rows of the generated tables and how they are walked.

use super::generated::{ADDED, DERIVED, IFC2X3, IFC4, IFC4X3, WORDS};
use super::{Class, Schema};

/// What an entity adds to its parent: places in the pool of words.
pub(super) struct Added {
    pub(super) name: u16,
    pub(super) kind: u16,
    pub(super) optional: bool,
}

/// An entity of one schema.
pub(super) struct Entity {
    /// Place in `CLASSES`.
    pub(super) class: u16,
    /// Place of the parent in `CLASSES`; `u16::MAX` for none.
    pub(super) parent: u16,
    /// The `own` attributes from `start` in `ADDED`.
    pub(super) start: u16,
    pub(super) own: u8,
    pub(super) is_abstract: bool,
}

/// An attribute of an entity in one schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Attribute {
    /// As the schema spells it.
    pub name: &'static str,
    /// Its type as the schema spells it (`SET [1:?] OF IfcUnit`).
    pub kind: &'static str,
    /// Whether `$` is allowed.
    pub optional: bool,
    /// Whether this entity derives it (written `*`).
    pub derived: bool,
}

fn entities(schema: Schema) -> &'static [Entity] {
    match schema {
        Schema::Ifc2x3 => &IFC2X3,
        Schema::Ifc4 => &IFC4,
        Schema::Ifc4x3 => &IFC4X3,
    }
}

fn entity(schema: Schema, class: u16) -> Option<&'static Entity> {
    let entities = entities(schema);
    let place = entities.binary_search_by_key(&class, |entity| entity.class).ok()?;
    entities.get(place)
}

fn word(place: u16) -> &'static str {
    WORDS.get(usize::from(place)).copied().unwrap_or("")
}

impl Class {
    /// Whether this schema has the class.
    #[must_use]
    pub fn is_in(self, schema: Schema) -> bool {
        entity(schema, self.number()).is_some()
    }

    /// Whether the class is abstract in this schema: no instance of it is valid.
    #[must_use]
    pub fn is_abstract_in(self, schema: Schema) -> bool {
        entity(schema, self.number()).is_some_and(|entity| entity.is_abstract)
    }

    /// All attributes in the order of the file, inherited ones first; empty if this schema has
    /// no such class.
    #[must_use]
    pub fn attributes(self, schema: Schema) -> Vec<Attribute> {
        let mut chain = Vec::new();
        let mut next = entity(schema, self.number());
        while let Some(entity) = next {
            chain.push(entity);
            next = super::table::entity(schema, entity.parent);
        }
        let mut attributes: Vec<Attribute> = chain
            .iter()
            .rev()
            .flat_map(|entity| {
                ADDED.iter().skip(usize::from(entity.start)).take(usize::from(entity.own))
            })
            .map(|added| Attribute {
                name: word(added.name),
                kind: word(added.kind),
                optional: added.optional,
                derived: false,
            })
            .collect();
        for &(of, class, position) in &DERIVED {
            if of == schema as u8
                && class == self.number()
                && let Some(attribute) = attributes.get_mut(usize::from(position))
            {
                attribute.derived = true;
            }
        }
        attributes
    }

    /// Position of an attribute in an instance of this class; `None` if this schema has no such
    /// class, or the class no such attribute.
    #[must_use]
    pub fn position(self, schema: Schema, attribute: &str) -> Option<usize> {
        let attributes = self.attributes(schema);
        attributes.iter().position(|found| found.name == attribute)
    }
}
