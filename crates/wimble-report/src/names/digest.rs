//! Short digests of names.

use compact_str::CompactString;
use smallvec::SmallVec;

/// BLAKE3 over parts, each closed by its length so that no two lists of parts look alike.
#[derive(Default)]
pub(super) struct Digest(SmallVec<[u8; 256]>);

impl Digest {
    pub(super) fn add(&mut self, part: &str) {
        self.0.extend_from_slice(part.as_bytes());
        self.length(part.len());
    }

    pub(super) fn list(&mut self, parts: &[&str]) {
        parts.iter().for_each(|part| self.add(part));
        self.length(parts.len());
    }

    /// The place of one among equals, counted from 0.
    pub(super) fn ordinal(&mut self, ordinal: u32) {
        self.add(itoa::Buffer::new().format(ordinal));
    }

    /// The first digits, behind a mark.
    pub(super) fn hex(&self, mark: &str, digits: usize) -> CompactString {
        let hex = blake3::hash(&self.0).to_hex();
        let mut text = CompactString::from(mark);
        text.push_str(hex.as_str().get(..digits).unwrap_or(&hex));
        text
    }

    fn length(&mut self, length: usize) {
        self.0.extend_from_slice(&(length as u64).to_le_bytes());
    }
}
