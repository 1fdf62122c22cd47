//! Instances to be written.

use std::fmt::Write as _;

use super::real::{NotFinite, format_real};
use crate::layout::is_keyword_byte;
use crate::text::encode_text;

/// An instance to be added to a file.
#[derive(Debug, Clone, PartialEq)]
pub struct NewInstance {
    /// Its name: 12 for `#12`.
    pub name: u64,
    /// Its keyword, in capitals.
    pub keyword: String,
    /// Its parameters.
    pub values: Vec<NewValue>,
}

/// A parameter to be written.
#[derive(Debug, Clone, PartialEq)]
pub enum NewValue {
    /// `$`
    Unset,
    /// `*`
    Derived,
    /// A whole number.
    Integer(i64),
    /// A finite real.
    Real(f64),
    /// A text; it is encoded when written.
    Text(String),
    /// The name of an enumeration value without its dots; `T` and `F` for truth values.
    Enumeration(String),
    /// The name of another instance.
    Reference(u64),
    /// A value with its type's keyword.
    Typed(String, Box<NewValue>),
    /// A list.
    List(Vec<NewValue>),
}

/// Why an instance cannot be written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InstanceError {
    /// A number is infinite or not a number.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A keyword or an enumeration value is not made of letters, digits and `_`.
    #[error("\"{0}\" cannot be a keyword or an enumeration value")]
    BadKeyword(String),
}

impl NewInstance {
    /// The record as text, from `#` to `;`, in ASCII.
    ///
    /// # Errors
    /// When a value has no spelling in a STEP file.
    pub fn to_text(&self) -> Result<String, InstanceError> {
        let mut text = format!("#{}=", self.name);
        push_keyword(&mut text, &self.keyword)?;
        push_list(&mut text, &self.values)?;
        text.push(';');
        Ok(text)
    }
}

fn push_list(text: &mut String, values: &[NewValue]) -> Result<(), InstanceError> {
    text.push('(');
    for (place, value) in values.iter().enumerate() {
        if place > 0 {
            text.push(',');
        }
        push_value(text, value)?;
    }
    text.push(')');
    Ok(())
}

fn push_value(text: &mut String, value: &NewValue) -> Result<(), InstanceError> {
    // Writing into a String cannot fail.
    match value {
        NewValue::Unset => text.push('$'),
        NewValue::Derived => text.push('*'),
        NewValue::Integer(value) => {
            let _ = write!(text, "{value}");
        }
        NewValue::Real(value) => text.push_str(&format_real(*value)?),
        NewValue::Text(value) => text.push_str(&encode_text(value)),
        NewValue::Enumeration(name) => {
            text.push('.');
            push_keyword(text, name)?;
            text.push('.');
        }
        NewValue::Reference(name) => {
            let _ = write!(text, "#{name}");
        }
        NewValue::Typed(keyword, value) => {
            push_keyword(text, keyword)?;
            text.push('(');
            push_value(text, value)?;
            text.push(')');
        }
        NewValue::List(values) => push_list(text, values)?,
    }
    Ok(())
}

fn push_keyword(text: &mut String, keyword: &str) -> Result<(), InstanceError> {
    let starts = keyword.bytes().next().is_some_and(|byte| !byte.is_ascii_digit());
    if !starts || !keyword.bytes().all(is_keyword_byte) {
        return Err(InstanceError::BadKeyword(keyword.to_owned()));
    }
    text.push_str(&keyword.to_ascii_uppercase());
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_value_has_its_spelling() {
        let instance = NewInstance {
            name: 12,
            keyword: "IFCX".into(),
            values: vec![
                NewValue::Unset,
                NewValue::Derived,
                NewValue::Integer(-3),
                NewValue::Real(60.0),
                NewValue::Text("Ø'".into()),
                NewValue::Enumeration("HOLE".into()),
                NewValue::Reference(7),
                NewValue::Typed("IFCLABEL".into(), Box::new(NewValue::Text("a".into()))),
                NewValue::List(vec![NewValue::List(vec![]), NewValue::Reference(1)]),
            ],
        };
        assert_eq!(
            instance.to_text().as_deref(),
            Ok(r"#12=IFCX($,*,-3,60.,'\X2\00D8\X0\''',.HOLE.,#7,IFCLABEL('a'),((),#1));")
        );
    }

    #[test]
    fn what_has_no_spelling_is_refused() {
        for value in [NewValue::Real(f64::NAN), NewValue::Enumeration("A B".into())] {
            let instance = NewInstance { name: 1, keyword: "IFCX".into(), values: vec![value] };
            assert!(instance.to_text().is_err());
        }
        let keyword = NewInstance { name: 1, keyword: "1X".into(), values: vec![] };
        assert_eq!(keyword.to_text(), Err(InstanceError::BadKeyword("1X".into())));
    }
}
