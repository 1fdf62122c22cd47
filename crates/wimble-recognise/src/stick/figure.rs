//! Points and triangles of a solid, near the origin.

use glam::DVec3;
use std::ops::Deref;
use wimble_geom::{Aabb, Mesh, Prism, Profile, Solid};

/// Points and triangles of a solid. Points are kept relative to `base`, so that nothing is lost
/// where the building lies millions of metres from the origin.
#[derive(Debug, Clone, Default)]
pub(crate) struct Figure {
    /// A place near the solid, world, metres.
    pub(crate) base: DVec3,
    surface: Surface,
}

/// What bounds a solid, relative to the figure's base, metres.
#[derive(Debug, Clone)]
enum Surface {
    /// A rectangle swept straight, round the base: nearly every member. Its corners are worked out
    /// when they are asked for, so that it takes less than half the room.
    Swept {
        /// Half sides of the rectangle.
        half: [DVec3; 2],
        /// The way it is swept.
        sweep: DVec3,
        /// Mirrored or swept backwards, so that its corners go round the other way.
        turned: bool,
    },
    /// Anything else.
    Mesh(Mesh),
}

impl Default for Surface {
    fn default() -> Self {
        Self::Mesh(Mesh::default())
    }
}

/// Points of a figure: a list, or the corners of a box.
pub(crate) enum Points<'a> {
    /// By number, as [`BOX_TRIANGLES`] names them.
    Corners([DVec3; 8]),
    /// As they are kept.
    List(&'a [DVec3]),
}

impl Deref for Points<'_> {
    type Target = [DVec3];

    fn deref(&self) -> &[DVec3] {
        match self {
            Self::Corners(corners) => corners,
            Self::List(list) => list,
        }
    }
}

/// Corners of a box by number (bit 0: x, bit 1: y, bit 2: z) as twelve triangles.
pub(crate) const BOX_TRIANGLES: [[u32; 3]; 12] = [
    [0, 2, 1],
    [1, 2, 3],
    [4, 5, 6],
    [5, 7, 6],
    [0, 1, 4],
    [1, 5, 4],
    [2, 6, 3],
    [3, 6, 7],
    [0, 4, 2],
    [2, 4, 6],
    [1, 3, 5],
    [3, 7, 5],
];

/// The same seen from within: outside, where the box is mirrored.
const TURNED_TRIANGLES: [[u32; 3]; 12] = turned(BOX_TRIANGLES);

const fn turned(mut triangles: [[u32; 3]; 12]) -> [[u32; 3]; 12] {
    let mut at = 0;
    while at < triangles.len() {
        let [a, b, c] = triangles[at];
        triangles[at] = [a, c, b];
        at += 1;
    }
    triangles
}

impl Figure {
    /// The figure of a solid.
    pub(crate) fn of(solid: &Solid) -> Self {
        if let Some(figure) = Self::of_box(solid) {
            return figure;
        }
        let mesh = solid.to_mesh(wimble_geom::tolerance::CHORD);
        Self::of_mesh(&mesh)
    }

    /// The figure of a mesh, without points that no triangle uses: what a clip cut away is no part
    /// of the body.
    pub(crate) fn of_mesh(mesh: &Mesh) -> Self {
        let mut place: Vec<Option<u32>> = vec![None; mesh.points.len()];
        let mut points: Vec<DVec3> = Vec::new();
        let mut base = None;
        let triangles = mesh
            .triangles
            .iter()
            .map(|t| {
                t.map(|at| {
                    let Some(known) = place.get_mut(at as usize) else { return 0 };
                    *known.get_or_insert_with(|| {
                        let point = mesh.points.get(at as usize).copied().unwrap_or_default();
                        points.push(point - *base.get_or_insert(point));
                        u32::try_from(points.len() - 1).unwrap_or(u32::MAX)
                    })
                })
            })
            .collect();
        let base = base.unwrap_or_default();
        let (closed, chord) = (mesh.closed, mesh.chord);
        Self { base, surface: Surface::Mesh(Mesh { points, triangles, closed, chord }) }
    }

