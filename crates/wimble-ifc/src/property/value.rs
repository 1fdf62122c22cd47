//! Values of properties.

use super::Property;
use std::fmt;
use wimble_step::Row;

/// A number with what it measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// As written, in the unit that the file gives it.
    pub written: f64,
    /// In SI (metre, square metre, cubic metre, radian, kilogram), if it is a measure whose unit
    /// is known.
    pub si: Option<f64>,
    /// What it measures.
    pub measure: Measure,
}

/// What a number measures, as far as wimble uses it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// A length.
    Length,
    /// An area.
    Area,
    /// A volume.
    Volume,
    /// A plane angle.
    Angle,
    /// A mass.
    Mass,
    /// A ratio, a count, a plain number, or a measure that wimble has no use for.
    Other,
}

/// The value of a property.
#[derive(Debug, Clone, PartialEq)]
pub enum PropertyValue {
    /// Not set, or set to something that could not be read.
    Unset,
    /// A text or the name of an enumeration.
    Text(String),
    /// A number.
    Number(Number),
    /// True or false.
    Boolean(bool),
    /// Several values: a list, or the chosen ones of an enumeration.
    List(Vec<PropertyValue>),
    /// A range; either end may be open.
    Bounded {
        /// Lower end.
        lower: Box<PropertyValue>,
        /// Upper end.
        upper: Box<PropertyValue>,
        /// The value wanted within it.
        set_point: Box<PropertyValue>,
    },
    /// Properties inside a property.
    Complex(Vec<Property>),
    /// An object that stands for the value.
    Reference(Row),
    /// A table: defining and defined values, of one length.
    Table(Vec<(PropertyValue, PropertyValue)>),
}

impl PropertyValue {
    /// The one value: that of a list of one, the set point of a range, or both ends of a range
    /// that are the same.
    fn one(&self) -> &Self {
        match self {
            Self::List(values) => match &values[..] {
                [one] => one.one(),
                _ => self,
            },
            Self::Bounded { lower, upper, set_point } => match (&**set_point, &**lower, &**upper) {
                (Self::Unset, lower, upper) if lower == upper => lower,
                (Self::Unset, _, _) => self,
                (set_point, _, _) => set_point,
            },
            _ => self,
        }
    }

    /// As text, if it is a text, a number or a list of such; blank texts are `None`.
    #[must_use]
    pub fn text(&self) -> Option<String> {
        match self.one() {
            Self::Text(text) => (!text.trim().is_empty()).then(|| text.clone()),
            Self::Number(number) => Some(number.written.to_string()),
            Self::List(values) => {
                let texts: Vec<String> = values.iter().filter_map(Self::text).collect();
                (!texts.is_empty()).then(|| texts.join(", "))
            }
            _ => None,
        }
    }

    /// The number as written, if it is one number.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        if let Self::Number(number) = self.one() { Some(number.written) } else { None }
    }

    /// Metres, if it is one number and that is a length.
    #[must_use]
    pub fn length_m(&self) -> Option<f64> {
        self.si(Measure::Length)
    }

    /// In SI, if it is one number and of this measure.
    #[must_use]
    pub fn si(&self, measure: Measure) -> Option<f64> {
        match self.one() {
            Self::Number(number) if number.measure == measure => number.si,
            _ => None,
        }
    }

    /// True or false, if it is that. Texts that say so count (`TRUE`, `yes`): exporters write them.
    #[must_use]
    pub fn boolean(&self) -> Option<bool> {
        match self.one() {
            Self::Boolean(value) => Some(*value),
            Self::Text(text) => match text.trim().to_ascii_lowercase().as_str() {
                "true" | "yes" | "t" => Some(true),
                "false" | "no" | "f" => Some(false),
                _ => None,
            },
            _ => None,
        }
    }
}

impl fmt::Display for PropertyValue {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unset => Ok(()),
            Self::Text(text) => out.write_str(text),
            Self::Number(number) => write!(out, "{}", number.written),
            Self::Boolean(value) => out.write_str(if *value { "yes" } else { "no" }),
            Self::List(values) => {
                for (place, value) in values.iter().enumerate() {
                    write!(out, "{}{value}", if place > 0 { ", " } else { "" })?;
                }
                Ok(())
            }
            Self::Bounded { lower, upper, .. } => write!(out, "{lower} … {upper}"),
            Self::Complex(properties) => {
                for (place, property) in properties.iter().enumerate() {
                    let gap = if place > 0 { "; " } else { "" };
                    write!(out, "{gap}{} {}", property.name, property.value)?;
                }
                Ok(())
            }
            Self::Reference(row) => write!(out, "(record {})", row.index() + 1),
            Self::Table(rows) => write!(out, "(table of {})", rows.len()),
        }
    }
}
