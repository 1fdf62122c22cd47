//! Which part of the building a member belongs to, and what stands on its deck.

use crate::candidate::{Candidate, Family};
use crate::kinds::Pitch;
use crate::pieces::Piece;
use crate::sorting::names;
use crate::stick::Figure;
use crate::supports::{Carriers, Region, Shape, reach};
use crate::words::{Topic, Topics, lexicon};
use glam::DVec3;
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use wimble_geom::Aabb;
use wimble_model::{DeckLoad, DeckLoadKind, MemberKind, Place, Storey};

/// Deck and finishes between a joist and what stands on it come to at most this, mm.
const DECK_MM: f64 = 90.0;
/// Half a spacing, where no neighbour tells it, mm.
const HALF_SPACING_MM: f64 = 200.0;
/// Cosine above which a partition runs along the joist.
const ALONG: f64 = 0.94;
/// Sine of the fall above which a level member belongs to a flat roof.
const FALL: f64 = 0.008;

/// The place of each member.
pub(crate) fn places(
    pieces: &[Piece],
    kinds: &[MemberKind],
    candidates: &[Candidate],
    storeys: &[Storey],
    _carriers: &Carriers,
) -> Vec<Place> {
    let on_top = Standing::new(candidates, |c| {
        matches!(c.family, Family::Slab | Family::Covering | Family::Roof | Family::Plate)
            || names(c).has(Topic::Packing)
    });
    pieces
        .par_iter()
        .zip(kinds)
        .map(|(piece, kind)| {
            let Some(candidate) = candidates.get(piece.candidate as usize) else { return Place::Unknown };
            let storey = candidate.storey.and_then(|s| storeys.get(s as usize));
            place(piece, *kind, candidate, storey, candidates, &on_top)
        })
        .collect()
}

fn place(
    piece: &Piece,
    kind: MemberKind,
    candidate: &Candidate,
    storey: Option<&Storey>,
    candidates: &[Candidate],
    on_top: &Standing,
) -> Place {
    match kind {
        MemberKind::Stud | MemberKind::Post | MemberKind::Lintel => return Place::Wall,
        MemberKind::Plate if candidate.whole.is_some() => return Place::Wall,
        MemberKind::Rafter => return Place::PitchedRoof,
        MemberKind::Joist => {}
        _ if piece.stick.is_steep() => return Place::Wall,
        _ => {}
    }
    let whole = candidate.whole.and_then(|w| candidates.get(w as usize));
    let own = names(candidate).or(whole.map_or(Topics::NONE, names));
    if let Some(place) = of_words(own) {
        return place;
    }
    if piece.stick.frame.x.z.abs() > FALL {
        return Place::FlatRoof;
    }
    let half = 0.5 * piece.stick.section.depth_mm();
    let above = on_top.touching(piece, [half - 1.0, half + DECK_MM]);
    let below = on_top.touching(piece, [-half - 30.0, -half + 1.0]);
    let deck = above.iter().filter_map(|&i| candidates.get(i)).find_map(|c| {
        match (c.family, c.predefined.as_str()) {
            (_, "ROOFING" | "ROOF") | (Family::Roof, _) => Some(Place::FlatRoof),
            (_, "FLOORING" | "FLOOR") => Some(Place::Floor),
            _ if names(c).has(Topic::Packing) => Some(Place::FlatRoof),
            _ => of_words(names(c)),
        }
    });
    let ceiling = below.iter().filter_map(|&i| candidates.get(i)).any(|c| {
        c.predefined == "CEILING" || names(c).has(Topic::Ceiling)
    });
    if let Some(place) = deck {
        return place;
    }
    if ceiling && above.is_empty() {
        return Place::Ceiling;
    }
    if let Some(place) = storey.and_then(|s| of_words(lexicon().topics(&s.name)))
        && place == Place::FlatRoof
    {
        return place;
    }
    if kind == MemberKind::Joist { Place::Floor } else { Place::Unknown }
}

fn of_words(words: Topics) -> Option<Place> {
    if words.has(Topic::FlatRoof) {
        Some(Place::FlatRoof)
    } else if words.has(Topic::Ceiling) && !words.has(Topic::Floor) {
        Some(Place::Ceiling)
    } else if words.has(Topic::Roof) {
        Some(Place::FlatRoof)
    } else if words.has(Topic::Floor) {
        Some(Place::Floor)
    } else {
        None
    }
}

/// Elements that lie or stand on or under others, by place.
struct Standing {
    shapes: Vec<(usize, Figure)>,
    tree: RTree<GeomWithData<Rectangle<[f64; 3]>, usize>>,
}

impl Standing {
    fn new(candidates: &[Candidate], chosen: impl Fn(&Candidate) -> bool) -> Self {
        let shapes: Vec<(usize, Figure)> = candidates
            .iter()
            .enumerate()
            .filter(|(_, c)| chosen(c))
            .flat_map(|(i, c)| c.solids().map(move |(_, solid)| (i, Figure::of(solid))))
            .collect();
        let entries = shapes
            .iter()
            .enumerate()
            .map(|(n, (_, figure))| {
                let Aabb { min, max } = figure.world_box();
                GeomWithData::new(Rectangle::from_corners(min.to_array(), max.to_array()), n)
            })
            .collect();
        Self { shapes, tree: RTree::bulk_load(entries) }
    }

