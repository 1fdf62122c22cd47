//! Lengths as a pack writes them: `min(0.125 h, 35 mm)`, `1-1/4 in`, `2 h + 10 mm`.
//!
//! Sums of constants times `h`, `b`, `span`, `length`, and lengths with a unit, `min` and `max`.
//! No subtraction, no division of lengths, nothing of the cut itself: so every limit can be
//! solved for a place or a size, and never turns round as the member grows. Fractions are exact
//! (`1/6 h`).

use std::ops::Range;

/// A length in terms of the member.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Length {
    /// Millimetres.
    Mm(f64),
    /// A constant times one of the member's lengths.
    Times(f64, Name),
    /// All of them added.
    Sum(Vec<Self>),
    /// The least of them.
    Least(Vec<Self>),
    /// The greatest of them.
    Greatest(Vec<Self>),
}

/// The lengths of a member that a pack may use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Name {
    /// Depth `h`.
    Depth,
    /// Breadth `b`.
    Breadth,
    /// Span, by the pack's basis.
    Span,
    /// Length of the member.
    Length,
}

impl Name {
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Depth => "h",
            Self::Breadth => "b",
            Self::Span => "span",
            Self::Length => "length",
        }
    }
}

/// What the names stand for at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Given {
    pub(crate) depth_mm: f64,
    pub(crate) breadth_mm: f64,
    pub(crate) span_mm: Option<f64>,
    pub(crate) length_mm: f64,
}

/// Why a text is no length, and where in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct NotALength {
    pub(crate) at: Range<usize>,
    pub(crate) message: String,
}

impl Length {
    /// Reads a length.
    pub(crate) fn parse(text: &str) -> Result<Self, NotALength> {
        let mut reader = Reader { text, at: 0 };
        let length = reader.sum()?;
        reader.space();
        if reader.at < text.len() {
            return Err(reader.odd());
        }
        Ok(length)
    }

    /// Its value in millimetres; `None` if it needs the span and there is none.
    pub(crate) fn mm(&self, given: &Given) -> Option<f64> {
        match self {
            Self::Mm(mm) => Some(*mm),
            Self::Times(factor, name) => Some(
                factor
                    * match name {
                        Name::Depth => given.depth_mm,
                        Name::Breadth => given.breadth_mm,
                        Name::Span => given.span_mm?,
                        Name::Length => given.length_mm,
                    },
            ),
            Self::Sum(parts) => parts.iter().map(|part| part.mm(given)).sum(),
            Self::Least(parts) => extreme(parts, given, f64::min),
            Self::Greatest(parts) => extreme(parts, given, f64::max),
        }
    }

    /// The constant, if this is nothing but a constant times `name`.
    pub(crate) fn factor_of(&self, wanted: Name) -> Option<f64> {
        match self {
            Self::Times(factor, name) if *name == wanted => Some(*factor),
            Self::Mm(mm) if *mm == 0.0 => Some(0.0),
            _ => None,
        }
    }
}

fn extreme(parts: &[Length], given: &Given, pick: fn(f64, f64) -> f64) -> Option<f64> {
    let mut values = parts.iter().map(|part| part.mm(given));
    let first = values.next()??;
    values.try_fold(first, |best, next| Some(pick(best, next?)))
}

impl std::fmt::Display for Length {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let list = |f: &mut std::fmt::Formatter<'_>, parts: &[Self], between: &str| {
            for (n, part) in parts.iter().enumerate() {
                if n > 0 {
                    f.write_str(between)?;
                }
                write!(f, "{part}")?;
            }
            Ok(())
        };
        match self {
            Self::Mm(mm) => write!(f, "{} mm", tidy(*mm)),
            Self::Times(factor, name) => match fraction(*factor) {
                Some(text) if text == "1" => write!(f, "{}", name.word()),
                Some(text) => write!(f, "{text} {}", name.word()),
                None => write!(f, "{} {}", tidy(*factor), name.word()),
            },
            Self::Sum(parts) => list(f, parts, " + "),
            Self::Least(parts) => {
                f.write_str("the less of ")?;
                list(f, parts, " and ")
            }
            Self::Greatest(parts) => {
                f.write_str("the greater of ")?;
                list(f, parts, " and ")
            }
        }
    }
}

