//! Where a string ends: the only question about control directives that the index has to ask.
//!
//! An apostrophe ends a string unless it is the character of `\S\'`. Whether `\S\` really stands
//! there depends on what was read before (`\\S\'` and `\X0\S\'` are different matters), so the
//! directives are followed from the start of the string. A doubled apostrophe needs no care: the
//! string ends and another begins.

use crate::layout::is_ignored;

/// Follows the directives of one string, byte after byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Escapes {
    /// Plain text.
    #[default]
    Plain,
    /// After `\`.
    Slash,
    /// After `\S`.
    Shift,
    /// After `\S\`: the next character belongs to the directive, whatever it is.
    Shifted,
    /// After `\P`.
    Page,
    /// After `\X`.
    Hex,
    /// After `\X2`, `\X4`, `\X0`, `\PA`…, `\N` or `\F`: one backslash completes the directive.
    Closing,
}

impl Escapes {
    /// Takes the next byte of the string; true when it is the apostrophe that ends it.
    pub(crate) fn ends_string(&mut self, byte: u8) -> bool {
        if is_ignored(byte) {
            return false;
        }
        let next = match (*self, byte) {
            (Self::Slash, b'\\') | (Self::Shifted, _) => Self::Plain,
            (Self::Slash, b'S') => Self::Shift,
            (Self::Slash, b'P') => Self::Page,
            (Self::Slash, b'X') => Self::Hex,
            (Self::Slash, b'N' | b'F') => Self::Closing,
            (Self::Shift, b'\\') => Self::Shifted,
            (Self::Page, b'A'..=b'I') => Self::Closing,
            (Self::Hex, b'0' | b'2' | b'4') => Self::Closing,
            (Self::Hex | Self::Closing, b'\\') => Self::Plain,
            // Not a directive after all: the byte is read as plain text.
            (_, b'\\') => Self::Slash,
            (_, b'\'') => {
                *self = Self::Plain;
                return true;
            }
            _ => Self::Plain,
        };
        *self = next;
        false
    }
}

/// Where the apostrophe stands that ends the string whose text begins at `from`.
pub(crate) fn end(bytes: &[u8], from: usize) -> Option<usize> {
    let mut at = from;
    let mut follower = Follower::new(from);
    loop {
        at += memchr::memchr(b'\'', bytes.get(at..)?)?;
        if follower.ends_at(bytes, at) {
            return Some(at);
        }
        at += 1;
    }
}

/// Tells of each apostrophe of a string whether it ends it. While none follows a backslash, the
/// directives need not be followed.
#[derive(Debug)]
pub(crate) struct Follower {
    /// The text has been followed up to here.
    followed: usize,
    escapes: Escapes,
}

impl Follower {
    /// For the string whose text begins at `from`.
    pub(crate) fn new(from: usize) -> Self {
        Self { followed: from, escapes: Escapes::default() }
    }

    /// Whether the apostrophe at `at` ends the string; all before it were asked about.
    #[inline]
    pub(crate) fn ends_at(&mut self, bytes: &[u8], at: usize) -> bool {
        let before = at.checked_sub(1).and_then(|before| bytes.get(before));
        if before.is_none_or(|&byte| byte != b'\\' && !is_ignored(byte)) {
            return true;
        }
        let text = bytes.get(self.followed..=at).unwrap_or_default();
        self.followed = at + 1;
        text.iter().fold(false, |_, &byte| self.escapes.ends_string(byte))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &[u8]) -> Option<usize> {
        let mut escapes = Escapes::default();
        let slow = text.iter().position(|&byte| escapes.ends_string(byte));
        assert_eq!(end(&[b"'", text].concat(), 1).map(|at| at - 1), slow);
        slow
    }

    #[test]
    fn the_character_of_a_shift_may_be_an_apostrophe() {
        assert_eq!(length(br"\S\',"), None);
        assert_eq!(length(br"\S\','"), Some(5));
        assert_eq!(length(b"\\S\\\n','"), Some(6));
    }

    #[test]
    fn a_doubled_backslash_or_another_directive_before_it_decides() {
        assert_eq!(length(br"\\S\','"), Some(4));
        assert_eq!(length(br"\X0\S\','"), Some(6));
        assert_eq!(length(br"\X0\\S\','"), Some(9));
        assert_eq!(length(br"\PB\\S\','"), Some(9));
        assert_eq!(length(br"\S\\','"), Some(4));
    }

    #[test]
    fn a_single_backslash_does_not_hide_the_end() {
        assert_eq!(length(br"C:\temp\','"), Some(8));
        assert_eq!(length(br"C:\','"), Some(3));
        assert_eq!(length(br"\X\C3\X96'"), Some(9));
        assert_eq!(length(br"\X2\00E4'"), Some(8));
    }
}