    /// Shapes near a piece: candidate and figure, in order.
    fn near(&self, piece: &Piece, by: f64) -> Vec<(usize, &Figure)> {
        if self.shapes.is_empty() {
            return Vec::new();
        }
        let place = piece.stick.figure.world_box().grown(by);
        let around = AABB::from_corners(place.min.to_array(), place.max.to_array());
        let mut found: Vec<usize> =
            self.tree.locate_in_envelope_intersecting(around).map(|e| e.data).collect();
        found.sort_unstable();
        found.into_iter().filter_map(|n| self.shapes.get(n)).map(|(i, f)| (*i, f)).collect()
    }

    /// Candidates with points over the breadth of a piece between two heights of its frame, mm.
    fn touching(&self, piece: &Piece, z: [f64; 2]) -> Vec<usize> {
        let half = 0.5 * piece.stick.section.breadth_mm();
        self.near(piece, 0.1)
            .into_iter()
            .filter(|(i, _)| *i != piece.candidate as usize)
            .filter(|(_, figure)| over(piece, figure, half, z).is_some())
            .map(|(i, _)| i)
            .collect()
    }
}

/// Where along a piece a figure has points within `half` of its axis between two heights, mm.
fn over(piece: &Piece, figure: &Figure, half: f64, z: [f64; 2]) -> Option<[f64; 2]> {
    let region = Region {
        within: Aabb {
            min: DVec3::new(0.0, -half, z[0]),
            max: DVec3::new(piece.stick.length_mm, half, z[1]),
        },
        and: &[],
    };
    reach(&Shape::of(figure, &piece.stick.frame), &region)
}

/// What stands on the deck of each joist.
pub(crate) fn loads(
    pieces: &[Piece],
    kinds: &[MemberKind],
    pitch: &[Pitch],
    candidates: &[Candidate],
) -> Vec<Vec<DeckLoad>> {
    let own: rustc_hash::FxHashSet<u32> = pieces.iter().map(|p| p.candidate).collect();
    let things = Standing::new(candidates, |c| load_kind(c).is_some());
    let plates: Vec<usize> = pieces
        .iter()
        .zip(kinds)
        .filter(|(_, kind)| **kind == MemberKind::Plate)
        .map(|(p, _)| p.candidate as usize)
        .collect();
    let plates: rustc_hash::FxHashSet<usize> = plates.into_iter().collect();
    let soles = Standing::new(candidates, |_| false);
    let _ = (own, soles);
    pieces
        .par_iter()
        .enumerate()
        .map(|(i, piece)| {
            if !matches!(kinds.get(i), Some(MemberKind::Joist)) {
                return Vec::new();
            }
            let half_spacing =
                pitch.get(i).and_then(|p| p.nearest_mm).map_or(HALF_SPACING_MM, |n| 0.5 * n);
            let half = 0.5 * piece.stick.section.breadth_mm();
            let top = 0.5 * piece.stick.section.depth_mm();
            let deck = [top - 1.0, top + DECK_MM];
            let mut loads: Vec<DeckLoad> = things
                .near(piece, 0.3)
                .into_iter()
                .filter_map(|(at, figure)| {
                    let candidate = candidates.get(at)?;
                    let what = load_kind(candidate)?;
                    // It stands on the deck: nothing of it lies lower than the joist's top.
                    let bottom = figure
                        .points
                        .iter()
                        .map(|p| piece.stick.frame.local_mm(*p + figure.base).z)
                        .fold(f64::INFINITY, f64::min);
                    if bottom < top - 1.0 {
                        return None;
                    }
                    let (kind, reach_half) = match what {
                        Load::Wall => {
                            let across = crate::stick::sides_of_plan(figure)?;
                            let along = across.dot(piece.stick.frame.x).abs() < (1.0 - ALONG * ALONG).sqrt();
                            if along {
                                (DeckLoadKind::PartitionAlong, half_spacing)
                            } else {
                                (DeckLoadKind::PartitionAcross, half)
                            }
                        }
                        Load::Vessel => (DeckLoadKind::Vessel, half_spacing),
                        Load::Bath => (DeckLoadKind::Bath, half_spacing),
                    };
                    let [from_mm, to_mm] = over(piece, figure, reach_half, deck)?;
                    Some(DeckLoad { kind, name: candidate.called(), from_mm, to_mm })
                })
                .collect();
            let _ = &plates;
            loads.sort_by(|a, b| a.from_mm.total_cmp(&b.from_mm).then(a.name.cmp(&b.name)));
            loads
        })
        .collect()
}

enum Load {
    Wall,
    Vessel,
    Bath,
}

fn load_kind(candidate: &Candidate) -> Option<Load> {
    const HEAVY: [&str; 5] = ["Tank", "Boiler", "UnitaryEquipment", "ElectricFlowStorage", "SpaceHeater"];
    match candidate.family {
        Family::Wall => Some(Load::Wall),
        Family::FlowTerminal | Family::Furnishing | Family::Proxy | Family::Other => {
            let words = names(candidate);
            let class = |c: &str| candidate.element.class.contains(c) || candidate.type_class.contains(c);
            if words.has(Topic::Bath) || matches!(candidate.predefined.as_str(), "BATH" | "SHOWER") {
                Some(Load::Bath)
            } else if words.has(Topic::Vessel) || HEAVY[..2].iter().any(|c| class(c)) {
                Some(Load::Vessel)
            } else {
                None
            }
        }
        _ => None,
    }
}
