//! How far a cut may turn out otherwise than planned, told by the room that it has where it is.

/// How far a cut may be shifted along, raised or lowered, or made larger, each alone, so that all
/// that holds still holds, mm. Less than nothing where that cannot be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Free {
    pub(crate) along_mm: f64,
    pub(crate) level_mm: f64,
    pub(crate) size_mm: f64,
}

/// How much of its room is taken by a cut that is shifted along, raised or lowered, or made
/// larger: mm for each mm, at most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Taken {
    pub(super) along: f64,
    pub(super) level: f64,
    pub(super) size: f64,
}

impl Free {
    /// As far as one likes: nothing was asked yet.
    pub(crate) const WHOLLY: Self =
        Self { along_mm: f64::INFINITY, level_mm: f64::INFINITY, size_mm: f64::INFINITY };

    /// It cannot be told.
    pub(crate) const UNTOLD: Self = Self {
        along_mm: f64::NEG_INFINITY,
        level_mm: f64::NEG_INFINITY,
        size_mm: f64::NEG_INFINITY,
    };

    /// Takes in a room, of which an error takes so much. What holds by a hair alone is left its
    /// hair, which is far more than sums are rounded by.
    pub(crate) fn take(&mut self, room_mm: f64, taken: Taken) {
        if room_mm < 0.0 {
            *self = Self::UNTOLD;
            return;
        }
        // Where nothing is taken that is as far as one likes; of no room it is no number, which
        // `min` passes over.
        self.along_mm = self.along_mm.min(room_mm / taken.along);
        self.level_mm = self.level_mm.min(room_mm / taken.level);
        self.size_mm = self.size_mm.min(room_mm / taken.size);
    }

    /// The lesser of both.
    #[must_use]
    pub(crate) fn and(self, other: Self) -> Self {
        Self {
            along_mm: self.along_mm.min(other.along_mm),
            level_mm: self.level_mm.min(other.level_mm),
            size_mm: self.size_mm.min(other.size_mm),
        }
    }
}
