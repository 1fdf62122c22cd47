//! Keywords as small numbers.

use std::borrow::Cow;

use rustc_hash::FxHashMap;

use crate::layout::{is_keyword_byte, without_layout};

/// Places of the small table in front of the map; a power of two.
const RECENT: usize = 512;

/// The distinct keywords of a stretch of the file, numbered as they are met.
#[derive(Debug)]
pub(crate) struct Interner<'a> {
    keywords: Vec<Cow<'a, [u8]>>,
    numbers: FxHashMap<Cow<'a, [u8]>, u32>,
    /// The keywords last met, each at its place or the one beside it, to spare most look-ups in the map.
    recent: Vec<Recent>,
}

/// A keyword of up to [`WORD`] bytes as it was met, with layout behind it or without, and its number.
#[derive(Debug, Clone, Copy)]
struct Recent {
    word: Word,
    number: u32,
}

/// A text of up to 32 bytes as four numbers, filled up with zeros: zeros at its end, which are layout,
/// make no difference.
#[derive(Debug, Clone, Copy)]
struct Word([u64; 4]);

/// Longest text that fits.
const WORD: usize = 32;

/// At a place that no keyword has taken.
const NOTHING: Recent = Recent { word: Word([u64::MAX; 4]), number: 0 };

/// The bits of the first bytes of a [`Word`], by how many they are.
const FIRST: [[u64; 4]; WORD + 1] = {
    let mut masks = [[0; 4]; WORD + 1];
    let mut length = 0;
    while length <= WORD {
        let mut byte = 0;
        while byte < length {
            masks[length][byte / 8] |= 0xFF << (byte % 8 * 8);
            byte += 1;
        }
        length += 1;
    }
    masks
};

impl Word {
    /// The first `length` bytes of a text, if they fit.
    #[inline]
    fn of(text: &[u8], length: usize) -> Option<Self> {
        match text.first_chunk() {
            Some(text) => Self::of_first(text, length),
            // At the end of the file.
            None => Self::of_first(&filled_up(text), length),
        }
    }

    #[inline]
    fn of_first(text: &[u8; WORD], length: usize) -> Option<Self> {
        let [a, b, c, d] = FIRST.get(length)?;
        let ([first, second, third, last], _) = text.as_chunks() else { return None };
        Some(Self([
            u64::from_le_bytes(*first) & a,
            u64::from_le_bytes(*second) & b,
            u64::from_le_bytes(*third) & c,
            u64::from_le_bytes(*last) & d,
        ]))
    }

    #[inline]
    fn is(&self, other: &Self) -> bool {
        let ([a, b, c, d], [e, f, g, h]) = (self.0, other.0);
        (a ^ e) | (b ^ f) | (c ^ g) | (d ^ h) == 0
    }

    /// A place in the table of recent keywords.
    #[inline]
    fn place(&self) -> usize {
        let [first, second, third, last] = self.0;
        let sum = first.wrapping_add(second).wrapping_add(third).wrapping_add(last);
        (sum.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 48) as usize & (RECENT - 1)
    }
}

/// A short text with zeros behind it.
#[cold]
fn filled_up(text: &[u8]) -> [u8; WORD] {
    std::array::from_fn(|at| text.get(at).copied().unwrap_or_default())
}

impl<'a> Interner<'a> {
    pub(crate) fn new() -> Self {
        Self { keywords: Vec::new(), numbers: FxHashMap::default(), recent: vec![NOTHING; RECENT] }
    }

    /// The number of the keyword that the first `length` bytes of a text are, perhaps with layout
    /// behind it; `None` if they are none.
    #[inline]
    pub(crate) fn number(&mut self, text: &'a [u8], length: usize) -> Option<u32> {
        let word = Word::of(text, length);
        if let Some(word) = &word {
            let place = word.place();
            for place in [place, place ^ 1] {
                if let Some(recent) = self.recent.get(place)
                    && recent.word.is(word)
                {
                    return Some(recent.number);
                }
            }
        }
        self.number_of_other(text.get(..length)?, word)
    }

    #[cold]
    fn number_of_other(&mut self, text: &'a [u8], word: Option<Word>) -> Option<u32> {
        let keyword = without_layout(text);
        if !is_keyword(keyword) {
            return None;
        }
        let number = self.number_in_map(Cow::Borrowed(keyword));
        if let Some(word) = word {
            let place = word.place();
            let taken = self.recent.get(place).is_some_and(|recent| !recent.word.is(&NOTHING.word));
            if let Some(recent) = self.recent.get_mut(if taken { place ^ 1 } else { place }) {
                *recent = Recent { word, number };
            }
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
                let first = interner.number(word.clone().leak(), length);
                word[place] = b'C';
                let second = interner.number(word.leak(), length);
                assert!(first.is_some() && second.is_some() && first != second);
            }
        }
    }

    #[test]
    fn layout_behind_a_keyword_is_no_part_of_it() {
        let mut interner = Interner::new();
        for keyword in ["IFCWALL", "IFCRELCONTAINEDINSPATIALSTRUCTURE"] {
            let number = interner.number(keyword.as_bytes(), keyword.len());
            assert!(number.is_some());
            for layout in [" ", "\0", "\r\n", " \x7F\t"] {
                let text: &str = format!("{keyword}{layout}").leak();
                for _ in 0..2 {
                    assert_eq!(interner.number(text.as_bytes(), text.len()), number, "{text:?}");
                }
            }
        }
    }

    #[test]
    fn equal_keywords_share_a_number() {
        let mut interner = Interner::new();
        let words: Vec<String> = (0..3000).map(|n| format!("IFC{}", n * 7919)).collect();
        for _ in 0..2 {
            for (number, word) in words.iter().enumerate() {
                assert_eq!(interner.number(word.as_bytes(), word.len()), Some(number as u32));
                assert_eq!(interner.number_of_copy(word.as_bytes()), number as u32);
            }
        }
        for word in ["", "1A", "A B", "A("] {
            assert_eq!(interner.number(word.as_bytes(), word.len()), None);
        }
        assert_eq!(interner.into_keywords().len(), 3000);
    }
}
