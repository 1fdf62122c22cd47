//! Values of a record: numbers by value, everything else as spans of the file.

use std::borrow::Cow;

use crate::grammar;
use crate::layout;
use crate::number::{self, Number};
use crate::plain;
use crate::text::Text;

/// One parameter of a record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value<'f> {
    /// `$`, a parameter left out, or one that could not be read.
    Unset,
    /// `*`: derived in this type.
    Derived,
    /// A whole number.
    Integer(i64),
    /// A real number; always finite.
    Real(f64),
    /// `'…'`
    Text(Text<'f>),
    /// `.NAME.`, without the dots, as written; `T`, `F` and `U` are the logical values.
    Enumeration(&'f str),
    /// `#12`
    Reference(u64),
    /// `"0FF"`: the hexadecimal digits; the first tells how many leading bits do not count.
    Binary(&'f [u8]),
    /// `IFCLABEL('x')`
    Typed(Typed<'f>),
    /// `(a,b)`
    List(List<'f>),
}

/// A value with its type: `IFCLENGTHMEASURE(0.3)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typed<'f> {
    keyword: &'f str,
    inner: List<'f>,
}

/// A list of values, read while it is gone through.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct List<'f> {
    /// One value that stands where a list should.
    single: Option<Single<'f>>,
    /// What stands between the brackets.
    text: &'f [u8],
}

/// A value without brackets.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Single<'f> {
    Integer(i64),
    Real(f64),
    Text(Text<'f>),
    Enumeration(&'f str),
    Reference(u64),
    Binary(&'f [u8]),
}

impl<'f> Value<'f> {
    /// The value of a span that the grammar has recognised; an empty span is a parameter left out.
    #[inline]
    pub(crate) fn of(span: &'f [u8]) -> Self {
        match span {
            [b'#' | b'@', digits @ ..] => reference(digits).map_or(Self::Unset, Self::Reference),
            [b'$'] => Self::Unset,
            _ => Self::of_other(span),
        }
    }

    /// The value of a span that is no reference.
    fn of_other(span: &'f [u8]) -> Self {
        match span {
            [b'*', ..] => Self::Derived,
            [b'\'', text @ .., b'\''] => Self::Text(Text::new(text)),
            [b'"', digits @ .., b'"'] => Self::Binary(digits),
            [b'(', inner @ .., b')'] => Self::List(List::between(inner)),
            [b'.', name @ .., b'.'] => Self::Enumeration(ascii(name)),
            [b'.' | b'+' | b'-' | b'0'..=b'9', ..] => match number::read(span) {
                Some(Number::Integer(value)) => Self::Integer(value),
                Some(Number::Real(value)) => Self::Real(value),
                Some(Number::NotFinite) | None => Self::Unset,
            },
            [b'a'..=b'z' | b'A'..=b'Z' | b'_' | b'!', ..] => Self::typed(span),
            _ => Self::Unset,
        }
    }

    fn typed(span: &'f [u8]) -> Self {
        let open = span.iter().position(|&byte| !layout::is_keyword_byte(byte) && byte != b'!');
        let (keyword, rest) = span.split_at(open.unwrap_or(span.len()));
        match rest.get(layout::gap(rest)..) {
            Some([b'(', inner @ .., b')']) => {
                Self::Typed(Typed { keyword: ascii(keyword), inner: List::between(inner) })
            }
            _ => Self::Unset,
        }
    }

    /// Whether this is `$` or could not be read.
    #[must_use]
    pub fn is_unset(self) -> bool {
        matches!(self, Self::Unset)
    }

    /// The value without its types: the 5 of `IFCLABEL(IFCX(5))`.
    #[must_use]
    #[inline]
    pub fn untyped(self) -> Self {
        let mut value = self;
        // Nesting was limited when the record was read.
        while let Self::Typed(typed) = value {
            value = typed.value();
        }
        value
    }

    /// The number, whole or real, typed or not.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "integers where reals are declared are small")]
    pub fn number(self) -> Option<f64> {
        match self.untyped() {
            Self::Integer(value) => Some(value as f64),
            Self::Real(value) => Some(value),
            _ => None,
        }
    }

    /// The whole number; a real without fraction counts.
    #[must_use]
    pub fn integer(self) -> Option<i64> {
        match self.untyped() {
            Self::Integer(value) => Some(value),
            Self::Real(value) if value.fract() == 0.0 && value.abs() < 9.0e15 => Some(value as i64),
            _ => None,
        }
    }

    /// The name that is referred to.
    #[must_use]
    #[inline]
    pub fn reference(self) -> Option<u64> {
        if let Self::Reference(name) = self.untyped() { Some(name) } else { None }
    }

    /// The text, typed or not, directives followed.
    #[must_use]
    pub fn text(self) -> Option<Cow<'f, str>> {
        if let Self::Text(text) = self.untyped() { Some(text.decode()) } else { None }
    }

    /// The name of an enumeration value, typed or not, without dots, as written.
    #[must_use]
    pub fn enumeration(self) -> Option<&'f str> {
        if let Self::Enumeration(name) = self.untyped() { Some(name) } else { None }
    }

    /// True or false; `.U.` and everything else is `None`.
    #[must_use]
    pub fn boolean(self) -> Option<bool> {
        match self.enumeration()? {
            "T" | "t" | "TRUE" | "true" => Some(true),
            "F" | "f" | "FALSE" | "false" => Some(false),
            _ => None,
        }
    }

    /// The list, typed or not.
    #[must_use]
    pub fn list(self) -> Option<List<'f>> {
        if let Self::List(list) = self.untyped() { Some(list) } else { None }
    }

    /// The value where a list is declared: some exporters leave the brackets of a list of one out,
    /// and an unset list has no values.
    #[must_use]
    pub fn as_list(self) -> List<'f> {
        let single = match self.untyped() {
            Self::List(list) => return list,
            Self::Unset | Self::Derived | Self::Typed(_) => return List::default(),
            Self::Integer(value) => Single::Integer(value),
            Self::Real(value) => Single::Real(value),
            Self::Text(value) => Single::Text(value),
            Self::Enumeration(value) => Single::Enumeration(value),
            Self::Reference(value) => Single::Reference(value),
            Self::Binary(value) => Single::Binary(value),
        };
        List { single: Some(single), text: &[] }
    }
}

