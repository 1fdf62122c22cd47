//! Property sets and quantities.

mod read;
#[cfg(test)]
mod tests;
mod value;

use crate::Model;
use smallvec::SmallVec;
pub use value::{Measure, Number, PropertyValue};
use wimble_step::Row;

/// A named set of properties or quantities.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PropertySet {
    /// Its name (`Pset_BeamCommon`); empty if it has none.
    pub name: String,
    /// The properties in the order of the file.
    pub properties: Vec<Property>,
}

/// A property or quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Property {
    /// Its name.
    pub name: String,
    /// Its value.
    pub value: PropertyValue,
}

impl PropertySet {
    /// The value of a property by its exact name; one that is unset is none.
    #[must_use]
    pub fn property(&self, name: &str) -> Option<&PropertyValue> {
        let named = self.properties.iter().filter(|property| property.name == name);
        named.map(|property| &property.value).find(|value| **value != PropertyValue::Unset)
    }

    /// Takes what another set has and this one has not.
    fn complete(&mut self, other: Self) {
        for property in other.properties {
            match self.properties.iter_mut().find(|own| own.name == property.name) {
                Some(own) if own.value == PropertyValue::Unset => *own = property,
                Some(_) => {}
                None => self.properties.push(property),
            }
        }
    }
}

impl Model<'_> {
    /// The property sets and quantities of an element, completed by those of its type: where both
    /// set a property of one set, the element's counts.
    #[must_use]
    pub fn properties(&self, row: Row) -> Vec<PropertySet> {
        let mut sets: Vec<PropertySet> = Vec::new();
        for set in self.property_sets(row) {
            let set = self.property_set(set);
            match sets.iter_mut().find(|known| known.name == set.name) {
                Some(known) => known.complete(set),
                None => sets.push(set),
            }
        }
        sets
    }

    /// A property of an element or of its type by exact names; of any set if none is named, the
    /// element's own sets first.
    #[must_use]
    pub fn property(&self, row: Row, set: Option<&str>, name: &str) -> Option<PropertyValue> {
        self.property_sets(row)
            .into_iter()
            .filter(|found| set.is_none_or(|set| self.name(*found).as_deref() == Some(set)))
            .find_map(|found| match self.listed(found) {
                Some(listed) => self.named_property(listed, name),
                None => self.property_set(found).property(name).cloned(),
            })
    }

    /// Several properties, each as [`Model::property`] gives it of any set; the sets are gone
    /// through once for all names.
    #[must_use]
    pub fn properties_named<const N: usize>(
        &self,
        row: Row,
        names: [&str; N],
    ) -> [Option<PropertyValue>; N] {
        let mut found = [const { None }; N];
        for set in self.property_sets(row) {
            if self.find_named(set, names, &mut found) {
                continue;
            }
            let set = self.property_set(set);
            for (name, found) in names.iter().zip(&mut found) {
                if found.is_none() {
                    *found = set.property(name).cloned();
                }
            }
        }
        found
    }

    /// The property definitions of an element, then those of its type.
    fn property_sets(&self, row: Row) -> SmallVec<[Row; 8]> {
        let mut found = SmallVec::from_slice(self.property_definitions().up.of(row));
        // A type holds its sets itself.
        found.extend(self.references(row, "HasPropertySets"));
        if let Some(type_row) = self.type_of(row) {
            found.extend(self.references(type_row, "HasPropertySets"));
            found.extend_from_slice(self.property_definitions().up.of(type_row));
        }
        found
    }
}
