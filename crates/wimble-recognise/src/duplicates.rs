//! The same piece given twice.

use crate::pieces::Piece;
use crate::stick::boxed_in;
use rayon::prelude::*;
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

/// Two pieces are one if they share at least this much of the larger's box.
const SAME: f64 = 0.95;
/// Middles of the same piece lie this near, metres.
const NEAR: f64 = 0.12;

/// For each piece the earlier piece that it repeats, if any. Pieces come in the order of trust:
/// by file, then as given.
pub(crate) fn duplicates(pieces: &[&Piece]) -> Vec<Option<usize>> {
    let middles = pieces.iter().map(|p| p.stick.middle_m().to_array());
    let tree = RTree::bulk_load(middles.zip(0..).map(|(m, i)| GeomWithData::new(m, i)).collect());
    pieces
        .par_iter()
        .enumerate()
        .map(|(i, piece)| {
            let middle = piece.stick.middle_m();
            let around = AABB::from_corners((middle - NEAR).to_array(), (middle + NEAR).to_array());
            tree.locate_in_envelope(around)
                .map(|e| e.data)
                .filter(|&j: &usize| j < i)
                .filter(|&j| pieces.get(j).is_some_and(|other| coincide(other, piece)))
                .min()
        })
        .collect()
}

/// Whether two members fill the same place.
fn coincide(a: &Piece, b: &Piece) -> bool {
    if a.stick.frame.x.dot(b.stick.frame.x).abs() < 0.999 {
        return false;
    }
    let one = a.stick.local_box();
    let other = boxed_in(&a.stick, &b.stick.figure);
    let volume = |size: glam::DVec3| size.max(glam::DVec3::ZERO).element_product();
    let common = volume(one.intersection(other).size());
    let larger = volume(one.size()).max(volume(b.stick.local_box().size()));
    common >= SAME * larger
}
