//! A row as one line of JSON: the same bytes as `serde_json` writes, for what rows are made of.
//!
//! Nearly all of a report is rows, and nearly all of a row is its keys, short plain texts and
//! figures of a few decimals. Keys of the contract need no search for what must be escaped, plain
//! texts are copied whole, and figures go through a whole number ([`super::figure`]). What is not
//! plain is handed to `serde_json`.

use super::figure;
use serde::Serialize;
use serde::ser::{
    Error as _, Impossible, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
    SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

type Error = serde_json::Error;
pub(crate) type Written = Result<(), Error>;

/// Appends a row.
///
/// # Errors
/// Rows hold no maps, bytes and 128-bit numbers; the contract has none.
pub(super) fn write(out: &mut Vec<u8>, row: &impl Serialize) -> Written {
    row.serialize(Line { out })
}

struct Line<'a> {
    out: &'a mut Vec<u8>,
}

/// What is between brackets. Each part leaves a comma behind it; the last one becomes the bracket.
struct Parts<'a> {
    out: &'a mut Vec<u8>,
    close: &'static [u8],
}

impl<'a> Parts<'a> {
    fn open(out: &'a mut Vec<u8>, open: u8, close: &'static [u8]) -> Self {
        out.push(open);
        Self { out, close }
    }

    /// `{"variant":` and what opens its content.
    fn variant(
        out: &'a mut Vec<u8>,
        variant: &'static str,
        open: u8,
        close: &'static [u8],
    ) -> Self {
        out.push(b'{');
        key(out, variant);
        Self::open(out, open, close)
    }

    #[inline]
    fn part(&mut self, value: &(impl Serialize + ?Sized)) -> Written {
        value.serialize(Line { out: self.out })?;
        self.out.push(b',');
        Ok(())
    }

    // Names are known where a row is written: their few bytes are then stored, not copied.
    #[inline(always)]
    fn field(&mut self, name: &'static str, value: &(impl Serialize + ?Sized)) -> Written {
        key(self.out, name);
        self.part(value)
    }

    fn close(self) {
        if self.out.last() == Some(&b',') {
            self.out.pop();
        }
        self.out.extend_from_slice(self.close);
    }
}

/// Keys are names of the contract: nothing in them is escaped.
#[inline(always)]
fn key(out: &mut Vec<u8>, name: &'static str) {
    debug_assert!(is_plain(name.as_bytes()), "{name}");
    out.push(b'"');
    out.extend_from_slice(name.as_bytes());
    out.extend_from_slice(b"\":");
}

/// Appends a text in quotes.
pub(super) fn push_text(out: &mut Vec<u8>, text: &str) {
    let bytes = text.as_bytes();
    let is_done = match bytes.len() {
        // Nearly all: ids and classes.
        4..8 => push_short::<4>(out, bytes),
        8..16 => push_short::<8>(out, bytes),
        16..=32 => push_short::<16>(out, bytes),
        _ if is_plain(bytes) => {
            push_plain(out, text);
            true
        }
        _ => false,
    };
    if !is_done {
        // Into memory nothing can fail to be written.
        let _ = serde_json::to_writer(out, text);
    }
}

/// Appends a text of one to two blocks, whose last may lie over its first; false, and nothing
/// appended, if something in it must be escaped.
#[inline(always)]
fn push_short<const BLOCK: usize>(out: &mut Vec<u8>, text: &[u8]) -> bool {
    let (Some(first), Some(last)) = (text.first_chunk::<BLOCK>(), text.last_chunk::<BLOCK>())
    else {
        return false;
    };
    if is_either_odd(first, last) {
        return false;
    }
    // Stores of lengths that are known beforehand are no calls.
    let mut quoted = [b'"'; 34];
    if let Some(place) = quoted[1..].first_chunk_mut() {
        *place = *first;
    }
    let behind = quoted.get_mut(1 + text.len() - BLOCK..).unwrap_or_default();
    if let Some(place) = behind.first_chunk_mut() {
        *place = *last;
    }
    let before = out.len();
    out.extend_from_slice(&quoted);
    out.truncate(before + text.len() + 2);
    true
}

/// Appends a text in which nothing is escaped.
#[inline(always)]
fn push_plain(out: &mut Vec<u8>, text: &str) {
    out.push(b'"');
    out.extend_from_slice(text.as_bytes());
    out.push(b'"');
}

