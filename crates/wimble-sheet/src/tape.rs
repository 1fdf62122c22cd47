//! Lengths as they are read off a tape: millimetres, metres, feet, inches and their fractions.

/// What a length is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TapeUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Feet, inches and sixteenths.
    Inch,
}

/// Towards which side a figure is rounded when it is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounded {
    /// To the nearest.
    Nearest,
    /// Down: a greatest size stays within the limit.
    Down,
    /// Up: a least distance is kept.
    Up,
}

/// A length with the unit that it was written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taped {
    /// The length.
    pub mm: f64,
    /// What it was counted in; of a bare figure the unit that was asked for.
    pub unit: TapeUnit,
}

const INCH_MM: f64 = 25.4;

/// Reads `1200`, `3.6 m`, `7-1/4 in`, `12' 6 1/2"`, `12 ft 6`. A bare figure is in `bare`; one
/// with a fraction is in inches.
///
/// # Errors
/// Why it is no length, for a person.
pub fn read_tape(text: &str, bare: TapeUnit) -> Result<Taped, String> {
    let words = split(text)?;
    let wrong = || format!("`{}` is not a length; {HOW}", text.trim());
    let mut rest = words.as_slice();
    let mut total = 0.0;
    let mut unit = None;
    let mut last: Option<Per> = None;
    if rest.is_empty() {
        return Err(format!("a length is missing; {HOW}"));
    }
    while !rest.is_empty() {
        let (value, fraction, after) = figure(rest).ok_or_else(wrong)?;
        let (per, written, after) = match after.split_first() {
            Some((Word::Unit(per), after)) => (*per, true, after),
            Some(_) => return Err(wrong()),
            // `12 ft 6` means inches; a bare fraction does too.
            None if last == Some(Per::Foot) => (Per::Inch, false, after),
            None if last.is_some() => return Err(wrong()),
            None if fraction || bare == TapeUnit::Inch => (Per::Inch, false, after),
            None => (Per::Mm, false, after),
        };
        // Feet before inches, metres before millimetres, each once; nothing mixed.
        let of_word =
            if matches!(per, Per::Inch | Per::Foot) { TapeUnit::Inch } else { TapeUnit::Mm };
        if last.is_some_and(|last| per >= last) || unit.is_some_and(|u| u != of_word) {
            return Err(wrong());
        }
        unit = Some(if written || fraction || last.is_some() { of_word } else { bare });
        last = Some(per);
        total += value * per.mm();
        rest = after;
    }
    if !total.is_finite() || total > LONGEST_MM {
        return Err(format!("`{}` is longer than anything that is built", text.trim()));
    }
    Ok(Taped { mm: total, unit: unit.unwrap_or(bare) })
}

/// How a length is written.
const HOW: &str = "write for example 1200, 3.6 m, 7-1/4 in or 12' 6-1/2\"";
/// A kilometre.
const LONGEST_MM: f64 = 1e6;

/// A unit, the smaller first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Per {
    Mm,
    Cm,
    Inch,
    Foot,
    Metre,
}

impl Per {
    const fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::Inch => INCH_MM,
            Self::Foot => 12.0 * INCH_MM,
            Self::Metre => 1000.0,
        }
    }
}

enum Word {
    /// A figure without a sign.
    Plain(f64),
    /// A quotient (`1/4`).
    Part(f64),
    Unit(Per),
}

/// A figure at the front: `6`, `6 1/2`, `1/2`; its value, whether it has a fraction, the rest.
fn figure(words: &[Word]) -> Option<(f64, bool, &[Word])> {
    match words {
        [Word::Plain(whole), Word::Part(part), rest @ ..] if whole.fract() == 0.0 => {
            Some((whole + part, true, rest))
        }
        [Word::Plain(value), rest @ ..] => Some((*value, false, rest)),
        [Word::Part(part), rest @ ..] => Some((*part, true, rest)),
        _ => None,
    }
}

