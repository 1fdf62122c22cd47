//! Plane polygons: area, cleaning, triangles.

use crate::tolerance::SAME_POINT;
use earcut::Earcut;
use glam::DVec2;

/// Twice the area of the triangle a b c, positive if they turn counter-clockwise.
pub(crate) fn turn(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    (b - a).perp_dot(c - a)
}

/// Signed area of a closed ring: positive if it runs counter-clockwise.
#[must_use]
pub fn ring_area(ring: &[DVec2]) -> f64 {
    let Some(&origin) = ring.first() else { return 0.0 };
    // Fans from the first point, so that a ring far from the origin keeps its precision.
    ring.windows(2).map(|w| (w[0] - origin).perp_dot(w[1] - origin)).sum::<f64>() / 2.0
}

/// Without points that repeat their neighbour and without the first repeated at the end.
#[must_use]
pub fn clean_ring(points: &[DVec2]) -> Vec<DVec2> {
    let mut ring: Vec<DVec2> = Vec::with_capacity(points.len());
    for &point in points {
        if point.is_finite() && ring.last().is_none_or(|last| last.distance(point) > SAME_POINT) {
            ring.push(point);
        }
    }
    while ring.len() > 1 && ring[0].distance(ring[ring.len() - 1]) <= SAME_POINT {
        ring.pop();
    }
    ring
}

/// Whether a point lies inside a ring, by crossings; on the ring itself either answer may come.
#[must_use]
pub fn ring_contains(ring: &[DVec2], point: DVec2) -> bool {
    let mut inside = false;
    let mut previous = match ring.last() {
        Some(&last) => last,
        None => return false,
    };
    for &corner in ring {
        if (corner.y > point.y) != (previous.y > point.y) {
            let along = (point.y - previous.y) / (corner.y - previous.y);
            if point.x < previous.x + along * (corner.x - previous.x) {
                inside = !inside;
            }
        }
        previous = corner;
    }
    inside
}

/// The part of a convex ring with `normal · p <= offset`; empty if none.
#[must_use]
pub fn clip_convex_ring(ring: &[DVec2], normal: DVec2, offset: f64) -> Vec<DVec2> {
    let mut out = Vec::with_capacity(ring.len() + 2);
    for (i, &a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        let (da, db) = (normal.dot(a) - offset, normal.dot(b) - offset);
        if da <= 0.0 {
            out.push(a);
        }
        if (da < 0.0 && db > 0.0) || (da > 0.0 && db < 0.0) {
            out.push(a.lerp(b, da / (da - db)));
        }
    }
    clean_ring(&out)
}

/// Triangles that fill the area between an outer ring and its holes, as indices into the
/// rings' points taken one ring after the other. Counter-clockwise whichever way the rings run.
///
/// Every ring edge is an edge of a triangle: points on a straight stretch are not left out, so
/// that neighbouring faces share their edges.
#[must_use]
pub fn triangulate(outer: &[DVec2], holes: &[impl AsRef<[DVec2]>]) -> Vec<[u32; 3]> {
    let mut triangles = triangulate_sparsely(outer, holes);
    let points: Vec<DVec2> =
        outer.iter().chain(holes.iter().flat_map(AsRef::as_ref)).copied().collect();
    restore_left_out(&points, &mut triangles);
    triangles
}

/// [`triangulate`], but points on straight stretches may be left out.
#[must_use]
pub fn triangulate_sparsely(outer: &[DVec2], holes: &[impl AsRef<[DVec2]>]) -> Vec<[u32; 3]> {
    if outer.len() < 3 {
        return Vec::new();
    }
    // Near the origin, for the sake of precision.
    let origin = outer[0];
    let mut points: Vec<[f64; 2]> = outer.iter().map(|&p| (p - origin).to_array()).collect();
    let mut hole_starts: Vec<u32> = Vec::with_capacity(holes.len());
    for hole in holes {
        hole_starts.push(points.len() as u32);
        points.extend(hole.as_ref().iter().map(|&p| (p - origin).to_array()));
    }
    let mut flat: Vec<u32> = Vec::new();
    Earcut::new().earcut(points.iter().copied(), &hole_starts, &mut flat);
    let at = |i: u32| DVec2::from_array(points[i as usize]);
    flat.chunks_exact(3)
        .map(|t| {
            if turn(at(t[0]), at(t[1]), at(t[2])) < 0.0 {
                [t[0], t[2], t[1]]
            } else {
                [t[0], t[1], t[2]]
            }
        })
        .collect()
}

