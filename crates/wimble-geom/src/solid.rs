//! Solids.

use crate::mesh::greatest_stretch;
use crate::polygon::triangulate;
use crate::profile::{circle_chords, circle_ring, sagitta};
use crate::{Aabb, Mesh, Outline, Profile};
use glam::{DAffine2, DAffine3, DMat3, DVec2, DVec3};

/// A solid in the world (metres). Exact data is kept as long as it exists.
#[derive(Debug, Clone, PartialEq)]
pub enum Solid {
    /// A profile swept along a straight line.
    Prism(Prism),
    /// A straight round bar or tube with square ends.
    Cylinder(Cylinder),
    /// Anything else.
    Mesh(Mesh),
}

/// A profile swept along a straight line.
#[derive(Debug, Clone, PartialEq)]
pub struct Prism {
    /// Places the profile's plane: x and y axes (unit, at right angles) and origin; z = x × y.
    pub frame: DAffine3,
    /// The area that is swept.
    pub profile: Profile,
    /// The way it is swept, with its length; not in the profile's plane, not always square to it.
    pub sweep: DVec3,
}

/// A straight round bar or tube with square ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinder {
    /// Centre of one end.
    pub from: DVec3,
    /// Centre of the other end.
    pub to: DVec3,
    /// Outer radius.
    pub radius: f64,
    /// Inner radius of a hollow one.
    pub inner: Option<f64>,
}

impl Solid {
    /// Least and greatest value of `direction · p`, exact for exact solids.
    #[must_use]
    pub fn extent_along(&self, direction: DVec3) -> (f64, f64) {
        match self {
            Self::Prism(prism) => {
                let plane = DVec2::new(
                    direction.dot(prism.frame.matrix3.x_axis),
                    direction.dot(prism.frame.matrix3.y_axis),
                );
                let (lo, hi) = prism.profile.extent_along(plane);
                let (start, along) =
                    (direction.dot(prism.frame.translation), direction.dot(prism.sweep));
                (start + lo + along.min(0.0), start + hi + along.max(0.0))
            }
            Self::Cylinder(cylinder) => {
                let axis = (cylinder.to - cylinder.from).normalize_or_zero();
                let across = (direction - axis * direction.dot(axis)).length() * cylinder.radius;
                let (a, b) = (direction.dot(cylinder.from), direction.dot(cylinder.to));
                (a.min(b) - across, a.max(b) + across)
            }
            Self::Mesh(mesh) => mesh.extent_along(direction),
        }
    }

    /// The least box along the world's axes.
    #[must_use]
    pub fn bounds(&self) -> Aabb {
        self.bounds_in(&DAffine3::IDENTITY)
    }

    /// The least box in a frame, given the map from the world into it.
    #[must_use]
    pub fn bounds_in(&self, into: &DAffine3) -> Aabb {
        if let Self::Mesh(mesh) = self {
            return mesh.bounds_in(into);
        }
        let rows = into.matrix3.transpose();
        let [x, y, z] = [rows.x_axis, rows.y_axis, rows.z_axis].map(|row| self.extent_along(row));
        Aabb {
            min: DVec3::new(x.0, y.0, z.0) + into.translation,
            max: DVec3::new(x.1, y.1, z.1) + into.translation,
        }
    }

    /// Volume, cubic metres, exact for exact solids; of an open mesh see [`Mesh::volume`].
    #[must_use]
    pub fn volume(&self) -> f64 {
        match self {
            Self::Prism(prism) => prism.profile.area() * prism.height().abs(),
            Self::Cylinder(c) => {
                std::f64::consts::PI
                    * (c.radius * c.radius - c.inner.map_or(0.0, |r| r * r))
                    * c.from.distance(c.to)
            }
            Self::Mesh(mesh) => mesh.volume(),
        }
    }