fn split(text: &str) -> Result<Vec<Word>, String> {
    let mut words = Vec::new();
    let chars: Vec<char> = text.trim().chars().collect();
    let mut at = 0;
    while let Some(&c) = chars.get(at) {
        let end =
            |fits: &dyn Fn(char) -> bool| at + chars[at..].iter().take_while(|c| fits(**c)).count();
        if c.is_whitespace() || (c == '-' && at > 0) {
            at += 1;
        } else if c.is_ascii_digit() || c == '.' {
            let to = end(&|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '/'));
            let token: String = chars[at..to].iter().collect();
            words.push(number(&token)?);
            at = to;
        } else if let Some(part) = glyph(c) {
            words.push(Word::Part(part));
            at += 1;
        } else if "'\"′″’”".contains(c) {
            // Two feet marks are an inch mark.
            let double = matches!(c, '"' | '″' | '”');
            let twice = !double && chars.get(at + 1) == Some(&c);
            words.push(Word::Unit(if double || twice { Per::Inch } else { Per::Foot }));
            at += if twice { 2 } else { 1 };
        } else if c.is_alphabetic() {
            let to = end(&char::is_alphabetic);
            let token: String = chars[at..to].iter().collect::<String>().to_lowercase();
            words.push(Word::Unit(match token.as_str() {
                "mm" => Per::Mm,
                "cm" => Per::Cm,
                "m" | "metre" | "metres" | "meter" | "meters" => Per::Metre,
                "in" | "inch" | "inches" => Per::Inch,
                "ft" | "foot" | "feet" => Per::Foot,
                _ => return Err(format!("`{token}` is not a unit of length; use mm, m, in or ft")),
            }));
            at = to;
        } else {
            return Err(format!("`{}` is not a length; {HOW}", text.trim()));
        }
    }
    Ok(words)
}

/// `1200`, `3.6`, `3,6`, `1/4`.
fn number(token: &str) -> Result<Word, String> {
    let plain = |text: &str| {
        let fits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        if fits { text.parse::<f64>().ok() } else { None }
    };
    let wrong = || format!("`{token}` is not a figure");
    if let Some((over, under)) = token.split_once('/') {
        let (over, under) = (plain(over).ok_or_else(wrong)?, plain(under).ok_or_else(wrong)?);
        return if under > 0.0 { Ok(Word::Part(over / under)) } else { Err(wrong()) };
    }
    if let Some((whole, rest)) = token.split_once(',') {
        if rest.len() == 3 {
            return Err(format!("`{token}` can be read two ways; write it without the comma"));
        }
        return plain(&format!("{whole}.{rest}")).map(Word::Plain).ok_or_else(wrong);
    }
    plain(token).map(Word::Plain).ok_or_else(wrong)
}

