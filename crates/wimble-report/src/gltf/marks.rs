//! Marks of cuts: the shape says the verdict without the tone.

use super::buffer::Placing;
use glam::{DMat3, DQuat, DVec2, DVec3};
use std::f64::consts::TAU;
use wimble_geom::Convex;
use wimble_model::{Cut, Member, Verdict};

/// How far a mark stands out of each side of its member.
const OUT_MM: f64 = 25.0;
/// How much larger than the cut it is, on each side.
const ROUND_IT_MM: f64 = 8.0;
/// A smaller mark would not be seen.
const LEAST_MM: f64 = 25.0;

/// Where a mark stands: about its cut, out of both sides of the member.
pub(super) fn placing(cut: &Cut, member: &Member, origin: DVec3) -> Option<Placing> {
    let frame = &member.frame;
    let axes = DMat3::from_cols(frame.x, frame.y(), frame.z);
    let half = (cut.max_mm - cut.min_mm) / 2.0;
    // One size each way: a cross in a long cut would be two lines.
    let size = (half.x.min(half.z) + ROUND_IT_MM).max(LEAST_MM);
    let at = cut.point_m(member) - origin;
    let stretch = DVec3::new(size, half.y + OUT_MM, size) / 1000.0;
    (at.is_finite() && stretch.is_finite()).then(|| Placing {
        at,
        turn: DQuat::from_mat3(&axes).normalize(),
        stretch,
    })
}

/// The convex parts of a verdict's mark: drawn in x and z, from −1 to 1 along y.
pub(super) fn parts(verdict: Verdict) -> Vec<Convex> {
    let bar = |from: [f64; 2], to: [f64; 2], half: f64| {
        let (from, to) = (DVec2::from(from), DVec2::from(to));
        let side = (to - from).normalize_or_zero().perp() * half;
        swept(&[from - side, to - side, to + side, from + side])
    };
    match verdict {
        Verdict::Pass => vec![swept(&square(0.8))],
        Verdict::Fail => {
            vec![bar([-1.0, -1.0], [1.0, 1.0], 0.22), bar([-1.0, 1.0], [1.0, -1.0], 0.22)]
        }
        Verdict::Refer => {
            let ring = (0..24).map(|i| DVec2::from_angle(TAU * f64::from(i) / 24.0));
            vec![swept(&ring.collect::<Vec<_>>())]
        }
        // Dashes along the sides of a square, the corners left open.
        Verdict::Unknown => {
            let sides = [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y];
            let dashes = [(-0.75, -0.2), (0.2, 0.75)];
            let dash = |side: DVec2, (from, to): (f64, f64)| {
                let along = side.perp();
                let at = |t: f64| (0.85 * side + t * along).to_array();
                bar(at(from), at(to), 0.15)
            };
            sides.iter().flat_map(|side| dashes.map(|d| dash(*side, d))).collect()
        }
    }
}

fn square(half: f64) -> [DVec2; 4] {
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, z)| half * DVec2::new(x, z))
}

/// A convex ring in x and z (counter-clockwise, z up), swept along y.
fn swept(ring: &[DVec2]) -> Convex {
    // Seen against the sweep (from +y), x points left: the ring is turned round.
    let ring: Vec<DVec3> = ring.iter().rev().map(|p| DVec3::new(p.x, -1.0, p.y)).collect();
    Convex::swept(&ring, DVec3::new(0.0, 2.0, 0.0))
}
