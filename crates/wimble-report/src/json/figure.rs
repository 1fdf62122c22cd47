//! Figures of a few decimals, in the fewest digits that read back as the same figure.
//!
//! A figure that is rounded to a few decimals is a whole number of units of the last one: its
//! digits are those of that number. They are written by threes, out of a table.

use crate::number::scale;

/// Below this, a decimal is told by its digits: no other of so few digits is the same `f64`.
const MOST: f64 = 1e15;
/// There are at most so many digits before the point.
const MOST_WHOLE: f64 = 1e9;
/// One in so many: lesser figures are written with an exponent.
const LEAST: u64 = 100_000;

/// Appends a figure rounded to so many groups of three decimals, as [`crate::Number`] rounds it, and
/// a comma; false, and nothing appended, if its digits do not tell it so.
#[inline]
pub(super) fn write_rounded<const GROUPS: usize>(out: &mut Vec<u8>, value: f64) -> bool {
    let Some(units) = units::<GROUPS>(value.abs() * scale(GROUPS)) else { return false };
    let (mut text, mut at) = digits::<GROUPS>(value < 0.0, units);
    at = text.put(at, u32::from(b','), 1);
    text.append_to(out, at);
    true
}

/// Appends a figure as it is; false, and nothing appended, if it is not of a few decimals.
pub(super) fn write(out: &mut Vec<u8>, value: f64) -> bool {
    if value.is_sign_negative() && value == 0.0 {
        return false;
    }
    exactly::<1>(out, value) || exactly::<2>(out, value) || exactly::<3>(out, value)
}

fn exactly<const GROUPS: usize>(out: &mut Vec<u8>, value: f64) -> bool {
    let Some(units) = units::<GROUPS>(value.abs() * scale(GROUPS)) else { return false };
    // A quotient of two whole numbers is the f64 nearest to the decimal: the figure itself, or it
    // has more decimals.
    #[expect(clippy::float_cmp, reason = "the very same figure is asked for")]
    let is_it = units as f64 / scale(GROUPS) == value.abs();
    if is_it {
        let (text, at) = digits::<GROUPS>(value < 0.0, units);
        text.append_to(out, at);
    }
    is_it
}

/// How many units of the last decimal a figure has, half a unit up, if their digits are its own.
#[inline]
fn units<const GROUPS: usize>(scaled: f64) -> Option<u64> {
    if scaled.is_nan() || scaled >= MOST.min(MOST_WHOLE * scale(GROUPS)) {
        return None;
    }
    // By way of a signed number, which takes one instruction.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 1e15")]
    let below = scaled as i64 as u64;
    let units = below + u64::from(scaled - below as i64 as f64 >= 0.5);
    (units == 0 || units >= 1000_u64.pow(GROUPS as u32) / LEAST).then_some(units)
}

/// The digits of a number of units of the last decimal, and how many bytes they are: without the
/// noughts at the end, but a point with a digit behind it stays.
#[inline(always)]
fn digits<const GROUPS: usize>(is_negative: bool, units: u64) -> (Digits, usize) {
    let unit = 1000_u64.pow(GROUPS as u32);
    let (whole, rest) = (units / unit, units % unit);
    let mut text = Digits([0; 24]);
    let mut at = 0;
    if is_negative && units > 0 {
        at = text.put(at, u32::from(b'-'), 1);
    }
    match whole {
        0..1000 => at = text.first(at, whole),
        1000..1_000_000 => {
            at = text.first(at, whole / 1000);
            at = text.three(at, whole % 1000);
        }
        _ => {
            at = text.first(at, whole / 1_000_000);
            at = text.three(at, whole / 1000 % 1000);
            at = text.three(at, whole % 1000);
        }
    }
    at = text.put(at, u32::from(b'.'), 1);
    let (first, second, third) = match GROUPS {
        1 => (rest, 0, 0),
        2 => (rest / 1000, rest % 1000, 0),
        _ => (rest / 1_000_000, rest / 1000 % 1000, rest % 1000),
    };
    match (second, third) {
        (0, 0) => at = text.last(at, first),
        (_, 0) => {
            at = text.three(at, first);
            at = text.last(at, second);
        }
        _ => {
            at = text.three(at, first);
            at = text.three(at, second);
            at = text.last(at, third);
        }
    }
    (text, at)
}

/// Digits that are put one behind another: sign, nine, point, nine and comma at most; and room for
/// what is stored behind the last and not kept. Where the next ones go is told back, not kept in here: it
/// then never leaves the processor.
struct Digits([u8; 24]);

impl Digits {
    /// Keeps the first few of four bytes, the lowest first.
    #[inline(always)]
    fn put(&mut self, at: usize, text: u32, keep: usize) -> usize {
        // All four are stored, which takes one instruction; the next store covers the rest.
        let behind = self.0.get_mut(at..).unwrap_or_default();
        if let Some(place) = behind.first_chunk_mut() {
            *place = text.to_le_bytes();
        }
        at + keep
    }