/// [`triangulate_sparsely`], then diagonals swapped until triangles are as compact as they can be.
#[must_use]
pub fn triangulate_compactly(outer: &[DVec2], holes: &[impl AsRef<[DVec2]>]) -> Vec<[u32; 3]> {
    let triangles = triangulate_sparsely(outer, holes);
    let Some(&origin) = outer.first() else { return triangles };
    let all = outer.iter().chain(holes.iter().flat_map(AsRef::as_ref));
    let points: Vec<[f64; 2]> = all.map(|&p| (p - origin).to_array()).collect();
    let mut flat: Vec<u32> = triangles.into_iter().flatten().collect();
    earcut::refine(&mut flat, &points);
    flat.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect()
}

/// Ear cutting leaves out points on straight stretches; each is put back by splitting the
/// triangle edge on which it lies.
fn restore_left_out(points: &[DVec2], triangles: &mut Vec<[u32; 3]>) {
    let mut used = vec![false; points.len()];
    for &i in triangles.iter().flatten() {
        used[i as usize] = true;
    }
    let at = |i: u32| points[i as usize];
    // Where the left-out points are many the ring is noise; the area is right without them.
    let left_out: Vec<u32> =
        (0..points.len() as u32).filter(|&i| !used[i as usize]).take(512).collect();
    for point in left_out {
        let p = at(point);
        let mut best: Option<(f64, usize, usize)> = None;
        for (t, triangle) in triangles.iter().enumerate() {
            for corner in 0..3 {
                let (a, b) = (at(triangle[corner]), at(triangle[(corner + 1) % 3]));
                let along = b - a;
                let length = along.length();
                if length <= SAME_POINT {
                    continue;
                }
                let place = (p - a).dot(along) / length;
                let off = ((p - a).perp_dot(along) / length).abs();
                if place > 0.0
                    && place < length
                    && off <= SAME_POINT
                    && best.is_none_or(|(least, ..)| off < least)
                {
                    best = Some((off, t, corner));
                }
            }
        }
        if let Some((_, t, corner)) = best {
            let [a, b, c] = [
                triangles[t][corner],
                triangles[t][(corner + 1) % 3],
                triangles[t][(corner + 2) % 3],
            ];
            triangles[t] = [a, point, c];
            triangles.push([point, b, c]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Vec<DVec2> {
        vec![DVec2::ZERO, DVec2::new(side, 0.0), DVec2::splat(side), DVec2::new(0.0, side)]
    }

    #[test]
    fn area_is_signed_and_survives_great_distance() {
        let far: Vec<DVec2> = square(0.2).iter().map(|p| *p + DVec2::new(1e7, -3e6)).collect();
        assert!((ring_area(&square(0.2)) - 0.04).abs() < 1e-15);
        assert!((ring_area(&far) - 0.04).abs() < 1e-8);
        let back: Vec<DVec2> = square(1.0).into_iter().rev().collect();
        assert!((ring_area(&back) + 1.0).abs() < 1e-15);
    }

    #[test]
    fn triangles_fill_the_area_less_the_hole_and_keep_points_on_straight_edges() {
        let mut outer = square(4.0);
        outer.insert(1, DVec2::new(2.0, 0.0));
        let hole: Vec<DVec2> = square(1.0).iter().map(|p| *p + DVec2::ONE).collect();
        let triangles = triangulate(&outer, std::slice::from_ref(&hole));
        let all: Vec<DVec2> = outer.iter().chain(&hole).copied().collect();
        let area: f64 = triangles
            .iter()
            .map(|t| turn(all[t[0] as usize], all[t[1] as usize], all[t[2] as usize]) / 2.0)
            .sum();
        assert!((area - 15.0).abs() < 1e-12);
        assert!(
            triangles.iter().flatten().any(|&i| i == 1),
            "the point in the middle of an edge is kept"
        );
    }

    #[test]
    fn a_convex_ring_is_clipped_by_a_line() {
        let part = clip_convex_ring(&square(2.0), DVec2::X, 0.5);
        assert!((ring_area(&part) - 1.0).abs() < 1e-12);
        assert!(clip_convex_ring(&square(2.0), DVec2::X, -0.5).is_empty());
    }

    #[test]
    fn inside_is_told_by_crossings() {
        assert!(ring_contains(&square(1.0), DVec2::splat(0.5)));
        assert!(!ring_contains(&square(1.0), DVec2::new(1.5, 0.5)));
    }
}
