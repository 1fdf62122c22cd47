//! Profiles swept along curves, turned about axes or blended into each other.

use super::path::{Path, Piece, Station, Stretch};
use super::profile::Area;
use super::reader::{Entity, Read, Reader, axes};
use super::solid::prism;
use glam::{DAffine3, DMat3, DVec2, DVec3};
use std::f64::consts::{PI, TAU};
use wimble_geom::tolerance::{SAME_DIRECTION, SAME_POINT};
use wimble_geom::{Cylinder, Mesh, Outline, Solid, circle_chords, circle_ring, loft};

type Rings = Vec<Vec<DVec3>>;

/// An area's rings in the plane, placed.
fn outline(area: &Area, chord: f64) -> Outline {
    let outline = area.profile.outline(chord);
    let place = |ring: &Vec<DVec2>| ring.iter().map(|p| area.place.transform_point2(*p)).collect();
    Outline {
        outer: place(&outline.outer),
        holes: outline.holes.iter().map(place).collect(),
        chord: outline.chord,
    }
}

fn rings(outline: &Outline, at: impl Fn(DVec2) -> DVec3) -> Rings {
    std::iter::once(&outline.outer)
        .chain(&outline.holes)
        .map(|ring| ring.iter().map(|p| at(*p)).collect())
        .collect()
}

