//! Voids drawn in a member's body: holes, notches and seats of a brep, a tessellation or a profile
//! that is swept through the breadth.
//!
//! The body is compared with its box and end planes. Where it is one outline through the whole
//! breadth, every inner loop and every pocket between outline and box is a void, exact. Other
//! voids (blind, from the side) are told, not found.

use crate::scene::PartShape;
use crate::stick::Stick;
use glam::{DAffine3, DMat3, DVec2, DVec3};
use rustc_hash::FxHashMap;
use wimble_geom::{Aabb, Plane, Prism, Profile, Solid, clip_convex_ring, ring_area};
use wimble_model::Section;

/// Points this near are one, and lie on a side, mm.
const NEAR_MM: f64 = 0.05;
/// Voids with less area than this are rounding, mm².
const LEAST_MM2: f64 = 4.0;
/// Volumes that differ by less than this share are one.
const SAME_VOLUME: f64 = 0.002;
/// Voids reach this far out of the sides, so that they pass through for certain, mm.
const THROUGH_MM: f64 = 1.0;

/// What is drawn in a body.
pub(crate) enum Drawn {
    /// Nothing is missing.
    Nothing,
    /// These voids, world, metres.
    Voids(Vec<Solid>),
    /// Something that could not be told apart.
    Unread,
}

/// Voids in the body of a rectangular member.
pub(crate) fn drawn(stick: &Stick) -> Drawn {
    let [crate::scene::Part { shape: PartShape::Box { bounds, ends }, .. }] =
        stick.body.parts.as_slice()
    else {
        return Drawn::Nothing;
    };
    let plain = stick.figure.len() == 8 && ends.is_empty();
    if plain
        || stick.varies
        || !stick.figure.is_closed()
        || !matches!(stick.section, Section::Rectangle { .. })
    {
        return Drawn::Nothing;
    }
    let box_ring = reference(bounds, ends);
    let breadth = bounds.size().y;
    let own = stick.figure.volume() * 1e9;
    let skew = ends.iter().any(|plane| plane.normal.y.abs() > 1e-3);
    let Some(box_ring) = box_ring.filter(|_| !skew) else {
        return Drawn::Nothing;
    };
    let whole = ring_area(&box_ring) * breadth;
    if own > whole * (1.0 - SAME_VOLUME) && own > whole - LEAST_MM2 * breadth {
        return Drawn::Nothing;
    }
    let Some(loops) = outline(stick, bounds) else { return Drawn::Unread };
    let area: f64 = loops.iter().map(|ring| ring_area(ring)).sum();
    if (area * breadth - own).abs() > SAME_VOLUME * own {
        return Drawn::Unread;
    }
    let mut voids: Vec<Vec<DVec2>> = Vec::new();
    let mut outlines = 0;
    for ring in loops {
        if ring_area(&ring) < 0.0 {
            voids.push(ring.into_iter().rev().collect());
        } else {
            outlines += 1;
            match pockets(&ring, &box_ring) {
                Some(found) => voids.extend(found),
                None => return Drawn::Unread,
            }
        }
    }
    voids.retain(|ring| ring_area(ring).abs() > LEAST_MM2);
    if outlines != 1 {
        return Drawn::Unread;
    }
    Drawn::Voids(voids.iter().filter_map(|ring| through(stick, ring, breadth)).collect())
}

/// The box seen along y, cut by its end planes, counter-clockwise in (x, z).
fn reference(bounds: &Aabb, ends: &[Plane]) -> Option<Vec<DVec2>> {
    let Aabb { min, max } = *bounds;
    let mut ring = vec![
        DVec2::new(min.x, min.z),
        DVec2::new(max.x, min.z),
        DVec2::new(max.x, max.z),
        DVec2::new(min.x, max.z),
    ];
    for plane in ends {
        ring = clip_convex_ring(&ring, DVec2::new(plane.normal.x, plane.normal.z), plane.offset);
    }
    (ring.len() >= 3).then_some(ring)
}

