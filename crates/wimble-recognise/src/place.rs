//! Which part of the building a member belongs to, and what stands on its deck.

use crate::candidate::{Candidate, Family};
use crate::kinds::Pitch;
use crate::pieces::Piece;
use crate::sorting::names;
use crate::stick::Figure;
use crate::supports::{Region, Shape, reach};
use crate::words::{Topic, Topics, topics};
use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use thin_vec::ThinVec;
use wimble_geom::{Aabb, BroadPhase};
use wimble_model::{Bearing, DeckLoad, DeckLoadKind, MemberKind, Place, Storey};

/// Deck and finishes between a joist and what stands on it come to at most this, mm.
const DECK_MM: f64 = 90.0;
/// A partition that stands this nearly on a bearing loads the wall, not the joist, mm.
const ON_BEARING_MM: f64 = 25.0;
/// From the top of a wall to the foot of the wall above it there is at most this, metres.
const FLOOR_DEPTH: f64 = 0.7;
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
) -> Vec<Place> {
    let on_top = Standing::new(candidates, |_, c| {
        matches!(c.family, Family::Slab | Family::Covering | Family::Roof | Family::Plate)
            || c.family == Family::Member && names(c).has(Topic::Packing)
            || c.family == Family::Beam && names(c).has(Topic::Packing)
    });
    pieces
        .par_iter()
        .zip(kinds)
        .map(|(piece, kind)| {
            let Some(candidate) = candidates.get(piece.candidate as usize) else {
                return Place::Unknown;
            };
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
        MemberKind::Rafter | MemberKind::TrussPart => return Place::PitchedRoof,
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
        match (c.family, c.of_type.predefined.as_str()) {
            (_, "ROOFING" | "ROOF") | (Family::Roof, _) => Some(Place::FlatRoof),
            (_, "FLOORING" | "FLOOR") => Some(Place::Floor),
            _ if names(c).has(Topic::Packing) => Some(Place::FlatRoof),
            _ => of_words(names(c)),
        }
    });
    let ceiling = below
        .iter()
        .filter_map(|&i| candidates.get(i))
        .any(|c| c.of_type.predefined == "CEILING" || names(c).has(Topic::Ceiling));
    if let Some(place) = deck {
        return place;
    }
    if ceiling && above.is_empty() {
        return Place::Ceiling;
    }
    if let Some(place) = storey.and_then(|s| of_words(topics(&s.name)))
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
    near: BroadPhase,
}

impl Standing {
    fn new(candidates: &[Candidate], chosen: impl Fn(usize, &Candidate) -> bool) -> Self {
        let shapes: Vec<(usize, Figure)> = candidates
            .iter()
            .enumerate()
            .filter(|(i, c)| chosen(*i, c))
            .flat_map(|(i, c)| c.solids().map(move |(_, solid)| (i, Figure::of(solid))))
            .collect();
        let boxes: Vec<Aabb> = shapes.iter().map(|(_, figure)| figure.world_box()).collect();
        Self { shapes, near: BroadPhase::new(&boxes) }
    }

    /// Positions of shapes whose box touches a box (world, metres), in order.
    fn within(&self, place: Aabb) -> impl Iterator<Item = usize> + use<> {
        self.near.near(place).into_iter().map(|n| n as usize)
    }

    /// Positions of shapes near a piece.
    fn numbers(&self, piece: &Piece, by: f64) -> impl Iterator<Item = usize> + use<> {
        self.within(piece.stick.figure.world_box().grown(by))
    }

    /// Candidates with points over the breadth of a piece between two heights of its frame, mm.
    fn touching(&self, piece: &Piece, z: [f64; 2]) -> Vec<usize> {
        let half = 0.5 * piece.stick.section.breadth_mm();
        self.numbers(piece, 0.1)
            .filter_map(|n| self.shapes.get(n))
            .filter(|(i, _)| *i != piece.candidate as usize)
            .filter(|(_, figure)| over(piece, figure, half, z).is_some())
            .map(|(i, _)| *i)
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
    bearings: &[&[Bearing]],
) -> Vec<ThinVec<DeckLoad>> {
    let is_plate = |i: usize| kinds.get(i) == Some(&MemberKind::Plate);
    let soles: FxHashSet<usize> = (0..pieces.len())
        .filter(|&i| is_plate(i))
        .filter_map(|i| pieces.get(i).map(|p| p.candidate as usize))
        .filter(|&at| {
            // A wall that has a body of its own stands for its plates.
            let whole = candidates.get(at).and_then(|c| candidates.get(c.whole? as usize));
            whole.is_none_or(|whole| whole.items.is_empty())
        })
        .collect();
    let what = |at: usize, c: &Candidate| {
        if soles.contains(&at) { Some(Load::Wall) } else { load_kind(c) }
    };
    let things = Standing::new(candidates, |at, c| what(at, c).is_some());
    let walls =
        Standing::new(candidates, |_, c| c.family == Family::Wall && c.load_bearing != Some(false));
    let carried: Vec<bool> = things
        .shapes
        .par_iter()
        .map(|(at, figure)| {
            let wall = candidates.get(*at).and_then(|c| what(*at, c));
            matches!(wall, Some(Load::Wall)) && stands_on_wall(*at, figure, &walls)
        })
        .collect();
    let joists = pieces.par_iter().enumerate();
    joists
        .map(|(i, piece)| {
            if kinds.get(i) != Some(&MemberKind::Joist) {
                return ThinVec::new();
            }
            let nearest = pitch.get(i).and_then(|p| p.nearest_mm);
            let joist = Deck {
                piece,
                half_spacing: nearest.map_or(HALF_SPACING_MM, |n| 0.5 * n),
                bearings: bearings.get(i).copied().unwrap_or_default(),
            };
            let mut loads: ThinVec<DeckLoad> = things
                .numbers(piece, 0.3)
                .filter(|&n| carried.get(n) == Some(&false))
                .filter_map(|n| things.shapes.get(n))
                .filter_map(|(at, figure)| {
                    let candidate = candidates.get(*at)?;
                    joist.load(candidate, figure, what(*at, candidate)?)
                })
                .collect();
            loads.sort_by(|a, b| a.from_mm.total_cmp(&b.from_mm).then(a.name.cmp(&b.name)));
            loads
        })
        .collect()
}

/// A joist and the strip of deck that it carries.
struct Deck<'a> {
    piece: &'a Piece,
    half_spacing: f64,
    bearings: &'a [Bearing],
}

