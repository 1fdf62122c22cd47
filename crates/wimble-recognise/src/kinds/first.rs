//! Kinds as far as a member's own words, shape and row tell them.

use super::Pitch;
use crate::candidate::{Candidate, Family};
use crate::stick::Stick;
use crate::words::{Topic, Topics};
use wimble_model::{MemberKind, Section};

/// Sine of the slope under which a member is level (about 10 degrees: falls of flat roofs).
const LEVEL: f64 = 0.173_7;
/// Sine of the slope from which a member is plumb (80 degrees).
const PLUMB: f64 = 0.984_8;
/// A piece between members is at most this long, mm.
const SHORT_MM: f64 = 1300.0;

/// A kind, and whether words say it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct First {
    /// The kind.
    pub(crate) kind: MemberKind,
    /// Said by its name, type or the user.
    pub(crate) said: bool,
    /// Said to be a trimmer.
    pub(crate) trimmer: bool,
}

/// The kind of a member by what it says and looks like.
pub(crate) fn first(
    candidate: &Candidate,
    whole: Option<&Candidate>,
    words: Topics,
    stick: &Stick,
    pitch: Pitch,
) -> First {
    let said = |kind| First { kind, said: true, trimmer: false };
    let looks = |kind| First { kind, said: false, trimmer: false };
    let flat = stick.section.breadth_mm() > stick.section.depth_mm() + 1.0;
    let level = stick.frame.x.z.abs() <= LEVEL;
    let truss = whole.is_some_and(|whole| {
        whole.family == Family::Assembly
            && (whole.of_type.predefined == "TRUSS"
                || crate::sorting::names(whole).has(Topic::Truss))
    });
    if truss || (words.has(Topic::Truss) && !words.has(Topic::Rafter)) || words.has(Topic::Chord) {
        return said(MemberKind::TrussPart);
    }
    if stick.is_steep() {
        return match () {
            () if words.has(Topic::Stud) || candidate.of_type.predefined == "STUD" => {
                said(MemberKind::Stud)
            }
            () if words.has(Topic::Post) || candidate.of_type.predefined == "POST" => {
                said(MemberKind::Post)
            }
            // Out of plumb: the steep rafter of a mansard.
            () if stick.frame.x.z.abs() < PLUMB => looks(MemberKind::Rafter),
            () if pitch.neighbours >= 1 => looks(MemberKind::Stud),
            () if whole.is_some_and(|w| w.family == Family::Wall) => looks(MemberKind::Stud),
            () => looks(MemberKind::Post),
        };
    }
    if words.has(Topic::Packing) {
        return said(MemberKind::Packing);
    }
    if matches!(stick.section, Section::IJoist { .. } | Section::OpenWeb { .. }) && level {
        let row = words.has(Topic::Joist)
            || pitch.neighbours >= 1
            || candidate.of_type.predefined == "JOIST";
        return First { kind: MemberKind::Joist, said: row, trimmer: words.has(Topic::Trimmer) };
    }
    if words.has(Topic::Blocking) {
        return said(MemberKind::Blocking);
    }
    if words.has(Topic::Lintel) || candidate.of_type.predefined == "LINTEL" {
        return said(MemberKind::Lintel);
    }
    if words.has(Topic::Rim) {
        return said(MemberKind::Rim);
    }
    if words.has(Topic::Plate) || (candidate.of_type.predefined == "PLATE" && flat) {
        return said(MemberKind::Plate);
    }
    if words.has(Topic::Rafter)
        || matches!(candidate.of_type.predefined.as_str(), "RAFTER" | "PURLIN")
    {
        return said(MemberKind::Rafter);
    }
    if !level {
        return looks(MemberKind::Rafter);
    }
    if words.has(Topic::Trimmer) {
        return First { kind: MemberKind::Joist, said: true, trimmer: true };
    }
    // A type that says joist can be a sill or a concrete beam: it needs the look of one.
    let joist_words = words.has(Topic::Joist) || candidate.of_type.predefined == "JOIST";
    if joist_words && !flat {
        return said(MemberKind::Joist);
    }
    let in_wall = whole.is_some_and(|w| w.family == Family::Wall);
    match () {
        () if flat && in_wall => looks(MemberKind::Plate),
        () if in_wall && stick.length_mm < SHORT_MM => looks(MemberKind::Blocking),
        () if pitch.is_row() || pitch.neighbours >= 1 && stick.length_mm > SHORT_MM => {
            looks(MemberKind::Joist)
        }
        () if words.has(Topic::Beam) && !words.has(Topic::Joist) && !flat => {
            First { kind: MemberKind::Beam, said: false, trimmer: false }
        }
        () => looks(MemberKind::Unknown),
    }
}
