//! `2000..4500:250`: a range of lengths to make a chart of.

use anyhow::{Result, bail};
use wimble_sheet::{TapeUnit, read_tape};

/// More rows than this nobody reads.
const MOST: usize = 200;

/// The lengths that an option gives, with the unit in which they were typed.
pub(super) fn lengths(option: &str, text: &str) -> Result<(Vec<f64>, TapeUnit)> {
    let read = |text: &str, bare: TapeUnit| match read_tape(text, bare) {
        Ok(taped) if taped.mm > 0.0 => Ok(taped),
        Ok(_) => bail!("--{option} {text}: the length has to be more than nothing"),
        Err(why) => bail!("--{option}: {why}"),
    };
    let Some((from, rest)) = text.split_once("..") else {
        let taped = read(text, TapeUnit::Mm)?;
        return Ok((vec![taped.mm], taped.unit));
    };
    let Some((to, step)) = rest.split_once(':') else {
        bail!("--{option} {text}: a range needs its step, for example 2000..4500:250");
    };
    // `97..245:25` is all in the unit of the end that names one.
    let bare = [from, to, step]
        .into_iter()
        .filter_map(|part| read_tape(part, TapeUnit::Mm).ok())
        .find(|taped| taped.unit == TapeUnit::Inch)
        .map_or(TapeUnit::Mm, |taped| taped.unit);
    let (from, to, step) = (read(from, bare)?.mm, read(to, bare)?.mm, read(step, bare)?.mm);
    if to < from {
        bail!("--{option} {text}: the range ends before it begins");
    }
    let mut all = Vec::new();
    let mut next = from;
    while next <= to + 1e-6 {
        if all.len() == MOST {
            bail!("--{option} {text}: that is more than {MOST} rows; take a larger step");
        }
        all.push(next);
        next += step;
    }
    Ok((all, bare))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_or_a_range_is_read() {
        assert_eq!(lengths("span", "3.6 m").unwrap().0, [3600.0]);
        assert_eq!(lengths("span", "2000..3000:500").unwrap().0, [2000.0, 2500.0, 3000.0]);
        let (feet, unit) = lengths("span", "8 ft..10 ft:1 ft").unwrap();
        assert_eq!((feet.len(), unit), (3, TapeUnit::Inch));
    }

    #[test]
    fn a_bad_range_says_why() {
        for (text, why) in [
            ("2000..3000", "needs its step"),
            ("3000..2000:100", "ends before it begins"),
            ("2000..3000:0", "more than nothing"),
            ("1..100000:1", "larger step"),
            ("x", "not a unit"),
        ] {
            let message = lengths("span", text).unwrap_err().to_string();
            assert!(message.contains(why) && message.starts_with("--span"), "{text}: {message}");
        }
    }
}