    /// Points relative to the base, metres.
    pub(crate) fn points(&self) -> Points<'_> {
        match &self.surface {
            Surface::Swept { half, sweep, .. } => Points::Corners(corners(*half, *sweep)),
            Surface::Mesh(mesh) => Points::List(&mesh.points),
        }
    }

    /// How many points it has.
    pub(crate) fn len(&self) -> usize {
        match &self.surface {
            Surface::Swept { .. } => 8,
            Surface::Mesh(mesh) => mesh.points.len(),
        }
    }

    /// Triangles between its points, counter-clockwise seen from outside.
    pub(crate) fn triangles(&self) -> &[[u32; 3]] {
        match &self.surface {
            Surface::Swept { turned: false, .. } => &BOX_TRIANGLES,
            Surface::Swept { turned: true, .. } => &TURNED_TRIANGLES,
            Surface::Mesh(mesh) => &mesh.triangles,
        }
    }

    /// Whether the surface encloses a volume.
    pub(crate) const fn is_closed(&self) -> bool {
        match &self.surface {
            Surface::Swept { .. } => true,
            Surface::Mesh(mesh) => mesh.closed,
        }
    }

    /// Greatest distance of the triangles from the true surface, metres.
    pub(crate) const fn chord(&self) -> f64 {
        match &self.surface {
            Surface::Swept { .. } => 0.0,
            Surface::Mesh(mesh) => mesh.chord,
        }
    }

    /// As a mesh relative to the base, its points given.
    pub(crate) fn with_points(&self, points: Vec<DVec3>) -> Mesh {
        let triangles = self.triangles().to_vec();
        Mesh { points, triangles, closed: self.is_closed(), chord: self.chord() }
    }

    /// Points in the world, metres.
    pub(crate) fn world_points(&self) -> Vec<DVec3> {
        self.points().iter().map(|p| *p + self.base).collect()
    }

    /// A rectangle swept straight, without going through a mesh.
    fn of_box(solid: &Solid) -> Option<Self> {
        let Solid::Prism(Prism { frame, profile: Profile::Rectangle { x, y }, sweep }) = solid
        else {
            return None;
        };
        let half = [0.5 * *x * frame.matrix3.x_axis, 0.5 * *y * frame.matrix3.y_axis];
        let turned = frame.matrix3.x_axis.cross(frame.matrix3.y_axis).dot(*sweep) < 0.0;
        let surface = Surface::Swept { half, sweep: *sweep, turned };
        Some(Self { base: frame.translation, surface })
    }

    /// The three edges of a right box, if it is one made by `of_box`.
    pub(crate) fn box_edges(&self) -> Option<[DVec3; 3]> {
        let &[a, b, c, d, e, f, g, h] = &*self.points() else { return None };
        let [u, v, w] = [b - a, c - a, e - a];
        let (uu, vv, ww) = (u.length_squared(), v.length_squared(), w.length_squared());
        let square = |p: DVec3, q: DVec3, pp: f64, qq: f64| p.dot(q).powi(2) <= 1e-14 * pp * qq;
        let near = |p: DVec3, q: DVec3| p.distance_squared(q) < 1e-18;
        let closed = near(d, b + v) && near(f, b + w) && near(g, c + w) && near(h, d + w);
        let right = square(u, v, uu, vv) && square(v, w, vv, ww) && square(w, u, ww, uu);
        (self.triangles().len() == 12 && closed && right && uu.min(vv).min(ww) > 0.0)
            .then_some([u, v, w])
    }

    /// Corners of every triangle.
    pub(crate) fn faces(&self) -> impl Iterator<Item = [DVec3; 3]> + '_ {
        let points = self.points();
        let point = move |at: u32| points.get(at as usize).copied().unwrap_or_default();
        self.triangles().iter().map(move |t| t.map(&point))
    }

    /// Enclosed volume, m³; of an open surface it says nothing.
    pub(crate) fn volume(&self) -> f64 {
        self.faces().map(|[a, b, c]| a.dot(b.cross(c))).sum::<f64>().abs() / 6.0
    }

    /// Box in the world, metres.
    pub(crate) fn world_box(&self) -> Aabb {
        Aabb::of(self.points().iter().map(|p| *p + self.base))
    }

    /// All figures as one, relative to the base of the first.
    pub(crate) fn union<'a>(figures: impl IntoIterator<Item = &'a Self>) -> Self {
        let mut figures = figures.into_iter();
        let Some(first) = figures.next() else { return Self::default() };
        let mut whole = first.with_points(first.points().to_vec());
        for figure in figures {
            let before = u32::try_from(whole.points.len()).unwrap_or(u32::MAX);
            let shift = figure.base - first.base;
            whole.points.extend(figure.points().iter().map(|p| *p + shift));
            let triangles = figure.triangles().iter();
            whole.triangles.extend(triangles.map(|t| t.map(|at| at.saturating_add(before))));
            whole.closed &= figure.is_closed();
            whole.chord = whole.chord.max(figure.chord());
        }
        Self { base: first.base, surface: Surface::Mesh(whole) }
    }
}

