//! Everything that may carry a member, findable by place.

use crate::stick::Figure;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::sync::Arc;
use wimble_geom::Aabb;

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
    pub(crate) called: String,
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
pub(crate) struct Carriers {
    list: Vec<Carrier>,
    tree: RTree<Entry>,
}

type Entry = GeomWithData<Rectangle<[f64; 3]>, u32>;

impl Carriers {
    /// Makes them findable.
    pub(crate) fn new(list: Vec<Carrier>) -> Self {
        let entries = list
            .iter()
            .zip(0u32..)
            .map(|(carrier, at)| {
                let Aabb { min, max } = carrier.figure.world_box();
                GeomWithData::new(Rectangle::from_corners(min.to_array(), max.to_array()), at)
            })
            .collect();
        Self { list, tree: RTree::bulk_load(entries) }
    }

    /// Those whose box touches a box (world, metres), in the order of the list.
    pub(crate) fn near(&self, place: Aabb) -> Vec<&Carrier> {
        let envelope = AABB::from_corners(place.min.to_array(), place.max.to_array());
        let mut found: Vec<u32> =
            self.tree.locate_in_envelope_intersecting(envelope).map(|e| e.data).collect();
        found.sort_unstable();
        found.into_iter().filter_map(|at| self.list.get(at as usize)).collect()
    }
}
