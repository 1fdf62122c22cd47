//! What few cuts have.

use crate::{Circle, Note, OpeningIx, ServiceIx};
use glam::DVec3;
use serde::{Deserialize, Serialize};
use std::ops::{Deref, DerefMut};
use thin_vec::ThinVec;

/// What few cuts have: one word for a cut that has none of it, so that a million of them do not
/// carry it about. Its fields are read and written as if they were there.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Besides(Option<Box<Seldom>>);

/// What a cut may have besides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Seldom {
    /// Those of its openings that a service passing there does not fit into with its clearance: the
    /// finding `opening-too-small`. Sorted.
    pub too_small: ThinVec<OpeningIx>,
    /// Services wholly inside another of them (a cable in its conduit): listed, add nothing.
    pub inside: ThinVec<ServiceIx>,
    /// For a hole with `shared` > 1: the least circle round the bare group plus clearance, which
    /// every rule uses in place of the envelope.
    pub circle: Option<Circle>,
    /// How far the bare service stands out of the member's depth, top or bottom; 0 if inside.
    pub proud_mm: f64,
    /// Middle of the section at the cut, in the member's frame: 0 unless the member varies. From it
    /// the envelope counts.
    pub middle_mm: DVec3,
    /// Remarks from crossing (`tight to the joist`, `opening too small` …).
    pub notes: ThinVec<Note>,
}

impl Seldom {
    /// What most cuts have.
    pub const NONE: Self = Self {
        too_small: ThinVec::new(),
        inside: ThinVec::new(),
        circle: None,
        proud_mm: 0.0,
        middle_mm: DVec3::ZERO,
        notes: ThinVec::new(),
    };
}

impl From<Seldom> for Besides {
    /// Takes no room for what most cuts have.
    fn from(fields: Seldom) -> Self {
        Self((fields != Seldom::NONE).then(|| Box::new(fields)))
    }
}

impl Deref for Besides {
    type Target = Seldom;

    fn deref(&self) -> &Seldom {
        static NONE: Seldom = Seldom::NONE;
        self.0.as_deref().unwrap_or(&NONE)
    }
}

impl DerefMut for Besides {
    fn deref_mut(&mut self) -> &mut Seldom {
        self.0.get_or_insert_with(|| Box::new(Seldom::NONE))
    }
}

impl PartialEq for Besides {
    fn eq(&self, other: &Self) -> bool {
        **self == **other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_there_takes_one_word_and_reads_as_nothing() {
        assert_eq!(size_of::<Besides>(), size_of::<usize>());
        let mut besides = Besides::from(Seldom { proud_mm: 0.0, ..Seldom::NONE });
        assert!(besides.0.is_none() && besides.notes.is_empty() && besides.circle.is_none());
        besides.proud_mm = 7.5;
        assert_eq!(besides.proud_mm, 7.5);
        besides.proud_mm = 0.0;
        assert_eq!(besides, Besides::default());
    }
}