    /// Up to three digits, without the noughts before them.
    #[inline(always)]
    fn first(&mut self, at: usize, number: u64) -> usize {
        let three = Three::of(number);
        self.put(at, three.0 >> (8 * three.noughts_before()), 3 - three.noughts_before())
    }

    /// Three digits.
    #[inline(always)]
    fn three(&mut self, at: usize, number: u64) -> usize {
        self.put(at, Three::of(number).0, 3)
    }

    /// Up to three digits, without the noughts behind them.
    #[inline(always)]
    fn last(&mut self, at: usize, number: u64) -> usize {
        let three = Three::of(number);
        self.put(at, three.0, 3 - three.noughts_behind())
    }

    #[inline(always)]
    fn append_to(&self, out: &mut Vec<u8>, length: usize) {
        // A store of a length that is known beforehand is no call.
        let before = out.len();
        out.extend_from_slice(&self.0);
        out.truncate(before + length);
    }
}

/// Three digits, the first in the lowest byte; in the fourth how many noughts stand before the
/// others (upper half) and behind (lower half): two at most.
#[derive(Clone, Copy)]
struct Three(u32);

static THREES: [Three; 1000] = {
    let mut all = [Three(0); 1000];
    let mut number = 0;
    while number < 1000 {
        let [a, b, c] = [number / 100, number / 10 % 10, number % 10];
        let before = if a > 0 { 0 } else { 1 + (b == 0) as usize };
        let behind = if c > 0 { 0 } else { 1 + (b == 0) as usize };
        let nought = b'0' as usize;
        let text = (a + nought) | (b + nought) << 8 | (c + nought) << 16;
        all[number] = Three((text | (before << 4 | behind) << 24) as u32);
        number += 1;
    }
    all
};

impl Three {
    /// Of a number below 1000.
    #[inline(always)]
    fn of(number: u64) -> Self {
        THREES.get(number as usize).copied().unwrap_or(Self(0))
    }

    #[inline(always)]
    const fn noughts_before(self) -> usize {
        (self.0 >> 28) as usize
    }

    #[inline(always)]
    const fn noughts_behind(self) -> usize {
        (self.0 >> 24 & 15) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Number;

    fn text(value: f64) -> Option<String> {
        let mut out = Vec::new();
        write(&mut out, value).then(|| String::from_utf8(out).unwrap())
    }

    fn rounded<const GROUPS: usize>(value: f64) -> Option<String> {
        let mut out = Vec::new();
        let is_written = write_rounded::<GROUPS>(&mut out, value);
        assert_eq!(out.pop(), is_written.then_some(b','));
        is_written.then(|| String::from_utf8(out).unwrap())
    }

    #[test]
    fn figures_of_a_few_decimals_are_written() {
        for (value, said) in [
            (0.0, "0.0"),
            (22.0, "22.0"),
            (-0.063, "-0.063"),
            (1_089.123, "1089.123"),
            (0.3, "0.3"),
            (0.123_456_789, "0.123456789"),
            (-1.000_001, "-1.000001"),
            (120_000.5, "120000.5"),
            (-999_999_999.998, "-999999999.998"),
            (5_934_000.000_25, "5934000.00025"),
            (0.000_01, "0.00001"),
        ] {
            assert_eq!(text(value).as_deref(), Some(said));
        }
    }

    #[test]
    fn others_are_left_to_the_library() {
        for value in [-0.0, 1e-6, 1e9, 1e16, 1.0 / 3.0, f64::NAN, f64::INFINITY, f64::MIN_POSITIVE]
        {
            assert_eq!(text(value), None, "{value}");
        }
        for value in [1e16, 4e-6, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(rounded::<2>(value), None, "{value}");
        }
    }

    /// Figures of all sizes and of few and many decimals, half of them negative.
    fn figures() -> impl Iterator<Item = f64> {
        let mut seed = 1_u64;
        (0..200_000).map(move |n| {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let power = [1.0, 1e1, 1e2, 1e3, 1e4, 1e6, 1e8, 1e9, 1e10][n % 9];
            let most = 1_u64 << (seed % 54);
            let value = ((seed >> 10) % most) as f64 / power;
            if seed & 512 == 0 { value } else { -value }
        })
    }

    #[test]
    fn the_digits_are_those_of_the_library() {
        let mut written = 0;
        for value in figures() {
            if let Some(text) = text(value) {
                written += 1;
                assert_eq!(text, serde_json::to_string(&value).unwrap());
            }
        }
        assert!(written > 100_000, "{written}");
    }

    #[test]
    fn the_digits_of_what_is_rounded_are_those_of_the_library() {
        let mut written = 0;
        for value in figures().chain([-0.0, -0.000_1, 0.000_5, 0.062_5, -0.062_5]) {
            for (text, number) in [
                (rounded::<1>(value), Number::mm(value)),
                (rounded::<2>(value), Number::m(value)),
                (rounded::<3>(value), Number::direction(value)),
            ] {
                if let Some(text) = text {
                    written += 1;
                    assert_eq!(text, serde_json::to_string(&number).unwrap(), "{value}");
                }
            }
        }
        assert!(written > 300_000, "{written}");
    }
}
