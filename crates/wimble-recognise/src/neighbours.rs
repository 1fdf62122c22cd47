//! Pieces by their boxes, and the order in which they are gone through.

use crate::pieces::Piece;
use rayon::prelude::*;
use wimble_geom::{Aabb, BroadPhase};

/// Finds pieces by their boxes (world, metres). They are numbered by GlobalId, which scatters them;
/// a file mostly lists together what stands together, so they are gone through by their candidates:
/// the neighbours of one are then still at hand for the next.
pub(crate) struct Neighbours {
    near: BroadPhase,
    /// The pieces by their candidates.
    order: Vec<u32>,
}

impl Neighbours {
    /// Those of these pieces.
    pub(crate) fn among(pieces: &[Piece]) -> Self {
        let boxes: Vec<Aabb> =
            pieces.par_iter().map(|piece| piece.stick.figure.world_box()).collect();
        let mut order: Vec<u32> = (0u32..).take(pieces.len()).collect();
        let candidate = |at: &u32| (pieces.get(*at as usize).map(|piece| piece.candidate), *at);
        order.par_sort_unstable_by_key(candidate);
        Self { near: BroadPhase::new(&boxes), order }
    }

    /// The box round all pieces.
    pub(crate) fn bounds(&self) -> Aabb {
        self.near.bounds()
    }

    /// Numbers of the pieces whose box shares a point with a box, rising.
    pub(crate) fn near(&self, around: Aabb) -> Vec<u32> {
        self.near.near(around)
    }

    /// The same, into a list that is used again and again.
    pub(crate) fn near_into(&self, around: Aabb, found: &mut Vec<u32>) {
        self.near.near_into(around, found);
    }

    /// What `ask` tells of each piece, parallel to them; it may use the list that it is given.
    pub(crate) fn map<T: Default + Send>(
        &self,
        ask: impl Fn(&mut Vec<u32>, u32) -> T + Sync,
    ) -> Vec<T> {
        let told: Vec<T> =
            self.order.par_iter().map_init(Vec::new, |list, at| ask(list, *at)).collect();
        let mut all: Vec<T> = Vec::new();
        all.resize_with(told.len(), T::default);
        for (at, one) in self.order.iter().zip(told) {
            if let Some(place) = all.get_mut(*at as usize) {
                *place = one;
            }
        }
        all
    }
}