const fn glyph(c: char) -> Option<f64> {
    Some(match c {
        '¼' => 0.25,
        '½' => 0.5,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

/// A length with its unit as a person reads it off a tape: `1170 mm`, `12.5 mm`, `3 ft 10-1/16 in`.
/// Millimetres to a tenth, inches to a sixteenth.
#[must_use]
pub fn print_tape(mm: f64, unit: TapeUnit, rounded: Rounded) -> String {
    if !mm.is_finite() {
        return "-".to_owned();
    }
    match unit {
        TapeUnit::Mm => format!("{} mm", bare_tape(mm, unit, rounded)),
        TapeUnit::Inch => bare_tape(mm, unit, rounded),
    }
}

/// The same without `mm`, for columns whose head names the unit.
#[must_use]
pub fn bare_tape(mm: f64, unit: TapeUnit, rounded: Rounded) -> String {
    if !mm.is_finite() {
        return "-".to_owned();
    }
    let to_whole = |value: f64| match rounded {
        Rounded::Nearest => value.round(),
        Rounded::Down => (value + 1e-6).floor(),
        Rounded::Up => (value - 1e-6).ceil(),
    };
    if unit == TapeUnit::Mm {
        let tenth = to_whole(mm * 10.0) / 10.0;
        return format!("{}", if tenth == 0.0 { 0.0 } else { tenth });
    }
    let sixteenths = to_whole(mm / INCH_MM * 16.0);
    let sign = if sixteenths < 0.0 { "-" } else { "" };
    let all = sixteenths.abs() as u64;
    let (feet, inches, mut part, mut of) = (all / 192, all % 192 / 16, all % 16, 16);
    while part > 0 && part % 2 == 0 {
        (part, of) = (part / 2, of / 2);
    }
    let inches = match (inches, part) {
        (whole, 0) => format!("{whole} in"),
        (0, part) => format!("{part}/{of} in"),
        (whole, part) => format!("{whole}-{part}/{of} in"),
    };
    match (feet, inches.as_str()) {
        (0, _) => format!("{sign}{inches}"),
        (feet, "0 in") => format!("{sign}{feet} ft"),
        (feet, _) => format!("{sign}{feet} ft {inches}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_stands_on_a_tape_is_read() {
        use TapeUnit::{Inch, Mm};
        for (text, bare, mm, unit) in [
            ("1200", Mm, 1200.0, Mm),
            ("3.6 m", Mm, 3600.0, Mm),
            ("3,6m", Mm, 3600.0, Mm),
            ("22mm", Inch, 22.0, Mm),
            ("1 m 200 mm", Mm, 1200.0, Mm),
            ("7-1/4", Mm, 184.15, Inch),
            ("7 1/4 in", Mm, 184.15, Inch),
            ("7¼\"", Mm, 184.15, Inch),
            ("12' 6-1/2\"", Mm, 3822.7, Inch),
            ("12'-6 1/2\"", Mm, 3822.7, Inch),
            ("12 ft 6", Mm, 3810.0, Inch),
            ("12’ 6’’", Mm, 3810.0, Inch),
            ("12ft", Mm, 3657.6, Inch),
            ("1/2", Mm, 12.7, Inch),
            ("9.25", Inch, 234.95, Inch),
            ("0", Mm, 0.0, Mm),
        ] {
            let read = read_tape(text, bare).unwrap();
            assert!((read.mm - mm).abs() < 1e-9, "{text}: {read:?}");
            assert_eq!(read.unit, unit, "{text}");
        }
    }

    #[test]
    fn what_is_no_length_says_why() {
        for (text, why) in [
            ("", "missing"),
            ("about 5", "`about` is not a unit"),
            ("5 yards", "`yards` is not a unit"),
            ("-5", "not a length"),
            ("1/0 in", "not a figure"),
            ("1,200", "two ways"),
            ("6 in 2 ft", "not a length"),
            ("5 mm 2 in", "not a length"),
            ("5 5", "not a length"),
            ("mm", "not a length"),
            ("1e9 m", "`e` is not a unit"),
            ("99999999", "longer than"),
            ("12' 6\" 3", "not a length"),
        ] {
            let message = read_tape(text, TapeUnit::Mm).unwrap_err();
            assert!(message.contains(why), "{text}: {message}");
        }
    }

    #[test]
    fn figures_are_printed_to_the_safe_side() {
        use TapeUnit::{Inch, Mm};
        for (mm, unit, rounded, text) in [
            (27.5, Mm, Rounded::Down, "27.5 mm"),
            (27.59, Mm, Rounded::Down, "27.5 mm"),
            (252.01, Mm, Rounded::Up, "252.1 mm"),
            (900.0, Mm, Rounded::Up, "900 mm"),
            (38.1, Inch, Rounded::Down, "1-1/2 in"),
            (30.69, Inch, Rounded::Down, "1-3/16 in"),
            (30.69, Inch, Rounded::Up, "1-1/4 in"),
            (1219.2, Inch, Rounded::Nearest, "4 ft"),
            (3822.7, Inch, Rounded::Nearest, "12 ft 6-1/2 in"),
            (6.35, Inch, Rounded::Nearest, "1/4 in"),
            (-6.35, Inch, Rounded::Nearest, "-1/4 in"),
            (f64::NAN, Inch, Rounded::Nearest, "-"),
        ] {
            assert_eq!(print_tape(mm, unit, rounded), text);
        }
    }

    proptest! {
        #[test]
        fn what_is_printed_is_read_again(sixteenths in 0_u32..20_000, tenths in 0_u32..200_000) {
            let inch = f64::from(sixteenths) * INCH_MM / 16.0;
            let text = print_tape(inch, TapeUnit::Inch, Rounded::Nearest);
            prop_assert!((read_tape(&text, TapeUnit::Mm).unwrap().mm - inch).abs() < 1e-6, "{}", text);
            let mm = f64::from(tenths) / 10.0;
            let text = print_tape(mm, TapeUnit::Mm, Rounded::Nearest);
            prop_assert!((read_tape(&text, TapeUnit::Inch).unwrap().mm - mm).abs() < 1e-6);
        }

        #[test]
        fn nothing_that_is_typed_breaks_it(text in "\\PC{0,20}") {
            let _ = read_tape(&text, TapeUnit::Mm);
        }
    }
}