impl Deck<'_> {
    /// The load that something is, if it stands on the deck over the joist and off its bearings.
    fn load(&self, candidate: &Candidate, figure: &Figure, what: Load) -> Option<DeckLoad> {
        let piece = self.piece;
        let half = 0.5 * piece.stick.section.breadth_mm();
        let top = 0.5 * piece.stick.section.depth_mm();
        let height = |p: &DVec3| piece.stick.frame.local_mm(*p + figure.base).z;
        // It stands on the deck: nothing of it lies lower than the joist's top.
        let bottom = figure.points().iter().map(height).fold(f64::INFINITY, f64::min);
        if bottom < top - 1.0 {
            return None;
        }
        let (kind, reach_half) = match what {
            Load::Wall => {
                let across = crate::stick::sides_of_plan(figure)?;
                if across.dot(piece.stick.frame.x).abs() < (1.0 - ALONG * ALONG).sqrt() {
                    (DeckLoadKind::PartitionAlong, self.half_spacing)
                } else {
                    (DeckLoadKind::PartitionAcross, half)
                }
            }
            Load::Vessel => (DeckLoadKind::Vessel, self.half_spacing),
            Load::Bath => (DeckLoadKind::Bath, self.half_spacing),
        };
        let [from_mm, to_mm] = over(piece, figure, reach_half, [top - 1.0, top + DECK_MM])?;
        let on_bearing = self
            .bearings
            .iter()
            .any(|b| from_mm >= b.from_mm - ON_BEARING_MM && to_mm <= b.to_mm + ON_BEARING_MM);
        let partition =
            matches!(kind, DeckLoadKind::PartitionAcross | DeckLoadKind::PartitionAlong);
        (!on_bearing || !partition).then(|| DeckLoad {
            kind,
            name: candidate.called().into(),
            from_mm,
            to_mm,
        })
    }
}

/// Whether a wall stands over a wall that carries: then the deck does not carry it.
fn stands_on_wall(at: usize, figure: &Figure, walls: &Standing) -> bool {
    let Some(across) = crate::stick::sides_of_plan(figure) else { return false };
    let Some(along) = DVec3::Z.cross(across).try_normalize() else { return false };
    let extent = |f: &Figure, direction: DVec3| {
        f.points()
            .iter()
            .map(|p| (*p + f.base - figure.base).dot(direction))
            .fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| [e[0].min(x), e[1].max(x)])
    };
    let common = |a: [f64; 2], b: [f64; 2]| a[1].min(b[1]) - a[0].max(b[0]);
    let (thick, long, high) =
        (extent(figure, across), extent(figure, along), extent(figure, DVec3::Z));
    let mut below = figure.world_box();
    below.min.z -= FLOOR_DEPTH;
    walls.within(below).filter_map(|n| walls.shapes.get(n)).any(|(other, wall)| {
        let top = extent(wall, DVec3::Z)[1];
        *other != at
            && top <= high[0] + 0.01
            && top >= high[0] - FLOOR_DEPTH
            && common(thick, extent(wall, across)) >= 0.4 * (thick[1] - thick[0])
            && common(long, extent(wall, along)) >= 0.5 * (long[1] - long[0])
    })
}

#[derive(Debug, Clone, Copy)]
enum Load {
    Wall,
    Vessel,
    Bath,
}

/// Whether it may load the floor that it stands on.
pub(crate) fn is_load(candidate: &Candidate) -> bool {
    load_kind(candidate).is_some()
}

fn load_kind(candidate: &Candidate) -> Option<Load> {
    const HEAVY: [&str; 2] = ["Tank", "Boiler"];
    match candidate.family {
        Family::Wall => Some(Load::Wall),
        Family::FlowTerminal | Family::Furnishing | Family::Proxy | Family::Other => {
            let words = names(candidate);
            let class = |c: &str| {
                candidate.element.class.contains(c) || candidate.of_type.class.contains(c)
            };
            if words.has(Topic::Bath)
                || matches!(candidate.of_type.predefined.as_str(), "BATH" | "SHOWER")
            {
                Some(Load::Bath)
            } else if words.has(Topic::Vessel) || HEAVY.iter().any(|c| class(c)) {
                Some(Load::Vessel)
            } else {
                None
            }
        }
        _ => None,
    }
}
