//! Numbers as exporters write them.
//!
//! The standard asks for a dot in every real and a capital E. Real files hold `1e-05`, `.5`, `+3`,
//! `1.3E+14.` and Fortran's `1.D-5`: all are read. `1.#INF`, `1.#IND` and values beyond the range
//! of a double are not finite and have no value.

/// A number of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Number {
    Integer(i64),
    Real(f64),
    /// Infinite, or "not a number" as some C libraries print it.
    NotFinite,
}

/// Length of the number at the head of `bytes` if it is spelled as the standard asks, or nearly, and
/// small enough to be finite beyond doubt; 0 leaves the question to [`token`] and [`read`].
pub(crate) fn plain(bytes: &[u8]) -> usize {
    let digits = |at: usize| {
        let rest = bytes.get(at..).unwrap_or_default();
        at + rest.iter().position(|byte| !byte.is_ascii_digit()).unwrap_or(rest.len())
    };
    let start = usize::from(matches!(bytes.first(), Some(b'-' | b'+')));
    let mut at = digits(start);
    // A double holds numbers of 300 digits.
    if at == start || at > 100 {
        return 0;
    }
    if bytes.get(at) == Some(&b'.') {
        at = digits(at + 1);
    }
    if matches!(bytes.get(at), Some(b'E' | b'e')) {
        at += 1;
        at += usize::from(matches!(bytes.get(at), Some(b'-' | b'+')));
        let exponent = at;
        at = digits(at);
        if !(1..=2).contains(&(at - exponent)) {
            return 0;
        }
    }
    match bytes.get(at) {
        Some(b',' | b')' | b' ') | None => at,
        _ => 0,
    }
}

/// Length of the number token at the head of `bytes`, 0 if none stands there.
pub(crate) fn token(bytes: &[u8]) -> usize {
    let signs = bytes.iter().take_while(|&&byte| byte == b'+' || byte == b'-').count();
    let body = bytes.get(signs..).unwrap_or_default();
    let starts = match body {
        [b'0'..=b'9', ..] => true,
        [b'.', next, ..] => next.is_ascii_digit(),
        _ => false,
    };
    if !starts || signs > 1 {
        return 0;
    }
    let mut length = signs
        + body
            .iter()
            .take_while(|&&byte| {
                byte.is_ascii_digit()
                    || matches!(byte, b'.' | b'+' | b'-' | b'E' | b'e' | b'D' | b'd')
            })
            .count();
    // 1.#INF, 1.#IND, 1.#QNAN
    if bytes.get(length) == Some(&b'#') {
        let tail = bytes.get(length + 1..).unwrap_or_default();
        length += 1 + tail.iter().take_while(|byte| byte.is_ascii_alphanumeric()).count();
    }
    length
}

/// So many digits make a whole number that a double holds.
const EXACT: usize = 15;
/// Powers of ten, each a double.
const POWERS: [f64; EXACT + 1] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// The number at the head of `bytes` and its length, if it is written in few digits, without an
/// exponent, and a comma, a bracket or nothing follows.
///
/// Its digits without the point are a whole number that a double holds, and so is the power of ten
/// that it is divided by: the quotient is the double nearest to it.
#[inline]
pub(crate) fn short(bytes: &[u8]) -> Option<(Number, usize)> {
    let is_negative = bytes.first() == Some(&b'-');
    let start = usize::from(is_negative);
    let mut whole = 0i64;
    let mut point = None;
    for at in start..start + EXACT + 1 {
        match bytes.get(at) {
            Some(digit @ b'0'..=b'9') => whole = 10 * whole + i64::from(digit - b'0'),
            Some(b'.') if point.is_none() && at > start => point = Some(at),
            Some(b',' | b')') | None if at > start => {
                let number = match point {
                    Some(point) => {
                        let real = whole as f64 / POWERS.get(at - point - 1)?;
                        Number::Real(if is_negative { -real } else { real })
                    }
                    None => Number::Integer(if is_negative { -whole } else { whole }),
                };
                return Some((number, at));
            }
            _ => return None,
        }
    }
    None
}

/// The value of a number token; `None` if it is none in any accepted spelling.
pub(crate) fn read(token: &[u8]) -> Option<Number> {
    match short(token) {
        Some((number, length)) if length == token.len() => Some(number),
        _ => read_long(token),
    }
}

/// The same, of any length.
fn read_long(token: &[u8]) -> Option<Number> {
    if let Some(integer) = read_integer(token) {
        return Some(Number::Integer(integer));
    }
    let real = |text: &[u8]| fast_float2::parse::<f64, _>(text).ok();
    let value = real(token).or_else(|| {
        // `1.3E+14.`: a dot too many; `1.D-5`: the exponent of another language.
        let text = token.strip_suffix(b".").unwrap_or(token);
        let text: Vec<u8> =
            text.iter().map(|&b| if matches!(b, b'D' | b'd') { b'E' } else { b }).collect();
        real(&text)
    });
    match value {
        Some(value) if value.is_finite() => Some(Number::Real(value)),
        Some(_) => Some(Number::NotFinite),
        None if token.contains(&b'#') => Some(Number::NotFinite),
        None => None,
    }
}

