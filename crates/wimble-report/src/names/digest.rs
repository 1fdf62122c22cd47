//! Short digests of names.

use compact_str::{CompactString, ToCompactString};

/// BLAKE3 over parts, each closed by its length so that no two lists of parts look alike.
#[derive(Default)]
pub(super) struct Digest(blake3::Hasher);

impl Digest {
    pub(super) fn add(&mut self, part: &str) {
        self.0.update(part.as_bytes());
        self.0.update(&(part.len() as u64).to_le_bytes());
    }

    pub(super) fn list(&mut self, parts: &[&str]) {
        parts.iter().for_each(|part| self.add(part));
        self.0.update(&(parts.len() as u64).to_le_bytes());
    }

    /// The place of one among equals, counted from 0.
    pub(super) fn ordinal(&mut self, ordinal: u32) {
        self.add(&ordinal.to_compact_string());
    }

    /// The first digits, behind a mark.
    pub(super) fn hex(&self, mark: &str, digits: usize) -> CompactString {
        let mut text = CompactString::from(mark);
        text.extend(self.0.finalize().to_hex().chars().take(digits));
        text
    }
}