/// Whether a text is written as it is: no quote, no backslash, no control character.
fn is_plain(text: &[u8]) -> bool {
    match text.last_chunk::<16>() {
        // The last block may look at some bytes of the one before again.
        Some(last) => !text.as_chunks::<16>().0.iter().any(is_odd) && !is_odd(last),
        None => !text.iter().any(|byte| is_odd(&[*byte])),
    }
}

/// Whether anything in a block must be escaped: without a way out in the middle, so that all of it is
/// looked at in one instruction.
#[inline(always)]
fn is_odd<const BLOCK: usize>(block: &[u8; BLOCK]) -> bool {
    block.iter().fold(false, |any, &byte| any | (from_odd(byte) == 0))
}

/// As [`is_odd`] of both.
#[inline(always)]
fn is_either_odd<const BLOCK: usize>(a: &[u8; BLOCK], b: &[u8; BLOCK]) -> bool {
    let nearest = |at: usize| from_odd(a[at]).min(from_odd(b[at]));
    (0..BLOCK).fold(false, |any, at| any | (nearest(at) == 0))
}

/// Nought for a byte that must be escaped: how far it is from all that must be. Processors tell the least
/// of two for all bytes of a block at once.
#[inline(always)]
fn from_odd(byte: u8) -> u8 {
    let from_control = byte & !(b' ' - 1);
    from_control.min(byte ^ b'"').min(byte ^ b'\\')
}

macro_rules! whole_numbers {
    ($($write:ident: $number:ty,)*) => {$(
        fn $write(self, value: $number) -> Written {
            self.out.extend_from_slice(itoa::Buffer::new().format(value).as_bytes());
            Ok(())
        }
    )*};
}

impl<'a> Serializer for Line<'a> {
    type Ok = ();
    type Error = Error;
    type SerializeSeq = Parts<'a>;
    type SerializeTuple = Parts<'a>;
    type SerializeTupleStruct = Parts<'a>;
    type SerializeTupleVariant = Parts<'a>;
    type SerializeMap = Impossible<(), Error>;
    type SerializeStruct = Parts<'a>;
    type SerializeStructVariant = Parts<'a>;

    fn serialize_bool(self, value: bool) -> Written {
        self.out.extend_from_slice(if value { b"true" } else { b"false" });
        Ok(())
    }

    whole_numbers! {
        serialize_i8: i8, serialize_i16: i16, serialize_i32: i32, serialize_i64: i64,
        serialize_u8: u8, serialize_u16: u16, serialize_u32: u32, serialize_u64: u64,
    }

    fn serialize_f32(self, value: f32) -> Written {
        serde_json::to_writer(self.out, &value)
    }

    fn serialize_f64(self, value: f64) -> Written {
        if figure::write(self.out, value) {
            return Ok(());
        }
        serde_json::to_writer(self.out, &value)
    }

    fn serialize_char(self, value: char) -> Written {
        self.serialize_str(value.encode_utf8(&mut [0; 4]))
    }

    fn serialize_str(self, value: &str) -> Written {
        push_text(self.out, value);
        Ok(())
    }

    fn serialize_bytes(self, _: &[u8]) -> Written {
        Err(Error::custom("a row of the report holds no bytes"))
    }

