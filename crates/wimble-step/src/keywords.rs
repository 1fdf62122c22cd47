//! Keywords as small numbers.

use std::borrow::Cow;

use rustc_hash::FxHashMap;

use crate::layout::is_keyword_byte;

/// Places of the small table in front of the map; a power of two.
const RECENT: usize = 1024;

/// The distinct keywords of a stretch of the file, numbered as they are met.
#[derive(Debug)]
pub(crate) struct Interner<'a> {
    keywords: Vec<Cow<'a, [u8]>>,
    numbers: FxHashMap<Cow<'a, [u8]>, u32>,
    /// Number of the keyword last seen at each place, to spare most look-ups in the map.
    recent: Vec<u32>,
}

impl<'a> Interner<'a> {
    pub(crate) fn new() -> Self {
        Self { keywords: Vec::new(), numbers: FxHashMap::default(), recent: vec![0; RECENT] }
    }

    /// The number of a keyword that stands in the file; `None` if the text is no keyword.
    pub(crate) fn number(&mut self, keyword: &'a [u8]) -> Option<u32> {
        let place = place(keyword);
        if let Some(&number) = self.recent.get(place)
            && self.keywords.get(number as usize).is_some_and(|known| **known == *keyword)
        {
            return Some(number);
        }
        if !is_keyword(keyword) {
            return None;
        }
        let number = self.number_in_map(Cow::Borrowed(keyword));
        if let Some(recent) = self.recent.get_mut(place) {
            *recent = number;
        }
        Some(number)
    }

    /// The number of a keyword from any text: a file may write it in other case or cut it in two.
    pub(crate) fn number_of_copy(&mut self, keyword: &[u8]) -> u32 {
        match self.numbers.get(keyword) {
            Some(&number) => number,
            None => self.number_in_map(Cow::Owned(keyword.to_vec())),
        }
    }

    fn number_in_map(&mut self, keyword: Cow<'a, [u8]>) -> u32 {
        // There are fewer keywords than rows, and rows fit in 32 bits.
        let next = self.keywords.len() as u32;
        *self.numbers.entry(keyword).or_insert_with_key(|keyword| {
            self.keywords.push(keyword.clone());
            next
        })
    }

    /// All keywords, by number.
    pub(crate) fn into_keywords(self) -> Vec<Cow<'a, [u8]>> {
        self.keywords
    }
}

/// Whether a text is a keyword: letters, digits and `_`, no digit first. Keywords with `!` are left
/// to the grammar.
fn is_keyword(text: &[u8]) -> bool {
    text.first().is_some_and(|first| !first.is_ascii_digit())
        && text.iter().all(|&byte| is_keyword_byte(byte))
}

/// A place in the small table, from the length and the ends of the keyword.
fn place(keyword: &[u8]) -> usize {
    let word = |bytes: Option<&[u8; 8]>| bytes.map_or(0, |bytes| u64::from_le_bytes(*bytes));
    let mixed = match word(keyword.first_chunk()) {
        0 => keyword.iter().fold(0, |sum: u64, &byte| sum << 8 | u64::from(byte)),
        first => first ^ word(keyword.last_chunk()).rotate_left(29),
    } ^ keyword.len() as u64;
    (mixed.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 54) as usize & (RECENT - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_keywords_share_a_number() {
        let mut interner = Interner::new();
        let words: Vec<String> = (0..3000).map(|n| format!("IFC{}", n * 7919)).collect();
        for _ in 0..2 {
            for (number, word) in words.iter().enumerate() {
                assert_eq!(interner.number(word.as_bytes()), Some(number as u32));
                assert_eq!(interner.number_of_copy(word.as_bytes()), number as u32);
            }
        }
        for word in ["", "1A", "A B", "A("] {
            assert_eq!(interner.number(word.as_bytes()), None);
        }
        assert_eq!(interner.into_keywords().len(), 3000);
    }
}
