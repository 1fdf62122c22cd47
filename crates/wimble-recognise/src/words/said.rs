//! Texts that many elements share.

use super::{Topics, topics};
use compact_str::CompactString;
use std::hash::{Hash, Hasher};
use std::ops::Deref;
use std::sync::OnceLock;

/// A text, with what it speaks of once that has been asked.
#[derive(Debug, Clone, Default)]
pub(crate) struct Said {
    text: CompactString,
    topics: OnceLock<Topics>,
}

impl Said {
    /// What it speaks of.
    pub(crate) fn topics(&self) -> Topics {
        *self.topics.get_or_init(|| topics(&self.text))
    }
}

impl From<CompactString> for Said {
    fn from(text: CompactString) -> Self {
        Self { text, topics: OnceLock::new() }
    }
}

impl Deref for Said {
    type Target = str;

    fn deref(&self) -> &str {
        &self.text
    }
}

impl PartialEq for Said {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl Eq for Said {}

impl Hash for Said {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.text.hash(state);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Topic;
    use rustc_hash::FxBuildHasher;
    use std::hash::BuildHasher;

    #[test]
    fn a_text_is_the_same_before_and_after_it_is_asked() {
        let [asked, other] = ["Joist 47x220"; 2].map(|text| Said::from(CompactString::from(text)));
        assert!(asked.topics().has(Topic::Joist));
        assert_eq!((&asked, &*asked), (&other, "Joist 47x220"));
        assert_eq!(FxBuildHasher.hash_one(&asked), FxBuildHasher.hash_one(&other));
        assert_ne!(asked, Said::from(CompactString::from("Beam")));
    }
}
