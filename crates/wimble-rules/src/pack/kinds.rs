//! Sets of kinds of cut.

use wimble_model::CutKind;

/// Every kind, in the order in which they are decided.
pub(crate) const ALL_KINDS: [CutKind; 15] = [
    CutKind::Joinery,
    CutKind::BetweenWebs,
    CutKind::EndCut,
    CutKind::FlangeCut,
    CutKind::WebHole,
    CutKind::ChordCut,
    CutKind::WebCut,
    CutKind::Severed,
    CutKind::Lengthwise,
    CutKind::Bore,
    CutKind::SideCut,
    CutKind::Enclosed,
    CutKind::TopNotch,
    CutKind::BottomNotch,
    CutKind::Hole,
];

/// A set of kinds of cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct KindSet(u16);

impl KindSet {
    /// All that remove wood for a service: no joinery, nothing that passes through a void.
    pub(crate) const CUTS: Self = Self(0x7fff & !0b11);

    /// Of these kinds.
    pub(crate) fn of(kinds: &[CutKind]) -> Self {
        Self(kinds.iter().fold(0, |set, &kind| set | bit(kind)))
    }

    /// Whether it holds this kind.
    pub(crate) fn has(self, kind: CutKind) -> bool {
        self.0 & bit(kind) != 0
    }

    /// Kinds of both.
    pub(crate) fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Kinds of either.
    pub(crate) fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether there is none.
    pub(crate) fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Its kinds.
    pub(crate) fn iter(self) -> impl Iterator<Item = CutKind> {
        ALL_KINDS.into_iter().filter(move |&kind| self.has(kind))
    }
}

/// The kinds are fifteen, in the order of [`ALL_KINDS`].
const fn bit(kind: CutKind) -> u16 {
    1 << kind as u16
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_its_own_place_in_a_set() {
        for (n, kind) in (0..).zip(ALL_KINDS) {
            assert_eq!(bit(kind), 1 << n, "{kind:?}");
        }
    }
}
