//! Faces on curved surfaces, as triangles.
//!
//! A face's boundary is laid out in the surface's parameters, filled with triangles, and these are
//! cut along grid lines so near to each other that flat pieces stay within the chord tolerance.
//! New points on an edge of the boundary stay on its chord, so that the neighbouring face meets it;
//! all others lie on the surface.

use super::faces::Shell;
use super::reader::{Entity, Read, Reader};
use super::surface::Surface;
use glam::{DVec2, DVec3};
use wimble_geom::{Mesh, ring_area, triangulate_compactly};

/// A corner in parameters and in space.
#[derive(Debug, Clone, Copy)]
struct Corner {
    uv: DVec2,
    p: DVec3,
    /// Whether the edge to the next corner is a chord of the boundary.
    border: bool,
}

/// More pieces than this and a face's grid is made coarser.
const MOST_PIECES: usize = 60_000;
/// How much coarser at most; beyond, a face is given up.
const COARSEST: usize = 64;

impl<'m> Reader<'m, '_> {
    pub(super) fn curved_face(
        &self,
        face: &Entity<'m>,
        surface: &Entity<'m>,
        shell: &mut Shell,
    ) -> Read<()> {
        let same_sense = face.get(2).boolean().unwrap_or(true);
        let mut loops: Vec<Vec<DVec3>> = Vec::new();
        for bound in self.parts(face, 0) {
            let looped = self.part(&bound, 0, "Bound")?;
            let mut points = self.loop_points(&looped, shell)?;
            if !bound.get(1).boolean().unwrap_or(true) {
                points.reverse();
            }
            loops.push(points);
        }
        let filled = self.surface_through(surface, &loops).and_then(|surface| {
            fill(&surface, &loops, same_sense, self.chord).ok_or_else(|| {
                face.trouble("has a boundary that does not enclose a part of its surface")
            })
        });
        let (triangles, chord) = match filled {
            Ok(filled) => filled,
            Err(trouble) => {
                // Better a face stretched between its edges than a hole in the body.
                let mut triangles = stretched(&loops).ok_or_else(|| trouble.clone())?;
                let text = format!("{}; the face is stretched between its edges", trouble.reason);
                self.remark(trouble.row, text);
                if !same_sense {
                    // Its sense comes from its boundary, which is right as it is.
                    for triangle in &mut triangles {
                        triangle.swap(1, 2);
                    }
                }
                (triangles, self.chord)
            }
        };
        self.count(face, triangles.len())?;
        for mut triangle in triangles {
            if !same_sense {
                triangle.swap(1, 2);
            }
            let first = shell.mesh.points.len() as u32;
            shell.mesh.points.extend(triangle);
            shell.mesh.triangles.push([first, first + 1, first + 2]);
        }
        shell.mesh.chord = shell.mesh.chord.max(chord);
        Ok(())
    }
}

/// Triangles between the points of loops, as if the face were nearly flat.
fn stretched(loops: &[Vec<DVec3>]) -> Option<Vec<[DVec3; 3]>> {
    let mut mesh = Mesh::default();
    let mut rings: Vec<Vec<u32>> = Vec::new();
    for points in loops.iter().filter(|points| points.len() >= 3) {
        let first = mesh.points.len() as u32;
        mesh.points.extend(points);
        rings.push((first..mesh.points.len() as u32).collect());
    }
    rings.sort_by_key(|ring| std::cmp::Reverse(ring.len()));
    let (outer, holes) = rings.split_first()?;
    mesh.add_face(outer, holes).then(|| mesh.triangles.iter().map(|t| mesh.corners(*t)).collect())
}

/// Triangles of the part of a surface within loops; in the sense of the surface's normal.
fn fill(
    surface: &Surface,
    loops: &[Vec<DVec3>],
    same_sense: bool,
    chord: f64,
) -> Option<(Vec<[DVec3; 3]>, f64)> {
    let rings = rings(surface, loops, same_sense)?;
    let scale = surface.scale();
    let flat: Vec<Vec<DVec2>> =
        rings.iter().map(|ring| ring.iter().map(|c| c.uv * scale).collect()).collect();
    let (outer, holes) = flat.split_first()?;
    let triangles = triangulate_compactly(outer, holes);
    if triangles.is_empty() {
        return None;
    }
    let corners: Vec<Corner> = rings.iter().flatten().copied().collect();
    // Which two corners follow each other on the boundary.
    let mut next = Vec::with_capacity(corners.len());
    for ring in &rings {
        let start = next.len() as u32;
        let n = ring.len() as u32;
        next.extend((0..n).map(|i| start + (i + 1) % n));
    }
    let mut used = vec![false; corners.len()];
    for &i in triangles.iter().flatten() {
        used[i as usize] = true;
    }
    let pieces: Vec<Vec<Corner>> = triangles
        .iter()
        .map(|t| {
            (0..3)
                .map(|k| {
                    let (a, b) = (t[k], t[(k + 1) % 3]);
                    let on_border = next[a as usize] == b && corners[a as usize].border;
                    let against = next[b as usize] == a && corners[b as usize].border;
                    Corner { border: on_border || against, ..corners[a as usize] }
                })
                .collect()
        })
        .collect();
    let mut coarser = 1;
    while coarser <= COARSEST {
        let lines = grid_lines(surface, &rings, &used, scale, chord, coarser);
        if let Some(out) = cut_up(surface, &pieces, &lines) {
            // Half as many lines leave the surface by four times as much.
            return Some((out, chord * (coarser * coarser) as f64));
        }
        coarser *= 2;
    }
    None
}

