//! Which boxes are near a box.

use crate::Aabb;
use fearless_simd::prelude::*;
use fearless_simd::{Level, dispatch, f32x8};
use glam::Vec3;
use rayon::prelude::*;

/// So many boxes make a node.
const BRANCH: usize = 8;
/// Faces of a box.
const FACES: usize = 6;
/// From how many boxes on the work is shared among threads.
const SIDE_BY_SIDE: usize = 4096;

/// Boxes sorted once so that those near another box are found without looking at all.
///
/// They are halved across their longest way again and again, so that those which stand together
/// in the list stand together in the building, and then packed level by level. Where a rule for
/// space would cut evenly along each axis, this follows the boxes: a row of joists along one pipe
/// is halved along the row, and a query stays within n log n.
///
/// They are looked through in single precision, rounded outwards; what is found is held against
/// the boxes as they are.
#[derive(Debug, Clone)]
pub struct BroadPhase {
    /// Where each box stood in the list that was given, in the order of the lowest level.
    places: Vec<u32>,
    /// The boxes in that order.
    boxes: Vec<Aabb>,
    /// The boxes in single precision, then those round each node of the level below, up to a level of one node.
    levels: Vec<Vec<Node>>,
}

impl BroadPhase {
    /// Sorts the boxes. Empty boxes and those with a coordinate that is no number are never found.
    #[must_use]
    pub fn new(boxes: &[Aabb]) -> Self {
        let mut sorted: Vec<Placed> = boxes
            .iter()
            .zip(0..)
            .filter(|(b, _)| is_somewhere(**b))
            .map(|(b, place)| Placed { centre: b.centre().as_vec3(), place })
            .collect();
        halve(&mut sorted);
        let places: Vec<u32> = sorted.into_iter().map(|placed| placed.place).collect();
        let of_place = |place: &u32| boxes[*place as usize];
        let boxes: Vec<Aabb> = if places.len() < SIDE_BY_SIDE {
            places.iter().map(of_place).collect()
        } else {
            places.par_iter().map(of_place).collect()
        };
        let mut levels = vec![nodes(&boxes, Box32::round)];
        while let Some(below) = levels.last().filter(|below: &&Vec<Node>| below.len() > 1) {
            levels.push(nodes(below, Node::bounds));
        }
        Self { places, boxes, levels }
    }

    /// The box round all boxes that can be found.
    #[must_use]
    pub fn bounds(&self) -> Aabb {
        self.boxes.iter().copied().fold(Aabb::EMPTY, Aabb::union)
    }

    /// Positions of the boxes that share a point with `around`, in rising order.
    #[must_use]
    pub fn near(&self, around: Aabb) -> Vec<u32> {
        let mut found = Vec::new();
        self.near_into(around, &mut found);
        found
    }

    /// The same, into a list that is used again and again.
    pub fn near_into(&self, around: Aabb, found: &mut Vec<u32>) {
        found.clear();
        if is_somewhere(around) {
            if let Some(top) = self.levels.len().checked_sub(1) {
                self.visit(top, 0, &(around, Box32::round(&around).limits()), found);
            }
            found.sort_unstable();
        }
    }

    /// Finds what is under a node and shares a point with a box.
    fn visit(&self, level: usize, at: usize, around: &(Aabb, [f32; FACES]), found: &mut Vec<u32>) {
        let Some(node) = self.levels[level].get(at) else { return };
        let mut touched = node.touched(&around.1);
        while touched != 0 {
            let below = at * BRANCH + touched.trailing_zeros() as usize;
            if level > 0 {
                self.visit(level - 1, below, around, found);
            } else if self.boxes.get(below).is_some_and(|exact| exact.touches(around.0)) {
                found.push(self.places[below]);
            }
            touched &= touched - 1;
        }
    }
}

/// A box in single precision: its least coordinates, then its greatest ones with the sign turned. So
/// the box round two boxes has the lesser of each, and boxes are held against each other by six
/// comparisons of one kind.
#[derive(Debug, Clone, Copy)]
struct Box32([f32; FACES]);

impl Box32 {
    /// The least such box round a box.
    fn round(around: &Aabb) -> Self {
        let below = |exact: f64| {
            let near = exact as f32;
            if f64::from(near) > exact { near.next_down() } else { near }
        };
        let ([x0, y0, z0], [x1, y1, z1]) = (around.min.to_array(), around.max.to_array());
        Self([x0, y0, z0, -x1, -y1, -z1].map(below))
    }

    /// How far the faces of a box may lie that shares a point with this one.
    fn limits(self) -> [f32; FACES] {
        let Self([x0, y0, z0, x1, y1, z1]) = self;
        [-x1, -y1, -z1, -x0, -y0, -z0]
    }
}

/// Boxes side by side, face by face: one instruction holds a face against those of several.
#[derive(Debug, Clone, Copy)]
struct Node([[f32; BRANCH]; FACES]);

impl Node {
    /// Touches nothing.
    const EMPTY: Self = Self([[f32::INFINITY; BRANCH]; FACES]);

    /// Up to [`BRANCH`] boxes.
    fn of(boxes: impl Iterator<Item = Box32>) -> Self {
        let mut node = Self::EMPTY;
        for (i, of) in boxes.enumerate().take(BRANCH) {
            for (face, of) in node.0.iter_mut().zip(of.0) {
                face[i] = of;
            }
        }
        node
    }

    /// The box round all of them.
    fn bounds(&self) -> Box32 {
        Box32(self.0.map(|face| face.into_iter().fold(f32::INFINITY, f32::min)))
    }

    /// Which of them lie within limits: a bit each, the first the lowest.
    fn touched(&self, limits: &[f32; FACES]) -> u64 {
        dispatch!(Level::baseline(), simd => within(simd, &self.0, limits))
    }
}

