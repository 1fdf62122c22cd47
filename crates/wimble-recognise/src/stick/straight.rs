//! One straight (or nearly straight) piece.

use super::Figure;
use super::axis::{Axis, axis};
use super::ends::ends;
use super::frame::{Across, Sides, depth, is_steep, round_depth, sides, toward_k};
use super::section::section;
use super::slice::{Local, Slice, slice};
use crate::scene::{MemberBody, Part, PartKind, PartShape};
use glam::DVec3;
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Mesh, Plane};
use wimble_model::{Frame, Section};

/// Where a body is cut to see its section: shares of its length.
const STATIONS: [f64; 7] = [0.07, 0.21, 0.36, 0.5, 0.64, 0.79, 0.93];
/// So many stations that fill the whole outline make a body of one section.
const CONSTANT: usize = 3;
/// A station fills the whole outline if it comes within this of it, mm.
const FILLS: f64 = 1.0;

/// One piece of an element: what it is as a body, before anything is known of its neighbours.
#[derive(Debug, Clone)]
pub(crate) struct Stick {
    /// Its frame.
    pub(crate) frame: Frame,
    /// Its section (at mid length, if it varies).
    pub(crate) section: Section,
    /// Whether its section or level changes along it.
    pub(crate) varies: bool,
    /// Greatest less least x.
    pub(crate) length_mm: f64,
    /// Its parts in its frame.
    pub(crate) body: MemberBody,
    /// Its points and triangles.
    pub(crate) figure: Figure,
}

impl Stick {
    /// Whether it stands: a stud or post.
    pub(crate) fn is_steep(&self) -> bool {
        is_steep(self.frame.x)
    }

    /// Its box in its own frame, mm.
    pub(crate) fn local_box(&self) -> Aabb {
        Aabb {
            min: DVec3::new(0.0, -0.5 * self.section.breadth_mm(), -0.5 * self.section.depth_mm()),
            max: DVec3::new(
                self.length_mm,
                0.5 * self.section.breadth_mm(),
                0.5 * self.section.depth_mm(),
            ),
        }
    }

    /// Middle of its length, world, metres.
    pub(crate) fn middle_m(&self) -> DVec3 {
        self.frame.world_m(DVec3::new(0.5 * self.length_mm, 0.0, 0.0))
    }
}

/// The piece that a figure is; `None` if it has no length or breadth.
pub(crate) fn stick(figure: Figure, across: Across) -> Option<Stick> {
    let Seen { frame, section, varies, length_mm, body } =
        right_box(&figure, across).or_else(|| any(&figure, across))?;
    Some(Stick { frame, section, varies, length_mm, body, figure })
}

/// What is seen of a figure: a piece without it.
struct Seen {
    frame: Frame,
    section: Section,
    varies: bool,
    length_mm: f64,
    body: MemberBody,
}

/// The general way.
fn any(figure: &Figure, across: Across) -> Option<Seen> {
    let Axis { direction, bent } = axis(figure)?;
    let x = toward_k(direction);
    let all = sides(&figure.points(), x)?;
    if all.shorter.1 <= 0.0 {
        return None;
    }
    let square = Placed::new(figure, x, depth(x, &all, across));
    if !bent && is_box(figure, &square) {
        let section = square.rectangle();
        let body = MemberBody { parts: vec![square.part(PartKind::Solid, None, &ThinVec::new())] };
        return Some(square.seen(section, false, body));
    }
    let slices: Vec<Slice> = STATIONS.map(|s| slice(&square.local, s * square.length())).into();
    let full = slices.iter().filter(|s| square.is_filled_by(s)).count();
    if bent || full < CONSTANT {
        return Some(varying(figure, x, across, &slices));
    }
    let fullest = slices.iter().max_by(|a, b| a.area().total_cmp(&b.area()))?;
    let found = section(fullest, square.breadth(), square.depth());
    match found {
        Section::Round { .. } => {
            let placed = Placed::new(figure, x, round_depth(x, across)?);
            let body = placed.whole();
            Some(placed.seen(found, false, body))
        }
        Section::Rectangle { .. } | Section::IJoist { .. } => {
            let body = match ends(&square.local) {
                Some(ends) => square.boxes(found, fullest, &ends),
                None => square.whole(),
            };
            Some(square.seen(found, false, body))
        }
        _ => {
            let body = square.whole();
            Some(square.seen(found, false, body))
        }
    }
}