impl<'m> Reader<'m, '_> {
    /// The single area of a swept solid.
    fn area(&self, entity: &Entity<'m>, place: usize, what: &str) -> Read<Area> {
        let profile = self.part(entity, place, what)?;
        let mut areas = self.areas(&profile)?;
        if areas.len() > 1 {
            return super::join::joined(&areas).ok_or_else(|| {
                profile.trouble("has parts that lie apart, which is not read in this kind of sweep")
            });
        }
        areas.pop().ok_or_else(|| profile.trouble("has no area"))
    }

    pub(super) fn extruded_tapered(&self, entity: &Entity<'m>) -> Read<Solid> {
        let (start, end) =
            (self.area(entity, 0, "SweptArea")?, self.area(entity, 4, "EndSweptArea")?);
        let frame = self.frame_or_none(entity, 1)?;
        let sweep = self.extrusion(entity)?;
        if start == end {
            return Ok(prism(&frame, &start, frame.transform_vector3(sweep)));
        }
        let (low, high) = matched(&outline(&start, self.chord), &outline(&end, self.chord))
            .ok_or_else(|| entity.trouble("blends profiles with different numbers of voids"))?;
        let at = |shift: DVec3| move |p: DVec2| frame.transform_point3(p.extend(0.0) + shift);
        let mesh = loft(&low, &[rings(&low, at(DVec3::ZERO)), rings(&high, at(sweep))], false);
        let mesh = if sweep.z < 0.0 { mesh.flipped() } else { mesh };
        Ok(Solid::Mesh(self.put_in_order(entity, &mesh)?))
    }

    pub(super) fn revolved(&self, entity: &Entity<'m>) -> Read<Solid> {
        let start = self.area(entity, 0, "SweptArea")?;
        let frame = self.frame_or_none(entity, 1)?;
        let axis = self.frame(&self.part(entity, 2, "Axis")?)?;
        let (centre, axis) = (axis.translation, axis.matrix3.z_axis);
        let angle = (self.number(entity, 3, "Angle")? * self.radians).clamp(-TAU, TAU);
        if angle.abs() < 1e-9 {
            return Err(entity.trouble("turns by no angle"));
        }
        let (low, high) = if entity.keyword == "IFCREVOLVEDAREASOLIDTAPERED" {
            let end = self.area(entity, 4, "EndSweptArea")?;
            matched(&outline(&start, self.chord), &outline(&end, self.chord))
                .ok_or_else(|| entity.trouble("blends profiles with different numbers of voids"))?
        } else {
            let only = outline(&start, self.chord);
            (only.clone(), only)
        };
        let reach = low
            .outer
            .iter()
            .chain(&high.outer)
            .map(|p| (p.extend(0.0) - centre).cross(axis).length())
            .fold(0.0, f64::max);
        let whole = (angle.abs() - TAU).abs() < 1e-9;
        let steps =
            ((circle_chords(reach, self.chord) as f64 * angle.abs() / TAU).ceil() as usize).max(2);
        let count = if whole { steps } else { steps + 1 };
        self.count(entity, count * low.outer.len())?;
        let stations: Vec<Rings> = (0..count)
            .map(|i| {
                let share = i as f64 / steps as f64;
                let turn = DMat3::from_axis_angle(axis, angle * share);
                let both =
                    rings(&low, |p| p.extend(0.0)).into_iter().zip(rings(&high, |p| p.extend(0.0)));
                both.map(|(a, b)| {
                    a.iter()
                        .zip(&b)
                        .map(|(a, b)| {
                            frame.transform_point3(centre + turn * (a.lerp(*b, share) - centre))
                        })
                        .collect()
                })
                .collect()
            })
            .collect();
        let mut mesh = loft(&low, &stations, whole);
        mesh.chord = mesh.chord.max(reach * (1.0 - (angle.abs() / steps as f64 / 2.0).cos()));
        Ok(Solid::Mesh(self.put_in_order(entity, &mesh)?))
    }

    /// The part of a directrix that start and end parameters leave.
    fn trimmed_directrix(&self, entity: &Entity<'m>, path: Path, places: (usize, usize)) -> Path {
        let value = |place: usize| entity.get(place);
        let (start, end) = (value(places.0), value(places.1));
        if start.number().is_none() && end.number().is_none() {
            return path;
        }
        // IFC4X3 allows lengths along the curve as well as parameters.
        let by_length = [start, end].iter().any(|v| {
            matches!(v, wimble_step::Value::Typed(t) if t.keyword().to_ascii_uppercase().contains("LENGTHMEASURE"))
        });
        let whole = if by_length { path.length() } else { path.parameters() };
        let unit = if by_length { self.metres } else { 1.0 };
        let from = start.number().unwrap_or(0.0) * unit;
        let to = end.number().map_or(whole, |n| n * unit);
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * (1.0 + b.abs());
        let length = path.length() / self.metres;
        // Many exporters wrote 0 to 1, or 0 to the length, for the whole directrix.
        if near(from, 0.0) && (near(to, whole) || near(to, 1.0) || near(to, length)) {
            if !near(to, whole) {
                self.remark(
                    entity.row,
                    format!(
                        "{} is swept from 0 to {to} of {whole}; the whole directrix is taken",
                        entity.label()
                    ),
                );
            }
            return path;
        }
        if from < -1e-6 || to > whole * (1.0 + 1e-6) + 1e-6 || from >= to {
            self.remark(entity.row, format!("{} is swept from {from} to {to}, outside 0 to {whole}; the whole directrix is taken", entity.label()));
            return path;
        }
        self.remark(
            entity.row,
            format!(
                "{} is swept along part of its directrix, {from} to {to} of {whole}",
                entity.label()
            ),
        );
        if by_length { path.between_lengths(from, to) } else { path.between(from, to) }
    }

    pub(super) fn swept_disk(&self, entity: &Entity<'m>) -> Read<Solid> {
        let mut path = self.path(&self.part(entity, 0, "Directrix")?)?;
        let radius = self.size(entity, 1, "Radius")?;
        let inner = Some(self.length_or(entity, 2, 0.0)).filter(|r| *r > 0.0 && *r < radius);
        path = self.trimmed_directrix(entity, path, (3, 4));
        if entity.keyword == "IFCSWEPTDISKSOLIDPOLYGONAL" {
            let fillet = self.length_or(entity, 5, 0.0);
            if fillet > 0.0 {
                path = filleted(&path, fillet);
            }
        }
        if let Some((from, to)) = straight(&path) {
            return Ok(Solid::Cylinder(Cylinder { from, to, radius, inner }));
        }
        let chords = circle_chords(radius, self.chord);
        let ring = circle_ring(radius, chords);
        let holes =
            inner.map(|r| circle_ring(r, chords).into_iter().rev().collect()).into_iter().collect();
        let outline = Outline { outer: ring, holes, chord: self.chord };
        // The outside of a bend leaves its chords by more than the centre line does.
        let stations = path.stations(self.chord / 2.0);
        self.count(entity, stations.len() * chords)?;
        let mesh = swept(&outline, &stations, path.is_closed(SAME_POINT), &Turning::Least)
            .ok_or_else(|| entity.trouble("has a directrix without length"))?;
        Ok(Solid::Mesh(self.put_in_order(entity, &mesh)?))
    }

    /// Fixed reference and surface curve sweeps.
    pub(super) fn swept_along(&self, entity: &Entity<'m>) -> Read<Solid> {
        let area = self.area(entity, 0, "SweptArea")?;
        let frame = self.frame_or_none(entity, 1)?;
        let path = self.path(&self.part(entity, 2, "Directrix")?)?;
        let path = self.trimmed_directrix(entity, path, (3, 4));
        let reference = self.part(entity, 5, "reference")?;
        let turning = if entity.keyword == "IFCSURFACECURVESWEPTAREASOLID" {
            if reference.keyword == "IFCPLANE" {
                Turning::Fixed(self.plane_frame(&reference)?.matrix3.z_axis)
            } else {
                let surface = self.surface(&reference)?;
                Turning::Normals(Box::new(move |p| surface.normal_near(p)))
            }
        } else {
            Turning::Fixed(self.direction(&reference)?)
        };
        let chord = self.chord / 2.0;
        let outline = outline(&area, self.chord);
        let stations = path.stations(chord);
        self.count(entity, stations.len() * outline.outer.len())?;
        if let (Turning::Fixed(reference), Some((from, to))) = (&turning, straight(&path)) {
            // A straight sweep is a prism.
            let (matrix3, _) = axes((to - from).try_normalize(), reference.try_normalize());
            let start = DAffine3 { matrix3, translation: from };
            return Ok(prism(&(frame * start), &area, frame.transform_vector3(to - from)));
        }
        let mesh = swept(&outline, &stations, path.is_closed(SAME_POINT), &turning)
            .ok_or_else(|| entity.trouble("has a directrix without length"))?;
        Ok(Solid::Mesh(self.put_in_order(entity, &mesh.transformed(&frame))?))
    }

    /// Cross-sections at places along a curve, blended.
    pub(super) fn sectioned(&self, entity: &Entity<'m>) -> Read<Solid> {
        let sections: Read<Vec<Area>> = self
            .parts(entity, 1)
            .iter()
            .map(|profile| {
                let mut areas = self.areas(profile)?;
                areas
                    .pop()
                    .filter(|_| areas.is_empty())
                    .ok_or_else(|| profile.trouble("has several parts"))
            })
            .collect();
        let sections = sections?;
        let frames = self.section_frames(entity)?;
        if sections.len() < 2 || frames.len() != sections.len() {
            return Err(
                entity.trouble("has not as many places as cross-sections, or fewer than two")
            );
        }
        let mut lofted = Mesh::default();
        for (pair, sections) in frames.windows(2).zip(sections.windows(2)) {
            let (low, high) =
                matched(&outline(&sections[0], self.chord), &outline(&sections[1], self.chord))
                    .ok_or_else(|| {
                        entity.trouble("blends profiles with different numbers of voids")
                    })?;
            let last = pair[0].len().saturating_sub(1).max(1) as f64;
            let stations: Vec<Rings> = pair[0]
                .iter()
                .enumerate()
                .map(|(i, frame)| {
                    let share = i as f64 / last;
                    let both = rings(&low, |p| p.extend(0.0))
                        .into_iter()
                        .zip(rings(&high, |p| p.extend(0.0)));
                    both.map(|(a, b)| {
                        a.iter()
                            .zip(&b)
                            .map(|(a, b)| frame.transform_point3(a.lerp(*b, share)))
                            .collect()
                    })
                    .collect()
                })
                .collect();
            lofted.append(&loft(&low, &stations, false));
        }
        // Inner ends of neighbouring stretches lie on each other: they are put in order apart, so
        // that each stretch is a body of its own.
        Ok(Solid::Mesh(self.put_in_order(entity, &lofted)?))
    }

    /// For each section the frames from it to the next one; the last has only its own.
    fn section_frames(&self, entity: &Entity<'m>) -> Read<Vec<Vec<DAffine3>>> {
        let places = self.parts(entity, 2);
        if places.iter().all(|p| p.keyword == "IFCAXIS2PLACEMENT3D") {
            let frames: Read<Vec<DAffine3>> = places.iter().map(|p| self.frame(p)).collect();
            let frames = frames?;
            let next = frames.iter().skip(1).copied().map(Some).chain([None]);
            return Ok(frames
                .iter()
                .copied()
                .zip(next)
                .map(|(a, b)| std::iter::once(a).chain(b).collect())
                .collect());
        }
        let path = self.path(&self.part(entity, 0, "Directrix")?)?;
        let mut stops = Vec::new();
        for place in &places {
            let expression = match place.keyword {
                "IFCAXIS2PLACEMENTLINEAR" => self.part(place, 0, "Location")?,
                _ => self.at(place.row),
            };
            if !matches!(
                expression.keyword,
                "IFCDISTANCEEXPRESSION" | "IFCPOINTBYDISTANCEEXPRESSION"
            ) {
                return Err(expression.trouble("stands where a distance along a curve is needed"));
            }
            // IFC4X1 writes the same attributes, with a flag in place of the curve.
            let shift = DVec2::new(
                self.length_or(&expression, 1, 0.0),
                self.length_or(&expression, 2, 0.0),
            );
            stops.push((self.length(&expression, 0, "DistanceAlong")?, shift));
        }
        let at = |distance: f64, shift: DVec2| -> Option<DAffine3> {
            let length = path.length();
            let (way, point) = if distance >= length - 1e-9 {
                let last = path.stretches.last()?;
                (last.piece.way(1.0), last.piece.to() + last.piece.way(1.0) * (distance - length))
            } else {
                let rest = path.between_lengths(distance.max(0.0), length);
                let first = rest.stretches.first()?;
                (first.piece.way(0.0), first.piece.from())
            };
            // The section stands upright: y up, x to the right of the way.
            let level = way.with_z(0.0).try_normalize()?;
            let right = level.cross(DVec3::Z);
            let matrix3 = DMat3::from_cols(right, DVec3::Z, right.cross(DVec3::Z));
            let translation = point - right * shift.x + DVec3::Z * shift.y;
            Some(DAffine3 { matrix3, translation })
        };
        let mut frames = Vec::new();
        for (i, &(distance, shift)) in stops.iter().enumerate() {
            let own = at(distance, shift);
            let mut list: Vec<DAffine3> = own.into_iter().collect();
            if let Some(&(next, next_shift)) = stops.get(i + 1) {
                let inner = path.between_lengths(distance, next).stations(self.chord.max(1e-3));
                let n = inner.len().clamp(1, 2000);
                for k in 1..=n {
                    let share = k as f64 / n as f64;
                    list.extend(at(
                        distance + (next - distance) * share,
                        shift.lerp(next_shift, share),
                    ));
                }
            }
            if list.is_empty() {
                return Err(entity.trouble("has a directrix without direction"));
            }
            frames.push(list);
        }
        Ok(frames)
    }
}