/// Reads a length without names, as a person writes it: `220 mm`, `9-1/4 in`, `2 ft + 3 in`; a
/// plain number is millimetres.
///
/// # Errors
/// What is wrong with it, in words.
pub fn parse_length(text: &str) -> Result<f64, String> {
    if let Ok(mm) = text.trim().parse::<f64>()
        && mm.is_finite()
    {
        return Ok(mm);
    }
    let length = Length::parse(text).map_err(|e| format!("`{text}`: {}", e.message))?;
    let nothing = Given {
        depth_mm: f64::NAN,
        breadth_mm: f64::NAN,
        span_mm: Some(f64::NAN),
        length_mm: f64::NAN,
    };
    length.mm(&nothing).filter(|mm| mm.is_finite()).ok_or_else(|| {
        format!("`{text}`: a length with its unit is needed, without h, b, span or length")
    })
}

/// A figure without trailing zeros, to a thousandth.
pub(crate) fn tidy(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A simple fraction where the decimal would not end (1/3, 1/6).
fn fraction(value: f64) -> Option<String> {
    if (value * 1000.0 - (value * 1000.0).round()).abs() < 1e-9 {
        return Some(tidy(value));
    }
    (2..=16_u32).find_map(|below| {
        let above = value * f64::from(below);
        ((above - above.round()).abs() < 1e-9).then(|| format!("{}/{below}", above.round()))
    })
}

struct Reader<'t> {
    text: &'t str,
    at: usize,
}