    fn serialize_none(self) -> Written {
        self.serialize_unit()
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Written {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Written {
        self.out.extend_from_slice(b"null");
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Written {
        self.serialize_unit()
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Written {
        push_plain(self.out, variant);
        Ok(())
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Written {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Written {
        let mut parts = Parts::open(self.out, b'{', b"}");
        parts.field(variant, value)?;
        parts.close();
        Ok(())
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Parts<'a>, Error> {
        Ok(Parts::open(self.out, b'[', b"]"))
    }

    fn serialize_tuple(self, _: usize) -> Result<Parts<'a>, Error> {
        Ok(Parts::open(self.out, b'[', b"]"))
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Parts<'a>, Error> {
        Ok(Parts::open(self.out, b'[', b"]"))
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts<'a>, Error> {
        Ok(Parts::variant(self.out, variant, b'[', b"]}"))
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Self::SerializeMap, Error> {
        Err(Error::custom("a row of the report holds no map"))
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Parts<'a>, Error> {
        Ok(Parts::open(self.out, b'{', b"}"))
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts<'a>, Error> {
        Ok(Parts::variant(self.out, variant, b'{', b"}}"))
    }
}

/// Lists of all kinds: values by their place.
macro_rules! lists {
    ($($list:ident: $add:ident,)*) => {$(
        impl $list for Parts<'_> {
            type Ok = ();
            type Error = Error;

            fn $add<T: Serialize + ?Sized>(&mut self, value: &T) -> Written {
                self.part(value)
            }

            fn end(self) -> Written {
                self.close();
                Ok(())
            }
        }
    )*};
}

lists! {
    SerializeSeq: serialize_element,
    SerializeTuple: serialize_element,
    SerializeTupleStruct: serialize_field,
    SerializeTupleVariant: serialize_field,
}

/// Objects of both kinds: values by their name.
macro_rules! objects {
    ($($object:ident,)*) => {$(
        impl $object for Parts<'_> {
            type Ok = ();
            type Error = Error;

            #[inline(always)]
            fn serialize_field<T: Serialize + ?Sized>(
                &mut self,
                name: &'static str,
                value: &T,
            ) -> Written {
                self.field(name, value)
            }

            fn end(self) -> Written {
                self.close();
                Ok(())
            }
        }
    )*};
}

objects! { SerializeStruct, SerializeStructVariant, }

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn line(value: &impl Serialize) -> String {
        let mut out = Vec::new();
        write(&mut out, value).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[derive(Serialize)]
    enum Any<'a> {
        Unit,
        New(&'a str),
        Tuple(u8, i8),
        Struct { a: f64, b: Option<char> },
    }

    #[derive(Serialize)]
    struct All<'a> {
        none: Option<u32>,
        some: Option<bool>,
        text: &'a str,
        list: Vec<&'a str>,
        empty: [u8; 0],
        numbers: (i16, i32, i64, u16, u32, u64, f32, f64),
        any: Vec<Any<'a>>,
        unit: (),
        nothing: Nothing,
        pair: Pair,
        new: New,
    }

    #[derive(Serialize)]
    struct Nothing;
    #[derive(Serialize)]
    struct Pair(i64, u8);
    #[derive(Serialize)]
    struct New(u64);
    #[derive(Serialize)]
    struct Empty {}

    #[test]
    fn the_bytes_are_those_of_serde_json() {
        let texts = [
            "",
            "plain",
            "quoted \"so\"",
            "back\\slash",
            "line\nend",
            "\u{1}",
            "Ø 110 – é",
            "\u{7f}",
        ];
        for text in texts {
            let any = || {
                let more = Any::Struct { a: -0.25, b: Some('"') };
                vec![
                    Any::Unit,
                    Any::New(text),
                    Any::Tuple(1, -1),
                    more,
                    Any::Struct { a: f64::NAN, b: None },
                ]
            };
            let all = All {
                none: None,
                some: Some(true),
                text,
                list: vec![text, "and", text],
                empty: [],
                numbers: (-16, -32, i64::MIN, 16, 32, u64::MAX, 0.1, 1e300),
                any: any(),
                unit: (),
                nothing: Nothing,
                pair: Pair(-4, 4),
                new: New(9),
            };
            assert_eq!(line(&all), serde_json::to_string(&all).unwrap());
        }
        assert_eq!(line(&Empty {}), "{}");
    }

    #[test]
    fn what_must_be_escaped_is_found_wherever_it_stands() {
        for length in 0..70 {
            let plain: String = ('0'..='z').filter(|c| *c != '\\').cycle().take(length).collect();
            assert_eq!(line(&plain), format!("\"{plain}\""));
            for at in 0..length {
                for odd in ["\"", "\\", "\0", "\u{1f}"] {
                    let mut text = plain.clone();
                    text.replace_range(at..=at, odd);
                    assert!(!is_plain(text.as_bytes()), "{text:?}");
                    assert_eq!(line(&text), serde_json::to_string(&text).unwrap());
                }
            }
        }
    }

    #[test]
    fn what_no_row_holds_is_an_error() {
        let mut out = Vec::new();
        assert!(write(&mut out, &BTreeMap::from([("a", 1)])).is_err());
        assert!(write(&mut out, &1u128).is_err());
    }
}
