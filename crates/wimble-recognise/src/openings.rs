//! Openings of members: voids relations, voiding features, boolean differences and provisions.

use crate::body_voids::{Drawn, drawn};
use crate::candidate::{Candidate, Family, Item};
use crate::neighbours::Neighbours;
use crate::pieces::Piece;
use crate::sorting::Sort;
use crate::stick::{Figure, stick};
use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use wimble_geom::{Aabb, BroadPhase, Plane, Solid};
use wimble_model::{MemberIx, Opening, OpeningSource};

/// A void enters a member if it shares more than this with it in each direction, mm.
const ENTERS_MM: f64 = 1.0;
/// A corner lies behind a plane within this, metres.
const BEHIND: f64 = 1e-4;
/// An end is cut by planes that lean at most so far along the member (cosine of the normal).
const ACROSS: f64 = 0.3;

/// A void in a member.
#[derive(Debug, Clone)]
pub(crate) struct Void {
    /// The candidate that it came from (the host's, for one inside the body).
    pub(crate) candidate: u32,
    /// Its item, if its element has several.
    pub(crate) item: Option<u32>,
    /// The member.
    pub(crate) piece: u32,
    /// How it is modelled.
    pub(crate) source: OpeningSource,
    /// Its solid, world, metres.
    pub(crate) solid: Solid,
}

/// Voids as they are modelled, by the candidate that they are in.
pub(crate) struct Voids<'a> {
    of_host: FxHashMap<u32, Vec<u32>>,
    candidates: &'a [Candidate],
}

impl<'a> Voids<'a> {
    /// Finds the openings of each candidate.
    pub(crate) fn new(candidates: &'a [Candidate], sorts: &[Sort]) -> Self {
        let mut of_host: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
        for (at, (candidate, sort)) in (0u32..).zip(candidates.iter().zip(sorts)) {
            if let (Some(host), Sort::Opening) = (candidate.host, sort) {
                of_host.entry(host).or_default().push(at);
            }
        }
        Self { of_host, candidates }
    }

    /// Everything that may void a piece: candidate, item number if several, source, solid.
    fn of(&self, piece: &Piece) -> Vec<(u32, Option<u32>, OpeningSource, &'a Solid)> {
        let mut found = Vec::new();
        let hosts = std::iter::once(piece.candidate).chain(piece.also.iter().copied());
        for host in hosts {
            for &opening in self.of_host.get(&host).into_iter().flatten() {
                let Some(candidate) = self.candidates.get(opening as usize) else { continue };
                let several = candidate.items.len() > 1;
                found.extend(candidate.solids().map(|(item, solid)| {
                    (opening, several.then_some(item.index), OpeningSource::Element, solid)
                }));
            }
        }
        let own = self.candidates.get(piece.candidate as usize);
        let items: Vec<&Item> = own.map_or(Vec::new(), |own| {
            piece.items.iter().filter_map(|&i| own.items.get(i)).collect()
        });
        let mut number = 0;
        for item in items {
            for subtracted in item.subtracted.iter().filter_map(|s| s.as_ref().ok()) {
                found.push((piece.candidate, Some(number), OpeningSource::Boolean, subtracted));
                number += 1;
            }
        }
        found
    }

    /// Cuts the ends that voids take off a piece over its full depth: they are its shape.
    pub(crate) fn trim(&self, piece: &mut Piece) {
        for (_, _, _, solid) in self.of(piece) {
            if let Some(left) = without_end(piece, solid)
                && let Some(shorter) = stick(left, None)
            {
                *piece.stick = shorter;
            }
        }
    }

    /// Voids that enter a piece, those drawn in its body included.
    pub(crate) fn enter(&self, at: u32, piece: &Piece) -> Vec<Void> {
        let drawn = match drawn(&piece.stick) {
            Drawn::Voids(solids) => solids,
            Drawn::Nothing | Drawn::Unread => Vec::new(),
        };
        let drawn = drawn.into_iter().zip(0u32..).map(|(solid, number)| Void {
            candidate: piece.candidate,
            item: Some(number),
            piece: at,
            source: OpeningSource::Body,
            solid,
        });
        self.of(piece)
            .into_iter()
            .filter(|(_, _, _, solid)| enters(piece, solid))
            .map(|(candidate, item, source, solid)| Void {
                candidate,
                item,
                piece: at,
                source,
                solid: solid.clone(),
            })
            .chain(drawn)
            .collect()
    }
}

/// Whether a solid shares more than a hair with a member's box.
pub(crate) fn enters(piece: &Piece, solid: &Solid) -> bool {
    let figure = Figure::of(solid);
    let place = crate::stick::boxed_in(&piece.stick, &figure);
    let common = place.intersection(piece.stick.local_box());
    common.size().min_element() > ENTERS_MM
}