impl Reader<'_> {
    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn space(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    fn take(&mut self, wanted: char) -> bool {
        self.space();
        let found = self.rest().starts_with(wanted);
        if found {
            self.at += wanted.len_utf8();
        }
        found
    }

    fn wrong<T>(&self, from: usize, message: impl Into<String>) -> Result<T, NotALength> {
        let to = self.at.max(from + 1).min(self.text.len());
        Err(NotALength { at: from.min(to)..to, message: message.into() })
    }

    fn odd(&self) -> NotALength {
        let message = match self.rest().chars().next() {
            None => {
                "the length ends too early: a figure with a unit or a name is missing".to_owned()
            }
            Some('-') => "lengths cannot be subtracted: write the limit from the other side (an \
                          `edge` or `left` check) or as a sum"
                .to_owned(),
            Some('/') => {
                "lengths cannot be divided: write a fraction before the name, `1/6 h`".to_owned()
            }
            Some(other) => {
                format!("`{other}` has no place here: a length is a sum like `0.125 h + 10 mm`")
            }
        };
        NotALength { at: self.at..(self.at + 1).min(self.text.len()), message }
    }

    fn sum(&mut self) -> Result<Length, NotALength> {
        let mut parts = vec![self.term()?];
        while self.take('+') {
            parts.push(self.term()?);
        }
        Ok(match parts.len() {
            1 => parts.swap_remove(0),
            _ => Length::Sum(parts),
        })
    }

    fn term(&mut self) -> Result<Length, NotALength> {
        self.space();
        let from = self.at;
        let Some(figure) = self.figure()? else {
            let word = self.word();
            return match word.as_str() {
                "min" => self.list(from).map(Length::Least),
                "max" => self.list(from).map(Length::Greatest),
                "" => Err(self.odd()),
                _ => self.named(&word, 1.0, from),
            };
        };
        let _ = self.take('*');
        self.space();
        let word_at = self.at;
        let word = self.word();
        if word.is_empty() {
            return self.wrong(
                from,
                format!(
                    "`{}` is a plain number, not a length: give its unit (mm, in) or what it is a part of (h, b, span)",
                    self.text.get(from..self.at).unwrap_or_default().trim()
                ),
            );
        }
        let unit = match word.as_str() {
            "mm" => 1.0,
            "cm" => 10.0,
            "m" => 1000.0,
            "in" => 25.4,
            "ft" => 304.8,
            _ => return self.named(&word, figure, word_at),
        };
        Ok(Length::Mm(figure * unit))
    }

    fn named(&self, word: &str, factor: f64, from: usize) -> Result<Length, NotALength> {
        let name = match word {
            "h" => Name::Depth,
            "b" => Name::Breadth,
            "span" => Name::Span,
            "length" => Name::Length,
            _ => {
                return self.wrong(
                    from,
                    format!(
                        "`{word}` is no unit and no length of a member: units are mm, cm, m, in, ft; names are h (depth), b (breadth), span, length"
                    ),
                );
            }
        };
        Ok(Length::Times(factor, name))
    }

    fn list(&mut self, from: usize) -> Result<Vec<Length>, NotALength> {
        if !self.take('(') {
            return self
                .wrong(from, "`min` and `max` take lengths in brackets: `min(0.125 h, 35 mm)`");
        }
        let mut parts = vec![self.sum()?];
        while self.take(',') {
            parts.push(self.sum()?);
        }
        if !self.take(')') {
            return self.wrong(from, "the bracket is not closed");
        }
        Ok(parts)
    }

    fn word(&mut self) -> String {
        let word: String =
            self.rest().chars().take_while(|c| c.is_ascii_alphabetic() || *c == '_').collect();
        self.at += word.len();
        word
    }

    /// `35`, `0.125`, `1/6`, `1-1/4`.
    fn figure(&mut self) -> Result<Option<f64>, NotALength> {
        let from = self.at;
        let Some(whole) = self.decimal()? else { return Ok(None) };
        let after_whole = self.at;
        if self.rest().starts_with('/') {
            self.at += 1;
            return self.below(from, whole).map(Some);
        }
        if self.rest().starts_with('-') {
            self.at += 1;
            if let Some(above) = self.decimal()?
                && self.rest().starts_with('/')
            {
                self.at += 1;
                return Ok(Some(whole + self.below(from, above)?));
            }
            self.at = after_whole;
        }
        Ok(Some(whole))
    }

    fn below(&mut self, from: usize, above: f64) -> Result<f64, NotALength> {
        match self.decimal()? {
            Some(below) if below > 0.0 => Ok(above / below),
            _ => self.wrong(from, "a fraction needs a figure other than 0 below its line: `1/6 h`"),
        }
    }

    fn decimal(&mut self) -> Result<Option<f64>, NotALength> {
        let from = self.at;
        let digits: String =
            self.rest().chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
        if digits.is_empty() {
            return Ok(None);
        }
        self.at += digits.len();
        match digits.parse() {
            Ok(figure) => Ok(Some(figure)),
            Err(_) => self.wrong(from, format!("`{digits}` is no number")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GIVEN: Given =
        Given { depth_mm: 220.0, breadth_mm: 47.0, span_mm: Some(3600.0), length_mm: 3800.0 };

    fn mm(text: &str) -> f64 {
        Length::parse(text).unwrap().mm(&GIVEN).unwrap()
    }

    fn wrong(text: &str) -> String {
        Length::parse(text).unwrap_err().message
    }

    #[test]
    fn constants_times_lengths_and_units() {
        assert_eq!(mm("0.125 h"), 27.5);
        assert_eq!(mm("0.25*span"), 900.0);
        assert_eq!(mm("min(0.125 h, 35 mm)"), 27.5);
        assert_eq!(mm("max(h, 100 mm) + 2 cm"), 240.0);
        assert_eq!(mm("b + length"), 3847.0);
    }

    #[test]
    fn inches_and_fractions_are_exact() {
        assert_eq!(mm("1-1/4 in"), 31.75);
        assert_eq!(mm("5/8 in"), 15.875);
        assert_eq!(mm("1/4 h"), 55.0);
        assert_eq!(mm("2 ft + 8-9/16 in"), 609.6 + 8.5625 * 25.4);
    }

    #[test]
    fn the_span_may_be_missing_only_where_it_is_needed() {
        let unknown = Given { span_mm: None, ..GIVEN };
        assert_eq!(Length::parse("0.25 span").unwrap().mm(&unknown), None);
        assert_eq!(Length::parse("0.25 h").unwrap().mm(&unknown), Some(55.0));
    }

    #[test]
    fn what_is_no_length_is_refused_in_words() {
        assert!(wrong("0.125").contains("plain number"));
        assert!(wrong("h - 10 mm").contains("subtracted"));
        assert!(wrong("h / 6").contains("1/6 h"));
        assert!(wrong("35 kg").contains("`kg` is no unit"));
        assert!(wrong("min 3 mm").contains("brackets"));
        assert!(wrong("").contains("too early"));
        assert!(wrong("1/0 h").contains("fraction"));
        assert_eq!(Length::parse("3 mm + 4 kg").unwrap_err().at, 9..11);
    }

    #[test]
    fn lengths_are_told_as_a_person_writes_them() {
        let told = |text: &str| Length::parse(text).unwrap().to_string();
        assert_eq!(told("min(0.125 h, 35 mm)"), "the less of 0.125 h and 35 mm");
        assert_eq!(told("1/6 h"), "1/6 h");
        assert_eq!(told("1 h + 2 in"), "h + 50.8 mm");
    }
}
