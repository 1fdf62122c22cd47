//! Figures at fixed precision.

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize, Serializer};
use std::borrow::Cow;

/// A figure rounded for print: half away from zero, never −0. A figure that is not finite prints
/// as null, with the reason among the warnings.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(from = "Option<f64>")]
pub struct Number(f64);

/// Groups of three decimals that millimetres are rounded to.
pub(crate) const MM: usize = 1;
/// … metres.
pub(crate) const M: usize = 2;
/// … components of unit vectors.
pub(crate) const DIRECTION: usize = 3;
/// … ratios, counts and degrees.
pub(crate) const RATIO: usize = 2;

/// The units of the last of some groups of three decimals in 1.
#[inline]
pub(crate) const fn scale(groups: usize) -> f64 {
    [1.0, 1e3, 1e6, 1e9][groups]
}

impl Number {
    /// Millimetres.
    #[must_use]
    pub fn mm(value: f64) -> Self {
        Self(round(value, scale(MM)))
    }

    /// Metres.
    #[must_use]
    pub fn m(value: f64) -> Self {
        Self(round(value, scale(M)))
    }

    /// A component of a unit vector.
    #[must_use]
    pub fn direction(value: f64) -> Self {
        Self(round(value, scale(DIRECTION)))
    }

    /// A ratio, a count or degrees.
    #[must_use]
    pub fn ratio(value: f64) -> Self {
        Self(round(value, scale(RATIO)))
    }

    /// The rounded figure; not a number where it could not be worked out.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

/// Half away from zero at a power of ten; adding zero turns −0 into 0.
pub(crate) fn round(value: f64, scale: f64) -> f64 {
    let scaled = half_away(value * scale) / scale;
    if scaled.is_finite() { scaled + 0.0 } else { value }
}

/// As [`f64::round`], which has no instruction of its own on every processor that this is built for.
#[inline]
fn half_away(value: f64) -> f64 {
    /// From here on there are no halves.
    const WHOLE: f64 = 4_503_599_627_370_496.0;
    if value.is_nan() || value.abs() >= WHOLE {
        return value;
    }
    #[expect(clippy::cast_possible_truncation, reason = "what is behind the point is looked at")]
    let whole = value as i64 as f64;
    let rest = value - whole;
    if rest >= 0.5 {
        whole + 1.0
    } else if rest <= -0.5 {
        whole - 1.0
    } else {
        whole
    }
}

impl From<Option<f64>> for Number {
    fn from(value: Option<f64>) -> Self {
        Self(value.unwrap_or(f64::NAN))
    }
}

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0.is_finite() {
            serializer.serialize_f64(self.0)
        } else {
            serializer.serialize_none()
        }
    }
}

impl JsonSchema for Number {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Number".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["number", "null"] })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(number: Number) -> String {
        serde_json::to_string(&number).unwrap()
    }

    #[test]
    fn millimetres_have_three_decimals_half_away_from_zero() {
        assert_eq!(text(Number::mm(22.0)), "22.0");
        assert_eq!(text(Number::mm(0.0625)), "0.063");
        assert_eq!(text(Number::mm(-0.0625)), "-0.063");
        assert_eq!(text(Number::mm(1_089.123_449)), "1089.123");
    }

    #[test]
    fn metres_directions_and_ratios_have_theirs() {
        assert_eq!(text(Number::m(1.000_000_4)), "1.0");
        assert_eq!(text(Number::direction(0.123_456_789_4)), "0.123456789");
        assert_eq!(text(Number::ratio(1.0 / 3.0)), "0.333333");
    }

    #[test]
    fn minus_zero_prints_zero() {
        assert_eq!(text(Number::mm(-0.0)), "0.0");
        assert_eq!(text(Number::mm(-0.0001)), "0.0");
    }

    #[test]
    fn what_is_not_finite_prints_null_and_reads_back() {
        assert_eq!(text(Number::mm(f64::NAN)), "null");
        assert_eq!(text(Number::mm(f64::INFINITY)), "null");
        let back: Number = serde_json::from_str("null").unwrap();
        assert!(back.get().is_nan());
    }

    #[test]
    fn halves_are_rounded_away_from_zero_as_by_the_library() {
        let halves = (-200..200).map(|n| f64::from(n) / 4.0);
        let hairs = halves.clone().flat_map(|h| [h.next_up(), h.next_down()]);
        let edges = [4_503_599_627_370_495.5, 4_503_599_627_370_496.0, 9e15, 1e300, f64::INFINITY];
        for value in halves.chain(hairs).chain(edges) {
            assert_eq!(half_away(value), value.round(), "{value}");
            assert_eq!(half_away(-value), (-value).round(), "{value}");
        }
        assert!(half_away(f64::NAN).is_nan());
    }

    #[test]
    fn a_figure_too_great_to_round_is_kept() {
        assert_eq!(Number::mm(1e306).get(), 1e306);
    }
}
