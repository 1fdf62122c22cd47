//! Reading property sets, quantities and their values.

use super::{Measure, Number, Property, PropertySet, PropertyValue};
use crate::units::{Dimension, Unit, dimension_of};
use crate::{Model, class};
use smallvec::SmallVec;
use std::borrow::Cow;
use wimble_step::{List, Record, Row, Value};

/// How deep complex properties may be nested.
const DEEPEST: u32 = 8;
/// Attributes of `IfcRoot`, which every definition has.
const ROOT: usize = 4;
/// Position of the name in every property and quantity.
const NAME: usize = 0;
/// Attributes that hold the value of a quantity, each of one class.
const QUANTITIES: [(&str, Option<Dimension>); 7] = [
    ("LengthValue", Some(Dimension::Length)),
    ("AreaValue", Some(Dimension::Area)),
    ("VolumeValue", Some(Dimension::Volume)),
    ("WeightValue", Some(Dimension::Mass)),
    ("CountValue", None),
    ("TimeValue", None),
    ("NumberValue", None),
];

impl From<Dimension> for Measure {
    fn from(dimension: Dimension) -> Self {
        match dimension {
            Dimension::Length => Self::Length,
            Dimension::Area => Self::Area,
            Dimension::Volume => Self::Volume,
            Dimension::Angle => Self::Angle,
            Dimension::Mass => Self::Mass,
        }
    }
}

