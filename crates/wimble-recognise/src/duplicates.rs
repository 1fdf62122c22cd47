//! The same piece given twice.

use crate::neighbours::Neighbours;
use crate::pieces::Piece;
use crate::stick::boxed_in;
use wimble_geom::Aabb;

/// Two pieces are one if they share at least this much of the larger's box.
const SAME: f64 = 0.95;
/// Middles of the same piece lie this near, metres.
const NEAR: f64 = 0.12;

/// For each piece the piece that it repeats, if any: of those that are trusted more, by their rank,
/// the first. `near` finds pieces by their boxes.
pub(crate) fn duplicates(
    pieces: &[Piece],
    near: &Neighbours,
    trust: impl Fn(u32) -> u32 + Sync,
) -> Vec<Option<u32>> {
    near.map(|found, i| {
        let piece = pieces.get(i as usize)?;
        let middle = piece.stick.middle_m();
        let around = Aabb { min: middle - NEAR, max: middle + NEAR };
        near.near_into(around, found);
        let repeats = |j: &u32| {
            let other = pieces.get(*j as usize).filter(|_| trust(*j) < trust(i));
            other.is_some_and(|other| {
                around.touches(Aabb::of([other.stick.middle_m()])) && coincide(other, piece)
            })
        };
        found.iter().copied().filter(repeats).min_by_key(|j| trust(*j))
    })
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
