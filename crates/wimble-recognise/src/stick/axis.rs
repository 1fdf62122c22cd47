//! Which way a body runs: along its edges, not along its oriented box, so that a skew or
//! birdsmouthed end does not tilt it.

use super::Figure;
use glam::DVec3;
use rustc_hash::FxHashMap;

/// Neighbouring faces that differ by less than this (cosine of half a degree) have no edge.
const SMOOTH: f64 = 0.999_962;
/// Edges whose directions differ by less than this are parallel (sine).
const PARALLEL: f64 = 5e-4;
/// Points nearer than this are one corner, metres.
const WELD: f64 = 1e-5;
/// No more edges than this are looked at, longest first.
const MOST_EDGES: usize = 600;
/// A body runs along a direction only if it extends this much of its box's diagonal that way.
const LEAST_EXTENT: f64 = 0.57;
/// Edges along a straight body come to at least this many times its length (a tapered one has two
/// along its straight side).
const STRAIGHT: f64 = 1.5;

/// Which way a body runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    /// Unit vector, of either sense.
    pub(super) direction: DVec3,
    /// Whether no straight direction carries it: bent.
    pub(super) bent: bool,
}

/// Which way a body runs; `None` if it has no size.
pub(super) fn axis(figure: &Figure) -> Option<Axis> {
    let edges = sharp_edges(figure);
    of_edges(&edges, &figure.points())
}

/// Which way a body with these edges and points runs.
pub(super) fn of_edges(edges: &[DVec3], points: &[DVec3]) -> Option<Axis> {
    let bundles = bundles(edges);
    let diagonal = wimble_geom::Aabb::of(points.iter().copied()).size().length();
    let along: Vec<(DVec3, f64, f64)> = bundles
        .into_iter()
        .filter_map(|bundle| {
            let direction = bundle.try_normalize()?;
            Some((direction, bundle.length(), extent(points, direction)))
        })
        .filter(|&(_, _, extent)| extent >= LEAST_EXTENT * diagonal)
        .collect();
    let most = along.iter().map(|&(_, sum, _)| sum).fold(0.0, f64::max);
    // Equal bundles (a tapered beam's two edges): the more level one.
    let (direction, sum, extent) = along
        .iter()
        .filter(|&&(_, sum, _)| sum >= 0.98 * most)
        .min_by(|a, b| a.0.z.abs().total_cmp(&b.0.z.abs()))
        .copied()
        .or_else(|| farthest(points))?;
    if sum >= STRAIGHT * extent {
        return Some(Axis { direction, bent: false });
    }
    // The edges of a bent body, laid end to end, give the line between its ends.
    let chord: DVec3 = edges
        .iter()
        .map(|edge| (*edge, edge.dot(direction)))
        .filter(|(edge, along)| along.abs() > 0.5 * edge.length())
        .map(|(edge, along)| edge * along.signum())
        .sum();
    Some(Axis { direction: chord.try_normalize().unwrap_or(direction), bent: true })
}

/// How far points reach along a direction.
fn extent(points: &[DVec3], direction: DVec3) -> f64 {
    let (least, most) = points
        .iter()
        .map(|p| p.dot(direction))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
    most - least
}

/// For a body without edges (a rounded one): from its point farthest from the first to the point
/// farthest from that.
fn farthest(points: &[DVec3]) -> Option<(DVec3, f64, f64)> {
    let from = |start: DVec3| {
        points
            .iter()
            .copied()
            .max_by(|a, b| a.distance_squared(start).total_cmp(&b.distance_squared(start)))
    };
    let one = from(*points.first()?)?;
    let other = from(one)?;
    let direction = (other - one).try_normalize()?;
    Some((direction, 0.0, extent(points, direction)))
}

/// Edges where two faces meet at an angle, and those with one face only.
pub(super) fn sharp_edges(figure: &Figure) -> Vec<DVec3> {
    let points = figure.points();
    let point = |at: u32| points.get(at as usize).copied().unwrap_or_default();
    let corner = welded(&points);
    let mut faces_of: FxHashMap<(u32, u32), (DVec3, u32, bool)> = FxHashMap::default();
    let mut order = Vec::new();
    for triangle in figure.triangles() {
        let [a, b, c] = triangle.map(point);
        let Some(normal) = (b - a).cross(c - a).try_normalize() else { continue };
        for (from, to) in [(0, 1), (1, 2), (2, 0)] {
            let ends = (corner_of(&corner, triangle[from]), corner_of(&corner, triangle[to]));
            let key = (ends.0.min(ends.1), ends.0.max(ends.1));
            if key.0 == key.1 {
                continue;
            }
            let entry = faces_of.entry(key).or_insert_with(|| {
                order.push(key);
                (normal, 0, false)
            });
            entry.1 += 1;
            entry.2 |= entry.0.dot(normal) < SMOOTH;
        }
    }
    order
        .into_iter()
        .filter(|key| faces_of.get(key).is_some_and(|(_, faces, sharp)| *faces == 1 || *sharp))
        .map(|(a, b)| point(b) - point(a))
        .collect()
}

fn corner_of(corner: &[u32], at: u32) -> u32 {
    corner.get(at as usize).copied().unwrap_or(at)
}

/// For each point the first point at the same place.
fn welded(points: &[DVec3]) -> Vec<u32> {
    let mut first: FxHashMap<[i64; 3], u32> = FxHashMap::default();
    points
        .iter()
        .zip(0u32..)
        .map(|(point, at)| {
            #[expect(clippy::cast_possible_truncation, reason = "a grid cell, far inside i64")]
            let cell = (*point / WELD).round().to_array().map(|x| x as i64);
            *first.entry(cell).or_insert(at)
        })
        .collect()
}

/// Sums of parallel edges, each turned into the sense of its bundle's longest.
fn bundles(edges: &[DVec3]) -> Vec<DVec3> {
    let mut edges = edges.to_vec();
    edges.sort_by(|a, b| b.length_squared().total_cmp(&a.length_squared()));
    let mut bundles: Vec<(DVec3, DVec3)> = Vec::new();
    for edge in edges.into_iter().take(MOST_EDGES) {
        let Some(direction) = edge.try_normalize() else { continue };
        let near = bundles
            .iter_mut()
            .find(|(first, _)| first.cross(direction).length_squared() < PARALLEL * PARALLEL);
        match near {
            Some((first, sum)) => *sum += edge * first.dot(direction).signum(),
            None => bundles.push((direction, edge)),
        }
    }
    bundles.into_iter().map(|(_, sum)| sum).collect()
}
