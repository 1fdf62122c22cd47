//! Everything that may carry a member, findable by place.

use crate::candidate::Candidate;
use crate::neighbours::Neighbours;
use crate::stick::Figure;
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::sync::Arc;
use wimble_geom::{Aabb, BroadPhase};
use wimble_model::Element;

/// Which row carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Who {
    /// A timber member.
    Member(u32),
    /// Another element.
    Element(u32),
}

/// What sort of thing carries: each is trusted differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum CarrierSort {
    /// Says by itself whether it carries.
    Wall,
    /// Beam, column, footing, structural slab or plate: carries.
    Structure,
    /// Timber member.
    Member,
    /// Joist hanger, shoe, bracket.
    Hanger,
}

/// One solid of something that may carry.
#[derive(Debug, Clone)]
pub(crate) struct Carrier {
    /// Whose.
    pub(crate) who: Who,
    /// What sort.
    pub(crate) sort: CarrierSort,
    /// What a person calls it.
    pub(crate) called: CompactString,
    /// Whether it says that it carries.
    pub(crate) load_bearing: Option<bool>,
    /// Points and triangles.
    pub(crate) figure: Arc<Figure>,
    /// Unit vector along it, for a member.
    pub(crate) along: Option<glam::DVec3>,
    /// Thickness of lining on the thicker side that its layers tell, mm; `None` without layers.
    pub(crate) lining_mm: Option<f64>,
    /// Whether the model says what the wall is made of.
    pub(crate) made_of: bool,
    /// Whether it is masonry.
    pub(crate) masonry: bool,
}

/// Carriers by place.
pub(crate) struct Carriers<'p> {
    elements: Vec<Carrier>,
    near_elements: BroadPhase,
    /// Parallel to the pieces; `None` for those that carry nothing.
    pieces: Vec<Option<Carrier>>,
    near_pieces: &'p Neighbours,
    /// The elements by their candidates.
    named: FxHashMap<u32, Arc<Element>>,
}

impl<'p> Carriers<'p> {
    /// Makes them findable; where the pieces are is known.
    pub(crate) fn new(
        elements: Vec<Carrier>,
        pieces: Vec<Option<Carrier>>,
        near_pieces: &'p Neighbours,
        candidates: &[Candidate],
    ) -> Self {
        let mut named: FxHashMap<u32, Arc<Element>> = FxHashMap::default();
        for carrier in &elements {
            if let Who::Element(at) = carrier.who
                && let Some(candidate) = candidates.get(at as usize)
            {
                named.entry(at).or_insert_with(|| Arc::new(candidate.element.clone()));
            }
        }
        let boxes: Vec<Aabb> = elements.iter().map(|carrier| carrier.figure.world_box()).collect();
        Self { elements, near_elements: BroadPhase::new(&boxes), pieces, near_pieces, named }
    }

    /// The element that a candidate is, if it may carry.
    pub(crate) fn element(&self, at: u32) -> Option<Arc<Element>> {
        self.named.get(&at).map(Arc::clone)
    }

    /// Those whose box touches a box (world, metres): elements, then members, in their order.
    pub(crate) fn near(&self, place: Aabb) -> impl Iterator<Item = &Carrier> {
        let elements = self.near_elements.near(place).into_iter();
        let pieces = self.near_pieces.near(place).into_iter();
        elements
            .filter_map(|at| self.elements.get(at as usize))
            .chain(pieces.filter_map(|at| self.pieces.get(at as usize)?.as_ref()))
    }
}
