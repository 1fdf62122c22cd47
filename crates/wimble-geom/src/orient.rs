//! Making a mesh's normals point outward and finding out whether it is closed.
//!
//! Exporters write shells inside out, with single faces turned, and with gaps: nothing that a
//! file says about its own orientation or closedness is believed.

use crate::tolerance::SAME_POINT;
use crate::{Aabb, Mesh};
use glam::DVec3;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

type Uses = SmallVec<[(u32, bool); 2]>;

/// Directed uses of each edge: triangle, and whether it runs from the lower to the higher index.
fn edges(triangles: &[[u32; 3]]) -> FxHashMap<(u32, u32), Uses> {
    let mut edges: FxHashMap<(u32, u32), Uses> = FxHashMap::default();
    for (t, triangle) in triangles.iter().enumerate() {
        for corner in 0..3 {
            let (a, b) = (triangle[corner], triangle[(corner + 1) % 3]);
            edges.entry((a.min(b), a.max(b))).or_default().push((t as u32, a < b));
        }
    }
    edges
}

impl Mesh {
    /// Whether every edge is run as often one way as the other, so that the surface encloses a
    /// volume. Points must be shared (see [`Mesh::welded`]).
    #[must_use]
    pub fn is_watertight(&self) -> bool {
        let mut balance: FxHashMap<(u32, u32), i32> = FxHashMap::default();
        for triangle in &self.triangles {
            for corner in 0..3 {
                let (a, b) = (triangle[corner], triangle[(corner + 1) % 3]);
                *balance.entry((a.min(b), a.max(b))).or_default() += if a < b { 1 } else { -1 };
            }
        }
        !self.triangles.is_empty() && balance.values().all(|&b| b == 0)
    }

    /// Points welded, neighbouring triangles turned the same way, each closed part turned so
    /// that its normals point outward (a part inside another keeps its sense against it: a
    /// cavity), and `closed` found out.
    #[must_use]
    pub fn oriented(&self) -> Self {
        let mut mesh = self.welded(SAME_POINT);
        // A gap of a tenth of a millimetre is rounding by the exporter, not an opening.
        if !mesh.agrees_or_closes() && mesh.triangles.len() < 500_000 {
            for within in [1e-5, 1e-4] {
                let mut wider = self.welded(within);
                if wider.agrees_or_closes() {
                    mesh = wider;
                    break;
                }
            }
        }
        mesh.closed = mesh.is_watertight();
        mesh.turn_outward();
        mesh
    }

    /// Turns neighbours the same way; whether the surface closes.
    fn agrees_or_closes(&mut self) -> bool {
        if self.is_watertight() {
            return true;
        }
        self.mend_tears();
        self.turn_alike();
        self.is_watertight()
    }

    /// Where one side of an edge is divided at points that the other side lacks, as between faces
    /// that were cut along different lines, the other side is divided as well.
    fn mend_tears(&mut self) {
        for _ in 0..4 {
            let edges = edges(&self.triangles);
            let mut torn: Vec<((u32, u32), u32)> = Vec::new();
            for (t, triangle) in self.triangles.iter().enumerate() {
                for corner in 0..3 {
                    let (a, b) = (triangle[corner], triangle[(corner + 1) % 3]);
                    let alone = edges.get(&(a.min(b), a.max(b))).is_none_or(|uses| uses.len() == 1);
                    if alone {
                        torn.push(((a, b), t as u32));
                    }
                }
            }
            let mut ends: Vec<u32> = torn.iter().flat_map(|((a, b), _)| [*a, *b]).collect();
            ends.sort_unstable();
            ends.dedup();
            // Along x, so that each edge only looks at points within its stretch.
            let x = |i: u32| self.points[i as usize].x;
            ends.sort_by(|&i, &j| x(i).total_cmp(&x(j)));
            let mut divided = vec![false; self.triangles.len()];
            let mut added: Vec<[u32; 3]> = Vec::new();
            let mut looked_at = 0_usize;
            for ((a, b), t) in torn {
                if divided[t as usize] {
                    continue;
                }
                let (from, to) = (self.points[a as usize], self.points[b as usize]);
                let along = to - from;
                let length = along.length();
                let low = ends.partition_point(|&i| x(i) < from.x.min(to.x) - SAME_POINT);
                let high = ends.partition_point(|&i| x(i) <= from.x.max(to.x) + SAME_POINT);
                looked_at += high - low;
                if looked_at > 50_000_000 {
                    break;
                }
                let mut stops: Vec<(f64, u32)> = ends[low..high]
                    .iter()
                    .filter(|&&i| i != a && i != b)
                    .filter_map(|&i| {
                        let way = self.points[i as usize] - from;
                        let place = way.dot(along) / length;
                        let off = (way - along * (place / length)).length();
                        (place > 0.0 && place < length && off <= 2.0 * SAME_POINT)
                            .then_some((place, i))
                    })
                    .collect();
                if stops.is_empty() {
                    continue;
                }
                stops.sort_by(|a, b| a.0.total_cmp(&b.0));
                divided[t as usize] = true;
                let triangle = self.triangles[t as usize];
                let Some(&tip) = triangle.iter().find(|i| **i != a && **i != b) else { continue };
                let mut here = a;
                for next in stops.iter().map(|(_, i)| *i).chain([b]) {
                    if next != tip && here != tip {
                        added.push([here, next, tip]);
                    }
                    here = next;
                }
            }
            if added.is_empty() {
                return;
            }
            let kept = self.triangles.iter().zip(&divided).filter(|(_, gone)| !**gone);
            self.triangles = kept.map(|(t, _)| *t).chain(added).collect();
        }
    }

