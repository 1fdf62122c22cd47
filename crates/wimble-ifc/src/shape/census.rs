//! Which kinds of shape were met, and which of them could be read.

use std::collections::BTreeMap;

/// How often a kind of shape was met and read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    /// Read, as a solid, curve or area.
    pub read: usize,
    /// Met, but not readable.
    pub unread: usize,
}

/// Counts by the entity's keyword.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Census {
    /// By keyword, upper case as in the file.
    pub counts: BTreeMap<String, Count>,
}

impl Census {
    pub(super) fn note(&mut self, keyword: &str, read: bool) {
        let count = match self.counts.get_mut(keyword) {
            Some(count) => count,
            None => self.counts.entry(keyword.to_owned()).or_default(),
        };
        if read { count.read += 1 } else { count.unread += 1 }
    }

    /// Adds another census.
    pub fn add(&mut self, other: &Self) {
        for (keyword, count) in &other.counts {
            let mine = self.counts.entry(keyword.clone()).or_default();
            mine.read += count.read;
            mine.unread += count.unread;
        }
    }
}
