//! Openings, and ends that voids take off.

use super::*;
use wimble_model::OpeningSource;

fn opening(name: &str, host: u32, solid: Solid) -> Candidate {
    Candidate { host: Some(host), ..element(Family::Opening, name, "", vec![solid]) }
}

#[test]
fn an_opening_element_is_an_opening_of_its_member() {
    let hole = block([1000.0, -50.0, 90.0], [1040.0, 100.0, 130.0], 1);
    let scene = scene_of(vec![
        timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0)),
        opening("O", 0, hole.clone()),
    ]);
    assert_eq!(scene.openings.len(), 1);
    assert_eq!(scene.openings[0].source, OpeningSource::Element);
    assert_eq!(scene.opening_bodies[0], hole);
}

#[test]
fn a_boolean_difference_is_an_opening() {
    let mut member = timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0));
    let notch = block([1000.0, -50.0, 200.0], [1040.0, 100.0, 300.0], 1);
    member.items[0].subtracted.push(Ok(notch));
    let scene = scene_of(vec![member]);
    assert_eq!(scene.openings.len(), 1);
    assert_eq!(scene.openings[0].source, OpeningSource::Boolean);
    assert!(near(only(&scene).length_mm, 4000.0));
}

#[test]
fn material_missing_over_the_full_depth_at_an_end_is_the_ends_shape() {
    let mut member = timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0));
    member.items[0].subtracted.push(Ok(block([3900.0, -50.0, -50.0], [4200.0, 100.0, 300.0], 1)));
    let scene = scene_of(vec![member]);
    assert!(scene.openings.is_empty());
    assert!(near(only(&scene).length_mm, 3900.0), "{}", only(&scene).length_mm);
    assert_eq!(only(&scene).section.word(), "rectangle");
}

#[test]
fn an_opening_of_several_solids_is_several_openings() {
    let hole = |x: f64| block([x, -50.0, 90.0], [x + 40.0, 100.0, 130.0], 1);
    let mut two = opening("O", 0, hole(1000.0));
    two.items.push(Item { index: 1, solid: Ok(hole(2000.0)), subtracted: Vec::new() });
    let scene = scene_of(vec![timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0)), two]);
    let items: Vec<_> = scene.openings.iter().map(|o| o.element.item).collect();
    assert_eq!(items, [Some(0), Some(1)]);
}

#[test]
fn a_bolt_in_an_opening_is_told() {
    let hole = block([1000.0, -50.0, 90.0], [1014.0, 100.0, 104.0], 1);
    let joist = timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0));
    let bolt = element(Family::Fastener, "M12", "steel", vec![block([1001.0, -60.0, 91.0], [1013.0, 110.0, 103.0], 1)]);
    let scene = scene_of(vec![joist.clone(), opening("O", 0, hole.clone()), bolt]);
    assert!(scene.openings[0].touches);
    assert!(!scene_of(vec![joist, opening("O", 0, hole)]).openings[0].touches);
}