    /// Across every edge shared by two triangles both must run it in opposite senses.
    fn turn_alike(&mut self) {
        let edges = edges(&self.triangles);
        let mut seen = vec![false; self.triangles.len()];
        let mut turned = vec![false; self.triangles.len()];
        for start in 0..self.triangles.len() {
            if std::mem::replace(&mut seen[start], true) {
                continue;
            }
            let mut part = vec![start as u32];
            let mut next = 0;
            while let Some(&t) = part.get(next) {
                next += 1;
                let triangle = self.triangles[t as usize];
                for corner in 0..3 {
                    let (a, b) = (triangle[corner], triangle[(corner + 1) % 3]);
                    let Some(uses) = edges.get(&(a.min(b), a.max(b))) else { continue };
                    let [first, second] = uses[..] else { continue };
                    let (here, there) =
                        if first.0 == t { (first, second) } else { (second, first) };
                    if std::mem::replace(&mut seen[there.0 as usize], true) {
                        continue;
                    }
                    turned[there.0 as usize] = turned[here.0 as usize] ^ (here.1 == there.1);
                    part.push(there.0);
                }
            }
            // The sense of the many is kept.
            let count = part.iter().filter(|&&t| turned[t as usize]).count();
            if 2 * count > part.len() {
                for &t in &part {
                    turned[t as usize] = !turned[t as usize];
                }
            }
        }
        for (triangle, turned) in self.triangles.iter_mut().zip(turned) {
            if turned {
                triangle.swap(1, 2);
            }
        }
    }

    /// The parts that share no point, as lists of triangles, in order of their first triangle.
    pub(crate) fn parts(&self) -> Vec<Vec<u32>> {
        let mut parent: Vec<u32> = (0..self.points.len() as u32).collect();
        fn root(parent: &mut [u32], mut i: u32) -> u32 {
            while parent[i as usize] != i {
                parent[i as usize] = parent[parent[i as usize] as usize];
                i = parent[i as usize];
            }
            i
        }
        for &[a, b, c] in &self.triangles {
            for other in [b, c] {
                let (x, y) = (root(&mut parent, a), root(&mut parent, other));
                parent[x.max(y) as usize] = x.min(y);
            }
        }
        let mut parts: Vec<Vec<u32>> = Vec::new();
        let mut part_of: FxHashMap<u32, usize> = FxHashMap::default();
        for (t, triangle) in self.triangles.iter().enumerate() {
            let key = root(&mut parent, triangle[0]);
            let part = *part_of.entry(key).or_insert_with(|| {
                parts.push(Vec::new());
                parts.len() - 1
            });
            parts[part].push(t as u32);
        }
        parts
    }

    /// Whether the first part's surface goes round the first corner of the second: by how often
    /// a ray from it meets the surface.
    fn part_encloses(&self, outer: &[u32], inner: &[u32]) -> bool {
        let Some(&first) = inner.first() else { return false };
        let from = self.points[self.triangles[first as usize][0] as usize];
        // Along no edge that anyone draws.
        let way = DVec3::new(0.801_783_725, 0.534_522_484, 0.267_261_242);
        let met = outer.iter().filter(|&&t| {
            let [a, b, c] = self.corners(self.triangles[t as usize]);
            let (ab, ac) = (b - a, c - a);
            let normal = ab.cross(ac);
            let lean = -way.dot(normal);
            if lean.abs() < 1e-300 {
                return false;
            }
            let turn = (from - a).cross(way);
            let (reach, u, v) =
                ((from - a).dot(normal) / lean, ac.dot(turn) / lean, -ab.dot(turn) / lean);
            reach > 0.0 && u >= 0.0 && v >= 0.0 && u + v <= 1.0
        });
        met.count() % 2 == 1
    }