/// Corners of a rectangle swept straight.
fn corners(half: [DVec3; 2], sweep: DVec3) -> [DVec3; 8] {
    let [x, y] = half;
    let [a, b, c, d] = [-x - y, x - y, y - x, x + y];
    [a, b, c, d, a + sweep, b + sweep, c + sweep, d + sweep]
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DAffine3;
    use proptest::prelude::*;

    /// Volume within the triangles: negative where they are seen from within.
    fn signed_volume(figure: &Figure) -> f64 {
        figure.faces().map(|[a, b, c]| a.dot(b.cross(c))).sum::<f64>() / 6.0
    }

    proptest! {
        /// Slow twin: the same box as a mesh has the same corners, the same box round it and the
        /// same volume, seen from outside, however it is turned, mirrored or swept.
        #[test]
        fn a_box_kept_by_its_edges_is_the_box_as_a_mesh(
            size in prop::array::uniform3(0.01..5.0f64),
            turn in prop::array::uniform3(-3.0..3.0f64),
            (mirrored, backwards) in (any::<bool>(), any::<bool>()),
        ) {
            let mut frame = DAffine3::from_rotation_z(turn[0]) * DAffine3::from_rotation_x(turn[1]);
            frame.translation = DVec3::new(4e6, -2e5, turn[2]);
            let sweep = frame.matrix3.z_axis * if backwards { -size[2] } else { size[2] };
            if mirrored {
                frame.matrix3.x_axis = -frame.matrix3.x_axis;
            }
            let profile = Profile::Rectangle { x: size[0], y: size[1] };
            let solid = Solid::Prism(Prism { frame, profile, sweep });
            let edges = Figure::of(&solid);
            let mesh = Figure::of_mesh(&solid.to_mesh(wimble_geom::tolerance::CHORD));
            let swept = matches!(edges.surface, Surface::Swept { .. });
            prop_assert!(swept);
            prop_assert_eq!(edges.len(), mesh.len());
            prop_assert_eq!(edges.triangles().len(), mesh.triangles().len());
            let others: Vec<DVec3> = mesh.points().iter().map(|p| *p + mesh.base).collect();
            for p in edges.points().iter().map(|p| *p + edges.base) {
                prop_assert!(others.iter().any(|q| q.distance(p) < 1e-8));
            }
            let (one, other) = (edges.world_box(), mesh.world_box());
            prop_assert!(one.min.distance(other.min) + one.max.distance(other.max) < 1e-8);
            let volume: f64 = size.iter().product();
            prop_assert!((signed_volume(&edges) - volume).abs() < 1e-6 * volume.max(1.0));
            prop_assert!(edges.is_closed());
            prop_assert_eq!(edges.chord(), 0.0);
            prop_assert!(edges.box_edges().is_some());
        }
    }
}