impl Model<'_> {
    /// Reads any `IfcPropertySetDefinition`.
    pub(super) fn property_set(&self, row: Row) -> PropertySet {
        let name = self.name(row);
        if let Some(listed) = self.listed(row) {
            let properties = self.read_properties(listed, DEEPEST);
            return PropertySet { name: name.unwrap_or_default(), properties };
        }
        // Sets whose properties are attributes (linings of doors and the like).
        let Some(keyword) = self.keyword(row) else {
            self.note(row, "stands where a property set is needed; it is left out");
            return PropertySet::default();
        };
        let record = self.step().record(row);
        let properties = keyword
            .attributes()
            .iter()
            .enumerate()
            .skip(ROOT)
            .map(|(position, name)| Property {
                name: (*name).to_owned(),
                value: self.value(row, record.get(position), None),
            })
            .collect();
        PropertySet { name: name.unwrap_or_else(|| keyword.class.name().to_owned()), properties }
    }

    /// The properties or quantities of a set that lists them.
    pub(super) fn listed(&self, row: Row) -> Option<Vec<Row>> {
        self.list_name(row).map(|attribute| self.references(row, attribute))
    }

    /// The attribute in which a set lists its properties or quantities, if it does.
    fn list_name(&self, row: Row) -> Option<&'static str> {
        let class = self.class(row)?;
        if class.is_a(class!("IfcPropertySet")) {
            return Some("HasProperties");
        }
        class.is_a(class!("IfcElementQuantity")).then_some("Quantities")
    }

    /// Reads an `IfcMaterialProperties`: since IFC4 a set with a name, in IFC2X3 either that or
    /// properties as attributes.
    pub(crate) fn material_property_set(&self, row: Row) -> PropertySet {
        let extended = self.references(row, "ExtendedProperties");
        let listed = self.references(row, "Properties");
        let name = self.text(row, "Name").unwrap_or_default();
        if !extended.is_empty() || !listed.is_empty() {
            let rows = if listed.is_empty() { extended } else { listed };
            return PropertySet { name, properties: self.read_properties(rows, DEEPEST) };
        }
        let Some(keyword) = self.keyword(row) else { return PropertySet::default() };
        let record = self.step().record(row);
        let properties = keyword.attributes().iter().enumerate().skip(1).map(|(position, name)| {
            let value = self.value(row, record.get(position), None);
            Property { name: (*name).to_owned(), value }
        });
        PropertySet { name: keyword.class.name().to_owned(), properties: properties.collect() }
    }

    fn read_properties(&self, rows: Vec<Row>, deepest: u32) -> Vec<Property> {
        rows.into_iter().map(|row| self.read_property(row, deepest)).collect()
    }

    /// The first of these properties that has this name and is set.
    pub(super) fn named_property(&self, rows: Vec<Row>, name: &str) -> Option<PropertyValue> {
        let named = rows.into_iter().filter(|row| {
            self.step().record(*row).get(NAME).text().is_some_and(|found| found == name)
        });
        named
            .map(|row| self.read_property(row, DEEPEST).value)
            .find(|value| *value != PropertyValue::Unset)
    }

    /// Of the names that are not found yet, those that a set lists and sets. Whether it lists any.
    pub(super) fn find_named<const N: usize>(
        &self,
        set: Row,
        names: [&str; N],
        found: &mut [Option<PropertyValue>; N],
    ) -> bool {
        let Some(attribute) = self.list_name(set) else { return false };
        let mut rows: SmallVec<[Row; 8]> = SmallVec::new();
        self.gather(set, self.attribute(set, attribute), &mut |at| rows.push(at));
        for row in rows {
            // Most properties are not asked for: their first text is looked at, and no more.
            if self.step().leading_text(row).is_some_and(|name| !names.contains(&name)) {
                continue;
            }
            let record = self.step().record(row);
            let Some(name) = record.get(NAME).text() else { continue };
            let wanted = names.iter().zip(&mut *found).find(|(wanted, _)| **wanted == name);
            if let Some((_, found @ None)) = wanted {
                let value = self.value_of(&record, DEEPEST);
                *found = Some(value).filter(|value| *value != PropertyValue::Unset);
            }
        }
        true
    }

    /// Reads an `IfcProperty` or `IfcPhysicalQuantity` of any kind.
    fn read_property(&self, row: Row, deepest: u32) -> Property {
        let record = self.step().record(row);
        let name = record.get(NAME).text().map(Cow::into_owned).unwrap_or_default();
        Property { name, value: self.value_of(&record, deepest) }
    }

    /// The value of an `IfcProperty` or `IfcPhysicalQuantity` of any kind.
    fn value_of(&self, record: &Record<'_>, deepest: u32) -> PropertyValue {
        let row = record.row();
        let Some(keyword) = self.keyword(row) else {
            self.note(row, "stands where a property is needed; its value is not read");
            return PropertyValue::Unset;
        };
        let at = |attribute: &str| match keyword.position(attribute) {
            Some(position) => record.get(position),
            None => Value::Unset,
        };
        let follow = |attribute: &str| self.follow(row, at(attribute).reference()?);
        let get = |attribute: &str| self.value(row, at(attribute), follow("Unit"));
        let class = keyword.class;
        if class.is_a(class!("IfcPropertySingleValue")) {
            get("NominalValue")
        } else if class.is_a(class!("IfcPropertyEnumeratedValue")) {
            get("EnumerationValues")
        } else if class.is_a(class!("IfcPropertyListValue")) {
            get("ListValues")
        } else if class.is_a(class!("IfcPropertyBoundedValue")) {
            PropertyValue::Bounded {
                lower: Box::new(get("LowerBoundValue")),
                upper: Box::new(get("UpperBoundValue")),
                set_point: Box::new(get("SetPointValue")),
            }
        } else if class.is_a(class!("IfcPropertyReferenceValue")) {
            follow("PropertyReference").map_or(PropertyValue::Unset, PropertyValue::Reference)
        } else if class.is_a(class!("IfcPropertyTableValue")) {
            let column = |values: &str, unit: &str| {
                let list = at(values).list().unwrap_or_default();
                self.values(row, list, follow(unit))
            };
            let defined = column("DefinedValues", "DefinedUnit");
            let defining = column("DefiningValues", "DefiningUnit");
            PropertyValue::Table(defining.into_iter().zip(defined).collect())
        } else if class.is_a(class!("IfcPhysicalSimpleQuantity")) {
            let read = |(attribute, dimension): &(&str, Option<Dimension>)| {
                Some(self.measured(at(attribute).number()?, *dimension, follow("Unit")))
            };
            QUANTITIES.iter().find_map(read).unwrap_or(PropertyValue::Unset)
        } else if class.is_a(class!("IfcComplexProperty"))
            || class.is_a(class!("IfcPhysicalComplexQuantity"))
        {
            self.complex(row, deepest)
        } else {
            self.note(row, format!("{class} stands where a property is needed; it is not read"));
            PropertyValue::Unset
        }
    }

    fn complex(&self, row: Row, deepest: u32) -> PropertyValue {
        let Some(deepest) = deepest.checked_sub(1) else {
            self.note(row, "this complex property is nested too deep; its value is not read");
            return PropertyValue::Unset;
        };
        let mut rows = self.references(row, "HasProperties");
        rows.extend(self.references(row, "HasQuantities"));
        PropertyValue::Complex(self.read_properties(rows, deepest))
    }

    /// A value as it stands in the file; `unit` is the property's own.
    fn value(&self, row: Row, value: Value<'_>, unit: Option<Row>) -> PropertyValue {
        match value {
            Value::Unset | Value::Derived | Value::Binary(_) => PropertyValue::Unset,
            Value::Integer(_) | Value::Real(_) => match value.number() {
                Some(written) => self.measured(written, None, unit),
                None => PropertyValue::Unset,
            },
            Value::Text(text) => PropertyValue::Text(text.decode().into_owned()),
            Value::Enumeration(name) => match value.boolean() {
                Some(value) => PropertyValue::Boolean(value),
                None => PropertyValue::Text(name.to_owned()),
            },
            Value::Reference(name) => {
                self.follow(row, name).map_or(PropertyValue::Unset, PropertyValue::Reference)
            }
            Value::List(list) => PropertyValue::List(self.values(row, list, unit)),
            Value::Typed(typed) => {
                let inner = typed.value();
                match (inner.number(), inner.enumeration()) {
                    (Some(written), _) => {
                        self.measured(written, dimension_of(typed.keyword()), unit)
                    }
                    // A logical value that is unknown says nothing.
                    (None, Some("U" | "u")) => PropertyValue::Unset,
                    _ => self.value(row, inner, unit),
                }
            }
        }
    }

    fn values(&self, row: Row, list: List<'_>, unit: Option<Row>) -> Vec<PropertyValue> {
        list.iter().map(|value| self.value(row, value, unit)).collect()
    }

    /// A number with its unit: the property's own, else the project's. A plain number with a unit
    /// of its own measures what the unit measures.
    fn measured(
        &self,
        written: f64,
        dimension: Option<Dimension>,
        unit: Option<Row>,
    ) -> PropertyValue {
        let own = unit.and_then(|unit| Unit::read(self, unit));
        let (dimension, factor) = match (own, dimension) {
            (Some(own), None) => (Some(own.dimension), Some(own.factor)),
            (Some(own), Some(dimension)) if own.dimension == dimension => {
                (Some(dimension), Some(own.factor))
            }
            // The unit contradicts the measure, or cannot be read: the size is not known.
            (Some(_), Some(dimension)) => (Some(dimension), None),
            (None, Some(dimension)) if unit.is_some() => (Some(dimension), None),
            (None, Some(dimension)) => (Some(dimension), Some(self.units().factor(dimension))),
            (None, None) => (None, None),
        };
        PropertyValue::Number(Number {
            written,
            si: factor.map(|factor| written * factor),
            measure: dimension.map_or(Measure::Other, Measure::from),
        })
    }
}