/// What holds a profile upright along a sweep.
enum Turning {
    /// It turns as little as it can.
    Least,
    /// Its x axis follows a fixed direction.
    Fixed(DVec3),
    /// Its x axis follows the normal of a surface.
    Normals(Box<dyn Fn(DVec3) -> Option<DVec3>>),
}

/// An outline swept through stations. At corners it is mitred half-way.
fn swept(outline: &Outline, stations: &[Station], closed: bool, turning: &Turning) -> Option<Mesh> {
    let count = if closed && stations.len() > 3 { stations.len() - 1 } else { stations.len() };
    let first = stations.first()?;
    if count < 2 {
        return None;
    }
    let (mut x, _) = (first.leaves.any_orthonormal_vector(), ());
    let mut all = Vec::with_capacity(count);
    for i in 0..count {
        let mut station = stations[i];
        if i == 0 {
            station.arrives = if closed { stations[count].arrives } else { station.leaves };
        } else if i + 1 == stations.len() {
            station.leaves = station.arrives;
        }
        let way = if station.arrives == DVec3::ZERO { station.leaves } else { station.arrives };
        match turning {
            Turning::Least => x = (x - way * x.dot(way)).try_normalize()?,
            Turning::Fixed(reference) => {
                x = (*reference - way * reference.dot(way)).try_normalize().unwrap_or_else(|| {
                    (x - way * x.dot(way)).normalize_or(way.any_orthonormal_vector())
                });
            }
            Turning::Normals(normal) => {
                let reference = normal(station.point).unwrap_or(x);
                x = (reference - way * reference.dot(way)).try_normalize().unwrap_or(x);
            }
        }
        let y = way.cross(x);
        let mitre = station.arrives + station.leaves;
        let slide = |offset: DVec3| {
            // Along the way until it lies in the plane half-way between the two.
            let lean = way.dot(mitre);
            if lean > 0.2 && station.arrives.cross(station.leaves).length() > SAME_DIRECTION {
                offset - way * (offset.dot(mitre) / lean)
            } else {
                offset
            }
        };
        all.push(rings(outline, |p| station.point + slide(x * p.x + y * p.y)));
        if matches!(turning, Turning::Least) {
            // Carried over to the way on, by the least turn.
            let on = station.leaves;
            let axis = way.cross(on);
            if axis.length() > 1e-12 {
                let angle = axis.length().atan2(way.dot(on));
                x = DMat3::from_axis_angle(axis.normalize(), angle) * x;
            }
        }
    }
    if closed && matches!(turning, Turning::Least) {
        // Once round, the profile may arrive turned against where it began: for a disk the rings
        // are joined at the nearest points.
        let target = all.first()?.first()?.first().copied()?;
        let last = all.last()?;
        let n = last.first()?.len();
        let nearest = (0..n)
            .min_by(|&i, &j| last[0][i].distance(target).total_cmp(&last[0][j].distance(target)))
            .unwrap_or(0);
        if nearest != 0 {
            let mut first_again = all[0].clone();
            for (r, ring) in first_again.iter_mut().enumerate() {
                // Holes run the other way round.
                if r == 0 { ring.rotate_right(nearest % n) } else { ring.rotate_left(nearest % n) }
            }
            all.push(first_again);
            let mut mesh = loft(outline, &all, false);
            // No ends: their triangles are the last ones.
            let ends = 2 * wimble_geom::triangulate(&outline.outer, &outline.holes).len();
            mesh.triangles.truncate(mesh.triangles.len() - ends);
            return Some(mesh);
        }
    }
    Some(loft(outline, &all, closed && stations.len() > 3))
}