/// Pieces cut along lines of both parameters, as triangles; `None` if they become too many.
fn cut_up(
    surface: &Surface,
    pieces: &[Vec<Corner>],
    lines: &[Vec<f64>; 2],
) -> Option<Vec<[DVec3; 3]>> {
    let mut pieces = pieces.to_vec();
    for (axis, lines) in lines.iter().enumerate() {
        let mut done = Vec::with_capacity(pieces.len());
        for piece in pieces {
            slice(surface, piece, axis, lines, &mut done);
            if done.len() > MOST_PIECES {
                return None;
            }
        }
        pieces = done;
    }
    let fan = |piece: &Vec<Corner>| {
        (2..piece.len()).map(|i| [piece[0].p, piece[i - 1].p, piece[i].p]).collect::<Vec<_>>()
    };
    Some(pieces.iter().flat_map(fan).collect())
}

/// Cuts a convex piece along all lines of one parameter that cross it.
fn slice(
    surface: &Surface,
    piece: Vec<Corner>,
    axis: usize,
    lines: &[f64],
    done: &mut Vec<Vec<Corner>>,
) {
    let value = |c: &Corner| if axis == 0 { c.uv.x } else { c.uv.y };
    let (low, high) = piece.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), c| {
        (lo.min(value(c)), hi.max(value(c)))
    });
    let near = (high - low) * 1e-9;
    let first = lines.partition_point(|l| *l <= low + near);
    let last = lines.partition_point(|l| *l < high - near);
    let mut rest = piece;
    for &line in lines.get(first..last).unwrap_or_default() {
        let (mut below, mut above) =
            (Vec::with_capacity(rest.len() + 1), Vec::with_capacity(rest.len() + 1));
        let n = rest.len();
        for i in 0..n {
            let (a, b) = (rest[i], rest[(i + 1) % n]);
            let side = |c: &Corner| {
                let d = value(c) - line;
                if d.abs() <= near { 0.0 } else { d }
            };
            let (da, db) = (side(&a), side(&b));
            // On the line between two corners of it a new edge begins.
            if da < 0.0 {
                below.push(a);
            } else if da > 0.0 {
                above.push(a);
            } else {
                below.push(Corner { border: a.border && db <= 0.0, ..a });
                above.push(Corner { border: a.border && db >= 0.0, ..a });
            }
            if da * db < 0.0 {
                let share = da / (da - db);
                let uv = a.uv.lerp(b.uv, share);
                let p = if a.border { a.p.lerp(b.p, share) } else { surface.at(uv.x, uv.y) };
                let cut = |border: bool| Corner { uv, p, border };
                // The part of the edge that goes on keeps its kind; the cut itself is inside.
                below.push(cut(a.border && db < 0.0));
                above.push(cut(a.border && db > 0.0));
            }
        }
        if below.len() >= 3 {
            done.push(below);
        }
        rest = above;
        if rest.len() < 3 {
            return;
        }
    }
    done.push(rest);
}

