//! Everything that may carry a member, findable by place.

use crate::candidate::Candidate;
use crate::neighbours::Neighbours;
use crate::pieces::Piece;
use crate::stick::{Figure, Stick};
use arcstr::ArcStr;
use compact_str::CompactString;
use glam::DVec3;
use rustc_hash::FxHashMap;
use std::borrow::Cow;
use std::sync::{Arc, OnceLock};
use wimble_geom::{Aabb, BroadPhase};
use wimble_model::{Element, Note};

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

/// One solid of something that may carry. What a piece says is looked up when it is asked for: a
/// large building has as many of them as members.
#[derive(Debug, Clone)]
pub(crate) struct Carrier<'a> {
    /// Whose.
    pub(crate) who: Who,
    /// What sort.
    pub(crate) sort: CarrierSort,
    /// The element that it is of.
    pub(crate) of: Option<&'a Candidate>,
    /// Whether it says that it carries.
    pub(crate) load_bearing: Option<bool>,
    /// Points and triangles.
    pub(crate) figure: Cow<'a, Figure>,
    /// Unit vector along it, for a member.
    pub(crate) along: Option<DVec3>,
    /// Thickness of lining on the thicker side that its layers tell, mm; `None` without layers.
    pub(crate) lining_mm: Option<f64>,
    /// Whether the model says what the wall is made of.
    pub(crate) made_of: bool,
    /// Whether it is masonry.
    pub(crate) masonry: bool,
}

impl<'a> Carrier<'a> {
    /// A timber member.
    pub(crate) fn member(at: u32, stick: &'a Stick, of: Option<&'a Candidate>) -> Self {
        Self {
            who: Who::Member(at),
            sort: CarrierSort::Member,
            of,
            load_bearing: None,
            figure: Cow::Borrowed(&stick.figure),
            along: Some(stick.frame.x),
            lining_mm: None,
            made_of: true,
            masonry: false,
        }
    }

    /// What a person calls it.
    pub(crate) fn called(&self) -> CompactString {
        self.of.map(Candidate::called).unwrap_or_default()
    }

    fn lent(&self) -> Carrier<'_> {
        Carrier { figure: Cow::Borrowed(&self.figure), ..*self }
    }
}

/// Carriers by place.
pub(crate) struct Carriers<'a> {
    elements: Vec<Carrier<'a>>,
    near_elements: BroadPhase,
    pieces: &'a [Piece],
    near_pieces: &'a Neighbours,
    /// Whether each piece may carry.
    carries: Vec<bool>,
    candidates: &'a [Candidate],
    /// What is said of the elements, by their candidates.
    told: FxHashMap<u32, Told>,
}

/// What members say of an element that carries them: once for all of them.
pub(crate) struct Told {
    /// The element.
    pub(crate) element: Arc<Element>,
    /// What a person calls it.
    pub(crate) called: ArcStr,
    face: OnceLock<Note>,
}

impl Told {
    fn of(candidate: &Candidate) -> Self {
        Self {
            element: Arc::new(candidate.element.clone()),
            called: candidate.called().as_str().into(),
            face: OnceLock::new(),
        }
    }

    /// That it does not say what it is made of.
    pub(crate) fn face(&self) -> Note {
        let words = || Note::from(format!("the face of {} may be a finish", self.called));
        self.face.get_or_init(words).clone()
    }
}

impl<'a> Carriers<'a> {
    /// Makes them findable: elements, and those of the pieces that carry.
    pub(crate) fn new(
        elements: Vec<Carrier<'a>>,
        (pieces, near_pieces): (&'a [Piece], &'a Neighbours),
        carries: Vec<bool>,
        candidates: &'a [Candidate],
    ) -> Self {
        let mut told: FxHashMap<u32, Told> = FxHashMap::default();
        for carrier in &elements {
            if let (Who::Element(at), Some(candidate)) = (carrier.who, carrier.of) {
                told.entry(at).or_insert_with(|| Told::of(candidate));
            }
        }
        let boxes: Vec<Aabb> = elements.iter().map(|carrier| carrier.figure.world_box()).collect();
        let near_elements = BroadPhase::new(&boxes);
        Self { elements, near_elements, pieces, near_pieces, carries, candidates, told }
    }

    /// What is said of the element that a candidate is, if it may carry.
    pub(crate) fn told(&self, who: Who) -> Option<&Told> {
        match who {
            Who::Element(at) => self.told.get(&at),
            Who::Member(_) => None,
        }
    }

    /// Those whose box touches a box (world, metres): elements, then members, in their order.
    pub(crate) fn near(&self, place: Aabb) -> impl Iterator<Item = Carrier<'_>> {
        let elements = self.near_elements.near(place).into_iter();
        let pieces = self.near_pieces.near(place).into_iter();
        elements
            .filter_map(|at| self.elements.get(at as usize).map(Carrier::lent))
            .chain(pieces.filter_map(|at| self.piece(at)))
    }

    /// A piece, if it may carry.
    fn piece(&self, at: u32) -> Option<Carrier<'_>> {
        self.carries.get(at as usize).filter(|carries| **carries)?;
        let piece = self.pieces.get(at as usize)?;
        Some(Carrier::member(at, &piece.stick, self.candidates.get(piece.candidate as usize)))
    }
}