#[inline(always)]
fn within<S: Simd>(simd: S, faces: &[[f32; BRANCH]; FACES], limits: &[f32; FACES]) -> u64 {
    let mut within = u64::MAX;
    for (face, limit) in faces.iter().zip(limits) {
        let face: f32x8<S> = (*face).simd_into(simd);
        within &= face.simd_le(*limit).to_bitmask();
    }
    within
}

/// A node for every few of a level, of which each has a box.
fn nodes<T: Sync>(level: &[T], of_one: impl Fn(&T) -> Box32 + Sync) -> Vec<Node> {
    let around = |few: &[T]| Node::of(few.iter().map(&of_one));
    if level.len() < SIDE_BY_SIDE {
        level.chunks(BRANCH).map(around).collect()
    } else {
        level.par_chunks(BRANCH).map(around).collect()
    }
}

/// Whether a box holds a point, and all its coordinates are numbers.
fn is_somewhere(bounds: Aabb) -> bool {
    !bounds.is_empty() && bounds.min.is_finite() && bounds.max.is_finite()
}

/// A box while it is sorted: single precision tells neighbours well enough.
#[derive(Debug, Clone, Copy)]
struct Placed {
    centre: Vec3,
    place: u32,
}

/// Halves a list across its longest way until [`BRANCH`] are left. The lower half holds a power of
/// two, so that every full box of every level is one of the halves.
fn halve(list: &mut [Placed]) {
    if list.len() <= BRANCH {
        return;
    }
    let (min, max) =
        list.iter().fold((Vec3::INFINITY, Vec3::NEG_INFINITY), |(min, max), placed| {
            (min.min(placed.centre), max.max(placed.centre))
        });
    let axis = (max - min).max_position();
    let half = list.len().next_power_of_two() / 2;
    list.select_nth_unstable_by(half, |a, b| a.centre[axis].total_cmp(&b.centre[axis]));
    let (low, high) = list.split_at_mut(half);
    if half < SIDE_BY_SIDE {
        halve(low);
        halve(high);
    } else {
        rayon::join(|| halve(low), || halve(high));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;
    use proptest::prelude::*;

    fn any_box() -> impl Strategy<Value = Aabb> {
        let point = || (-9i32..9, -9i32..9, -9i32..9);
        (point(), (0i32..4, 0i32..4, 0i32..4)).prop_map(|((x, y, z), (a, b, c))| {
            // Far out single precision tells less than a tenth of a metre.
            let min = DVec3::new(x.into(), y.into(), z.into()) / 10.0 + DVec3::new(4e5, 5e6, 0.0);
            Aabb { min, max: min + DVec3::new(a.into(), b.into(), c.into()) / 10.0 }
        })
    }

    #[test]
    fn empty_boxes_are_never_found() {
        let all = Aabb { min: DVec3::splat(-9.0), max: DVec3::splat(9.0) };
        assert_eq!(BroadPhase::new(&[Aabb::EMPTY, all]).near(all), [1]);
        assert!(BroadPhase::new(&[all]).near(Aabb::EMPTY).is_empty());
        let nowhere = Aabb { min: DVec3::NAN, max: DVec3::NAN };
        assert_eq!(BroadPhase::new(&[nowhere, all]).near(all), [1]);
        assert!(BroadPhase::new(&[all]).near(nowhere).is_empty());
        let everywhere = Aabb { min: DVec3::NEG_INFINITY, max: DVec3::INFINITY };
        assert_eq!(BroadPhase::new(&[everywhere, all]).near(all), [1]);
        assert!(BroadPhase::new(&[all]).near(everywhere).is_empty());
    }

    /// In single precision they have no end.
    #[test]
    fn boxes_greater_than_single_precision_are_found() {
        let all = Aabb { min: DVec3::splat(-1e300), max: DVec3::splat(1e300) };
        let one = Aabb { min: DVec3::ZERO, max: DVec3::ONE };
        let tree = BroadPhase::new(&[one, all, one]);
        assert_eq!(tree.near(all), [0, 1, 2]);
        assert_eq!(tree.near(one), [0, 1, 2]);
        assert_eq!(tree.near(Aabb { min: DVec3::splat(1e299), max: DVec3::splat(2e299) }), [1]);
    }

    /// A row along one line, and one box along it all: as many steps as there are levels, not as
    /// there are boxes.
    #[test]
    fn in_a_long_row_few_boxes_are_looked_at() {
        let at = |i: u32| DVec3::new(0.4 * f64::from(i), 0.0, 0.0);
        let mut row: Vec<Aabb> =
            (0..20_000).map(|i| Aabb { min: at(i), max: at(i) + DVec3::ONE * 0.1 }).collect();
        row.push(Aabb { min: at(0), max: at(20_000) });
        let tree = BroadPhase::new(&row);
        for i in (0..20_000).step_by(37) {
            let around = row[i as usize];
            assert_eq!(tree.near(around), [i, 20_000]);
            let limits = Box32::round(&around).limits();
            let touched = |node: &Node| node.touched(&limits).count_ones();
            let of_level = |level: &Vec<Node>| level.iter().map(touched).sum::<u32>();
            assert!(tree.levels.iter().all(|level| of_level(level) <= 4));
        }
    }

    proptest! {
        #[test]
        fn agrees_with_looking_at_all(boxes in prop::collection::vec(any_box(), 0..600), around in any_box()) {
            let slow: Vec<u32> = boxes.iter().enumerate()
                .filter(|(_, b)| b.touches(around)).map(|(i, _)| i as u32).collect();
            prop_assert_eq!(BroadPhase::new(&boxes).near(around), slow);
        }
    }
}
