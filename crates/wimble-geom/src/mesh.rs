//! Triangle meshes.

use crate::polygon::triangulate;
use crate::tolerance::SAME_POINT;
use crate::{Aabb, Plane};
use glam::{DAffine3, DVec2, DVec3};
use rustc_hash::FxHashMap;

/// Triangles over shared points. Normals point outward when `closed`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mesh {
    /// Points.
    pub points: Vec<DVec3>,
    /// Triangles as indices into `points`, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Whether the surface encloses a volume.
    pub closed: bool,
    /// Greatest distance between the true surface and the triangles, metres; 0 if all faces are plane.
    pub chord: f64,
}

impl Mesh {
    /// The three corners of a triangle.
    #[must_use]
    pub fn corners(&self, triangle: [u32; 3]) -> [DVec3; 3] {
        triangle.map(|i| self.points[i as usize])
    }

    /// The least box round the points that triangles use.
    #[must_use]
    pub fn bounds(&self) -> Aabb {
        self.bounds_in(&DAffine3::IDENTITY)
    }

    /// The least box after a map from the world into a frame.
    #[must_use]
    pub fn bounds_in(&self, into: &DAffine3) -> Aabb {
        Aabb::of(self.used_points().map(|p| into.transform_point3(p)))
    }

    /// Least and greatest value of `direction · p`.
    #[must_use]
    pub fn extent_along(&self, direction: DVec3) -> (f64, f64) {
        self.used_points()
            .map(|p| direction.dot(p))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), d| (lo.min(d), hi.max(d)))
    }

    fn used_points(&self) -> impl Iterator<Item = DVec3> + '_ {
        let mut used = vec![false; self.points.len()];
        for &i in self.triangles.iter().flatten() {
            used[i as usize] = true;
        }
        self.points.iter().zip(used).filter(|(_, used)| *used).map(|(p, _)| *p)
    }

    /// Enclosed volume, cubic metres: positive if the normals point outward. Of an open mesh it
    /// is only a figure that depends on where the middle of its box lies.
    #[must_use]
    pub fn volume(&self) -> f64 {
        let Some(first) = self.triangles.first() else { return 0.0 };
        let origin =
            if self.closed { self.points[first[0] as usize] } else { self.bounds().centre() };
        self.triangles
            .iter()
            .map(|t| {
                let [a, b, c] = self.corners(*t).map(|p| p - origin);
                a.dot(b.cross(c))
            })
            .sum::<f64>()
            / 6.0
    }

    /// Surface area, square metres.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.triangles.iter().map(|t| self.normal_area(*t).length()).sum()
    }

    /// The triangle's outward normal, as long as its area.
    pub(crate) fn normal_area(&self, triangle: [u32; 3]) -> DVec3 {
        let [a, b, c] = self.corners(triangle);
        (b - a).cross(c - a) / 2.0
    }

    /// Adds another mesh's triangles. Closed only if both are.
    pub fn append(&mut self, other: &Self) {
        let shift = self.points.len() as u32;
        self.closed =
            if self.triangles.is_empty() { other.closed } else { self.closed && other.closed };
        self.points.extend_from_slice(&other.points);
        self.triangles.extend(other.triangles.iter().map(|t| t.map(|i| i + shift)));
        self.chord = self.chord.max(other.chord);
    }

    /// Moved by an affine map; a mirror turns the triangles, so that normals stay outward.
    #[must_use]
    pub fn transformed(&self, map: &DAffine3) -> Self {
        let mirrored = map.matrix3.determinant() < 0.0;
        let grows = greatest_stretch(map);
        Self {
            points: self.points.iter().map(|p| map.transform_point3(*p)).collect(),
            triangles: if mirrored {
                self.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect()
            } else {
                self.triangles.clone()
            },
            closed: self.closed,
            chord: self.chord * grows,
        }
    }

    /// Inside out.
    #[must_use]
    pub fn flipped(mut self) -> Self {
        for triangle in &mut self.triangles {
            triangle.swap(1, 2);
        }
        self
    }

    /// Adds a plane face given by rings of indices into `points`: the outer ring, then holes.
    /// `false` if it has no area: nothing is added then.
    pub fn add_face(&mut self, outer: &[u32], holes: &[Vec<u32>]) -> bool {
        let at = |i: u32| self.points[i as usize];
        if outer.len() < 3 {
            return false;
        }
        if outer.len() == 3 && holes.is_empty() {
            let triangle = [outer[0], outer[1], outer[2]];
            let has_area = self.normal_area(triangle).length() > SAME_POINT * SAME_POINT;
            if has_area {
                self.triangles.push(triangle);
            }
            return has_area;
        }
        let Some(normal) = ring_normal(outer.iter().map(|&i| at(i))) else { return false };
        let (x, y) = axes_across(normal);
        let origin = at(outer[0]);
        let flat = |ring: &[u32]| {
            ring.iter()
                .map(|&i| DVec2::new((at(i) - origin).dot(x), (at(i) - origin).dot(y)))
                .collect::<Vec<_>>()
        };
        let flat_holes: Vec<Vec<DVec2>> = holes.iter().map(|hole| flat(hole)).collect();
        let all: Vec<u32> = outer.iter().chain(holes.iter().flatten()).copied().collect();
        let triangles = triangulate(&flat(outer), &flat_holes);
        let any = !triangles.is_empty();
        self.triangles.extend(
            triangles
                .into_iter()
                .map(|t| t.map(|i| all[i as usize]))
                .filter(|[a, b, c]| a != b && b != c && a != c),
        );
        any
    }

    /// With points nearer than `within` made one, and without triangles that this flattens.
    #[must_use]
    pub fn welded(&self, within: f64) -> Self {
        let mut welder = Welder::new(within);
        let index: Vec<u32> = self.points.iter().map(|p| welder.index(*p)).collect();
        let triangles = self
            .triangles
            .iter()
            .map(|t| t.map(|i| index[i as usize]))
            .filter(|[a, b, c]| a != b && b != c && a != c)
            .collect();
        Self { points: welder.points, triangles, closed: self.closed, chord: self.chord }
    }

    /// The plane of each triangle, material behind it; triangles without area are left out.
    pub fn planes(&self) -> impl Iterator<Item = Plane> + '_ {
        self.triangles
            .iter()
            .filter_map(|t| Plane::through(self.corners(*t)[0], self.normal_area(*t)))
    }
}