/// Sign and digits that fit in 64 bits.
fn read_integer(token: &[u8]) -> Option<i64> {
    let (negative, digits) = match token {
        [b'-', digits @ ..] => (true, digits),
        [b'+', digits @ ..] => (false, digits),
        digits => (false, digits),
    };
    if digits.is_empty() {
        return None;
    }
    digits.iter().try_fold(0i64, |value, &byte| {
        if !byte.is_ascii_digit() {
            return None;
        }
        let digit = i64::from(byte - b'0');
        let value = value.checked_mul(10)?;
        if negative { value.checked_sub(digit) } else { value.checked_add(digit) }
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn spellings_of_the_standard_and_of_exporters() {
        for (text, value) in [
            ("0", Number::Integer(0)),
            ("-17", Number::Integer(-17)),
            ("+5", Number::Integer(5)),
            ("-9223372036854775808", Number::Integer(i64::MIN)),
            ("9223372036854775808", Number::Real(9.223_372_036_854_776e18)),
            ("1.", Number::Real(1.)),
            ("-0.", Number::Real(-0.)),
            ("1.E-05", Number::Real(1e-5)),
            ("1e-05", Number::Real(1e-5)),
            ("1E-5", Number::Real(1e-5)),
            (".5", Number::Real(0.5)),
            ("-.5", Number::Real(-0.5)),
            ("1.3E+14.", Number::Real(1.3e14)),
            ("1.D-5", Number::Real(1e-5)),
            ("4.440892099e-013", Number::Real(4.440892099e-13)),
            ("1.#INF", Number::NotFinite),
            ("-1.#IND", Number::NotFinite),
            ("1.E999", Number::NotFinite),
        ] {
            assert_eq!(token(text.as_bytes()), text.len(), "{text}");
            assert_eq!(read(text.as_bytes()), Some(value), "{text}");
        }
    }

    #[test]
    fn what_is_no_number() {
        for text in ["", ".T.", "-", "+-1", "E5", "#1", ".", "nan", "inf"] {
            assert_eq!(token(text.as_bytes()), 0, "{text}");
        }
        for text in ["1-2", "1E", "1.2.3", "1EE5"] {
            assert_eq!(read(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn numbers_of_few_digits() {
        for (text, told) in [
            ("4200.0,", Some((Number::Real(4200.), 6))),
            ("-0.,", Some((Number::Real(-0.), 3))),
            ("17)", Some((Number::Integer(17), 2))),
            ("-17)", Some((Number::Integer(-17), 3))),
            ("12345678901.23456,", None),
            ("1.5", Some((Number::Real(1.5), 3))),
            ("123456789012345", Some((Number::Integer(123_456_789_012_345), 15))),
            ("1234567890123456", None),
            ("1.5 ", None),
            ("1.E-5,", None),
            (".5,", None),
            ("-.5,", None),
            ("1.5.,", None),
            (",", None),
            ("-)", None),
            ("", None),
        ] {
            assert_eq!(short(text.as_bytes()), told, "{text}");
        }
    }

    proptest! {
        #[test]
        fn a_number_of_few_digits_is_read_as_any_other(text in r"-?[0-9]{0,9}\.?[0-9]{0,9}[,)]?") {
            if let Some((number, length)) = short(text.as_bytes()) {
                prop_assert_eq!(plain(text.as_bytes()), length);
                let twin = read_long(&text.as_bytes()[..length]).unwrap();
                match (number, twin) {
                    (Number::Real(a), Number::Real(b)) => prop_assert_eq!(a.to_bits(), b.to_bits()),
                    pair => prop_assert_eq!(pair.0, pair.1),
                }
            }
        }

        #[test]
        fn what_looks_plain_is_a_finite_number(text in r"[+-]?[0-9]{0,3}\.?[0-9]{0,3}([Ee.#D][+-]?[0-9]{0,4})?[,) #.x]?") {
            let length = plain(text.as_bytes());
            if length > 0 {
                prop_assert_eq!(token(text.as_bytes()), length);
                let value = read(&text.as_bytes()[..length]);
                prop_assert!(matches!(value, Some(Number::Integer(_) | Number::Real(_))));
            }
        }

        #[test]
        fn any_real_comes_back(value in any::<f64>().prop_filter("finite", |v| v.is_finite())) {
            let text = format!("{value:?}");
            match read(text.as_bytes()) {
                Some(Number::Real(back)) => prop_assert_eq!(back.to_bits(), value.to_bits()),
                other => prop_assert!(false, "{:?}", other),
            }
        }
    }
}
