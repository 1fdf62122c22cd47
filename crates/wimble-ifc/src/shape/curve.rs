//! Curves as paths.

use super::path::{Path, Piece, Stretch, arc_through};
use super::reader::{Entity, Read, Reader};
use super::spline::{Spline, spread_knots, uniform_knots};
use glam::{DAffine3, DVec2, DVec3};
use std::f64::consts::TAU;
use wimble_geom::tolerance::SAME_POINT;
use wimble_step::Value;

/// A curve before it is trimmed.
pub(super) enum Basis {
    Line { from: DVec3, per_parameter: DVec3 },
    Conic { centre: DVec3, x: DVec3, y: DVec3 },
    Spline(Spline),
    Path(Path),
}

/// Ends nearer than this are meant to meet: a millimetre is rounding in files that write
/// millimetres without decimals.
const JOINS: f64 = 1.5e-3;

impl<'m> Reader<'m, '_> {
    /// A bounded curve.
    pub(super) fn path(&self, entity: &Entity<'m>) -> Read<Path> {
        let path = self.deeper(entity, || {
            Ok(match self.basis(entity)? {
                Basis::Path(path) => path,
                // Unbounded in itself; where it stands alone exporters mean the vector's length.
                Basis::Line { from, per_parameter } => {
                    Path::of(Piece::Line { from, to: from + per_parameter }, 1.0)
                }
                Basis::Conic { centre, x, y } => {
                    Path::of(Piece::Arc { centre, x, y, start: 0.0, end: TAU }, TAU / self.radians)
                }
                Basis::Spline(spline) => {
                    let (a, b) = spline.domain();
                    self.spline_path(entity, &spline, a, b)?
                }
            })
        });
        let path = path.and_then(|path| {
            if path.stretches.is_empty() { Err(entity.trouble("has no length")) } else { Ok(path) }
        });
        self.met(entity, path.is_ok());
        path
    }

    fn spline_path(&self, entity: &Entity<'m>, spline: &Spline, from: f64, to: f64) -> Read<Path> {
        let points = spline.sample(from, to, self.chord / 2.0);
        self.count(entity, points.len())?;
        let sense = (to - from).signum();
        let (leaves, arrives) = (spline.way(from) * sense, spline.way(to) * sense);
        Ok(Path::of(Piece::Chords { points, leaves, arrives }, (to - from).abs()))
    }

    pub(super) fn basis(&self, entity: &Entity<'m>) -> Read<Basis> {
        match entity.keyword {
            "IFCLINE" => {
                let from = self.point(&self.part(entity, 0, "Pnt")?)?;
                let vector = self.part(entity, 1, "Dir")?;
                let way = self.direction(&self.part(&vector, 0, "Orientation")?)?;
                let magnitude = self.length_or(&vector, 1, self.metres);
                let magnitude = if magnitude.abs() > 0.0 { magnitude } else { self.metres };
                Ok(Basis::Line { from, per_parameter: way * magnitude })
            }
            "IFCCIRCLE" => {
                let frame = self.frame_or_none(entity, 0)?;
                let radius = self.size(entity, 1, "Radius")?;
                let m = frame.matrix3;
                Ok(Basis::Conic {
                    centre: frame.translation,
                    x: m.x_axis * radius,
                    y: m.y_axis * radius,
                })
            }
            "IFCELLIPSE" => {
                let frame = self.frame_or_none(entity, 0)?;
                let (a, b) =
                    (self.size(entity, 1, "SemiAxis1")?, self.size(entity, 2, "SemiAxis2")?);
                let m = frame.matrix3;
                Ok(Basis::Conic { centre: frame.translation, x: m.x_axis * a, y: m.y_axis * b })
            }
            "IFCPOLYLINE" => {
                let points: Read<Vec<DVec3>> =
                    self.parts(entity, 0).iter().map(|p| self.point(p)).collect();
                let points = points?;
                self.count(entity, points.len())?;
                if points.len() < 2 {
                    return Err(entity.trouble("has fewer than two points"));
                }
                Ok(Basis::Path(Path::polyline(&points)))
            }
            "IFCINDEXEDPOLYCURVE" => self.indexed_path(entity).map(Basis::Path),
            "IFCTRIMMEDCURVE" => self.trimmed(entity).map(Basis::Path),
            "IFCCOMPOSITECURVE"
            | "IFC2DCOMPOSITECURVE"
            | "IFCCOMPOSITECURVEONSURFACE"
            | "IFCBOUNDARYCURVE"
            | "IFCOUTERBOUNDARYCURVE" => self.composite(entity).map(Basis::Path),
            "IFCBSPLINECURVE"
            | "IFCBEZIERCURVE"
            | "IFCRATIONALBEZIERCURVE"
            | "IFCBSPLINECURVEWITHKNOTS"
            | "IFCRATIONALBSPLINECURVEWITHKNOTS" => self.spline(entity).map(Basis::Spline),
            "IFCSURFACECURVE" | "IFCSEAMCURVE" | "IFCINTERSECTIONCURVE" => {
                let curve = self.part(entity, 0, "Curve3D")?;
                self.deeper(entity, || self.basis(&curve))
            }
            "IFCOFFSETCURVE2D" => {
                let path = self.path(&self.part(entity, 0, "BasisCurve")?)?;
                let distance = self.length(entity, 1, "Distance")?;
                let points: Vec<DVec2> =
                    path.points(self.chord).iter().map(|p| p.truncate()).collect();
                let moved = offset_line(&points, distance)
                    .ok_or_else(|| entity.trouble("offsets a curve without length"))?;
                let points: Vec<DVec3> = moved.iter().map(|p| p.extend(0.0)).collect();
                Ok(Basis::Path(Path::polyline(&points)))
            }
            "IFCEDGECURVE" | "IFCORIENTEDEDGE" => self.edge_path(entity).map(Basis::Path),
            _ => Err(entity.trouble("is a curve of a kind that is not read")),
        }
    }

    fn spline(&self, entity: &Entity<'m>) -> Read<Spline> {
        let degree = entity.get(0).integer().and_then(|d| usize::try_from(d).ok()).unwrap_or(0);
        let points: Read<Vec<DVec3>> =
            self.parts(entity, 1).iter().map(|p| self.point(p)).collect();
        let points = points?;
        self.count(entity, points.len() * 16)?;
        let (knots, weights): (Vec<f64>, Option<Vec<f64>>) = match entity.keyword {
            "IFCBSPLINECURVEWITHKNOTS" | "IFCRATIONALBSPLINECURVEWITHKNOTS" => {
                let multiplicities = whole_numbers(entity.get(5));
                let values: Vec<f64> = entity.get(6).as_list().numbers().collect();
                let rational = entity.keyword == "IFCRATIONALBSPLINECURVEWITHKNOTS";
                (
                    spread_knots(&values, &multiplicities),
                    rational.then(|| entity.get(8).as_list().numbers().collect()),
                )
            }
            "IFCRATIONALBEZIERCURVE" => (
                uniform_knots(degree, points.len()),
                Some(entity.get(5).as_list().numbers().collect()),
            ),
            _ => (uniform_knots(degree, points.len()), None),
        };
        Spline::new(degree, &points, weights.as_deref(), knots).ok_or_else(|| {
            entity.trouble("has knots, weights and control points that do not belong together")
        })
    }

    /// The points of an `IfcCartesianPointList2D` or `3D`, metres.
    pub(super) fn point_list(&self, entity: &Entity<'m>) -> Read<Vec<DVec3>> {
        if !matches!(entity.keyword, "IFCCARTESIANPOINTLIST3D" | "IFCCARTESIANPOINTLIST2D") {
            return Err(entity.trouble("stands where a point list is needed"));
        }
        let mut points = Vec::new();
        let mut bad = 0;
        for value in entity.get(0).as_list() {
            let mut numbers = value.as_list().numbers();
            let point = match (numbers.next(), numbers.next()) {
                (Some(x), Some(y)) => DVec3::new(x, y, numbers.next().unwrap_or(0.0)) * self.metres,
                _ => {
                    bad += 1;
                    DVec3::NAN
                }
            };
            points.push(point);
        }
        self.count(entity, points.len())?;
        if bad > 0 {
            self.remark(
                entity.row,
                format!("{} has {bad} points without coordinates", entity.label()),
            );
        }
        Ok(points)
    }

    fn indexed_path(&self, entity: &Entity<'m>) -> Read<Path> {
        let points = self.point_list(&self.part(entity, 0, "Points")?)?;
        let at = |index: usize| -> Read<DVec3> {
            index
                .checked_sub(1)
                .and_then(|i| points.get(i))
                .copied()
                .filter(|p| p.is_finite())
                .ok_or_else(|| {
                    entity.trouble(format_args!("names point {index} of {}", points.len()))
                })
        };
        let segments = entity.get(1);
        if segments.list().is_none() {
            if points.len() < 2 {
                return Err(entity.trouble("has fewer than two points"));
            }
            let points: Vec<DVec3> = points.into_iter().filter(|p| p.is_finite()).collect();
            return Ok(Path::polyline(&points));
        }
        let mut path = Path::default();
        for segment in segments.as_list() {
            let (arc, list) = match segment {
                Value::Typed(typed) => {
                    (typed.keyword().eq_ignore_ascii_case("IFCARCINDEX"), typed.value())
                }
                other => (false, other),
            };
            let indices = whole_numbers(list);
            if arc {
                let [a, b, c] = indices[..] else {
                    return Err(entity.trouble("has an arc that is not of three points"));
                };
                path.stretches
                    .push(Stretch { piece: arc_through(at(a)?, at(b)?, at(c)?), parameters: 1.0 });
            } else {
                let corners: Read<Vec<DVec3>> = indices.into_iter().map(at).collect();
                path.stretches.extend(Path::polyline(&corners?).stretches);
            }
        }
        Ok(path)
    }

    /// Parameter and point of a trim.
    fn trim(&self, entity: &Entity<'m>, place: usize) -> (Option<f64>, Option<DVec3>) {
        let (mut parameter, mut point) = (None, None);
        for value in entity.get(place).as_list() {
            if let Some(number) = value.number() {
                parameter = Some(number);
            } else if value.reference().is_some() {
                match self.follow(entity, value, "trimming point").and_then(|p| self.point(&p)) {
                    Ok(found) => point = Some(found),
                    Err(trouble) => self.remark(trouble.row, trouble.reason),
                }
            }
        }
        (parameter, point)
    }

    fn trimmed(&self, entity: &Entity<'m>) -> Read<Path> {
        let curve = self.part(entity, 0, "BasisCurve")?;
        let basis = self.deeper(entity, || self.basis(&curve))?;
        let sense = entity.get(3).boolean().unwrap_or(true);
        let by_point =
            entity.get(4).enumeration().is_some_and(|m| m.eq_ignore_ascii_case("CARTESIAN"));
        let trims = [self.trim(entity, 1), self.trim(entity, 2)];
        if trims.iter().any(|(parameter, point)| parameter.is_none() && point.is_none()) {
            return Err(entity.trouble("is trimmed by neither parameter nor point"));
        }
        match basis {
            Basis::Line { from, per_parameter } => {
                let ends = trims.map(|(parameter, point)| match (parameter, point) {
                    (Some(parameter), None) => parameter,
                    (parameter, Some(point)) => {
                        let of_point =
                            (point - from).dot(per_parameter) / per_parameter.length_squared();
                        parameter.filter(|_| !by_point).unwrap_or(of_point)
                    }
                    (None, None) => 0.0,
                });
                let at = |t: f64| from + per_parameter * t;
                Ok(Path::of(
                    Piece::Line { from: at(ends[0]), to: at(ends[1]) },
                    (ends[1] - ends[0]).abs(),
                ))
            }
            Basis::Conic { centre, x, y } => {
                let [start, end] = self.conic_trims(entity, centre, x, y, &trims, by_point);
                let mut end = end;
                // Once round at most, and the whole way round if both ends are one.
                let turn = 1e-9;
                if sense {
                    while end <= start + turn {
                        end += TAU;
                    }
                    while end > start + TAU + turn {
                        end -= TAU;
                    }
                } else {
                    while end >= start - turn {
                        end -= TAU;
                    }
                    while end < start - TAU - turn {
                        end += TAU;
                    }
                }
                Ok(Path::of(
                    Piece::Arc { centre, x, y, start, end },
                    (end - start).abs() / self.radians,
                ))
            }
            Basis::Spline(spline) => {
                let (a, b) = spline.domain();
                let ends = trims.map(|(parameter, point)| match (parameter, point) {
                    (Some(t), None) => t,
                    (Some(t), Some(_)) if !by_point => t,
                    (_, Some(p)) => spline.nearest(p),
                    (None, None) => a,
                });
                let ends = ends.map(|t| t.clamp(a, b));
                self.spline_path(entity, &spline, ends[0], ends[1])
            }
            Basis::Path(path) => {
                let whole = path.parameters();
                let ends = trims.map(|(parameter, point)| match (parameter, point) {
                    (Some(t), None) => t,
                    (Some(t), Some(_)) if !by_point => t,
                    (_, Some(p)) => nearest_parameter(&path, p, self.chord),
                    (None, None) => 0.0,
                });
                let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
                let part = path.between(low.max(0.0), high.min(whole));
                let turned = (ends[0] > ends[1]) || !sense;
                Ok(if turned { part.reversed() } else { part })
            }
        }
    }

    /// The angles between which a conic is trimmed, radians. Exporters mix up degrees and
    /// radians: where a point is given as well, it tells which of the two was meant.
    fn conic_trims(
        &self,
        entity: &Entity<'m>,
        centre: DVec3,
        x: DVec3,
        y: DVec3,
        trims: &[(Option<f64>, Option<DVec3>); 2],
        by_point: bool,
    ) -> [f64; 2] {
        let angle_of = |p: DVec3| {
            let (a, b) = (
                (p - centre).dot(x) / x.length_squared(),
                (p - centre).dot(y) / y.length_squared(),
            );
            b.atan2(a)
        };
        let apart = |a: f64, b: f64| {
            let d = (a - b).rem_euclid(TAU);
            d.min(TAU - d)
        };
        let degree = 1.0_f64.to_radians();
        let mut radians = self.radians;
        let points_tell = |unit: f64| {
            trims.iter().all(|(parameter, point)| match (parameter, point) {
                (Some(t), Some(p)) => apart(t * unit, angle_of(*p)) < 0.02,
                _ => true,
            })
        };
        let both = trims.iter().any(|(parameter, point)| parameter.is_some() && point.is_some());
        if both && !by_point && !points_tell(radians) {
            let other = if (radians - degree).abs() < 1e-6 { 1.0 } else { degree };
            if points_tell(other) {
                radians = other;
                self.remark(entity.row, format!("{} is trimmed by angles in another unit than the file's; its points tell which", entity.label()));
            } else {
                self.remark(
                    entity.row,
                    format!(
                        "{} is trimmed by angles that do not fit its points; the points are used",
                        entity.label()
                    ),
                );
                return trims.map(|(t, p)| p.map_or(t.unwrap_or(0.0) * radians, angle_of));
            }
        }
        // No arc needs more than two turns in radians.
        if !both
            && radians > 0.5
            && trims.iter().any(|(t, _)| t.is_some_and(|t| t.abs() > 2.0 * TAU + 0.1))
        {
            radians = degree;
            self.remark(entity.row, format!("{} is trimmed by angles that are too large for radians; they are read as degrees", entity.label()));
        }
        trims.map(|(parameter, point)| match (parameter, point) {
            (Some(t), None) => t * radians,
            (Some(t), Some(_)) if !by_point => t * radians,
            (_, Some(p)) => angle_of(p),
            (None, None) => 0.0,
        })
    }

    fn composite(&self, entity: &Entity<'m>) -> Read<Path> {
        let mut parts: Vec<Path> = Vec::new();
        for segment in self.parts(entity, 0) {
            let path = match segment.keyword {
                "IFCCOMPOSITECURVESEGMENT" | "IFCREPARAMETRISEDCOMPOSITECURVESEGMENT" => {
                    let parent = self.part(&segment, 2, "ParentCurve")?;
                    let mut path = self.path(&parent)?;
                    if !segment.get(1).boolean().unwrap_or(true) {
                        path = path.reversed();
                    }
                    if let Some(length) = segment.get(3).number().filter(|l| *l > 0.0) {
                        let whole = path.parameters();
                        for stretch in &mut path.stretches {
                            stretch.parameters *= length / whole;
                        }
                    }
                    path
                }
                "IFCCURVESEGMENT" => match self.curve_segment(&segment)? {
                    Some(path) => path,
                    None => continue,
                },
                _ => return Err(segment.trouble("stands where a segment of a curve is needed")),
            };
            self.count(entity, path.stretches.len())?;
            parts.push(path);
        }
        Ok(self.chained(entity, parts))
    }

    /// A segment of a 4X3 composite curve: a stretch of its parent, moved so that it starts at its
    /// placement. `None` for one of no length, as alignments end with.
    fn curve_segment(&self, segment: &Entity<'m>) -> Read<Option<Path>> {
        let parent = self.part(segment, 4, "ParentCurve")?;
        let (start, length) = (segment.get(2), segment.get(3));
        let by_length = |value: Value<'_>| !matches!(value, Value::Typed(t) if t.keyword().eq_ignore_ascii_case("IFCPARAMETERVALUE"));
        let (Some(from), Some(size)) = (start.number(), length.number()) else {
            return Err(segment.trouble("has no SegmentStart and SegmentLength"));
        };
        if size.abs() < 1e-12 {
            return Ok(None);
        }
        let place = self.frame_or_none(segment, 1)?;
        let basis = self.deeper(segment, || self.basis(&parent))?;
        let (low, high) = (from.min(from + size), from.max(from + size));
        let path = match basis {
            Basis::Line { from: origin, per_parameter } => {
                let unit = |v: Value<'_>| {
                    if by_length(v) { self.metres / per_parameter.length() } else { 1.0 }
                };
                let (a, b) = (from * unit(start), from * unit(start) + size * unit(length));
                Path::of(
                    Piece::Line {
                        from: origin + per_parameter * a,
                        to: origin + per_parameter * b,
                    },
                    (b - a).abs(),
                )
            }
            Basis::Conic { centre, x, y } => {
                let unit = |v: Value<'_>| {
                    if by_length(v) { self.metres / x.length() } else { self.radians }
                };
                let (a, b) = (from * unit(start), from * unit(start) + size * unit(length));
                Path::of(Piece::Arc { centre, x, y, start: a, end: b }, (b - a).abs())
            }
            Basis::Spline(spline) => {
                let (a, b) = spline.domain();
                let whole = self.spline_path(segment, &spline, a, b)?;
                let part = if by_length(length) {
                    whole.between_lengths(low * self.metres, high * self.metres)
                } else {
                    whole.between(low - a, high - a)
                };
                if size < 0.0 { part.reversed() } else { part }
            }
            Basis::Path(path) => {
                let part = if by_length(length) {
                    path.between_lengths(low * self.metres, high * self.metres)
                } else {
                    path.between(low, high)
                };
                if size < 0.0 { part.reversed() } else { part }
            }
        };
        let Some(first) = path.stretches.first() else { return Ok(None) };
        // The tangent at the start goes onto the placement's x axis.
        let way = first.piece.way(0.0);
        let up = if way.cross(DVec3::Z).length() > 1e-9 { DVec3::Z } else { DVec3::Y };
        let y = up.cross(way).normalize_or_zero();
        let own = DAffine3 {
            matrix3: glam::DMat3::from_cols(way, y, way.cross(y)),
            translation: first.piece.from(),
        };
        Ok(Some(path.moved(&(place * own.inverse()))))
    }

    /// Parts one after the other. Parts written backwards are turned, parts out of order put in
    /// order, gaps bridged by a straight line with a remark.
    fn chained(&self, entity: &Entity<'m>, parts: Vec<Path>) -> Path {
        let meets = |a: Option<DVec3>, b: Option<DVec3>| matches!((a, b), (Some(a), Some(b)) if a.distance(b) <= JOINS);
        let mut waiting: std::collections::VecDeque<Path> =
            parts.into_iter().filter(|p| !p.stretches.is_empty()).collect();
        let Some(mut path) = waiting.pop_front() else { return Path::default() };
        if let Some(next) = waiting.front()
            && !meets(path.to(), next.from())
            && !meets(path.to(), next.to())
            && (meets(path.from(), next.from()) || meets(path.from(), next.to()))
        {
            path = path.reversed();
        }
        let mut gaps = 0;
        while !waiting.is_empty() {
            let end = path.to();
            // The next in order if it fits, else whichever does.
            let fits = |p: &Path| meets(end, p.from()) || meets(end, p.to());
            let search = waiting.len().min(2000);
            let pick = (0..search).find(|&i| fits(&waiting[i]));
            let Some(mut next) = waiting.remove(pick.unwrap_or(0)) else { break };
            if !meets(end, next.from()) && meets(end, next.to()) {
                next = next.reversed();
            }
            if let (Some(from), Some(to)) = (end, next.from())
                && from.distance(to) > SAME_POINT
            {
                if pick.is_none() {
                    gaps += 1;
                }
                path.stretches.push(Stretch { piece: Piece::Line { from, to }, parameters: 0.0 });
            }
            path.stretches.extend(next.stretches);
        }
        if gaps > 0 {
            self.remark(
                entity.row,
                format!("{} has {gaps} gaps, bridged by straight lines", entity.label()),
            );
        }
        path
    }
}

