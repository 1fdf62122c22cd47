//! Short digests of names.

use smallvec::SmallVec;
use std::fmt::{self, Display};
use std::ops::Deref;

/// The first digits of a digest, in place: there are a million of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hex<const N: usize>([u8; N]);

impl<const N: usize> Default for Hex<N> {
    fn default() -> Self {
        Self([b'0'; N])
    }
}

impl<const N: usize> Hex<N> {
    /// The digits as they are written.
    pub(crate) const fn bytes(&self) -> &[u8; N] {
        &self.0
    }
}

impl<const N: usize> Deref for Hex<N> {
    type Target = str;

    fn deref(&self) -> &str {
        // They are digits, and at most a letter.
        str::from_utf8(&self.0).unwrap_or_default()
    }
}

impl<const N: usize> Display for Hex<N> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self)
    }
}

/// BLAKE3 over parts, each closed by its length so that no two lists of parts look alike. One text
/// after another is told to the same memory.
#[derive(Default)]
pub(super) struct Digest(Vec<u8>);

impl Digest {
    pub(super) fn add(&mut self, part: &str) {
        self.0.extend_from_slice(part.as_bytes());
        self.length(part.len());
    }

    pub(super) fn list<'p>(&mut self, parts: impl ExactSizeIterator<Item = &'p str>) {
        let length = parts.len();
        parts.for_each(|part| self.add(part));
        self.length(length);
    }

    /// A list in the order of its parts; nearly always there is one, or none.
    pub(super) fn sorted<'p>(&mut self, parts: impl ExactSizeIterator<Item = &'p str>) {
        if parts.len() < 2 {
            return self.list(parts);
        }
        let mut parts: SmallVec<[&str; 4]> = parts.collect();
        parts.sort_unstable();
        self.list(parts.into_iter());
    }

    /// The place of one among equals, counted from 0.
    pub(super) fn ordinal(&mut self, ordinal: u32) {
        self.add(itoa::Buffer::new().format(ordinal));
    }

    /// The first digits, behind a mark; 16 at most. The next text begins.
    #[inline]
    pub(super) fn hex<const N: usize>(&mut self, mark: &[u8]) -> Hex<N> {
        let hash = blake3::hash(&self.0);
        self.0.clear();
        let digit = |half: u8| b"0123456789abcdef"[usize::from(half)];
        let mut digits = [0; 16];
        for (pair, byte) in digits.as_chunks_mut().0.iter_mut().zip(hash.as_bytes()) {
            *pair = [digit(byte >> 4), digit(byte & 15)];
        }
        let mut text = Hex::default();
        for (place, byte) in text.0.iter_mut().zip(mark.iter().chain(&digits)) {
            *place = *byte;
        }
        text
    }

    fn length(&mut self, length: usize) {
        self.0.extend_from_slice(&(length as u64).to_le_bytes());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digits_are_the_first_of_the_digest() {
        for part in
            ["", "J1", "a longer part, of more than one block of the hash ".repeat(4).as_str()]
        {
            let mut digest = Digest::default();
            digest.add(part);
            let whole = blake3::hash(&digest.0).to_hex();
            assert_eq!(&*digest.hex::<16>(b""), &whole[..16]);
            digest.add(part);
            assert_eq!(digest.hex::<13>(b"c").to_string(), format!("c{}", &whole[..12]));
        }
    }
}
