//! Parameters of an instance and how they are spelt in a Part 21 file.

use std::fmt::Write as _;

/// The number of an instance (`#12`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id(pub u32);

/// One parameter.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// `$`
    Unset,
    /// `*`
    Derived,
    /// A whole number.
    Integer(i64),
    /// A real number, already in the file's unit.
    Real(f64),
    /// A string, unescaped.
    Text(String),
    /// `.NAME.`
    Enumeration(&'static str),
    /// `#12`
    Reference(Id),
    /// `IFCLABEL('x')`
    Typed(&'static str, Box<Value>),
    /// `(a,b)`
    List(Vec<Value>),
}

impl Value {
    /// A string, or `$` for none.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A list of references.
    pub fn references(ids: impl IntoIterator<Item = Id>) -> Self {
        Self::List(ids.into_iter().map(Self::Reference).collect())
    }

    /// A list of reals.
    pub fn reals(numbers: impl IntoIterator<Item = f64>) -> Self {
        Self::List(numbers.into_iter().map(Self::Real).collect())
    }

    /// A truth value.
    #[must_use]
    pub const fn boolean(value: bool) -> Self {
        Self::Enumeration(if value { "T" } else { "F" })
    }

    /// A value with its type's name, as a SELECT asks for.
    #[must_use]
    pub fn typed(keyword: &'static str, value: Self) -> Self {
        Self::Typed(keyword, Box::new(value))
    }

    /// Appends the value as the file spells it.
    pub fn write(&self, out: &mut String) {
        match self {
            Self::Unset => out.push('$'),
            Self::Derived => out.push('*'),
            Self::Integer(value) => push(out, format_args!("{value}")),
            Self::Real(value) => out.push_str(&real(*value)),
            Self::Text(text) => string(text, out),
            Self::Enumeration(name) => push(out, format_args!(".{name}.")),
            Self::Reference(Id(id)) => push(out, format_args!("#{id}")),
            Self::Typed(keyword, value) => {
                push(out, format_args!("{keyword}("));
                value.write(out);
                out.push(')');
            }
            Self::List(values) => {
                out.push('(');
                for (position, value) in values.iter().enumerate() {
                    if position > 0 {
                        out.push(',');
                    }
                    value.write(out);
                }
                out.push(')');
            }
        }
    }
}

impl From<Id> for Value {
    fn from(id: Id) -> Self {
        Self::Reference(id)
    }
}

impl From<f64> for Value {
    fn from(value: f64) -> Self {
        Self::Real(value)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::text(text)
    }
}

impl<T: Into<Self>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Unset, Into::into)
    }
}

/// Formatting into a string cannot fail, so there is nothing to hand on.
fn push(out: &mut String, arguments: std::fmt::Arguments<'_>) {
    let _ = out.write_fmt(arguments);
}

/// A real with the obligatory point, without the noise that arithmetic leaves in the last digits:
/// fifteen significant digits, and nothing below a millionth of a millionth.
fn real(value: f64) -> String {
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    if rounded.abs() < 1e-12 {
        return "0.".to_owned();
    }
    let mut text = rounded.to_string();
    if !text.contains('.') {
        text.push('.');
    }
    text
}

/// Quoted; beyond printable ASCII as UTF-16 code units between `\X2\` and `\X0\`.
fn string(text: &str, out: &mut String) {
    out.push('\'');
    let mut wide = false;
    for character in text.chars() {
        let plain = matches!(character, ' '..='~');
        if plain && wide {
            out.push_str(r"\X0\");
        } else if !plain && !wide {
            out.push_str(r"\X2\");
        }
        wide = !plain;
        match character {
            '\'' => out.push_str("''"),
            '\\' => out.push_str(r"\\"),
            _ if plain => out.push(character),
            _ => {
                for unit in character.encode_utf16(&mut [0; 2]) {
                    push(out, format_args!("{unit:04X}"));
                }
            }
        }
    }
    if wide {
        out.push_str(r"\X0\");
    }
    out.push('\'');
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(value: &Value) -> String {
        let mut out = String::new();
        value.write(&mut out);
        out
    }

    #[test]
    fn reals_always_have_a_point_and_no_noise() {
        for (value, expected) in [
            (5.0, "5."),
            (0.1 + 0.2, "0.3"),
            (-0.0, "0."),
            (2524.85 / 1000.0, "2.52485"),
            (6_123_456.789_5, "6123456.7895"),
            (-1e-13, "0."),
        ] {
            assert_eq!(written(&Value::Real(value)), expected, "{value:?}");
        }
    }

    #[test]
    fn strings_are_escaped_as_the_standard_asks() {
        assert_eq!(written(&Value::text(r"3' \ 35°")), r"'3'' \\ 35\X2\00B0\X0\'");
    }

    #[test]
    fn lists_nest() {
        let value = Value::List(vec![
            Value::references([Id(1), Id(2)]),
            Value::typed("IFCLABEL", "a".into()),
            Value::boolean(true),
        ]);
        assert_eq!(written(&value), "((#1,#2),IFCLABEL('a'),.T.)");
    }
}