/// By how much an affine map lengthens at most, roughly: the longest image of an axis.
pub(crate) fn greatest_stretch(map: &DAffine3) -> f64 {
    let m = map.matrix3;
    m.x_axis.length().max(m.y_axis.length()).max(m.z_axis.length())
}

/// The normal of a ring of points that need not be quite plane (Newell's sum), unit.
pub(crate) fn ring_normal(points: impl Iterator<Item = DVec3>) -> Option<DVec3> {
    let points: Vec<DVec3> = points.collect();
    let origin = *points.first()?;
    let sum: DVec3 = points.windows(2).map(|w| (w[0] - origin).cross(w[1] - origin)).sum();
    if sum.length() > SAME_POINT * SAME_POINT { sum.try_normalize() } else { None }
}

/// Two unit vectors square to a unit vector and to each other: x × y = normal.
pub(crate) fn axes_across(normal: DVec3) -> (DVec3, DVec3) {
    let x = normal.any_orthonormal_vector();
    (x, normal.cross(x))
}

/// Gives equal indices to points that lie within a tolerance.
pub(crate) struct Welder {
    pub(crate) points: Vec<DVec3>,
    cells: FxHashMap<[i64; 3], Vec<u32>>,
    within: f64,
}

impl Welder {
    pub(crate) fn new(within: f64) -> Self {
        Self { points: Vec::new(), cells: FxHashMap::default(), within }
    }

    /// The index of a point already known within the tolerance, else a new one.
    pub(crate) fn index(&mut self, point: DVec3) -> u32 {
        // Cells of twice the tolerance: a neighbour within it lies in one of eight of them.
        let size = 2.0 * self.within;
        let scaled = point / size;
        let low = (scaled - DVec3::splat(0.5)).floor();
        let low = [low.x as i64, low.y as i64, low.z as i64];
        for corner in 0..8_i64 {
            let cell = [low[0] + (corner & 1), low[1] + (corner >> 1 & 1), low[2] + (corner >> 2)];
            if let Some(found) = self.cells.get(&cell) {
                for &i in found {
                    if self.points[i as usize].distance(point) <= self.within {
                        return i;
                    }
                }
            }
        }
        let home = scaled.floor();
        let index = self.points.len() as u32;
        self.points.push(point);
        self.cells.entry([home.x as i64, home.y as i64, home.z as i64]).or_default().push(index);
        index
    }
}
