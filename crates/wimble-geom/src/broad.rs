//! Which boxes are near a box.

use crate::Aabb;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Boxes sorted once so that those near another box are found without looking at all.
#[derive(Debug, Clone)]
pub struct BroadPhase {
    tree: RTree<GeomWithData<Rectangle<[f64; 3]>, u32>>,
}

impl BroadPhase {
    /// Sorts the boxes. Empty boxes and those with a coordinate that is no number are never found.
    #[must_use]
    pub fn new(boxes: &[Aabb]) -> Self {
        let leaves = boxes
            .iter()
            .enumerate()
            .filter(|(_, b)| !b.is_empty() && b.min.is_finite() && b.max.is_finite())
            .map(|(i, b)| {
                let corners = Rectangle::from_corners(b.min.to_array(), b.max.to_array());
                GeomWithData::new(corners, u32::try_from(i).unwrap_or(u32::MAX))
            })
            .collect();
        Self { tree: RTree::bulk_load(leaves) }
    }

    /// Positions of the boxes that share a point with `around`, in rising order.
    #[must_use]
    pub fn near(&self, around: Aabb) -> Vec<u32> {
        if around.is_empty() || !around.min.is_finite() || !around.max.is_finite() {
            return Vec::new();
        }
        let envelope = AABB::from_corners(around.min.to_array(), around.max.to_array());
        let mut found: Vec<u32> =
            self.tree.locate_in_envelope_intersecting(envelope).map(|leaf| leaf.data).collect();
        found.sort_unstable();
        found
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
            let min = DVec3::new(x.into(), y.into(), z.into()) + DVec3::new(4e5, 5e6, 0.0);
            Aabb { min, max: min + DVec3::new(a.into(), b.into(), c.into()) }
        })
    }

    #[test]
    fn empty_boxes_are_never_found() {
        let all = Aabb { min: DVec3::splat(-9.0), max: DVec3::splat(9.0) };
        assert_eq!(BroadPhase::new(&[Aabb::EMPTY, all]).near(all), [1]);
        assert!(BroadPhase::new(&[all]).near(Aabb::EMPTY).is_empty());
    }

    proptest! {
        #[test]
        fn agrees_with_looking_at_all(boxes in prop::collection::vec(any_box(), 0..60), around in any_box()) {
            let slow: Vec<u32> = boxes.iter().enumerate()
                .filter(|(_, b)| b.touches(around)).map(|(i, _)| i as u32).collect();
            prop_assert_eq!(BroadPhase::new(&boxes).near(around), slow);
        }
    }
}
