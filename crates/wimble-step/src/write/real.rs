//! Writing numbers.

/// A number that is infinite or not a number: a STEP file cannot hold it.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{0} is not a finite number and cannot be written")]
pub struct NotFinite(pub f64);

/// A real as Part 21 wants it: always with a dot, the exponent with a capital E, in the fewest
/// digits that read back as the same number.
///
/// # Errors
/// When the number is not finite.
///
/// ```
/// assert_eq!(wimble_step::format_real(220.0)?, "220.");
/// assert_eq!(wimble_step::format_real(1e-7)?, "1.E-7");
/// # Ok::<(), wimble_step::NotFinite>(())
/// ```
pub fn format_real(value: f64) -> Result<String, NotFinite> {
    if !value.is_finite() {
        return Err(NotFinite(value));
    }
    let shortest = format!("{value:?}");
    let (mantissa, exponent) = shortest.split_once('e').unwrap_or((&shortest, ""));
    let mut real =
        mantissa.strip_suffix('0').filter(|m| m.ends_with('.')).unwrap_or(mantissa).to_owned();
    if !real.contains('.') {
        real.push('.');
    }
    if !exponent.is_empty() {
        real.push('E');
        real.push_str(exponent);
    }
    Ok(real)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::number::{self, Number};

    #[test]
    fn there_is_always_a_dot() {
        for (value, text) in [
            (0.0, "0."),
            (-0.0, "-0."),
            (1.0, "1."),
            (10.0, "10."),
            (0.1, "0.1"),
            (-1234.5678, "-1234.5678"),
            (1e16, "1.E16"),
            (1.5e-9, "1.5E-9"),
            (f64::MAX, "1.7976931348623157E308"),
        ] {
            assert_eq!(format_real(value).as_deref(), Ok(text));
        }
        assert!(format_real(f64::NAN).is_err());
        assert!(format_real(f64::INFINITY).is_err());
    }

    proptest! {
        #[test]
        fn every_finite_real_comes_back(bits in any::<u64>()) {
            let value = f64::from_bits(bits);
            if let Ok(text) = format_real(value) {
                prop_assert!(text.contains('.'));
                match number::read(text.as_bytes()) {
                    Some(Number::Real(back)) => prop_assert_eq!(back.to_bits(), bits),
                    other => prop_assert!(false, "{}: {:?}", text, other),
                }
            } else {
                prop_assert!(!value.is_finite());
            }
        }
    }
}
