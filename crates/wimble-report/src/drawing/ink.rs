//! Tones, weights and type of every picture, once.

use wimble_model::Verdict;

pub(crate) const INK: &str = "#1F2A33";
pub(crate) const PAPER: &str = "#FBF8F1";
pub(crate) const TIMBER: &str = "#E9DCC3";
/// Timber that faces up, a little lighter.
pub(crate) const TIMBER_TOP: &str = "#F3EAD6";
/// Timber in the shade: cut faces, the insides of holes.
pub(crate) const INSIDE: &str = "#C9B68F";
/// Services in the round.
pub(crate) const SERVICE: &str = "#D3D6D4";
pub(crate) const ALLOWED: &str = "#2F6F8F";
const FAIL: &str = "#B3401F";
const REFER: &str = "#8A6D00";
const UNKNOWN: &str = "#6B6B6B";

/// Outlines of what is drawn in true shape.
pub(crate) const OUTLINE: f64 = 1.4;
/// Dimension lines, leaders, hatching.
pub(crate) const FINE: f64 = 0.7;

/// Size of lettering, in units of the picture.
pub(crate) const LETTER: f64 = 12.0;
/// Size of headings.
pub(crate) const HEADING: f64 = 15.0;
/// Height of a line of lettering.
pub(crate) const LINE: f64 = 16.0;

/// The tone of a verdict; the word and the shape always stand beside it.
pub(crate) const fn tone(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => INK,
        Verdict::Fail => FAIL,
        Verdict::Refer => REFER,
        Verdict::Unknown => UNKNOWN,
    }
}