    /// Signed volume decides which side is out.
    fn turn_outward(&mut self) {
        if !self.closed {
            return;
        }
        let parts = self.parts();
        let about: Vec<(Aabb, f64)> = parts
            .iter()
            .map(|part| {
                let corner = self.points[self.triangles[part[0] as usize][0] as usize];
                let mut bounds = Aabb::EMPTY;
                let mut volume = 0.0;
                for &t in part {
                    let corners = self.corners(self.triangles[t as usize]);
                    bounds = corners.into_iter().fold(bounds, Aabb::with);
                    let [a, b, c] = corners.map(|p| p - corner);
                    volume += a.dot(b.cross(c));
                }
                (bounds, volume)
            })
            .collect();
        let strictly_inside = |inner: &Aabb, outer: &Aabb| {
            inner.min.cmpgt(outer.min).all() && inner.max.cmplt(outer.max).all()
        };
        // With very many parts the search for nesting would be slow, and such models are heaps of parts.
        let look_for_nesting = parts.len() <= 256;
        for (i, part) in parts.iter().enumerate() {
            let outermost = if look_for_nesting {
                (0..parts.len())
                    .filter(|&j| j != i && strictly_inside(&about[i].0, &about[j].0))
                    .filter(|&j| self.part_encloses(&parts[j], &part[..]))
                    .max_by(|&j, &k| about[j].1.abs().total_cmp(&about[k].1.abs()))
            } else {
                None
            };
            if about[outermost.unwrap_or(i)].1 < 0.0 {
                for &t in part {
                    self.triangles[t as usize].swap(1, 2);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Prism, Profile, Solid};
    use glam::{DAffine3, DVec3};

    fn cube(side: f64) -> Mesh {
        Solid::Prism(Prism {
            frame: DAffine3::IDENTITY,
            profile: Profile::Rectangle { x: side, y: side },
            sweep: DVec3::Z * side,
        })
        .to_mesh(1e-4)
    }

    #[test]
    fn a_mesh_inside_out_with_one_face_turned_comes_out_right() {
        let mut bad = cube(2.0).flipped();
        bad.triangles[3].swap(0, 1);
        let good = bad.oriented();
        assert!(good.closed);
        assert!((good.volume() - 8.0).abs() < 1e-12);
    }

    #[test]
    fn a_mesh_without_one_triangle_is_open() {
        let mut open = cube(1.0);
        open.triangles.pop();
        assert!(!open.oriented().closed);
    }

    #[test]
    fn an_edge_divided_on_one_side_only_is_no_gap() {
        let mut torn = cube(2.0);
        // One triangle of the top divided at the middle of its outer edge.
        let top = torn
            .triangles
            .iter()
            .position(|t| torn.corners(*t).iter().all(|p| p.z == 2.0))
            .unwrap();
        let [a, b, c] = torn.triangles.swap_remove(top);
        let middle = torn.points[a as usize].midpoint(torn.points[b as usize]);
        torn.points.push(middle);
        let m = torn.points.len() as u32 - 1;
        torn.triangles.extend([[a, m, c], [m, b, c]]);
        assert!(!torn.is_watertight());
        let mended = torn.oriented();
        assert!(mended.closed);
        assert!((mended.volume() - 8.0).abs() < 1e-12);
    }

    #[test]
    fn a_part_in_the_crook_of_another_is_no_cavity_however_it_is_turned() {
        // A frame of three bars, and a small cube in the open between them, inside out.
        let outer = [
            (0.0, 0.0),
            (3.0, 0.0),
            (3.0, 3.0),
            (2.5, 3.0),
            (2.5, 0.5),
            (0.5, 0.5),
            (0.5, 3.0),
            (0.0, 3.0),
        ];
        let frame = Prism {
            frame: DAffine3::IDENTITY,
            profile: Profile::Rings {
                outer: outer.map(Into::into).to_vec(),
                holes: vec![],
                chord: 0.0,
            },
            sweep: DVec3::Z * 3.0,
        };
        let area = frame.profile.area();
        let mut both = Solid::Prism(frame).to_mesh(1e-4);
        both.append(
            &cube(1.0)
                .transformed(&DAffine3::from_translation(DVec3::new(1.5, 1.5, 1.0)))
                .flipped(),
        );
        let volume = both.oriented().volume();
        assert!((volume - area * 3.0 - 1.0).abs() < 1e-9, "{volume}");
    }

    #[test]
    fn a_cavity_keeps_its_sense_against_the_outside() {
        let mut hollow = cube(2.0);
        let cavity = cube(1.0).transformed(&DAffine3::from_translation(DVec3::Z * 0.5)).flipped();
        hollow.append(&cavity);
        assert!((hollow.oriented().volume() - 7.0).abs() < 1e-12);
        assert!((hollow.flipped().oriented().volume() - 7.0).abs() < 1e-12);
    }
}