/// The plain right box, read from its edges: what most members are.
fn right_box(figure: &Figure, across: Across) -> Option<Seen> {
    let mut edges = figure.box_edges()?.map(|edge| (edge, edge.length()));
    edges.sort_by(|a, b| b.1.total_cmp(&a.1));
    let [(long, length), longer, shorter] = edges;
    // Two edges about as long: the general way decides.
    if length - longer.1 < 0.02 * length || longer.1 - shorter.1 < 2e-3 {
        return None;
    }
    let x = toward_k(long / length);
    let unit = |(edge, length): (DVec3, f64)| (edge / length, length);
    let sides = Sides { longer: unit(longer), shorter: unit(shorter) };
    let z = depth(x, &sides, across);
    let mut frame = Frame { origin_m: DVec3::ZERO, x, z };
    let size =
        1000.0 * figure.points().iter().fold(Aabb::EMPTY, |b, p| b.with(frame.turn(*p))).size();
    let middle = figure.points().iter().sum::<DVec3>() / 8.0;
    frame.origin_m = figure.base + middle - 0.5 * length * x;
    let bounds = Aabb {
        min: DVec3::new(0.0, -0.5 * size.y, -0.5 * size.z),
        max: DVec3::new(size.x, 0.5 * size.y, 0.5 * size.z),
    };
    let shape = PartShape::Box { bounds, ends: ThinVec::new() };
    Some(Seen {
        frame,
        section: Section::Rectangle { breadth_mm: size.y, depth_mm: size.z },
        varies: false,
        length_mm: size.x,
        body: MemberBody { parts: vec![Part { kind: PartKind::Solid, shape }] },
    })
}

/// A tapered or curved piece: its section is that at mid length, its origin the centre of the
/// section near its start.
fn varying(figure: &Figure, x: DVec3, across: Across, slices: &[Slice]) -> Seen {
    let any = sides(&figure.points(), x).map_or(DVec3::Z, |s| depth(x, &s, across));
    let first = Placed::new(figure, x, any);
    // The sides of the section at mid length decide which way is up.
    let middle: Vec<DVec3> = slices
        .get(STATIONS.len() / 2)
        .map(Slice::points)
        .unwrap_or_default()
        .iter()
        .map(|p| p.x * first.frame.y() + p.y * first.frame.z)
        .collect();
    let z = sides(&middle, x).map_or(any, |s: Sides| depth(x, &s, across));
    let mut placed = Placed::new(figure, x, z);
    let cut_at = |share: f64, placed: &Placed| slice(&placed.local, share * placed.length());
    if let Some((low, high)) = cut_at(0.01, &placed).bounds() {
        placed.shift(DVec3::new(0.0, f64::midpoint(low.x, high.x), f64::midpoint(low.y, high.y)));
    }
    let middle = cut_at(0.5, &placed);
    let found = match middle.bounds() {
        Some((low, high)) => section(&middle, high.x - low.x, high.y - low.y),
        None => Section::Unknown { breadth_mm: placed.breadth(), depth_mm: placed.depth() },
    };
    let body = match (found, ends(&placed.local)) {
        // A straight taper is a box with one plane across it, exact.
        (Section::Rectangle { .. }, Some(planes)) if placed.is_hull(&planes) => {
            MemberBody { parts: vec![placed.part(PartKind::Solid, None, &planes)] }
        }
        _ => placed.whole(),
    };
    placed.seen(found, true, body)
}

/// Whether a figure is the plain box that its frame says: eight corners, all at corners.
fn is_box(figure: &Figure, placed: &Placed) -> bool {
    let Aabb { min, max } = placed.bounds;
    figure.len() == 8
        && figure.triangles().len() == 12
        && placed.local.points.iter().all(|p| {
            let off = (*p - min).abs().min((*p - max).abs());
            off.max_element() < 1e-3
        })
}

/// A figure in a frame of its own.
struct Placed {
    frame: Frame,
    local: Local,
    /// Of the points, mm.
    bounds: Aabb,
}

impl Placed {
    fn new(figure: &Figure, x: DVec3, z: DVec3) -> Self {
        let mut frame = Frame { origin_m: DVec3::ZERO, x, z };
        let bounds = Aabb::of(figure.points().iter().map(|p| 1000.0 * frame.turn(*p)));
        let origin = DVec3::new(bounds.min.x, bounds.centre().y, bounds.centre().z);
        let local = figure.points().iter().map(|p| 1000.0 * frame.turn(*p) - origin).collect();
        frame.origin_m = figure.base + frame.world_m(origin);
        Self {
            frame,
            local: Local {
                points: local,
                triangles: figure.triangles().to_vec(),
                closed: figure.is_closed(),
                chord: 1000.0 * figure.chord(),
            },
            bounds: Aabb { min: bounds.min - origin, max: bounds.max - origin },
        }
    }

