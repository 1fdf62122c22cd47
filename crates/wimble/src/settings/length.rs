//! Lengths as people write them: `5 mm`, `1/4 in`, `1-1/4 in`, `0.5 m`.

/// Reads a length with its unit, in millimetres.
///
/// # Errors
/// What is wrong with it, for a person.
pub(super) fn read_mm(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let unit_at = trimmed.find(|c: char| c.is_alphabetic() || c == '"' || c == '\'');
    let Some(unit_at) = unit_at else {
        return Err(format!("`{text}` has no unit; write for example \"5 mm\" or \"1/4 in\""));
    };
    let (figure, unit) = trimmed.split_at(unit_at);
    let per_unit = match unit.trim() {
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" | "\"" => 25.4,
        "ft" | "foot" | "feet" | "'" => 304.8,
        other => return Err(format!("`{other}` is not a unit of length; use mm, cm, m, in or ft")),
    };
    let value =
        mixed(figure.trim()).ok_or_else(|| format!("`{}` is not a figure", figure.trim()))?;
    let mm = value * per_unit;
    if !mm.is_finite() || mm < 0.0 {
        return Err(format!("`{text}` is not a length of zero or more"));
    }
    Ok(mm)
}

/// `5`, `0.5`, `1/4`, `1-1/4`, `1 1/4`.
fn mixed(text: &str) -> Option<f64> {
    if let Some((whole, fraction)) = text.split_once(['-', ' '])
        && fraction.contains('/')
        && !whole.is_empty()
    {
        return Some(plain(whole)? + quotient(fraction.trim())?);
    }
    if text.contains('/') { quotient(text) } else { plain(text) }
}

fn quotient(text: &str) -> Option<f64> {
    let (over, under) = text.split_once('/')?;
    let under = plain(under.trim())?;
    (under > 0.0).then_some(plain(over.trim())? / under)
}

/// Digits with at most one point; no signs, no exponents, no `inf`.
fn plain(text: &str) -> Option<f64> {
    let fits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    if fits { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::read_mm;

    #[test]
    fn metric_and_imperial_lengths_are_read() {
        for (text, mm) in [
            ("5 mm", 5.0),
            ("5mm", 5.0),
            ("0.5 cm", 5.0),
            ("1.2 m", 1200.0),
            ("1/4 in", 6.35),
            ("1-1/4 in", 31.75),
            ("1 1/4\"", 31.75),
            ("2 ft", 609.6),
            ("0 mm", 0.0),
        ] {
            let read = read_mm(text).unwrap();
            assert!((read - mm).abs() < 1e-9, "{text}: {read}");
        }
    }

    #[test]
    fn what_is_no_length_says_why() {
        for (text, why) in [
            ("5", "no unit"),
            ("", "no unit"),
            ("5 furlongs", "not a unit"),
            ("five mm", "not a unit"),
            ("-5 mm", "not a figure"),
            ("1/0 in", "not a figure"),
            ("1e3 mm", "not a unit"),
        ] {
            let message = read_mm(text).unwrap_err();
            assert!(message.contains(why), "{text}: {message}");
        }
    }
}