/// The lines of both parameters along which a face is cut, ascending; `coarser` times fewer than
/// the chord asks for.
fn grid_lines(
    surface: &Surface,
    rings: &[Vec<Corner>],
    used: &[bool],
    scale: DVec2,
    chord: f64,
    coarser: usize,
) -> [Vec<f64>; 2] {
    let (steps, fixed) = surface.grid(chord);
    let steps = steps.map(|step| step * coarser as f64);
    let periods = surface.periods();
    let all = || rings.iter().flatten();
    let low = all().fold(DVec2::INFINITY, |m, c| m.min(c.uv));
    let high = all().fold(DVec2::NEG_INFINITY, |m, c| m.max(c.uv));
    let mut lines: [Vec<f64>; 2] = [vec![low.x, high.x], vec![low.y, high.y]];
    for axis in 0..2 {
        let (from, to) = (low[axis], high[axis]);
        for &line in fixed[axis].iter().step_by(coarser) {
            match periods[axis] {
                Some(period) => {
                    let turns = ((from - line) / period).ceil();
                    let mut at = line + turns * period;
                    while at < to {
                        lines[axis].push(at);
                        at += period;
                    }
                }
                None => lines[axis].push(line),
            }
        }
    }
    // Corners that no triangle uses lie on straight stretches (in parameters) of the boundary:
    // lines through them bring them back.
    let mut place = 0;
    for ring in rings {
        let n = ring.len();
        for i in 0..n {
            if !used[place] {
                let along = (ring[(i + 1) % n].uv - ring[(i + n - 1) % n].uv) * scale;
                let axis = usize::from(along.y.abs() > along.x.abs());
                lines[axis].push(ring[i].uv[axis]);
            }
            place += 1;
        }
    }
    for axis in 0..2 {
        let list = &mut lines[axis];
        list.retain(|l| *l >= low[axis] && *l <= high[axis]);
        list.sort_by(f64::total_cmp);
        let near = (high[axis] - low[axis]) * 1e-7;
        list.dedup_by(|a, b| (*a - *b).abs() <= near);
        let mut filled = Vec::new();
        for w in list.windows(2) {
            filled.push(w[0]);
            let parts = ((w[1] - w[0]) / steps[axis] - 1e-6).ceil().clamp(1.0, 2000.0) as usize;
            filled.extend((1..parts).map(|i| w[0] + (w[1] - w[0]) * i as f64 / parts as f64));
        }
        filled.extend(list.last());
        *list = filled;
    }
    lines
}

/// The loops in parameters, outer first: unrolled, and closed over seams and poles.
fn rings(surface: &Surface, loops: &[Vec<DVec3>], same_sense: bool) -> Option<Vec<Vec<Corner>>> {
    let periods = surface.periods();
    let mut closed: Vec<Vec<Corner>> = Vec::new();
    // Loops that run once round the surface, with the way that they come back shifted.
    let mut round: Vec<(Vec<Corner>, DVec2)> = Vec::new();
    let mut pole_points: Vec<DVec3> = Vec::new();
    for points in loops {
        if points.len() < 3 {
            pole_points.extend(points.first().filter(|_| points.len() == 1));
            continue;
        }
        let (ring, shift) = unrolled(surface, points, periods);
        if shift == DVec2::ZERO { closed.push(ring) } else { round.push((ring, shift)) }
    }
    while let Some((ring, shift)) = round.pop() {
        let opposite =
            round.iter().position(|(_, other)| (*other + shift).length() < 1e-6 * shift.length());
        if let Some(i) = opposite {
            let (other, _) = round.swap_remove(i);
            closed.push(bridged(ring, &other, shift));
        } else {
            closed.push(capped(surface, ring, shift, &pole_points, same_sense)?);
        }
    }
    if closed.is_empty() {
        return whole(surface).map(|ring| vec![ring]);
    }
    let area = |ring: &Vec<Corner>| ring_area(&ring.iter().map(|c| c.uv).collect::<Vec<_>>()).abs();
    let outer = (0..closed.len()).max_by(|&i, &j| area(&closed[i]).total_cmp(&area(&closed[j])))?;
    let outer = closed.swap_remove(outer);
    let (low, high) = outer
        .iter()
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(lo, hi), c| (lo.min(c.uv), hi.max(c.uv)));
    let mut rings = vec![outer];
    for mut hole in closed {
        // Holes are unrolled on their own: each is brought to where the outer ring is.
        for axis in 0..2 {
            if let Some(period) = periods[axis] {
                let middle = hole.iter().map(|c| c.uv[axis]).sum::<f64>() / hole.len() as f64;
                let wanted = low[axis].midpoint(high[axis]);
                let mut turns = ((wanted - middle) / period).round();
                if middle + turns * period < low[axis] {
                    turns += 1.0;
                } else if middle + turns * period > high[axis] {
                    turns -= 1.0;
                }
                for corner in &mut hole {
                    corner.uv[axis] += turns * period;
                }
            }
        }
        rings.push(hole);
    }
    Some(rings)
}