impl<'f> From<Single<'f>> for Value<'f> {
    fn from(single: Single<'f>) -> Self {
        match single {
            Single::Integer(value) => Self::Integer(value),
            Single::Real(value) => Self::Real(value),
            Single::Text(value) => Self::Text(value),
            Single::Enumeration(value) => Self::Enumeration(value),
            Single::Reference(value) => Self::Reference(value),
            Single::Binary(value) => Self::Binary(value),
        }
    }
}

impl<'f> Typed<'f> {
    /// The type's keyword, as written.
    #[must_use]
    pub fn keyword(self) -> &'f str {
        self.keyword
    }

    /// The value; of several in the brackets the first.
    #[must_use]
    pub fn value(self) -> Value<'f> {
        self.inner.iter().next().unwrap_or(Value::Unset)
    }

    /// All values in the brackets: the parameters of a partial record of a complex instance.
    #[must_use]
    pub fn values(self) -> List<'f> {
        self.inner
    }
}

impl<'f> List<'f> {
    /// The list whose brackets hold `text`.
    fn between(text: &'f [u8]) -> Self {
        Self { single: None, text: text.get(layout::gap(text)..).unwrap_or_default() }
    }

    /// The values in order.
    #[must_use]
    pub fn iter(self) -> Values<'f> {
        Values { single: self.single, rest: self.text }
    }

    /// Number of values; goes through the list.
    #[must_use]
    pub fn len(self) -> usize {
        usize::from(self.single.is_some()) + Spans { rest: self.text }.count()
    }

    /// Whether the list has no values.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.single.is_none() && self.text.is_empty()
    }

    /// The value at a place from 0; [`Value::Unset`] behind the end. Goes through the list.
    #[must_use]
    pub fn get(self, place: usize) -> Value<'f> {
        match self.single {
            Some(single) if place == 0 => single.into(),
            _ => Spans { rest: self.text }.nth(place).map_or(Value::Unset, Value::of),
        }
    }

    /// The names referred to; other values are left out.
    pub fn references(self) -> impl Iterator<Item = u64> + use<'f> {
        self.iter().filter_map(Value::reference)
    }

    /// The numbers, typed or not; other values are left out.
    pub fn numbers(self) -> impl Iterator<Item = f64> + use<'f> {
        self.iter().filter_map(Value::number)
    }
}

impl<'f> IntoIterator for List<'f> {
    type Item = Value<'f>;
    type IntoIter = Values<'f>;

    fn into_iter(self) -> Values<'f> {
        self.iter()
    }
}

/// The values of a [`List`], in order.
#[derive(Debug, Clone)]
pub struct Values<'f> {
    single: Option<Single<'f>>,
    rest: &'f [u8],
}

impl<'f> Iterator for Values<'f> {
    type Item = Value<'f>;

    fn next(&mut self) -> Option<Value<'f>> {
        if let Some(single) = self.single.take() {
            return Some(single.into());
        }
        let mut spans = Spans { rest: self.rest };
        let value = spans.next().map(Value::of);
        self.rest = spans.rest;
        value
    }
}

/// Cuts a list's text into spans.
struct Spans<'f> {
    rest: &'f [u8],
}

impl<'f> Iterator for Spans<'f> {
    type Item = &'f [u8];

    #[inline]
    fn next(&mut self) -> Option<&'f [u8]> {
        let first = self.rest.first()?;
        if let Some((span, rest)) =
            plain::item(self.rest).and_then(|end| self.rest.split_at_checked(end))
        {
            let rest = rest.get(1..).unwrap_or_default();
            self.rest = rest.get(layout::gap(rest)..).unwrap_or_default();
            return Some(span);
        }
        let (span, rest) = match first {
            // An element left out.
            b',' => (&[][..], self.rest),
            // The text has been recognised before; should it not be now, the list ends.
            _ => {
                grammar::value(self.rest, 1).map_or((&[][..], &[][..]), |(rest, span)| (span, rest))
            }
        };
        let rest = rest.get(layout::gap(rest)..).unwrap_or_default();
        let rest = rest.strip_prefix(b",").unwrap_or(rest);
        self.rest = rest.get(layout::gap(rest)..).unwrap_or_default();
        Some(span)
    }
}

/// A name of so many digits fits in 64 bits, whatever bytes they are.
const SURE_DIGITS: usize = 16;

/// The name of a reference, from what stands behind its `#`.
#[inline]
fn reference(digits: &[u8]) -> Option<u64> {
    let digits = digits.strip_prefix(b"+").unwrap_or(digits);
    if digits.len() <= SURE_DIGITS {
        let digit = |byte: &u8| u64::from(byte.wrapping_sub(b'0'));
        return Some(digits.iter().fold(0, |name, byte| 10 * name + digit(byte)));
    }
    digits.iter().try_fold(0u64, |name, &byte| {
        name.checked_mul(10)?.checked_add(u64::from(byte.wrapping_sub(b'0')))
    })
}

/// Keyword bytes as text.
fn ascii(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap_or_default()
}
