//! Cross-sections of a figure in the member's frame.

use glam::{DVec2, DVec3};

/// Pieces of a section nearer than this touch.
const TOUCHING_MM: f64 = 1.0;

/// Triangles of a body in the member's frame, millimetres.
#[derive(Debug, Clone, Default)]
pub(super) struct Local {
    pub(super) points: Vec<DVec3>,
    pub(super) triangles: Vec<[u32; 3]>,
    pub(super) closed: bool,
    /// Greatest distance of the triangles from the true surface, mm.
    pub(super) chord: f64,
}

impl Local {
    pub(super) fn faces(&self) -> impl Iterator<Item = [DVec3; 3]> + '_ {
        let point = |at: u32| self.points.get(at as usize).copied().unwrap_or_default();
        self.triangles.iter().map(move |t| t.map(point))
    }
}

/// What a plane square to x cuts out of a body: the outline as pieces of line in (y, z), material
/// on the left of each.
#[derive(Debug, Clone, Default)]
pub(super) struct Slice {
    lines: Vec<[DVec2; 2]>,
    closed: bool,
}

/// The cross-section at one x.
pub(super) fn slice(body: &Local, x: f64) -> Slice {
    let lines = body.faces().filter_map(|face| across(face, x)).collect();
    Slice { lines, closed: body.closed }
}

/// Where a triangle meets the plane, so directed that the material lies on the left seen along x.
fn across(face: [DVec3; 3], x: f64) -> Option<[DVec2; 2]> {
    let mut enters = None;
    let mut leaves = None;
    for (a, b) in [(face[0], face[1]), (face[1], face[2]), (face[2], face[0])] {
        // Half-open, so that a corner in the plane belongs to one side alone.
        if (a.x < x) == (b.x < x) {
            continue;
        }
        let t = (x - a.x) / (b.x - a.x);
        let at = DVec2::new(a.y + t * (b.y - a.y), a.z + t * (b.z - a.z));
        if a.x < x { enters = Some(at) } else { leaves = Some(at) }
    }
    Some([enters?, leaves?])
}

impl Slice {
    pub(super) fn points(&self) -> Vec<DVec2> {
        self.lines.iter().flatten().copied().collect()
    }

    /// Area of the material, mm²; of an open body, of the hull.
    pub(super) fn area(&self) -> f64 {
        if !self.closed {
            return hull_area(&self.points());
        }
        0.5 * self.lines.iter().map(|[a, b]| a.perp_dot(*b)).sum::<f64>().abs()
    }

    /// Least and greatest y and z.
    pub(super) fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let mut points = self.lines.iter().flatten();
        let first = *points.next()?;
        Some(points.fold((first, first), |(low, high), p| (low.min(*p), high.max(*p))))
    }

    /// Stretches of y that are material at a height z, by y; pieces that touch within 1 mm or
    /// overlap are one stretch.
    pub(super) fn widths(&self, z: f64) -> Vec<[f64; 2]> {
        let mut crossings: Vec<(f64, i32)> = self
            .lines
            .iter()
            .filter(|[a, b]| (a.y < z) != (b.y < z))
            .map(|[a, b]| {
                (a.x + (z - a.y) / (b.y - a.y) * (b.x - a.x), if a.y < z { 1 } else { -1 })
            })
            .collect();
        crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut stretches: Vec<[f64; 2]> = Vec::new();
        let mut depth = 0;
        for (y, step) in crossings {
            if depth == 0 {
                match stretches.last_mut() {
                    Some(last) if y - last[1] <= TOUCHING_MM => {}
                    _ => stretches.push([y, y]),
                }
            }
            depth += step;
            if let Some(last) = stretches.last_mut() {
                last[1] = last[1].max(y);
            }
        }
        stretches
    }

    /// Heights at which the outline turns, by z, those nearer than 0.05 mm taken as one.
    pub(super) fn levels(&self) -> Vec<f64> {
        let mut levels: Vec<f64> = self.lines.iter().flatten().map(|p| p.y).collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 0.05);
        levels
    }
}

/// Area of the convex hull.
fn hull_area(points: &[DVec2]) -> f64 {
    wimble_geom::ring_area(&wimble_geom::convex_hull(points.to_vec())).abs()
}