    /// Whether it encloses a volume: always, but for a mesh that is open.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        match self {
            Self::Mesh(mesh) => mesh.closed,
            _ => true,
        }
    }

    /// As triangles; curved faces leave them by at most `chord` metres (large radii by more: the
    /// mesh says by how much).
    #[must_use]
    pub fn to_mesh(&self, chord: f64) -> Mesh {
        match self {
            Self::Prism(prism) => prism.to_mesh(chord),
            Self::Cylinder(cylinder) => cylinder.to_mesh(chord),
            Self::Mesh(mesh) => mesh.clone(),
        }
    }

    /// Moved by any affine map that does not flatten it, as exactly as can be: a prism stays a
    /// prism under every map, a cylinder stays one under rigid maps, mirrors and uniform scales.
    /// `None` if the map flattens space.
    #[must_use]
    pub fn transformed(&self, map: &DAffine3) -> Option<Self> {
        let m = map.matrix3;
        let size = m.x_axis.length() * m.y_axis.length() * m.z_axis.length();
        if !map.is_finite() || m.determinant().abs() <= 1e-12 * size || size == 0.0 {
            return None;
        }
        match self {
            Self::Mesh(mesh) => Some(Self::Mesh(mesh.transformed(map))),
            Self::Cylinder(c) => {
                let scale = m.x_axis.length();
                let alike = is_similar(&m);
                if alike {
                    return Some(Self::Cylinder(Cylinder {
                        from: map.transform_point3(c.from),
                        to: map.transform_point3(c.to),
                        radius: c.radius * scale,
                        inner: c.inner.map(|r| r * scale),
                    }));
                }
                c.to_prism().transformed(map)
            }
            Self::Prism(prism) => prism.transformed(map).map(Self::Prism),
        }
    }
}

/// Whether a map keeps angles: rigid, mirrored or uniformly scaled.
fn is_similar(m: &DMat3) -> bool {
    let scale = m.x_axis.length();
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * scale * scale;
    near(m.x_axis.dot(m.y_axis), 0.0)
        && near(m.y_axis.dot(m.z_axis), 0.0)
        && near(m.x_axis.dot(m.z_axis), 0.0)
        && near(m.y_axis.length_squared(), scale * scale)
        && near(m.z_axis.length_squared(), scale * scale)
}

impl Prism {
    /// Height above the profile's plane, with the sign of the sweep along its z axis.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.frame.matrix3.z_axis.dot(self.sweep)
    }

    fn transformed(&self, map: &DAffine3) -> Option<Self> {
        let placed = *map * self.frame;
        let sweep = map.transform_vector3(self.sweep);
        let (x, y) = (placed.matrix3.x_axis, placed.matrix3.y_axis);
        let unit_x = x.try_normalize()?;
        let unit_y = (y - unit_x * y.dot(unit_x)).try_normalize()?;
        // The plane's own map from the old profile into the new frame: a stretch, perhaps a shear.
        let plane = DAffine2::from_cols(
            DVec2::new(x.length(), 0.0),
            DVec2::new(y.dot(unit_x), y.dot(unit_y)),
            DVec2::ZERO,
        );
        let same = (plane.matrix2.x_axis - DVec2::X).length() < 1e-9
            && (plane.matrix2.y_axis - DVec2::Y).length() < 1e-9;
        let (profile, turn) = if same {
            (self.profile.clone(), DAffine2::IDENTITY)
        } else {
            self.profile.moved(&plane)?
        };
        let frame = DAffine3 {
            matrix3: DMat3::from_cols(unit_x, unit_y, unit_x.cross(unit_y)),
            translation: placed.translation,
        };
        Some(Self { frame: frame * in_space(&turn), profile, sweep })
    }

    fn to_mesh(&self, chord: f64) -> Mesh {
        let outline = self.profile.outline(chord);
        let base = |p: DVec2| self.frame.transform_point3(p.extend(0.0));
        let rings = |shift: DVec3| -> Vec<Vec<DVec3>> {
            std::iter::once(&outline.outer)
                .chain(&outline.holes)
                .map(|ring| ring.iter().map(|p| base(*p) + shift).collect())
                .collect()
        };
        let mesh = loft(&outline, &[rings(DVec3::ZERO), rings(self.sweep)], false);
        if self.height() < 0.0 { mesh.flipped() } else { mesh }
    }
}

impl Cylinder {
    /// The same body as a round prism.
    #[must_use]
    pub fn to_prism(&self) -> Solid {
        let sweep = self.to - self.from;
        let z = sweep.normalize_or(DVec3::Z);
        let (x, y) = crate::mesh::axes_across(z);
        Solid::Prism(Prism {
            frame: DAffine3 { matrix3: DMat3::from_cols(x, y, z), translation: self.from },
            profile: Profile::Circle { radius: self.radius, inner: self.inner },
            sweep,
        })
    }

    fn to_mesh(self, chord: f64) -> Mesh {
        match self.to_prism() {
            Solid::Prism(prism) => prism.to_mesh(chord),
            other => other.to_mesh(chord),
        }
    }
}

