//! Profiles of several parts as one area.

use super::profile::Area;
use glam::{DAffine2, DVec2};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;
use wimble_geom::{Profile, Ring, ring_area, tolerance};

/// The one area that parts which touch each other form; `None` if they lie apart. An I-joist
/// drawn as flange, web and flange becomes an I this way.
pub(super) fn joined(areas: &[Area]) -> Option<Area> {
    let mut rings: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut chord: f64 = 0.0;
    let mut sum = 0.0;
    for area in areas {
        let outline = area.profile.outline(tolerance::CHORD);
        chord = chord.max(outline.chord);
        let place =
            |ring: &Ring| ring.iter().map(|p| area.place.transform_point2(*p).to_array()).collect();
        rings.push(place(&outline.outer));
        rings.extend(outline.holes.iter().map(place));
        sum += area.profile.area();
    }
    let shapes = rings.simplify_shape(FillRule::NonZero);
    let [shape] = &shapes[..] else { return None };
    let ring =
        |points: &Vec<[f64; 2]>| points.iter().map(|p| DVec2::from_array(*p)).collect::<Ring>();
    let outer = ring(shape.first()?);
    let holes: Vec<Ring> = shape.iter().skip(1).map(ring).collect();
    let profile = Profile::from_rings(&outer, &holes, chord)?;
    // A union is no more than its parts and no less than the largest of them.
    let largest = areas.iter().map(|a| a.profile.area()).fold(0.0, f64::max);
    let area = profile.area();
    let plausible = area <= sum * 1.001 && area >= largest * 0.999 && ring_area(&outer) != 0.0;
    let (profile, place) = profile.simplified();
    plausible.then_some(Area { profile, place: DAffine2::IDENTITY * place })
}