/// The parameter of the path's point nearest to a point.
pub(super) fn nearest_parameter(path: &Path, point: DVec3, chord: f64) -> f64 {
    let mut best = (f64::INFINITY, 0.0);
    let mut start = 0.0;
    for stretch in &path.stretches {
        let n = match &stretch.piece {
            Piece::Line { .. } => 1,
            other => (other.length() / (chord * 20.0)).clamp(16.0, 512.0) as usize,
        };
        for i in 0..n {
            let (a, b) = (
                stretch.piece.at(i as f64 / n as f64),
                stretch.piece.at((i + 1) as f64 / n as f64),
            );
            let along = b - a;
            let share = if along.length_squared() > 0.0 {
                ((point - a).dot(along) / along.length_squared()).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let distance = point.distance(a + along * share);
            if distance < best.0 {
                best = (distance, start + stretch.parameters * (i as f64 + share) / n as f64);
            }
        }
        start += stretch.parameters;
    }
    best.1
}

/// The whole numbers of a list.
pub(super) fn whole_numbers(value: Value<'_>) -> Vec<usize> {
    value
        .as_list()
        .iter()
        .filter_map(Value::integer)
        .filter_map(|n| usize::try_from(n).ok())
        .collect()
}

/// A plane line moved to its left by a distance, corners mitred. `None` if it has no length.
pub(super) fn offset_line(points: &[DVec2], distance: f64) -> Option<Vec<DVec2>> {
    let mut line: Vec<DVec2> = Vec::new();
    for &p in points {
        if line.last().is_none_or(|last| last.distance(p) > SAME_POINT) {
            line.push(p);
        }
    }
    let closed = line.len() > 2 && line[0].distance(line[line.len() - 1]) <= SAME_POINT;
    let ways: Vec<DVec2> = line.windows(2).map(|w| (w[1] - w[0]).normalize()).collect();
    let (first, last) = (*ways.first()?, *ways.last()?);
    let moved = line.iter().enumerate().map(|(i, &p)| {
        let (before, after) = match i {
            0 => (if closed { last } else { first }, first),
            _ if i == ways.len() => (last, if closed { first } else { last }),
            _ => (ways[i - 1], ways[i]),
        };
        let (a, b) = (before.perp(), after.perp());
        let middle = a + b;
        // A hairpin has no mitre; elsewhere it reaches the distance on both sides.
        let size = middle.length_squared();
        if size < 0.05 { p + a * distance } else { p + middle * (2.0 * distance / size) }
    });
    Some(moved.collect())
}