/// Loops of the face at y = +b/2 in (x, z): the outline counter-clockwise, holes clockwise.
fn outline(stick: &Stick, bounds: &Aabb) -> Option<Vec<Vec<DVec2>>> {
    let figure = &stick.figure;
    let local: Vec<DVec3> =
        figure.points().iter().map(|p| stick.frame.local_mm(*p + figure.base)).collect();
    let mut corner: FxHashMap<[i64; 2], u32> = FxHashMap::default();
    let mut places: Vec<DVec2> = Vec::new();
    let mut next: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
    let mut edges: Vec<(u32, u32)> = Vec::new();
    for triangle in figure.triangles() {
        let points = triangle.map(|at| local.get(at as usize).copied().unwrap_or_default());
        let on_side = points.iter().all(|p| (p.y - bounds.max.y).abs() < NEAR_MM);
        let normal = (points[1] - points[0]).cross(points[2] - points[0]);
        if !on_side || normal.y <= 0.0 {
            continue;
        }
        let ids = points.map(|p| {
            #[expect(clippy::cast_possible_truncation, reason = "a grid cell, far inside i64")]
            let cell = [p.x, p.z].map(|v| (v / NEAR_MM).round() as i64);
            *corner.entry(cell).or_insert_with(|| {
                places.push(DVec2::new(p.x, p.z));
                u32::try_from(places.len() - 1).unwrap_or(u32::MAX)
            })
        });
        // Seen from outside (+y) the face goes round clockwise in (x, z): turned here.
        edges.extend([(ids[1], ids[0]), (ids[2], ids[1]), (ids[0], ids[2])]);
    }
    let all: rustc_hash::FxHashSet<(u32, u32)> = edges.iter().copied().collect();
    let mut starts: Vec<u32> = Vec::new();
    for &(a, b) in edges.iter().filter(|(a, b)| a != b && !all.contains(&(*b, *a))) {
        next.entry(a).or_default().push(b);
        starts.push(a);
    }
    let mut loops = Vec::new();
    for start in starts {
        let mut ring = Vec::new();
        let mut here = start;
        while let Some(to) = next.get_mut(&here).and_then(Vec::pop) {
            ring.push(*places.get(here as usize)?);
            here = to;
        }
        if here != start {
            return None;
        }
        if ring.len() >= 3 {
            loops.push(ring);
        }
    }
    (!loops.is_empty()).then_some(loops)
}

/// Where a point lies on the boundary of a convex ring, as its length from the first corner.
fn station(point: DVec2, ring: &[DVec2]) -> Option<f64> {
    let mut run = 0.0;
    for (i, &a) in ring.iter().enumerate() {
        let b = ring.get(i + 1).or(ring.first()).copied()?;
        let side = b - a;
        let long = side.length();
        if long > 0.0 {
            let along = (point - a).dot(side) / long;
            let off = (point - a).perp_dot(side).abs() / long;
            if off < NEAR_MM && along > -NEAR_MM && along < long + NEAR_MM {
                return Some(run + along.clamp(0.0, long));
            }
        }
        run += long;
    }
    None
}

/// Areas between a convex ring and an outline inside it, both counter-clockwise.
fn pockets(outline: &[DVec2], ring: &[DVec2]) -> Option<Vec<Vec<DVec2>>> {
    let girth: f64 = sides(ring).map(|(a, b)| a.distance(b)).sum();
    let stations: Vec<Option<f64>> = outline.iter().map(|p| station(*p, ring)).collect();
    let first = stations.iter().position(Option::is_some)?;
    let n = outline.len();
    let mut found = Vec::new();
    let mut from = first;
    let mut chain: Vec<DVec2> = Vec::new();
    for step in 1..=n {
        let at = (first + step) % n;
        let point = *outline.get(at)?;
        let Some(there) = *stations.get(at)? else {
            chain.push(point);
            continue;
        };
        let here = (*stations.get(from)?)?;
        // Along the boundary from `here` to `there`, then back along the chain.
        let ahead = (there - here).rem_euclid(girth);
        if ahead < girth - NEAR_MM {
            let mut pocket = vec![*outline.get(from)?];
            let mut run = 0.0;
            let mut corners: Vec<(f64, DVec2)> = Vec::new();
            for (a, b) in sides(ring) {
                let offset = (run - here).rem_euclid(girth);
                if offset > NEAR_MM && offset < ahead - NEAR_MM {
                    corners.push((offset, a));
                }
                run += a.distance(b);
            }
            corners.sort_by(|a, b| a.0.total_cmp(&b.0));
            pocket.extend(corners.into_iter().map(|(_, corner)| corner));
            pocket.push(point);
            pocket.extend(chain.iter().rev());
            if ring_area(&pocket).abs() > LEAST_MM2 {
                found.push(pocket);
            }
        }
        chain.clear();
        from = at;
    }
    Some(found)
}

fn sides(ring: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| (*a, *b))
}

/// A ring in (x, z) through the breadth, world, metres.
fn through(stick: &Stick, ring: &[DVec2], breadth_mm: f64) -> Option<Solid> {
    let frame = &stick.frame;
    let half = 0.5 * breadth_mm + THROUGH_MM;
    let outer: Vec<DVec2> = ring.iter().map(|p| *p / 1000.0).collect();
    Some(Solid::Prism(Prism {
        frame: DAffine3 {
            matrix3: DMat3::from_cols(frame.x, frame.z, -frame.y()),
            translation: frame.world_m(DVec3::new(0.0, half, 0.0)),
        },
        profile: Profile::from_rings(&outer, &[], 0.0)?,
        sweep: -frame.y() * (2.0 * half / 1000.0),
    }))
}