/// A loop in parameters, each corner next to the one before; and by how much it comes back shifted.
fn unrolled(
    surface: &Surface,
    points: &[DVec3],
    periods: [Option<f64>; 2],
) -> (Vec<Corner>, DVec2) {
    let near = |uv: DVec2, to: DVec2| {
        let mut uv = uv;
        for axis in 0..2 {
            if let Some(period) = periods[axis] {
                uv[axis] += ((to[axis] - uv[axis]) / period).round() * period;
            }
        }
        uv
    };
    let n = points.len();
    // From a point where both parameters mean something.
    let start = (0..n).find(|&i| !surface.is_pole(points[i])).unwrap_or(0);
    let mut ring: Vec<Corner> = Vec::with_capacity(n + 2);
    let mut last: Option<DVec2> = None;
    let mut waiting_pole: Option<DVec3> = None;
    let mut first = DVec2::ZERO;
    for k in 0..=n {
        let p = points[(start + k) % n];
        if surface.is_pole(p) && k < n {
            waiting_pole = Some(p);
            continue;
        }
        let mut uv = surface.locate(p, last);
        if let Some(last) = last {
            uv = near(uv, last);
        } else {
            first = uv;
        }
        if let (Some(pole), Some(before)) = (waiting_pole.take(), last) {
            // A pole is a line in parameters: from the u before it to the u behind it.
            let v = surface.locate(pole, None).y;
            ring.push(Corner { uv: DVec2::new(before.x, v), p: pole, border: false });
            if (uv.x - before.x).abs() > 1e-9 {
                ring.push(Corner { uv: DVec2::new(uv.x, v), p: pole, border: true });
            }
            if let Some(corner) = ring.len().checked_sub(3).and_then(|i| ring.get_mut(i)) {
                corner.border = true;
            }
        }
        if k == n {
            let shift = uv - first;
            let whole = |axis: usize| {
                periods[axis].map_or(0.0, |period| (shift[axis] / period).round() * period)
            };
            return (ring, DVec2::new(whole(0), whole(1)));
        }
        ring.push(Corner { uv, p, border: true });
        last = Some(uv);
    }
    (ring, DVec2::ZERO)
}

/// Two loops that run round the surface in opposite ways, as one ring over a seam.
fn bridged(mut ring: Vec<Corner>, other: &[Corner], shift: DVec2) -> Vec<Corner> {
    let first = ring[0];
    let end = first.uv + shift;
    ring.push(Corner { uv: end, border: false, ..first });
    let size = shift.length();
    let along = shift / size;
    // The other loop from its corner nearest to where the first ends, a whole number of turns away.
    let apart = |c: &Corner| {
        let d = (c.uv - end).dot(along);
        (d - (d / size).round() * size).abs()
    };
    let start = (0..other.len())
        .min_by(|&i, &j| apart(&other[i]).total_cmp(&apart(&other[j])))
        .unwrap_or(0);
    let turns = ((end - other[start].uv).dot(along) / size).round();
    let n = other.len();
    for k in 0..=n {
        let corner = other[(start + k) % n];
        // Past the list's end the loop has come round once, backwards.
        let wrapped = if start + k >= n { -shift } else { DVec2::ZERO };
        ring.push(Corner {
            uv: corner.uv + along * size * turns + wrapped,
            border: corner.border && k < n,
            ..corner
        });
    }
    ring
}

/// A loop that runs round the surface, closed over the pole on its inner side.
fn capped(
    surface: &Surface,
    mut ring: Vec<Corner>,
    shift: DVec2,
    given: &[DVec3],
    same_sense: bool,
) -> Option<Vec<Corner>> {
    let poles = surface.poles();
    let level = ring.iter().map(|c| c.uv.y).sum::<f64>() / ring.len() as f64;
    let given = given.iter().find(|p| surface.is_pole(**p)).map(|p| surface.locate(*p, None).y);
    // The face lies to the left of its boundary, seen against its own normal.
    let above = (shift.x > 0.0) == same_sense;
    let pole = given
        .or_else(|| {
            poles
                .iter()
                .copied()
                .filter(|v| (*v > level) == above)
                .min_by(|a, b| (a - level).abs().total_cmp(&(b - level).abs()))
        })
        .or_else(|| poles.first().copied())?;
    let first = ring[0];
    let tip = surface.at(first.uv.x, pole);
    ring.push(Corner { uv: first.uv + shift, border: false, ..first });
    ring.push(Corner { uv: DVec2::new(first.uv.x + shift.x, pole), p: tip, border: false });
    ring.push(Corner { uv: DVec2::new(first.uv.x, pole), p: tip, border: false });
    Some(ring)
}

/// The whole of a surface that closes on itself.
fn whole(surface: &Surface) -> Option<Vec<Corner>> {
    let periods = surface.periods();
    let width = periods[0]?;
    let (low, high) = match (periods[1], surface.poles()[..].to_vec()) {
        (Some(period), _) => (0.0, period),
        (None, poles) if poles.len() == 2 => (poles[0].min(poles[1]), poles[0].max(poles[1])),
        _ => return None,
    };
    let corner =
        |u: f64, v: f64| Corner { uv: DVec2::new(u, v), p: surface.at(u, v), border: false };
    Some(vec![corner(0.0, low), corner(width, low), corner(width, high), corner(0.0, high)])
}
