//! Points and triangles of a solid, near the origin.

use glam::DVec3;
use std::borrow::Cow;
use wimble_geom::{Aabb, Mesh, Prism, Profile, Solid};

/// Points and triangles of a solid. Points are kept relative to `base`, so that nothing is lost
/// where the building lies millions of metres from the origin.
#[derive(Debug, Clone, Default)]
pub(crate) struct Figure {
    /// A place near the solid, world, metres.
    pub(crate) base: DVec3,
    /// Points relative to `base`, metres.
    pub(crate) points: Vec<DVec3>,
    /// Counter-clockwise seen from outside.
    pub(crate) triangles: Cow<'static, [[u32; 3]]>,
    /// Whether the surface encloses a volume.
    pub(crate) closed: bool,
    /// Greatest distance of the triangles from the true surface, metres.
    pub(crate) chord: f64,
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
        Self { base, points, triangles, closed: mesh.closed, chord: mesh.chord }
    }

    /// Points in the world, metres.
    pub(crate) fn world_points(&self) -> Vec<DVec3> {
        self.points.iter().map(|p| *p + self.base).collect()
    }

    /// A rectangle swept straight, without going through a mesh.
    fn of_box(solid: &Solid) -> Option<Self> {
        let Solid::Prism(Prism { frame, profile: Profile::Rectangle { x, y }, sweep }) = solid
        else {
            return None;
        };
        let half = (0.5 * *x * frame.matrix3.x_axis, 0.5 * *y * frame.matrix3.y_axis);
        // Mirrored or swept backwards, the corners go round the other way.
        let turned = frame.matrix3.x_axis.cross(frame.matrix3.y_axis).dot(*sweep) < 0.0;
        let points = (0..8)
            .map(|corner: u32| {
                let side = |bit: u32| if corner & bit == 0 { -1.0 } else { 1.0 };
                let up = if corner & 4 == 0 { DVec3::ZERO } else { *sweep };
                side(1) * half.0 + side(2) * half.1 + up
            })
            .collect();
        let mut triangles = Cow::Borrowed(&BOX_TRIANGLES[..]);
        if turned {
            triangles.to_mut().iter_mut().for_each(|t| t.swap(1, 2));
        }
        Some(Self { base: frame.translation, points, triangles, closed: true, chord: 0.0 })
    }

    /// The three edges of a right box, if it is one made by `of_box`.
    pub(crate) fn box_edges(&self) -> Option<[DVec3; 3]> {
        let &[a, b, c, d, e, f, g, h] = self.points.as_slice() else { return None };
        let [u, v, w] = [b - a, c - a, e - a];
        let (uu, vv, ww) = (u.length_squared(), v.length_squared(), w.length_squared());
        let square = |p: DVec3, q: DVec3, pp: f64, qq: f64| p.dot(q).powi(2) <= 1e-14 * pp * qq;
        let near = |p: DVec3, q: DVec3| p.distance_squared(q) < 1e-18;
        let closed = near(d, b + v) && near(f, b + w) && near(g, c + w) && near(h, d + w);
        let right = square(u, v, uu, vv) && square(v, w, vv, ww) && square(w, u, ww, uu);
        (self.triangles.len() == 12 && closed && right && uu.min(vv).min(ww) > 0.0)
            .then_some([u, v, w])
    }

    /// A corner of a triangle.
    pub(crate) fn point(&self, at: u32) -> DVec3 {
        self.points.get(at as usize).copied().unwrap_or_default()
    }

    /// Corners of every triangle.
    pub(crate) fn faces(&self) -> impl Iterator<Item = [DVec3; 3]> + '_ {
        self.triangles.iter().map(|t| t.map(|at| self.point(at)))
    }

    /// Enclosed volume, m³; of an open surface it says nothing.
    pub(crate) fn volume(&self) -> f64 {
        self.faces().map(|[a, b, c]| a.dot(b.cross(c))).sum::<f64>().abs() / 6.0
    }

    /// Box in the world, metres.
    pub(crate) fn world_box(&self) -> Aabb {
        Aabb::of(self.points.iter().map(|p| *p + self.base))
    }

    /// All figures as one, relative to the base of the first.
    pub(crate) fn union<'a>(figures: impl IntoIterator<Item = &'a Self>) -> Self {
        let mut whole: Option<Self> = None;
        for figure in figures {
            match &mut whole {
                None => whole = Some(figure.clone()),
                Some(whole) => {
                    let first = u32::try_from(whole.points.len()).unwrap_or(u32::MAX);
                    let shift = figure.base - whole.base;
                    whole.points.extend(figure.points.iter().map(|p| *p + shift));
                    whole.triangles.to_mut().extend(
                        figure.triangles.iter().map(|t| t.map(|at| at.saturating_add(first))),
                    );
                    whole.closed &= figure.closed;
                    whole.chord = whole.chord.max(figure.chord);
                }
            }
        }
        whole.unwrap_or_default()
    }
}