/// The two ends of a path that is straight.
fn straight(path: &Path) -> Option<(DVec3, DVec3)> {
    let (from, to) = (path.from()?, path.to()?);
    let way = (to - from).try_normalize()?;
    let lined = path.stretches.iter().all(|s| match &s.piece {
        Piece::Line { from: a, to: b } => {
            let along = b - a;
            along.length() <= SAME_POINT
                || (along.dot(way) > 0.0
                    && [a, b].iter().all(|p| (**p - from).cross(way).length() <= SAME_POINT))
        }
        _ => false,
    });
    (lined && from.distance(to) > SAME_POINT).then_some((from, to))
}

/// A polyline with its corners rounded.
fn filleted(path: &Path, radius: f64) -> Path {
    let mut points: Vec<DVec3> = Vec::new();
    for p in path.points(1e-4) {
        if points.last().is_none_or(|last| last.distance(p) > SAME_POINT) {
            points.push(p);
        }
    }
    let mut out = Path::default();
    let Some(mut here) = points.first().copied() else { return path.clone() };
    for w in points.windows(3) {
        let (back, on) = ((w[0] - w[1]).normalize(), (w[2] - w[1]).normalize());
        let angle = back.dot(on).clamp(-1.0, 1.0).acos();
        if !(1e-6..PI - 1e-6).contains(&angle) {
            out.stretches
                .push(Stretch { piece: Piece::Line { from: here, to: w[1] }, parameters: 1.0 });
            here = w[1];
            continue;
        }
        let most = (w[0].distance(w[1]).min(w[2].distance(w[1]))) / 2.0;
        let reach = (radius / (angle / 2.0).tan()).min(most.max(SAME_POINT));
        let radius = reach * (angle / 2.0).tan();
        let (start, end) = (w[1] + back * reach, w[1] + on * reach);
        let centre = w[1] + (back + on).normalize() * (radius / (angle / 2.0).sin());
        let x = start - centre;
        let normal = x.cross(end - centre).normalize_or_zero();
        if here.distance(start) > SAME_POINT {
            out.stretches
                .push(Stretch { piece: Piece::Line { from: here, to: start }, parameters: 1.0 });
        }
        out.stretches.push(Stretch {
            piece: Piece::Arc { centre, x, y: normal.cross(x), start: 0.0, end: PI - angle },
            parameters: 1.0,
        });
        here = end;
    }
    if let Some(&last) = points.last() {
        out.stretches
            .push(Stretch { piece: Piece::Line { from: here, to: last }, parameters: 1.0 });
    }
    out
}

