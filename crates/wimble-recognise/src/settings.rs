//! What the user decides about recognition.

use serde::Deserialize;
use wimble_model::{MemberKind, ServiceKind};

/// What the user decides about recognition. The keys of `wimble.toml`'s `[supports]`, `[model]`
/// and mapping sections; see `docs/measuring.md` and `docs/practice.md`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct RecogniseSettings {
    /// An end of a member without a bearing counts as a bearing of no length.
    pub accept_member_ends: bool,
    /// Walls and studs whose `LoadBearing` is not stated carry.
    pub assume_bearing: bool,
    /// Put files together by their map conversions rather than by their placements.
    pub align_map: bool,
    /// A bearing shorter than this along the member is not counted, millimetres.
    pub least_bearing_mm: f64,
    /// What elements are, where the model does not say it well; the first that fits counts.
    pub mapping: Vec<Mapping>,
    /// Bearings or spans of members that the user states.
    pub stated: Vec<Stated>,
}

impl Default for RecogniseSettings {
    fn default() -> Self {
        Self {
            accept_member_ends: false,
            assume_bearing: true,
            align_map: false,
            least_bearing_mm: 35.0,
            mapping: Vec::new(),
            stated: Vec::new(),
        }
    }
}

/// Elements chosen by what they say of themselves: every key given must fit. `*` and `?` stand for
/// any letters and any one letter; capitals do not matter, except in a GlobalId.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct Selector {
    /// GlobalId, exactly.
    pub guid: Option<String>,
    /// `Name`.
    pub name: Option<String>,
    /// IFC class (`IfcBeam`).
    pub class: Option<String>,
    /// Name of the type, or the object type.
    pub type_name: Option<String>,
    /// Any of the materials.
    pub material: Option<String>,
    /// Name of the storey.
    pub storey: Option<String>,
}

/// What the chosen elements are.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Mapping {
    /// Which elements.
    #[serde(rename = "where")]
    pub selector: Selector,
    /// What they are.
    #[serde(rename = "is")]
    pub take: Take,
}

/// What the user says an element is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Take {
    /// A timber member of this kind (`{ member = "joist" }`; `unknown` leaves the kind to us).
    Member(MemberKind),
    /// Not timber.
    NotTimber,
    /// Not to be looked at.
    Ignore,
    /// A service of this kind.
    Service(ServiceKind),
    /// Carries members, whatever its class (`{ support = false }`: never carries).
    Support(bool),
}

/// Bearings or spans of the chosen members, along x from the member's end with the lesser x.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct Stated {
    /// Which members.
    #[serde(rename = "where")]
    pub selector: Selector,
    /// From and to of each bearing, millimetres.
    pub bearings_mm: Vec<[f64; 2]>,
    /// From and to of each clear span, millimetres; used if no bearings are given.
    pub spans_mm: Vec<[f64; 2]>,
}

/// What a selector is held against.
pub(crate) struct Subject<'a> {
    pub(crate) guid: &'a str,
    pub(crate) name: &'a str,
    pub(crate) class: &'a str,
    pub(crate) type_name: &'a str,
    pub(crate) materials: &'a [&'a str],
    pub(crate) storey: &'a str,
}

impl Selector {
    /// Whether it names at least one thing: one that names none fits nothing.
    fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Whether an element fits.
    pub(crate) fn fits(&self, subject: &Subject<'_>) -> bool {
        let like = |pattern: &Option<String>, text: &str| {
            pattern.as_deref().is_none_or(|pattern| is_like(pattern, text))
        };
        !self.is_empty()
            && self.guid.as_deref().is_none_or(|guid| guid == subject.guid)
            && like(&self.name, subject.name)
            && like(&self.class, subject.class)
            && like(&self.type_name, subject.type_name)
            && like(&self.storey, subject.storey)
            && self.material.as_deref().is_none_or(|pattern| {
                subject.materials.iter().any(|material| is_like(pattern, material))
            })
    }
}

/// Whether a text fits a pattern with `*` and `?`; capitals do not matter.
#[must_use]
pub fn is_like(pattern: &str, text: &str) -> bool {
    let pattern: Vec<char> = pattern.to_lowercase().chars().collect();
    let text: Vec<char> = text.to_lowercase().chars().collect();
    let (mut p, mut t) = (0, 0);
    // Where to go on when a later letter does not fit: behind the last star, one letter further.
    let mut retry: Option<(usize, usize)> = None;
    while let Some(&letter) = text.get(t) {
        match pattern.get(p) {
            Some('*') => {
                retry = Some((p + 1, t + 1));
                p += 1;
            }
            Some(&c) if c == '?' || c == letter => {
                p += 1;
                t += 1;
            }
            _ => match retry {
                Some((after_star, from)) => {
                    p = after_star;
                    t = from;
                    retry = Some((after_star, from + 1));
                }
                None => return false,
            },
        }
    }
    pattern.iter().skip(p).all(|&c| c == '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_fit_like_file_names() {
        assert!(is_like("ja-*", "JA-01"));
        assert!(is_like("*balk*", "CL_28_houten_balk:70x170"));
        assert!(is_like("J?", "J1"));
        assert!(is_like("*a*b", "xaab"));
        assert!(!is_like("J?", "J12"));
        assert!(!is_like("ja-", "JA-01"));
    }

    #[test]
    fn a_selector_that_names_nothing_fits_nothing() {
        let subject =
            Subject { guid: "g", name: "n", class: "c", type_name: "", materials: &[], storey: "" };
        assert!(!Selector::default().fits(&subject));
        assert!(Selector { name: Some("N".into()), ..Selector::default() }.fits(&subject));
        assert!(
            !Selector { name: Some("n".into()), guid: Some("G".into()), ..Selector::default() }
                .fits(&subject)
        );
    }
}
