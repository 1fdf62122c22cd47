//! Surfaces with two parameters, for the faces that lie on them.

use super::curve::whole_numbers;
use super::path::Path;
use super::reader::{Entity, Read, Reader};
use super::spline::{SplineSurface, spread_knots, uniform_knots};
use glam::{DAffine3, DMat3, DVec2, DVec3};
use std::f64::consts::{FRAC_PI_2, TAU};
use wimble_geom::tolerance::SAME_POINT;

/// A boundary this near to its surface lies on it.
const ON_SURFACE: f64 = 2e-4;
/// Further off than this and a surface is not that of its face.
const STILL_NEAR: f64 = 5e-3;

/// A surface in space; `at(u, v)` with u × v along its normal.
pub(super) enum Surface {
    Plane {
        frame: DAffine3,
    },
    Cylinder {
        frame: DAffine3,
        radius: f64,
    },
    Sphere {
        frame: DAffine3,
        radius: f64,
    },
    Torus {
        frame: DAffine3,
        major: f64,
        minor: f64,
    },
    /// A line (u: length along it) moved along a direction (v: length).
    Extrusion {
        line: Line,
        way: DVec3,
    },
    /// A line (v: length along it) turned about the frame's z axis (u: angle).
    Revolution {
        line: Line,
        frame: DAffine3,
    },
    Spline {
        surface: SplineSurface,
        round: (bool, bool),
        steps: (f64, f64),
        /// Points spread over it, from which a search may start.
        seeds: Vec<(DVec2, DVec3)>,
    },
}

/// A chain of chords by its length.
pub(super) struct Line {
    points: Vec<DVec3>,
    lengths: Vec<f64>,
    closed: bool,
}

impl Line {
    fn new(path: &Path, chord: f64) -> Option<Self> {
        let points = path.points(chord);
        if points.len() < 2 {
            return None;
        }
        let mut lengths = vec![0.0];
        for w in points.windows(2) {
            lengths.push(lengths.last().copied().unwrap_or(0.0) + w[0].distance(w[1]));
        }
        Some(Self { closed: path.is_closed(SAME_POINT), points, lengths })
    }

    fn whole(&self) -> f64 {
        self.lengths.last().copied().unwrap_or(0.0)
    }

    fn stretch(&self, t: f64) -> usize {
        self.lengths.partition_point(|l| *l <= t).clamp(1, self.points.len() - 1) - 1
    }

    /// Beyond its ends it goes on straight.
    fn at(&self, t: f64) -> DVec3 {
        let t = if self.closed { t.rem_euclid(self.whole()) } else { t };
        let i = self.stretch(t);
        let (a, b) = (self.points[i], self.points[i + 1]);
        let size = self.lengths[i + 1] - self.lengths[i];
        a + (b - a) * ((t - self.lengths[i]) / size)
    }

    fn way(&self, t: f64) -> DVec3 {
        let t = if self.closed { t.rem_euclid(self.whole()) } else { t };
        let i = self.stretch(t);
        (self.points[i + 1] - self.points[i]).normalize_or_zero()
    }

    /// The length at the point where `apart` (a squared distance to a chord's nearest point) is least.
    fn nearest(&self, nearest_on: impl Fn(DVec3, DVec3) -> (f64, f64)) -> f64 {
        let last = self.points.len() - 2;
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..=last {
            let (share, apart) = nearest_on(self.points[i], self.points[i + 1]);
            // The ends go on.
            let low = if i == 0 && !self.closed { f64::NEG_INFINITY } else { 0.0 };
            let high = if i == last && !self.closed { f64::INFINITY } else { 1.0 };
            if (low..=high).contains(&share) || apart.is_finite() {
                let size = self.lengths[i + 1] - self.lengths[i];
                if apart < best.0 - 1e-15 {
                    best = (apart, self.lengths[i] + share.clamp(low, high) * size);
                }
            }
        }
        best.1
    }
}