/// Two outlines with equal numbers of points, ring by ring. `None` if the numbers of rings differ.
fn matched(a: &Outline, b: &Outline) -> Option<(Outline, Outline)> {
    if a.holes.len() != b.holes.len() {
        return None;
    }
    let (outer_a, outer_b) = matched_rings(&a.outer, &b.outer);
    let (holes_a, holes_b) = a.holes.iter().zip(&b.holes).map(|(a, b)| matched_rings(a, b)).unzip();
    Some((
        Outline { outer: outer_a, holes: holes_a, chord: a.chord },
        Outline { outer: outer_b, holes: holes_b, chord: b.chord },
    ))
}

fn matched_rings(a: &[DVec2], b: &[DVec2]) -> (Vec<DVec2>, Vec<DVec2>) {
    if a.len() == b.len() {
        return (a.to_vec(), b.to_vec());
    }
    // By direction from the middle, at every direction that either has a corner in.
    let middle = |ring: &[DVec2]| ring.iter().sum::<DVec2>() / ring.len().max(1) as f64;
    let (ma, mb) = (middle(a), middle(b));
    let mut directions: Vec<f64> = a
        .iter()
        .map(|p| (p - ma).to_angle())
        .chain(b.iter().map(|p| (p - mb).to_angle()))
        .collect();
    directions.sort_by(f64::total_cmp);
    directions.dedup_by(|x, y| (*x - *y).abs() < 1e-6);
    if wimble_geom::ring_area(a) < 0.0 {
        directions.reverse();
    }
    let at = |ring: &[DVec2], middle: DVec2| -> Vec<DVec2> {
        directions
            .iter()
            .map(|angle| {
                let way = DVec2::from_angle(*angle);
                let hits = (0..ring.len()).filter_map(|i| {
                    let (p, q) = (ring[i] - middle, ring[(i + 1) % ring.len()] - middle);
                    let along = q - p;
                    let cross = way.perp_dot(along);
                    if cross.abs() < 1e-15 {
                        return None;
                    }
                    let share = p.perp_dot(way) / cross;
                    let reach = p.perp_dot(along) / cross;
                    ((-1e-9..=1.0 + 1e-9).contains(&share) && reach > 0.0).then_some(reach)
                });
                middle + way * hits.fold(0.0, f64::max)
            })
            .collect()
    };
    (at(a, ma), at(b, mb))
}
