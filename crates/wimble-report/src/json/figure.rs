//! Figures of a few decimals, in the fewest digits that read back as the same figure.

/// Decimals that figures of the report are rounded to ([`crate::Number`]), with the powers of ten.
const DECIMALS: [(usize, f64); 3] = [(3, 1e3), (6, 1e6), (9, 1e9)];
/// Below this, a decimal is told by its digits: no other of so few digits is the same `f64`.
const MOST: f64 = 1e15;
/// Lesser figures are written with an exponent.
const LEAST: f64 = 1e-5;

/// Appends a figure; false, and nothing appended, if it is not of a few decimals.
pub(crate) fn write(out: &mut Vec<u8>, value: f64) -> bool {
    if value.is_sign_negative() && value == 0.0 || value != 0.0 && value.abs() < LEAST {
        return false;
    }
    for (decimals, power) in DECIMALS {
        let scaled = value.abs() * power;
        if scaled.is_nan() || scaled >= MOST {
            return false;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "< 1e15")]
        let whole = (scaled + 0.5) as u64;
        // A quotient of two whole numbers is the f64 nearest to the decimal: the figure itself, or
        // it has more decimals.
        #[expect(clippy::float_cmp, reason = "the very same figure is asked for")]
        if whole as f64 / power == value.abs() {
            digits(out, value < 0.0, whole, decimals);
            return true;
        }
    }
    false
}

/// Appends a number of units of the last decimal, without the noughts at its end.
fn digits(out: &mut Vec<u8>, is_negative: bool, mut number: u64, mut decimals: usize) {
    // A point with a digit behind it stays.
    while decimals > 1 && number.is_multiple_of(10) {
        number /= 10;
        decimals -= 1;
    }
    // From the last digit on: 15 at most, or 9 behind the point and one before it; point and sign.
    let mut text = [0; 17];
    let mut at = text.len();
    let mut put = |byte: u8| {
        at -= 1;
        text[at] = byte;
    };
    loop {
        put(b'0' + (number % 10) as u8);
        number /= 10;
        match decimals {
            0 if number == 0 => break,
            0 => {}
            1 => {
                put(b'.');
                decimals = 0;
            }
            _ => decimals -= 1,
        }
    }
    if is_negative {
        put(b'-');
    }
    out.extend_from_slice(&text[at..]);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(value: f64) -> Option<String> {
        let mut out = Vec::new();
        write(&mut out, value).then(|| String::from_utf8(out).unwrap())
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
            (0.000_01, "0.00001"),
        ] {
            assert_eq!(text(value).as_deref(), Some(said));
        }
    }

    #[test]
    fn others_are_left_to_the_library() {
        for value in [-0.0, 1e-6, 1e16, 1.0 / 3.0, f64::NAN, f64::INFINITY, f64::MIN_POSITIVE] {
            assert_eq!(text(value), None, "{value}");
        }
    }

    #[test]
    fn the_digits_are_those_of_the_library() {
        let mut seed = 1_u64;
        let mut written = 0;
        for n in 0..200_000 {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let power = [1.0, 1e1, 1e2, 1e3, 1e4, 1e6, 1e8, 1e9, 1e10][n % 9];
            let most = 1_u64 << (seed % 54);
            let value = ((seed >> 10) % most) as f64 / power;
            let value = if seed & 512 == 0 { value } else { -value };
            if let Some(text) = text(value) {
                written += 1;
                assert_eq!(text, serde_json::to_string(&value).unwrap());
            }
        }
        assert!(written > 100_000, "{written}");
    }
}