impl Surface {
    pub(super) fn at(&self, u: f64, v: f64) -> DVec3 {
        match self {
            Self::Plane { frame } => frame.transform_point3(DVec3::new(u, v, 0.0)),
            Self::Cylinder { frame, radius } => {
                let (sin, cos) = u.sin_cos();
                frame.transform_point3(DVec3::new(radius * cos, radius * sin, v))
            }
            Self::Sphere { frame, radius } => {
                let ((sin, cos), (up, out)) = (u.sin_cos(), v.sin_cos());
                frame.transform_point3(DVec3::new(cos * out, sin * out, up) * *radius)
            }
            Self::Torus { frame, major, minor } => {
                let ((sin, cos), (up, out)) = (u.sin_cos(), v.sin_cos());
                let reach = major + minor * out;
                frame.transform_point3(DVec3::new(cos * reach, sin * reach, minor * up))
            }
            Self::Extrusion { line, way } => line.at(u) + *way * v,
            Self::Revolution { line, frame } => {
                let local = frame.inverse().transform_point3(line.at(v));
                frame.transform_point3(DMat3::from_rotation_z(u) * local)
            }
            Self::Spline { surface, round, .. } => {
                let at = folded(surface, *round, DVec2::new(u, v));
                surface.at(at.x, at.y)
            }
        }
    }

    /// After how much of each parameter it comes back to itself.
    pub(super) fn periods(&self) -> [Option<f64>; 2] {
        match self {
            Self::Plane { .. } => [None, None],
            Self::Cylinder { .. } | Self::Sphere { .. } => [Some(TAU), None],
            Self::Torus { .. } => [Some(TAU), Some(TAU)],
            Self::Extrusion { line, .. } => [line.closed.then(|| line.whole()), None],
            Self::Revolution { line, .. } => [Some(TAU), line.closed.then(|| line.whole())],
            Self::Spline { surface, round, .. } => {
                let (u, v) = surface.domain();
                [round.0.then_some(u.1 - u.0), round.1.then_some(v.1 - v.0)]
            }
        }
    }

    /// Whether u says nothing at a point: the ends of a ball, the tip of a cone.
    pub(super) fn is_pole(&self, p: DVec3) -> bool {
        match self {
            Self::Sphere { frame, .. } | Self::Revolution { frame, .. } => {
                let local = frame.inverse().transform_point3(p);
                local.truncate().length() <= SAME_POINT * 2.0
            }
            _ => false,
        }
    }

