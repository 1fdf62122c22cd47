//! A row that is written straight into its line, value by value: for the rows of which a report has
//! many. Nothing is put together first; what is written is what `serde_json` makes of the same row
//! ([`super::rows`]), to which the tests hold it.

use super::figure;
use super::line::{self, Written};
use crate::Number;
use crate::names::Hex;
use crate::number::{DIRECTION, M, MM, RATIO};
use serde::Serialize;

/// A key of the contract as it stands in a row: nothing in it is escaped.
macro_rules! key {
    ($name:literal) => {
        concat!("\"", $name, "\":")
    };
}
pub(crate) use key;

/// An object that is being written. Each value leaves a comma behind it; the last becomes the
/// bracket.
pub(crate) struct Row<'a> {
    out: &'a mut Vec<u8>,
}

impl<'a> Row<'a> {
    /// Appends a row.
    ///
    /// # Errors
    /// Those of what is written in it.
    #[inline(always)]
    pub(crate) fn append(
        out: &'a mut Vec<u8>,
        write: impl FnOnce(&mut Self) -> Written,
    ) -> Written {
        out.push(b'{');
        let mut row = Self { out };
        write(&mut row)?;
        close(row.out, b'}');
        Ok(())
    }

    // A key is known where a row is written: its few bytes are then stored, not copied.
    #[inline(always)]
    fn key(&mut self, key: &'static str) {
        self.out.extend_from_slice(key.as_bytes());
    }

    /// Any text.
    #[inline(always)]
    pub(crate) fn text(&mut self, key: &'static str, text: &str) {
        self.key(key);
        push_text(self.out, text);
    }

    /// A text, or null.
    #[inline(always)]
    pub(crate) fn perhaps_text(&mut self, key: &'static str, text: Option<&str>) {
        match text {
            Some(text) => self.text(key, text),
            None => self.null(key),
        }
    }

    /// Digits of a digest; empty if there is none.
    #[inline(always)]
    pub(crate) fn digest<const N: usize>(&mut self, key: &'static str, digest: Option<&Hex<N>>) {
        self.key(key);
        push_digest(self.out, digest);
    }

