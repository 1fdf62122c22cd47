//! Keywords as small numbers.

use std::borrow::Cow;

use rustc_hash::FxHashMap;

use crate::layout::is_keyword_byte;

/// Places of the small table in front of the map; a power of two.
const RECENT: usize = 256;

/// The distinct keywords of a stretch of the file, numbered as they are met.
#[derive(Debug)]
pub(crate) struct Interner<'a> {
    keywords: Vec<Cow<'a, [u8]>>,
    numbers: FxHashMap<Cow<'a, [u8]>, u32>,
    /// The keyword last seen at each place, to spare most look-ups in the map.
    recent: Vec<Recent>,
}

/// A keyword of up to 24 bytes in words, with its number. Longer ones share their ends only, and
/// are compared in full.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Recent {
    shape: Shape,
    number: u32,
}

/// First, second and last eight bytes and the length: all there is of a keyword of 8 to 24 bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Shape {
    words: [u64; 3],
    length: usize,
}

/// No keyword is this long.
const NOTHING: Recent = Recent { shape: Shape { words: [0; 3], length: usize::MAX }, number: 0 };

impl Shape {
    #[inline]
    fn of(keyword: &[u8]) -> Self {
        let length = keyword.len();
        let word = |bytes: Option<&[u8; 8]>| bytes.map_or(0, |bytes| u64::from_le_bytes(*bytes));
        let words = if length < 8 {
            let short = keyword.iter().fold(0, |sum: u64, &byte| sum << 8 | u64::from(byte));
            [short, 0, 0]
        } else {
            let second = keyword.get(8..16).and_then(<[u8]>::first_chunk);
            [word(keyword.first_chunk()), word(second), word(keyword.last_chunk())]
        };
        Self { words, length }
    }

    /// A place in the table of recent keywords.
    #[inline]
    fn place(&self) -> usize {
        let [first, second, last] = self.words;
        let mixed = first ^ second.rotate_left(17) ^ last.rotate_left(29) ^ self.length as u64;
        (mixed.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 56) as usize & (RECENT - 1)
    }
}

impl<'a> Interner<'a> {
    pub(crate) fn new() -> Self {
        Self { keywords: Vec::new(), numbers: FxHashMap::default(), recent: vec![NOTHING; RECENT] }
    }

    /// The number of a keyword that stands in the file; `None` if the text is no keyword.
    #[inline]
    pub(crate) fn number(&mut self, keyword: &'a [u8]) -> Option<u32> {
        let shape = Shape::of(keyword);
        if let Some(recent) = self.recent.get(shape.place())
            && recent.shape == shape
            && (shape.length <= 24 || self.is(recent.number, keyword))
        {
            return Some(recent.number);
        }
        self.number_of_other(keyword, shape)
    }

    fn is(&self, number: u32, keyword: &[u8]) -> bool {
        self.keywords.get(number as usize).is_some_and(|known| **known == *keyword)
    }

    fn number_of_other(&mut self, keyword: &'a [u8], shape: Shape) -> Option<u32> {
        if !is_keyword(keyword) {
            return None;
        }
        let number = self.number_in_map(Cow::Borrowed(keyword));
        if let Some(recent) = self.recent.get_mut(shape.place()) {
            *recent = Recent { shape, number };
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keywords_that_differ_in_one_letter_differ() {
        let mut interner = Interner::new();
        for length in [1, 7, 8, 9, 15, 16, 17, 23, 24, 25, 40] {
            for place in 0..length {
                let mut word = vec![b'A'; length];
                word[place] = b'B';
                let first = interner.number(word.clone().leak());
                word[place] = b'C';
                let second = interner.number(word.leak());
                assert!(first.is_some() && second.is_some() && first != second);
            }
        }
    }

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
