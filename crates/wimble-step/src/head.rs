//! The head of an instance, `#12=IFCWALL(`, read eight bytes at a time.

use fearless_simd::prelude::*;
use fearless_simd::{Level, dispatch, u8x32};

use crate::layout::{skip_layout, without_layout};

/// An instance head as nearly all files write it.
pub(crate) struct Head<'a> {
    pub(crate) name: u64,
    /// The text from the keyword on, and how much of it stands before the bracket: usually a keyword,
    /// perhaps with layout behind it.
    pub(crate) text: &'a [u8],
    pub(crate) length: usize,
    /// Offset of the opening bracket.
    pub(crate) end: usize,
}

/// Reads `#12= IFCWALL(` at `start`; anything out of the way is left to the grammar. The keyword is
/// what stands before the bracket: whether it is one is asked when it is first met.
#[inline]
pub(crate) fn read(bytes: &[u8], start: usize) -> Option<Head<'_>> {
    let rest = bytes.get(start..)?.strip_prefix(b"#")?;
    let (name, mut at) = leading_number(rest)?;
    if rest.get(at) != Some(&b'=') {
        at = skip_layout(rest, at);
        if rest.get(at) != Some(&b'=') {
            return None;
        }
    }
    at += 1;
    if !rest.get(at).is_some_and(u8::is_ascii_uppercase) {
        at = skip_layout(rest, at);
    }
    let text = rest.get(at..)?;
    let length = bracket(text)?;
    Some(Head { name, text, length, end: start + 1 + at + length })
}

impl<'a> Head<'a> {
    /// What stands before the bracket; usually a keyword.
    pub(crate) fn keyword(&self) -> &'a [u8] {
        without_layout(self.text.get(..self.length).unwrap_or_default())
    }
}

/// The number at the head of `text`, if it has at most 16 digits, and how many they are.
fn leading_number(text: &[u8]) -> Option<(u64, usize)> {
    let (high, count) = eight_digits(*text.first_chunk()?);
    match count {
        0 => None,
        8 => {
            let (low, count) = eight_digits(*text.get(8..)?.first_chunk()?);
            let scale = *POWERS.get(count)?;
            (count < 8).then_some((high * scale + low, 8 + count))
        }
        _ => Some((high, count)),
    }
}

/// How many of the first eight bytes are digits before any other; `None` if there are no eight bytes.
pub(crate) fn digits(text: &[u8]) -> Option<usize> {
    let digits = u64::from_le_bytes(*text.first_chunk()?) ^ 0x3030_3030_3030_3030;
    Some(others(digits).trailing_zeros() as usize / 8)
}

/// The high bit of the first byte that is no digit, of eight less `0` each; bytes behind it do not
/// matter.
const fn others(digits: u64) -> u64 {
    (digits.wrapping_add(0x7676_7676_7676_7676) | digits) & 0x8080_8080_8080_8080
}

const POWERS: [u64; 8] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000];

/// The number that the leading digits of eight bytes make, and how many they are; all eight bytes
/// are looked at and added up at once.
fn eight_digits(text: [u8; 8]) -> (u64, usize) {
    let digits = u64::from_le_bytes(text) ^ 0x3030_3030_3030_3030;
    let count = others(digits).trailing_zeros() as usize / 8;
    if count == 0 {
        return (0, 0);
    }
    // Leading zeros fill the number up to eight digits; then pairs, fours and the whole are added.
    let digits = digits << (64 - 8 * count);
    let pairs = digits.wrapping_mul(10 << 8 | 1) >> 8 & 0x00FF_00FF_00FF_00FF;
    let fours = pairs.wrapping_mul(100 << 16 | 1) >> 16 & 0x0000_FFFF_0000_FFFF;
    (fours.wrapping_mul(10_000 << 32 | 1) >> 32, count)
}

/// Where the first `(` of `text` stands, within the reach of the longest keywords.
#[inline]
fn bracket(text: &[u8]) -> Option<usize> {
    if let Some(first) = text.first_chunk() {
        let found = dispatch!(Level::baseline(), simd => brackets(simd, first));
        if found != 0 {
            return Some(found.trailing_zeros() as usize);
        }
    }
    memchr::memchr(b'(', text.get(..REACH).unwrap_or(text))
}

#[inline(always)]
fn brackets<S: Simd>(simd: S, text: &[u8; 32]) -> u64 {
    let text: u8x32<S> = (*text).simd_into(simd);
    text.simd_eq(b'(').to_bitmask()
}

/// Longer than any keyword of the schemas, with its spaces.
const REACH: usize = 64;

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_bracket_is_found_within_reach() {
        for length in 0..64 {
            let text = format!("{}({}", "X".repeat(length), "()'X".repeat(16));
            assert_eq!(bracket(text.as_bytes()), Some(length));
        }
        assert_eq!(bracket(&[b'X'; 100]), None);
    }

    proptest! {
        #[test]
        fn digits_at_once_agree_with_digits_one_by_one(
            text in r"[0-9]{0,17}[^0-9]{1,3}.{16}"
        ) {
            let count = text.bytes().take_while(u8::is_ascii_digit).count();
            let expected = (1..16).contains(&count).then(|| (text[..count].parse().unwrap(), count));
            prop_assert_eq!(leading_number(text.as_bytes()), expected);
            prop_assert_eq!(digits(text.as_bytes()), Some(count.min(8)));
        }
    }
}