/// A plane map as a map of space that keeps z.
#[must_use]
pub fn in_space(map: &DAffine2) -> DAffine3 {
    let (x, y) = (map.matrix2.x_axis, map.matrix2.y_axis);
    DAffine3 {
        matrix3: DMat3::from_cols(x.extend(0.0), y.extend(0.0), DVec3::Z),
        translation: map.translation.extend(0.0),
    }
}

/// The body between successive copies of an outline's rings (outer first, then holes, all with
/// the same number of points at every station). The outline gives the triangles of the ends.
/// With `round` the last station joins the first and there are no ends. Normals point outward if
/// the stations follow each other along the outline's +z.
#[must_use]
pub fn loft(outline: &Outline, stations: &[Vec<Vec<DVec3>>], round: bool) -> Mesh {
    let mut mesh = Mesh { closed: true, chord: outline.chord, ..Mesh::default() };
    let sizes: Vec<u32> = std::iter::once(&outline.outer)
        .chain(&outline.holes)
        .map(|ring| ring.len() as u32)
        .collect();
    let per_station: u32 = sizes.iter().sum();
    for station in stations {
        mesh.points.extend(station.iter().flatten());
    }
    let count = stations.len() as u32;
    let joins = if round { count } else { count.saturating_sub(1) };
    for s in 0..joins {
        let (low, high) = (s * per_station, (s + 1) % count * per_station);
        let mut start = 0;
        for &size in &sizes {
            for i in 0..size {
                let (a, b) = (start + i, start + (i + 1) % size);
                mesh.triangles.push([low + a, low + b, high + b]);
                mesh.triangles.push([low + a, high + b, high + a]);
            }
            start += size;
        }
    }
    if !round && count > 1 {
        let end = triangulate(&outline.outer, &outline.holes);
        let last = (count - 1) * per_station;
        mesh.triangles.extend(end.iter().map(|&[a, b, c]| [a, c, b]));
        mesh.triangles.extend(end.iter().map(|t| t.map(|i| i + last)));
    }
    mesh
}

/// A ball as triangles.
#[must_use]
pub fn sphere(centre: DVec3, radius: f64, chord: f64) -> Mesh {
    let chords = circle_chords(radius, chord);
    let ring = circle_ring(1.0, chords);
    let mut mesh = Mesh { closed: true, chord: sagitta(radius, chords), ..Mesh::default() };
    let levels = chords / 2;
    mesh.points.push(centre - DVec3::Z * radius);
    for level in 1..levels {
        let (sin, cos) = (std::f64::consts::PI * level as f64 / levels as f64).sin_cos();
        let cos = if 2 * level == levels { 0.0 } else { cos };
        mesh.points
            .extend(ring.iter().map(|p| centre + (p.extend(0.0) * sin - DVec3::Z * cos) * radius));
    }
    mesh.points.push(centre + DVec3::Z * radius);
    let n = chords as u32;
    let top = mesh.points.len() as u32 - 1;
    for i in 0..n {
        let next = (i + 1) % n;
        mesh.triangles.push([0, 1 + next, 1 + i]);
        mesh.triangles.push([top, top - n + i, top - n + next]);
        for level in 0..levels as u32 - 2 {
            let (low, high) = (1 + level * n, 1 + (level + 1) * n);
            mesh.triangles.push([low + i, low + next, high + next]);
            mesh.triangles.push([low + i, high + next, high + i]);
        }
    }
    mesh
}

/// A pointed body: a ring as base (counter-clockwise seen from outside, that is from below) and an apex.
#[must_use]
pub fn cone(base: &[DVec3], apex: DVec3, chord: f64) -> Mesh {
    let mut mesh = Mesh { points: base.to_vec(), closed: true, chord, ..Mesh::default() };
    let ring: Vec<u32> = (0..base.len() as u32).collect();
    mesh.add_face(&ring, &[]);
    mesh.points.push(apex);
    let top = base.len() as u32;
    for i in 0..top {
        mesh.triangles.push([(i + 1) % top, i, top]);
    }
    mesh
}