    /// The values of v at which u says nothing.
    pub(super) fn poles(&self) -> Vec<f64> {
        match self {
            Self::Sphere { .. } => vec![-FRAC_PI_2, FRAC_PI_2],
            Self::Revolution { line, .. } if !line.closed => {
                [0.0, line.whole()].into_iter().filter(|v| self.is_pole(line.at(*v))).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Parameters of the surface's point nearest to a point, near `hint` if it may lie in several places.
    pub(super) fn locate(&self, p: DVec3, hint: Option<DVec2>) -> DVec2 {
        match self {
            Self::Plane { frame } => frame.inverse().transform_point3(p).truncate(),
            Self::Cylinder { frame, .. } => {
                let q = frame.inverse().transform_point3(p);
                DVec2::new(q.y.atan2(q.x), q.z)
            }
            Self::Sphere { frame, .. } => {
                let q = frame.inverse().transform_point3(p);
                DVec2::new(q.y.atan2(q.x), q.z.atan2(q.truncate().length()))
            }
            Self::Torus { frame, major, .. } => {
                let q = frame.inverse().transform_point3(p);
                let out = q.truncate().length() - major;
                DVec2::new(q.y.atan2(q.x), q.z.atan2(out))
            }
            Self::Extrusion { line, way } => {
                // Seen along the direction.
                let flat = |q: DVec3| q - *way * q.dot(*way);
                let target = flat(p);
                let u = line.nearest(|a, b| nearest_share(flat(a), flat(b), target));
                DVec2::new(u, (p - line.at(u)).dot(*way))
            }
            Self::Revolution { line, frame } => {
                let into = frame.inverse();
                let section = |q: DVec3| {
                    let q = into.transform_point3(q);
                    DVec3::new(q.truncate().length(), q.z, 0.0)
                };
                let target = section(p);
                let v = line.nearest(|a, b| nearest_share(section(a), section(b), target));
                let (q, on) = (into.transform_point3(p), into.transform_point3(line.at(v)));
                DVec2::new(q.y.atan2(q.x) - on.y.atan2(on.x), v)
            }
            Self::Spline { surface, seeds, round, .. } => {
                locate_on_spline(surface, *round, seeds, p, hint)
            }
        }
    }

    /// Parameters between which grid lines may be no further apart, and values that must be lines.
    pub(super) fn grid(&self, chord: f64) -> ([f64; 2], [Vec<f64>; 2]) {
        let turn = |radius: f64| TAU / wimble_geom::circle_chords(radius, chord) as f64;
        match self {
            Self::Plane { .. } => ([f64::INFINITY; 2], [vec![], vec![]]),
            Self::Cylinder { radius, .. } => ([turn(*radius), f64::INFINITY], [vec![], vec![]]),
            Self::Sphere { radius, .. } => ([turn(*radius); 2], [vec![], vec![]]),
            Self::Torus { major, minor, .. } => {
                ([turn(major + minor), turn(*minor)], [vec![], vec![]])
            }
            Self::Extrusion { line, .. } => ([f64::INFINITY; 2], [line.lengths.clone(), vec![]]),
            Self::Revolution { line, frame } => {
                let reach = line
                    .points
                    .iter()
                    .map(|p| frame.inverse().transform_point3(*p).truncate().length())
                    .fold(0.0, f64::max);
                ([turn(reach), f64::INFINITY], [vec![], line.lengths.clone()])
            }
            Self::Spline { surface, steps, .. } => ([steps.0, steps.1], surface.creases()),
        }
    }

    /// Roughly how long one unit of each parameter is, for triangles of good shape.
    pub(super) fn scale(&self) -> DVec2 {
        match self {
            Self::Plane { .. } | Self::Extrusion { .. } => DVec2::ONE,
            Self::Cylinder { radius, .. } => DVec2::new(*radius, 1.0),
            Self::Sphere { radius, .. } => DVec2::splat(*radius),
            Self::Torus { major, minor, .. } => DVec2::new(*major, *minor),
            Self::Revolution { line, frame } => {
                let middle = line.at(line.whole() / 2.0);
                DVec2::new(
                    frame.inverse().transform_point3(middle).truncate().length().max(1e-3),
                    1.0,
                )
            }
            Self::Spline { surface, .. } => {
                let (u, v) = surface.domain();
                let (mu, mv) = (u.0.midpoint(u.1), v.0.midpoint(v.1));
                let length = |f: &dyn Fn(f64) -> DVec3| {
                    (0..8)
                        .map(|i| f(f64::from(i) / 8.0).distance(f(f64::from(i + 1) / 8.0)))
                        .sum::<f64>()
                };
                let lu = length(&|s| surface.at(u.0 + (u.1 - u.0) * s, mv)) / (u.1 - u.0);
                let lv = length(&|s| surface.at(mu, v.0 + (v.1 - v.0) * s)) / (v.1 - v.0);
                DVec2::new(lu.max(1e-9), lv.max(1e-9))
            }
        }
    }

    /// The normal at the surface's point nearest to a point.
    pub(super) fn normal_near(&self, p: DVec3) -> Option<DVec3> {
        let uv = self.locate(p, None);
        match self {
            Self::Plane { frame } => Some(frame.matrix3.z_axis),
            Self::Extrusion { line, way } => line.way(uv.x).cross(*way).try_normalize(),
            _ => {
                let scale = self.scale();
                let (hu, hv) = (1e-5 / scale.x, 1e-5 / scale.y);
                let du = self.at(uv.x + hu, uv.y) - self.at(uv.x - hu, uv.y);
                let dv = self.at(uv.x, uv.y + hv) - self.at(uv.x, uv.y - hv);
                du.cross(dv).try_normalize()
            }
        }
    }
}

/// The share of a chord at which it is nearest to a point, not limited to the chord, and the
/// squared distance from the chord itself.
fn nearest_share(a: DVec3, b: DVec3, p: DVec3) -> (f64, f64) {
    let along = b - a;
    let size = along.length_squared();
    let share = if size > 0.0 { (p - a).dot(along) / size } else { 0.0 };
    (share, p.distance_squared(a + along * share.clamp(0.0, 1.0)))
}

/// Parameters within a spline's domain: past its end a round one begins again, another stops.
fn folded(surface: &SplineSurface, round: (bool, bool), at: DVec2) -> DVec2 {
    let (u, v) = surface.domain();
    let once = |t: f64, (low, high): (f64, f64), round: bool| {
        if round && !(low..=high).contains(&t) {
            low + (t - low).rem_euclid(high - low)
        } else {
            t.clamp(low, high)
        }
    };
    DVec2::new(once(at.x, u, round.0), once(at.y, v, round.1))
}

fn locate_on_spline(
    surface: &SplineSurface,
    round: (bool, bool),
    seeds: &[(DVec2, DVec3)],
    p: DVec3,
    hint: Option<DVec2>,
) -> DVec2 {
    let (u, v) = surface.domain();
    let (low, high) = (DVec2::new(u.0, v.0), DVec2::new(u.1, v.1));
    let fold = |q: DVec2| folded(surface, round, q);
    let apart = |q: DVec2| surface.at(q.x, q.y).distance(p);
    let refine = |start: DVec2| {
        // Gauss–Newton with differences, halved while it does not help.
        let mut at = start;
        let h = (high - low) * 1e-6;
        for _ in 0..30 {
            let here = surface.at(at.x, at.y) - p;
            let derivative = |step: DVec2| {
                let (a, b) = ((at + step).clamp(low, high), (at - step).clamp(low, high));
                (surface.at(a.x, a.y) - surface.at(b.x, b.y)) / (a - b).length()
            };
            let (du, dv) = (derivative(DVec2::new(h.x, 0.0)), derivative(DVec2::new(0.0, h.y)));
            let (a, b, c) = (du.dot(du), du.dot(dv), dv.dot(dv));
            let (e, f) = (-here.dot(du), -here.dot(dv));
            let det = a * c - b * b;
            let step = if det > 1e-14 * a * c {
                DVec2::new(e * c - f * b, a * f - b * e) / det
            } else {
                DVec2::new(e / a.max(1e-30), 0.0)
            };
            let mut size = 1.0;
            let before = here.length();
            let mut next = fold(at + step);
            while apart(next) > before && size > 1e-3 {
                size /= 2.0;
                next = fold(at + step * size);
            }
            let moved = step * size / (high - low);
            if apart(next) > before {
                break;
            }
            at = next;
            if moved.length() < 1e-12 {
                break;
            }
        }
        at
    };
    let mut nearest: Vec<(f64, DVec2)> =
        seeds.iter().map(|(uv, q)| (q.distance_squared(p), *uv)).collect();
    let count = nearest.len().min(4);
    if count == 0 {
        return low;
    }
    nearest.select_nth_unstable_by(count - 1, |a, b| a.0.total_cmp(&b.0));
    nearest.truncate(count);
    nearest.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best = (f64::INFINITY, low);
    // The place next to the last one first: along a boundary it is nearly always right.
    let starts = hint.map(fold).into_iter();
    for start in starts.chain(nearest.iter().map(|(_, uv)| *uv)) {
        let found = refine(start);
        let distance = apart(found);
        if distance < best.0 {
            best = (distance, found);
        }
        if best.0 < 1e-6 {
            break;
        }
    }
    best.1
}

/// Points spread over a surface.
fn seeds_of(surface: &SplineSurface) -> Vec<(DVec2, DVec3)> {
    let (u, v) = surface.domain();
    let (low, high) = (DVec2::new(u.0, v.0), DVec2::new(u.1, v.1));
    let (nu, nv) = surface.size();
    let (nu, nv) = ((nu * 3).clamp(8, 48), (nv * 3).clamp(8, 48));
    let mut seeds = Vec::with_capacity((nu + 1) * (nv + 1));
    for i in 0..=nu {
        for j in 0..=nv {
            let share = DVec2::new(i as f64 / nu as f64, j as f64 / nv as f64);
            let at = low + (high - low) * share;
            seeds.push((at, surface.at(at.x, at.y)));
        }
    }
    seeds
}

impl<'m> Reader<'m, '_> {
    pub(super) fn surface(&self, entity: &Entity<'m>) -> Read<Surface> {
        let surface = self.deeper(entity, || self.surface_of(entity));
        self.met(entity, surface.is_ok());
        surface
    }

    /// The surface on which points lie. Some exporters write the curve of a swept surface in the
    /// frame of the body, and a position as well: whichever reading has the boundary on it is
    /// meant.
    pub(super) fn surface_through(
        &self,
        entity: &Entity<'m>,
        loops: &[Vec<DVec3>],
    ) -> Read<Surface> {
        let off = |surface: &Surface| {
            let mut most = 0.0_f64;
            let mut hint = None;
            for p in loops.iter().flatten().step_by(3) {
                let uv = surface.locate(*p, hint);
                most = most.max(surface.at(uv.x, uv.y).distance(*p));
                hint = Some(uv);
            }
            most
        };
        let first = self.surface(entity)?;
        let distance = off(&first);
        if distance <= ON_SURFACE {
            return Ok(first);
        }
        let mut best = (distance, first);
        if matches!(entity.keyword, "IFCSURFACEOFLINEAREXTRUSION" | "IFCSURFACEOFREVOLUTION") {
            let frame = self.frame_or_none(entity, 1)?;
            let none = DAffine3::IDENTITY;
            for (curve, way) in [(none, none), (none, frame), (frame, none)] {
                let surface = self.swept_surface(entity, &curve, &way)?;
                let distance = off(&surface);
                if distance < best.0 {
                    best = (distance, surface);
                }
            }
            if best.0 <= ON_SURFACE {
                self.remark(
                    entity.row,
                    format!("{} fits its face only without its position", entity.label()),
                );
                return Ok(best.1);
            }
        }
        if best.0 <= STILL_NEAR {
            self.remark(
                entity.row,
                format!(
                    "{} leaves the edges of its face by {:.1} mm",
                    entity.label(),
                    best.0 * 1e3
                ),
            );
            return Ok(best.1);
        }
        Err(entity.trouble(format_args!("lies {:.0} mm off the edges of its face", best.0 * 1e3)))
    }

    fn swept_surface(
        &self,
        entity: &Entity<'m>,
        curve: &DAffine3,
        way: &DAffine3,
    ) -> Read<Surface> {
        let line = self.swept_line(entity, curve)?;
        if entity.keyword == "IFCSURFACEOFLINEAREXTRUSION" {
            let direction = self.direction(&self.part(entity, 2, "ExtrudedDirection")?)?;
            return Ok(Surface::Extrusion { line, way: way.transform_vector3(direction) });
        }
        let axis = self.frame(&self.part(entity, 2, "AxisPosition")?)?;
        Ok(Surface::Revolution { line, frame: *way * axis })
    }

    fn surface_of(&self, entity: &Entity<'m>) -> Read<Surface> {
        match entity.keyword {
            "IFCPLANE" => Ok(Surface::Plane { frame: self.frame_or_none(entity, 0)? }),
            "IFCCYLINDRICALSURFACE" => Ok(Surface::Cylinder {
                frame: self.frame_or_none(entity, 0)?,
                radius: self.size(entity, 1, "Radius")?,
            }),
            "IFCSPHERICALSURFACE" => Ok(Surface::Sphere {
                frame: self.frame_or_none(entity, 0)?,
                radius: self.size(entity, 1, "Radius")?,
            }),
            "IFCTOROIDALSURFACE" => Ok(Surface::Torus {
                frame: self.frame_or_none(entity, 0)?,
                major: self.size(entity, 1, "MajorRadius")?,
                minor: self.size(entity, 2, "MinorRadius")?,
            }),
            "IFCSURFACEOFLINEAREXTRUSION" | "IFCSURFACEOFREVOLUTION" => {
                let frame = self.frame_or_none(entity, 1)?;
                self.swept_surface(entity, &frame, &frame)
            }
            "IFCBSPLINESURFACE"
            | "IFCBSPLINESURFACEWITHKNOTS"
            | "IFCRATIONALBSPLINESURFACEWITHKNOTS" => self.spline_surface(entity),
            "IFCRECTANGULARTRIMMEDSURFACE" | "IFCCURVEBOUNDEDSURFACE" | "IFCCURVEBOUNDEDPLANE" => {
                self.surface(&self.part(entity, 0, "BasisSurface")?)
            }
            _ => Err(entity.trouble("is a surface of a kind that is not read")),
        }
    }

    /// The line of a swept surface, placed.
    fn swept_line(&self, entity: &Entity<'m>, frame: &DAffine3) -> Read<Line> {
        let profile = self.part(entity, 0, "SweptCurve")?;
        let path = match profile.keyword {
            "IFCARBITRARYOPENPROFILEDEF"
            | "IFCCENTERLINEPROFILEDEF"
            | "IFCARBITRARYCLOSEDPROFILEDEF" => self.path(&self.part(&profile, 2, "Curve")?)?,
            _ => {
                let areas = self.areas(&profile)?;
                let area = areas.first().ok_or_else(|| profile.trouble("has no area"))?;
                let mut points: Vec<DVec3> = area
                    .profile
                    .outline(self.chord)
                    .outer
                    .iter()
                    .map(|p| area.place.transform_point2(*p).extend(0.0))
                    .collect();
                points.extend(points.first().copied());
                Path::polyline(&points)
            }
        };
        Line::new(&path.moved(frame), self.chord / 2.0)
            .ok_or_else(|| profile.trouble("has no length"))
    }

    fn spline_surface(&self, entity: &Entity<'m>) -> Read<Surface> {
        let degree = |place: usize| {
            entity.get(place).integer().and_then(|d| usize::try_from(d).ok()).unwrap_or(0)
        };
        let degrees = (degree(0), degree(1));
        let mut rows: Vec<Vec<DVec3>> = Vec::new();
        for row in entity.get(2).as_list() {
            let points: Read<Vec<DVec3>> =
                self.all(entity, row).iter().map(|p| self.point(p)).collect();
            rows.push(points?);
            self.count(entity, rows.last().map_or(0, Vec::len) * 16)?;
        }
        let columns = rows.first().map_or(0, Vec::len);
        let with_knots = entity.keyword.ends_with("WITHKNOTS");
        let knots = if with_knots {
            let values = |place: usize| entity.get(place).as_list().numbers().collect::<Vec<f64>>();
            let spread =
                |m: usize, k: usize| spread_knots(&values(k), &whole_numbers(entity.get(m)));
            (spread(7, 9), spread(8, 10))
        } else {
            (uniform_knots(degrees.0, rows.len()), uniform_knots(degrees.1, columns))
        };
        let weights: Option<Vec<Vec<f64>>> = entity.keyword.contains("RATIONAL").then(|| {
            let place = if with_knots { 12 } else { 7 };
            entity
                .get(place)
                .as_list()
                .iter()
                .map(|row| row.as_list().numbers().collect())
                .collect()
        });
        let surface =
            SplineSurface::new(degrees, &rows, weights.as_deref(), knots).ok_or_else(|| {
                entity.trouble("has knots, weights and control points that do not belong together")
            })?;
        let round = surface.is_round();
        let steps = surface.steps(self.chord);
        let seeds = seeds_of(&surface);
        Ok(Surface::Spline { surface, round, steps, seeds })
    }
}
