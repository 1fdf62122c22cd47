//! Repetition: members of one section, side by side at a pitch.

use crate::neighbours::Neighbours;
use crate::stick::Stick;
use glam::DVec3;
use rayon::prelude::*;
use wimble_geom::Aabb;
use wimble_model::Frame;

/// Cosine above which two members are parallel.
const PARALLEL: f64 = 0.999;
/// Sections of one row differ by no more than this, mm.
const SECTION_MM: f64 = 5.0;
/// Level of one row differs by no more than this, mm (across it, for studs).
const LEVEL_MM: f64 = 40.0;
/// Least and greatest pitch, mm.
const PITCH_MM: [f64; 2] = [80.0, 1250.0];
/// Members that carry a deck are at most this far apart, mm.
const ROW_MM: f64 = 700.0;
/// Two members of a row lie beside each other over at least this share of the shorter.
const BESIDE: f64 = 0.3;

/// What repetition says of a member.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Pitch {
    /// Neighbours at a pitch on both sides together.
    pub(crate) neighbours: u32,
    /// Distance to the nearest of them, mm.
    pub(crate) nearest_mm: Option<f64>,
}

impl Pitch {
    /// Whether it is one of several close together: joists, not strutting in every bay.
    pub(crate) fn is_row(self) -> bool {
        self.neighbours >= 2 && self.nearest_mm.is_some_and(|nearest| nearest <= ROW_MM)
    }
}

/// For each stick, its neighbours at a pitch; `near` finds them by their boxes.
pub(crate) fn pitches(sticks: &[&Stick], near: &Neighbours) -> Vec<Pitch> {
    // Side by side in memory: most that are found have a middle that lies elsewhere.
    let middles: Vec<DVec3> = sticks.par_iter().map(|stick| stick.middle_m()).collect();
    near.map(|found, at| {
        let i = at as usize;
        let (Some(stick), Some(&m)) = (sticks.get(i), middles.get(i)) else {
            return Pitch::default();
        };
        // Neighbours may be shifted along; look as far as half the length at most.
        let far = (PITCH_MM[1] / 1000.0).max(0.35 * stick.length_mm / 1000.0);
        let around = Aabb { min: m - far, max: m + far };
        let mut pitch = Pitch::default();
        near.near_into(around, found);
        for other in found.iter().map(|&other| other as usize).filter(|&other| other != i) {
            let here = |middle: &DVec3| around.touches(Aabb::of([*middle]));
            let Some(neighbour) =
                sticks.get(other).filter(|_| middles.get(other).is_some_and(here))
            else {
                continue;
            };
            if let Some(distance) = beside(stick, neighbour) {
                pitch.neighbours += 1;
                let nearest = pitch.nearest_mm.map_or(distance, |n: f64| n.min(distance));
                pitch.nearest_mm = Some(nearest);
            }
        }
        pitch
    })
}

/// Distance between two members of one row, mm.
fn beside(a: &Stick, b: &Stick) -> Option<f64> {
    let same = (a.section.breadth_mm() - b.section.breadth_mm()).abs() < SECTION_MM
        && (a.section.depth_mm() - b.section.depth_mm()).abs() < SECTION_MM;
    if !same || a.frame.x.dot(b.frame.x).abs() < PARALLEL {
        return None;
    }
    let other = a.frame.local_mm(b.middle_m());
    // Studs stand beside each other along the wall, that is along their breadth.
    let (across, level) = (other.y.abs(), other.z.abs());
    let overlap = overlap(&a.frame, a.length_mm, b);
    let enough = overlap >= BESIDE * a.length_mm.min(b.length_mm);
    (level < LEVEL_MM && across > PITCH_MM[0] && across < PITCH_MM[1] && enough).then_some(across)
}

/// Common length of two parallel members, mm.
pub(crate) fn overlap(frame: &Frame, length_mm: f64, b: &Stick) -> f64 {
    let start = frame.local_mm(b.frame.origin_m).x;
    let finish = start + b.length_mm * frame.x.dot(b.frame.x);
    start.max(finish).min(length_mm) - start.min(finish).max(0.0)
}