    /// A list of them.
    #[inline(always)]
    pub(crate) fn digests<'t, const N: usize>(
        &mut self,
        key: &'static str,
        digests: impl IntoIterator<Item = Option<&'t Hex<N>>>,
    ) {
        self.list(key, digests, push_digest);
    }

    /// Millimetres.
    #[inline(always)]
    pub(crate) fn mm(&mut self, key: &'static str, value: f64) {
        self.key(key);
        push_mm(self.out, value);
    }

    /// Millimetres, or null.
    #[inline(always)]
    pub(crate) fn perhaps_mm(&mut self, key: &'static str, value: Option<f64>) {
        match value {
            Some(value) => self.mm(key, value),
            None => self.null(key),
        }
    }

    /// A list of millimetres.
    pub(crate) fn several_mm<const N: usize>(&mut self, key: &'static str, values: [f64; N]) {
        self.list(key, values, push_mm);
    }

    /// A ratio, a count or degrees.
    #[inline(always)]
    pub(crate) fn ratio(&mut self, key: &'static str, value: f64) {
        self.key(key);
        push_figure::<RATIO>(self.out, value, Number::ratio);
    }

    /// A place in the world, metres.
    #[inline(always)]
    pub(crate) fn metres(&mut self, key: &'static str, point: [f64; 3]) {
        self.list(key, point, |out, value| push_figure::<M>(out, value, Number::m));
    }

    /// A unit vector.
    #[inline(always)]
    pub(crate) fn direction(&mut self, key: &'static str, vector: [f64; 3]) {
        self.list(key, vector, |out, value| {
            push_figure::<DIRECTION>(out, value, Number::direction);
        });
    }

    /// Stretches along a member, millimetres.
    pub(crate) fn stretches(&mut self, key: &'static str, stretches: &[[f64; 2]]) {
        self.list(key, stretches, |out, stretch| push_list(out, *stretch, push_mm));
    }

    /// Whether something is so.
    #[inline(always)]
    pub(crate) fn truth(&mut self, key: &'static str, value: bool) {
        self.key(key);
        self.out.extend_from_slice(if value { b"true," } else { b"false," });
    }

    /// A whole number.
    #[inline(always)]
    pub(crate) fn count(&mut self, key: &'static str, value: u32) {
        self.key(key);
        push_count(self.out, value);
    }

    /// A whole number, or null.
    #[inline(always)]
    pub(crate) fn perhaps_count(&mut self, key: &'static str, value: Option<u32>) {
        match value {
            Some(value) => self.count(key, value),
            None => self.null(key),
        }
    }

    /// A letter and a number.
    pub(crate) fn numbered(&mut self, key: &'static str, letter: u8, number: u32) {
        self.key(key);
        self.out.extend_from_slice(&[b'"', letter]);
        push_number(self.out, number);
        self.out.extend_from_slice(b"\",");
    }

    /// Any other value of the contract, a word of its vocabularies above all.
    ///
    /// # Errors
    /// Those of [`line::write`].
    #[inline(always)]
    pub(crate) fn value(&mut self, key: &'static str, value: &impl Serialize) -> Written {
        self.key(key);
        line::write(self.out, value)?;
        self.out.push(b',');
        Ok(())
    }

    /// A list of such values.
    ///
    /// # Errors
    /// Those of [`line::write`].
    pub(crate) fn values(
        &mut self,
        key: &'static str,
        values: impl IntoIterator<Item: Serialize>,
    ) -> Written {
        self.try_list(key, values, |out, value| line::write(out, &value))
    }

    /// A list of texts.
    #[inline(always)]
    pub(crate) fn texts<'t>(
        &mut self,
        key: &'static str,
        texts: impl IntoIterator<Item = &'t str>,
    ) {
        self.list(key, texts, push_text);
    }

    /// A row within the row.
    ///
    /// # Errors
    /// Those of what is written in it.
    #[inline(always)]
    pub(crate) fn row(
        &mut self,
        key: &'static str,
        write: impl FnOnce(&mut Row<'_>) -> Written,
    ) -> Written {
        self.key(key);
        Row::append(self.out, write)?;
        self.out.push(b',');
        Ok(())
    }

    /// A row within the row, or null.
    ///
    /// # Errors
    /// Those of what is written in it.
    #[inline(always)]
    pub(crate) fn perhaps_row<T>(
        &mut self,
        key: &'static str,
        value: Option<T>,
        write: impl FnOnce(&mut Row<'_>, T) -> Written,
    ) -> Written {
        match value {
            Some(value) => self.row(key, |row| write(row, value)),
            None => {
                self.null(key);
                Ok(())
            }
        }
    }

    /// A list of rows.
    ///
    /// # Errors
    /// Those of what is written in them.
    #[inline(always)]
    pub(crate) fn rows<T>(
        &mut self,
        key: &'static str,
        values: impl IntoIterator<Item = T>,
        write: impl Fn(&mut Row<'_>, T) -> Written,
    ) -> Written {
        self.try_list(key, values, |out, value| Row::append(out, |row| write(row, value)))
    }

    /// A list of what may be refused.
    #[inline(always)]
    fn try_list<T>(
        &mut self,
        key: &'static str,
        values: impl IntoIterator<Item = T>,
        push: impl Fn(&mut Vec<u8>, T) -> Written,
    ) -> Written {
        self.key(key);
        self.out.push(b'[');
        for value in values {
            push(self.out, value)?;
            self.out.push(b',');
        }
        close(self.out, b']');
        self.out.push(b',');
        Ok(())
    }

    #[inline(always)]
    fn list<T>(
        &mut self,
        key: &'static str,
        values: impl IntoIterator<Item = T>,
        push: impl FnMut(&mut Vec<u8>, T),
    ) {
        self.key(key);
        push_list(self.out, values, push);
    }

    #[inline(always)]
    fn null(&mut self, key: &'static str) {
        self.key(key);
        self.out.extend_from_slice(b"null,");
    }
}

/// The comma behind the last value becomes the bracket; what is empty has none.
#[inline]
fn close(out: &mut Vec<u8>, bracket: u8) {
    match out.last_mut() {
        Some(last) if *last == b',' => *last = bracket,
        _ => out.push(bracket),
    }
}

#[inline]
fn push_list<T>(
    out: &mut Vec<u8>,
    values: impl IntoIterator<Item = T>,
    mut push: impl FnMut(&mut Vec<u8>, T),
) {
    out.push(b'[');
    for value in values {
        push(out, value);
    }
    close(out, b']');
    out.push(b',');
}

fn push_text(out: &mut Vec<u8>, text: &str) {
    line::push_text(out, text);
    out.push(b',');
}

#[inline]
fn push_digest<const N: usize>(out: &mut Vec<u8>, digest: Option<&Hex<N>>) {
    out.push(b'"');
    out.extend_from_slice(digest.map_or(&[][..], |digest| digest.bytes()));
    out.extend_from_slice(b"\",");
}

fn push_mm(out: &mut Vec<u8>, value: f64) {
    push_figure::<MM>(out, value, Number::mm);
}

fn push_figure<const GROUPS: usize>(
    out: &mut Vec<u8>,
    value: f64,
    rounded: impl FnOnce(f64) -> Number,
) {
    if !figure::write_rounded::<GROUPS>(out, value) {
        push_odd(out, rounded(value));
    }
}

/// Hardly any.
#[cold]
fn push_odd(out: &mut Vec<u8>, number: Number) {
    // A figure is written into memory: nothing can go wrong.
    let _ = line::write(out, &number);
    out.push(b',');
}

fn push_count(out: &mut Vec<u8>, value: u32) {
    push_number(out, value);
    out.push(b',');
}

fn push_number(out: &mut Vec<u8>, value: u32) {
    match value {
        // Spans, inputs and how many share a cut.
        0..10 => out.push(b'0' + value as u8),
        _ => out.extend_from_slice(itoa::Buffer::new().format(value).as_bytes()),
    }
}