/// What is left of a piece when a convex solid takes an end of it with one plane.
fn without_end(piece: &Piece, solid: &Solid) -> Option<Figure> {
    let figure = &piece.stick.figure;
    let tool = Figure::of(solid);
    // Nearly every void lies between the ends.
    let place = crate::stick::boxed_in(&piece.stick, &tool);
    if place.min.x > ENTERS_MM && place.max.x < piece.stick.length_mm - ENTERS_MM {
        return None;
    }
    let shift = tool.base - figure.base;
    let points: Vec<DVec3> = tool.points().iter().map(|p| *p + shift).collect();
    let reach = Aabb::of(points.iter().copied());
    if !reach.touches(Aabb::of(figure.points().iter().copied())) {
        return None;
    }
    let planes = planes(&tool, &points)?;
    let mesh = figure.with_points(figure.points().to_vec());
    let cutting = planes.iter().filter(|p| p.normal.dot(piece.stick.frame.x).abs() > ACROSS);
    for plane in cutting {
        let taken = mesh.clipped(plane);
        let others = planes.iter().filter(|other| *other != plane);
        if taken.triangles.is_empty() {
            continue;
        }
        let used = taken.triangles.iter().flatten().filter_map(|&i| taken.points.get(i as usize));
        let used: Vec<DVec3> = used.copied().collect();
        if others.into_iter().all(|other| used.iter().all(|p| other.distance(*p) <= BEHIND)) {
            let left = mesh.clipped(&plane.flipped());
            if left.triangles.is_empty() {
                return None;
            }
            let mut left = Figure::of_mesh(&left);
            left.base += figure.base;
            return Some(left);
        }
    }
    None
}

/// Face planes of a convex body, each once; `None` if it is not convex.
fn planes(tool: &Figure, points: &[DVec3]) -> Option<Vec<Plane>> {
    let mut planes: Vec<Plane> = Vec::new();
    let point = |at: u32| points.get(at as usize).copied().unwrap_or_default();
    for triangle in tool.triangles() {
        let [a, b, c] = triangle.map(point);
        let Some(plane) = Plane::through(a, (b - a).cross(c - a)) else { continue };
        if points.iter().any(|p| plane.distance(*p) > BEHIND) {
            return None;
        }
        let known = |p: &Plane| {
            p.normal.distance(plane.normal) < 1e-6 && (p.offset - plane.offset).abs() < 1e-6
        };
        if !planes.iter().any(known) {
            planes.push(plane);
        }
    }
    Some(planes)
}

/// Openings of members and their bodies, by member, GlobalId, place.
pub(crate) fn openings(
    voids: &Voids<'_>,
    (pieces, near): (&[Piece], &Neighbours),
    candidates: &[Candidate],
    sorts: &[Sort],
) -> (Vec<Opening>, Vec<Solid>) {
    let numbered = pieces.par_iter().zip(0..u32::try_from(pieces.len()).unwrap_or(u32::MAX));
    let mut found: Vec<Void> =
        numbered.flat_map_iter(|(piece, at)| voids.enter(at, piece)).collect();
    let provisions =
        candidates.iter().zip(sorts).zip(0u32..).filter(|((_, s), _)| matches!(s, Sort::Provision));
    for ((candidate, _), at) in provisions {
        let several = candidate.items.len() > 1;
        for (item, solid) in candidate.solids() {
            for piece_at in near.near(solid.bounds()) {
                if pieces.get(piece_at as usize).is_some_and(|piece| enters(piece, solid)) {
                    found.push(Void {
                        candidate: at,
                        item: several.then_some(item.index),
                        piece: piece_at,
                        source: OpeningSource::Provision,
                        solid: solid.clone(),
                    });
                }
            }
        }
    }
    let guid =
        |v: &Void| candidates.get(v.candidate as usize).map_or("", |c| c.element.guid.as_str());
    let centre = |v: &Void| v.solid.bounds().centre();
    let far = |a: DVec3, b: DVec3| {
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)).then(a.z.total_cmp(&b.z))
    };
    found.sort_by(|a, b| {
        (a.piece, guid(a), a.item).cmp(&(b.piece, guid(b), b.item)).then(far(centre(a), centre(b)))
    });
    let fasteners = fasteners(candidates, sorts);
    found
        .into_iter()
        .map(|v| {
            let mut element =
                candidates.get(v.candidate as usize).map(|c| c.element.clone()).unwrap_or_default();
            element.item = v.item;
            let place = v.solid.bounds().grown(wimble_geom::tolerance::CONTACT);
            let touches = !fasteners.near(place).is_empty();
            (Opening { element, member: MemberIx(v.piece), source: v.source, touches }, v.solid)
        })
        .unzip()
}

/// Hangers, plates, bolts and other carriers of small size, by place.
fn fasteners(candidates: &[Candidate], sorts: &[Sort]) -> BroadPhase {
    let small = |c: &Candidate, s: &Sort| {
        matches!(s, Sort::Fastener) || (matches!(s, Sort::Carrier(..)) && c.family == Family::Plate)
    };
    let boxes = candidates
        .iter()
        .zip(sorts)
        .filter(|(c, s)| small(c, s))
        .flat_map(|(c, _)| c.solids().map(|(_, solid)| solid.bounds()));
    BroadPhase::new(&boxes.collect::<Vec<Aabb>>())
}
