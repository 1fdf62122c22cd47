//! Strings: [`Text`] is a span of the file, decoded when somebody reads it.

mod decode;
mod encode;
mod pages;

use std::borrow::Cow;

pub use encode::encode_text;

/// A string as it stands in the file, without its outer apostrophes. Nothing is copied until it is
/// decoded, and nothing then if it is plain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Text<'f> {
    raw: &'f [u8],
}

/// A control directive that could not be followed as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextFault {
    /// Offset from the start of the string's text.
    pub at: usize,
    /// What is wrong and how it was read.
    pub message: &'static str,
}

impl<'f> Text<'f> {
    pub(crate) fn new(raw: &'f [u8]) -> Self {
        Self { raw }
    }

    /// The bytes between the outer apostrophes, directives unread.
    #[must_use]
    pub fn raw(self) -> &'f [u8] {
        self.raw
    }

    /// The text, all control directives followed. Bytes above 0x7F are read as UTF-8 where they
    /// are valid UTF-8, else as Windows-1252. What cannot be followed stays as it is written.
    #[must_use]
    pub fn decode(self) -> Cow<'f, str> {
        decode::decode(self.raw, &mut |_| {})
    }

    /// The faults in the text's directives, with how each was read; empty when there are none.
    #[must_use]
    pub fn faults(self) -> Vec<TextFault> {
        let mut faults = Vec::new();
        decode::decode(self.raw, &mut |fault| faults.push(fault));
        faults
    }
}
