//! Areas put together and cleared up: profiles of several parts, outlines that cross themselves.

use super::profile::Area;
use glam::{DAffine2, DVec2};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::simplify::SimplifyShape;
use i_overlay::float::single::SingleFloatOverlay;
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

/// What an outer ring and its holes enclose, if that is not what they say: the ring crosses
/// itself, or holes cross it or each other. `None` if all is well.
pub(super) fn cleared_up(outer: &Ring, holes: &[Ring]) -> Option<Vec<Profile>> {
    let plain = |ring: &Ring| ring.iter().map(DVec2::to_array).collect::<Vec<[f64; 2]>>();
    let subject = vec![plain(outer)];
    let clip: Vec<Vec<[f64; 2]>> = holes.iter().map(plain).collect();
    let shapes = subject.overlay(&clip, OverlayRule::Difference, FillRule::NonZero);
    let said = ring_area(outer).abs() - holes.iter().map(|hole| ring_area(hole).abs()).sum::<f64>();
    let ring =
        |points: &Vec<[f64; 2]>| points.iter().map(|p| DVec2::from_array(*p)).collect::<Ring>();
    let profiles: Vec<Profile> = shapes
        .iter()
        .filter_map(|shape| {
            let holes: Vec<Ring> = shape.iter().skip(1).map(ring).collect();
            Profile::from_rings(&ring(shape.first()?), &holes, 0.0)
        })
        .filter(|profile| profile.area() > 1e-10)
        .collect();
    let found: f64 = profiles.iter().map(Profile::area).sum();
    let as_said = profiles.len() == 1 && (found - said).abs() <= 1e-6 * said.abs().max(1e-6);
    (!as_said && !profiles.is_empty()).then_some(profiles)
}