impl Mesh {
    /// The chord after a map, for callers that move points themselves.
    #[must_use]
    pub fn chord_after(&self, map: &DAffine3) -> f64 {
        self.chord * greatest_stretch(map)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn prism(profile: Profile, sweep: DVec3) -> Solid {
        Solid::Prism(Prism { frame: DAffine3::IDENTITY, profile, sweep })
    }

    fn arbitrary_map() -> impl Strategy<Value = DAffine3> {
        (prop::array::uniform9(-2.0..2.0_f64), prop::array::uniform3(-50.0..50.0_f64))
            .prop_map(|(m, t)| DAffine3 {
                matrix3: DMat3::from_cols_array(&m),
                translation: DVec3::from_array(t),
            })
            .prop_filter("not flat", |map| map.matrix3.determinant().abs() > 0.2)
    }

    fn arbitrary_solid() -> impl Strategy<Value = Solid> {
        let l = vec![(0.0, 0.0), (0.3, 0.0), (0.3, 0.1), (0.1, 0.1), (0.1, 0.4), (0.0, 0.4)];
        let l: Vec<DVec2> = l.into_iter().map(DVec2::from).collect();
        let profiles = prop_oneof![
            Just(Profile::Rectangle { x: 0.05, y: 0.2 }),
            Just(Profile::Circle { radius: 0.1, inner: None }),
            Just(Profile::Circle { radius: 0.1, inner: Some(0.08) }),
            Just(Profile::Rings { outer: l, holes: vec![], chord: 0.0 }),
        ];
        (profiles, -0.5..0.5_f64, prop_oneof![0.5..4.0_f64, -4.0..-0.5_f64])
            .prop_map(|(p, skew, depth)| prism(p, DVec3::new(skew, 0.0, depth)))
    }

    proptest! {
        #[test]
        fn a_prism_s_mesh_is_closed_and_holds_area_times_height(solid in arbitrary_solid()) {
            let mesh = solid.to_mesh(1e-5);
            prop_assert!(mesh.is_watertight());
            prop_assert!((mesh.volume() / solid.volume() - 1.0).abs() < 1e-3, "{} {}", mesh.volume(), solid.volume());
        }

        #[test]
        fn a_map_scales_the_volume_by_its_determinant_and_moves_the_mesh_alike(solid in arbitrary_solid(), map in arbitrary_map()) {
            let moved = solid.transformed(&map).unwrap();
            let expected = solid.volume() * map.matrix3.determinant().abs();
            prop_assert!((moved.volume() / expected - 1.0).abs() < 2e-3, "{} {expected}", moved.volume());
            prop_assert!(moved.to_mesh(1e-4).volume() > 0.0);
            let (a, b) = (moved.bounds(), solid.to_mesh(1e-5).transformed(&map).bounds());
            prop_assert!(a.min.distance(b.min) < 1e-3 && a.max.distance(b.max) < 1e-3, "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_cylinder_stays_one_under_a_mirror_and_a_uniform_scale() {
        let bar = Solid::Cylinder(Cylinder {
            from: DVec3::ZERO,
            to: DVec3::X,
            radius: 0.1,
            inner: Some(0.05),
        });
        let map = DAffine3::from_scale(DVec3::new(-2.0, 2.0, 2.0));
        let Some(Solid::Cylinder(moved)) = bar.transformed(&map) else { panic!("not a cylinder") };
        assert_eq!(
            moved,
            Cylinder { from: DVec3::ZERO, to: DVec3::X * -2.0, radius: 0.2, inner: Some(0.1) }
        );
        let stretched = bar.transformed(&DAffine3::from_scale(DVec3::new(3.0, 1.0, 1.0)));
        assert!(matches!(
            stretched,
            Some(Solid::Prism(Prism { profile: Profile::Circle { .. }, .. }))
        ));
    }

    #[test]
    fn a_skew_cylinder_s_box_is_exact() {
        let bar = Solid::Cylinder(Cylinder {
            from: DVec3::ZERO,
            to: DVec3::new(1.0, 1.0, 0.0),
            radius: 0.1,
            inner: None,
        });
        let bounds = bar.bounds();
        let across = 0.1 * std::f64::consts::FRAC_1_SQRT_2;
        assert!(bounds.min.distance(DVec3::new(-across, -across, -0.1)) < 1e-12);
    }

    #[test]
    fn a_ball_and_a_cone_hold_their_volume() {
        let ball = sphere(DVec3::new(1e6, 0.0, 0.0), 0.5, 1e-4);
        assert!(ball.is_watertight());
        assert!((ball.volume() / (std::f64::consts::PI / 6.0) - 1.0).abs() < 2e-3);
        let base: Vec<DVec3> = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)]
            .map(|(x, y)| DVec3::new(x, y, 0.0))
            .into();
        let pyramid = cone(&base, DVec3::new(0.5, 0.5, 3.0), 0.0);
        assert!(pyramid.is_watertight() && (pyramid.volume() - 1.0).abs() < 1e-12);
    }
}