    /// Moves the origin to a place of the frame, mm.
    fn shift(&mut self, to: DVec3) {
        self.frame.origin_m = self.frame.world_m(to);
        self.local.points.iter_mut().for_each(|p| *p -= to);
        self.bounds = Aabb { min: self.bounds.min - to, max: self.bounds.max - to };
    }

    fn length(&self) -> f64 {
        self.bounds.size().x
    }

    fn breadth(&self) -> f64 {
        self.bounds.size().y
    }

    fn depth(&self) -> f64 {
        self.bounds.size().z
    }

    fn rectangle(&self) -> Section {
        Section::Rectangle { breadth_mm: self.breadth(), depth_mm: self.depth() }
    }

    fn is_filled_by(&self, slice: &Slice) -> bool {
        slice.bounds().is_some_and(|(low, high)| {
            let size = high - low;
            size.x > self.breadth() - FILLS && size.y > self.depth() - FILLS
        })
    }

    fn seen(self, section: Section, varies: bool, body: MemberBody) -> Seen {
        Seen { length_mm: self.length(), frame: self.frame, section, varies, body }
    }

    /// A part that is a box: the whole, or a range of y and z of it.
    fn part(&self, kind: PartKind, range: Option<[[f64; 2]; 2]>, ends: &ThinVec<Plane>) -> Part {
        let mut bounds = self.bounds;
        if let Some([y, z]) = range {
            (bounds.min.y, bounds.max.y) = (y[0], y[1]);
            (bounds.min.z, bounds.max.z) = (z[0], z[1]);
        }
        Part { kind, shape: PartShape::Box { bounds, ends: ends.clone() } }
    }

    /// Boxes of a rectangle or an I-section.
    fn boxes(&self, section: Section, slice: &Slice, ends: &ThinVec<Plane>) -> MemberBody {
        let Section::IJoist { .. } = section else {
            return MemberBody { parts: vec![self.part(PartKind::Solid, None, ends)] };
        };
        let levels = slice.levels();
        let (bottom, top) = (self.bounds.min.z, self.bounds.max.z);
        let thin = |pair: &&[f64]| {
            slice
                .widths(f64::midpoint(pair[0], pair[1]))
                .first()
                .is_some_and(|s| s[1] - s[0] < 0.6 * self.breadth())
        };
        let web: Vec<&[f64]> = levels.windows(2).filter(thin).collect();
        let (low, high) = match (web.first(), web.last()) {
            (Some(first), Some(last)) => (first[0], last[1]),
            _ => return self.whole(),
        };
        let at = |z: f64| slice.widths(z).first().copied().unwrap_or([0.0, 0.0]);
        let widest = |from: f64, to: f64| {
            levels
                .windows(2)
                .filter(|p| p[0] >= from - 0.1 && p[1] <= to + 0.1)
                .map(|p| at(f64::midpoint(p[0], p[1])))
                .fold([0.0_f64, 0.0_f64], |w, s| [w[0].min(s[0]), w[1].max(s[1])])
        };
        // Step by step: a height where the outline turns (the faces' diagonals meet half-way up)
        // may find nothing.
        let y_web = web
            .iter()
            .filter_map(|step| slice.widths(f64::midpoint(step[0], step[1])).first().copied())
            .reduce(|wide, step| [wide[0].min(step[0]), wide[1].max(step[1])]);
        let Some(y_web) = y_web else { return self.whole() };
        MemberBody {
            parts: vec![
                self.part(PartKind::Flange, Some([widest(bottom, low), [bottom, low]]), ends),
                self.part(PartKind::Web, Some([y_web, [low, high]]), ends),
                self.part(PartKind::Flange, Some([widest(high, top), [high, top]]), ends),
            ],
        }
    }

    /// The body as it is.
    fn whole(&self) -> MemberBody {
        let shape = PartShape::Mesh(Mesh {
            points: self.local.points.clone(),
            triangles: self.local.triangles.clone(),
            closed: self.local.closed,
            chord: self.local.chord,
        });
        MemberBody { parts: vec![Part { kind: PartKind::Solid, shape }] }
    }

    /// Whether every face is a side of the box or one of these planes: the body is convex.
    fn is_hull(&self, planes: &[Plane]) -> bool {
        let Aabb { min, max } = self.bounds;
        self.local.faces().all(|[a, b, c]| {
            let Some(plane) = Plane::through(a, (b - a).cross(c - a)) else { return true };
            let side = (0..3).any(|axis| {
                [a, b, c].iter().all(|p| (p[axis] - min[axis]).abs() < 0.05)
                    || [a, b, c].iter().all(|p| (p[axis] - max[axis]).abs() < 0.05)
            });
            side || planes.iter().any(|p| p.normal.distance(plane.normal) < 2e-3)
        })
    }
}
