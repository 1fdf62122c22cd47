//! Edges of faces.

use super::curve::Basis;
use super::faces::Shell;
use super::path::{Path, Piece};
use super::reader::{Entity, Read, Reader};
use glam::DVec3;
use std::f64::consts::TAU;
use wimble_geom::tolerance::SAME_POINT;

impl<'m> Reader<'m, '_> {
    /// The points of a loop, without the first repeated at the end. A vertex loop is one point.
    pub(super) fn loop_points(&self, entity: &Entity<'m>, shell: &mut Shell) -> Read<Vec<DVec3>> {
        match entity.keyword {
            "IFCPOLYLOOP" => self.parts(entity, 0).iter().map(|p| self.point(p)).collect(),
            "IFCVERTEXLOOP" => Ok(vec![self.vertex(&self.part(entity, 0, "LoopVertex")?)?]),
            "IFCEDGELOOP" | "IFCPATH" => {
                let mut points: Vec<DVec3> = Vec::new();
                for edge in self.parts(entity, 0) {
                    let mut next = self.edge_points(&edge, shell)?;
                    // Some exporters set the orientation wrong: an edge that only fits the other
                    // way round is turned.
                    if let (Some(last), Some(from), Some(to)) =
                        (points.last(), next.first(), next.last())
                        && last.distance(*from) > 1e-4
                        && last.distance(*to) < 1e-6
                    {
                        next.reverse();
                    }
                    for p in next {
                        if points.last().is_none_or(|last| last.distance(p) > SAME_POINT / 10.0) {
                            points.push(p);
                        }
                    }
                    self.count(entity, points.len())?;
                }
                while points.len() > 1
                    && points[0].distance(points[points.len() - 1]) <= SAME_POINT / 10.0
                {
                    points.pop();
                }
                Ok(points)
            }
            _ => Err(entity.trouble("stands where a loop is needed")),
        }
    }

    fn vertex(&self, entity: &Entity<'m>) -> Read<DVec3> {
        match entity.keyword {
            "IFCVERTEXPOINT" => self.point(&self.part(entity, 0, "VertexGeometry")?),
            _ => self.point(entity),
        }
    }

    /// An edge's points from its start to its end. Each edge curve is divided once, so that the
    /// faces on both sides share its points.
    fn edge_points(&self, entity: &Entity<'m>, shell: &mut Shell) -> Read<Vec<DVec3>> {
        if entity.keyword == "IFCORIENTEDEDGE" {
            let element = self.part(entity, 2, "EdgeElement")?;
            let mut points = self.deeper(entity, || self.edge_points(&element, shell))?;
            if !entity.get(3).boolean().unwrap_or(true) {
                points.reverse();
            }
            return Ok(points);
        }
        let name = entity.record.name();
        if let Some(points) = shell.edges.get(&name) {
            return Ok(points.clone());
        }
        let points = self.edge_path(entity)?.points(self.chord);
        self.count(entity, points.len())?;
        shell.edges.insert(name, points.clone());
        Ok(points)
    }

    /// An edge's curve between its vertices.
    pub(super) fn edge_path(&self, entity: &Entity<'m>) -> Read<Path> {
        if entity.keyword == "IFCORIENTEDEDGE" {
            let element = self.part(entity, 2, "EdgeElement")?;
            let path = self.deeper(entity, || self.edge_path(&element))?;
            return Ok(if entity.get(3).boolean().unwrap_or(true) {
                path
            } else {
                path.reversed()
            });
        }
        let (start, end) = (
            self.vertex(&self.part(entity, 0, "EdgeStart")?)?,
            self.vertex(&self.part(entity, 1, "EdgeEnd")?)?,
        );
        let path = self.edge_curve(entity, start, end);
        self.met(entity, path.is_ok());
        path
    }

    fn edge_curve(&self, entity: &Entity<'m>, start: DVec3, end: DVec3) -> Read<Path> {
        let line = || Path::of(Piece::Line { from: start, to: end }, 1.0);
        if entity.keyword != "IFCEDGECURVE" {
            return Ok(line());
        }
        let curve = self.part(entity, 2, "EdgeGeometry")?;
        let sense = entity.get(3).boolean().unwrap_or(true);
        let closed = start.distance(end) <= SAME_POINT;
        let basis = self.deeper(entity, || self.basis(&curve))?;
        self.met(&curve, true);
        let mut path = match basis {
            Basis::Line { .. } => return Ok(line()),
            Basis::Conic { centre, x, y } => {
                let angle = |p: DVec3| {
                    ((p - centre).dot(y) / y.length_squared())
                        .atan2((p - centre).dot(x) / x.length_squared())
                };
                let from = angle(start);
                let mut to = if closed { from } else { angle(end) };
                if sense {
                    while to <= from + 1e-9 {
                        to += TAU;
                    }
                } else {
                    while to >= from - 1e-9 {
                        to -= TAU;
                    }
                }
                Path::of(Piece::Arc { centre, x, y, start: from, end: to }, 1.0)
            }
            Basis::Spline(spline) => {
                let (low, high) = spline.domain();
                let round = spline.at(low).distance(spline.at(high)) <= 1e-6;
                let near = |p: DVec3, ends: [f64; 2]| {
                    // The ends exactly, where a vertex lies on one.
                    ends.into_iter()
                        .find(|t| spline.at(*t).distance(p) <= 1e-5)
                        .unwrap_or_else(|| spline.nearest(p))
                };
                let (first, last) = if sense { (low, high) } else { (high, low) };
                let (from, to) = (near(start, [first, last]), near(end, [last, first]));
                let points = if (to - from) * (last - first) > 0.0 {
                    spline.sample(from, to, self.chord / 2.0)
                } else if round {
                    // Over the seam.
                    let mut points = spline.sample(from, last, self.chord / 2.0);
                    points.extend(spline.sample(first, to, self.chord / 2.0).into_iter().skip(1));
                    points
                } else {
                    spline.sample(from, to, self.chord / 2.0)
                };
                let ways = (points.first().copied(), points.get(1).copied());
                let leaves = if let (Some(a), Some(b)) = ways {
                    (b - a).normalize_or_zero()
                } else {
                    DVec3::ZERO
                };
                Path::of(Piece::Chords { points, leaves, arrives: leaves }, 1.0)
            }
            Basis::Path(path) => {
                // A bounded curve is the edge, whole or between the vertices.
                let path = if sense { path } else { path.reversed() };
                let ends = (path.from().unwrap_or(start), path.to().unwrap_or(end));
                let whole = ends.0.distance(start) <= 1e-4 && ends.1.distance(end) <= 1e-4;
                let turned = ends.0.distance(end) <= 1e-4 && ends.1.distance(start) <= 1e-4;
                if whole {
                    path
                } else if turned {
                    path.reversed()
                } else {
                    let (a, b) = (
                        super::curve::nearest_parameter(&path, start, self.chord),
                        super::curve::nearest_parameter(&path, end, self.chord),
                    );
                    if a < b { path.between(a, b) } else { path.between(b, a).reversed() }
                }
            }
        };
        // The vertices are where neighbouring edges meet: they count, not the curve's own ends.
        if let Some(first) = path.stretches.first_mut() {
            pin(&mut first.piece, Some(start), None, self.chord);
        }
        if let Some(last) = path.stretches.last_mut() {
            pin(&mut last.piece, None, Some(end), self.chord);
        }
        if path.stretches.is_empty() { Ok(line()) } else { Ok(path) }
    }
}

/// Sets the ends of a piece to given points.
fn pin(piece: &mut Piece, start: Option<DVec3>, end: Option<DVec3>, chord: f64) {
    match piece {
        Piece::Line { from, to } => {
            *from = start.unwrap_or(*from);
            *to = end.unwrap_or(*to);
        }
        Piece::Chords { points, .. } => {
            if let (Some(first), Some(start)) = (points.first_mut(), start) {
                *first = start;
            }
            if let (Some(last), Some(end)) = (points.last_mut(), end) {
                *last = end;
            }
        }
        Piece::Arc { .. } => {
            let (leaves, arrives) = (piece.way(0.0), piece.way(1.0));
            let mut points = Path::of(piece.clone(), 1.0).points(chord);
            if let (Some(first), Some(start)) = (points.first_mut(), start) {
                *first = start;
            }
            if let (Some(last), Some(end)) = (points.last_mut(), end) {
                *last = end;
            }
            if points.len() > 1 {
                *piece = Piece::Chords { points, leaves, arrives };
            }
        }
    }
}
