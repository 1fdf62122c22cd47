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
    two.items.push(Item { index: 1, solid: Ok(hole(2000.0)), subtracted: ThinVec::new() });
    let scene = scene_of(vec![timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0)), two]);
    let items: Vec<_> = scene.openings.iter().map(|o| o.element.item).collect();
    assert_eq!(items, [Some(0), Some(1)]);
}

#[test]
fn a_bolt_in_an_opening_is_told() {
    let hole = block([1000.0, -50.0, 90.0], [1014.0, 100.0, 104.0], 1);
    let joist = timber("J", block([0.0, 0.0, 0.0], [4000.0, 47.0, 220.0], 0));
    let bolt = element(
        Family::Fastener,
        "M12",
        "steel",
        vec![block([1001.0, -60.0, 91.0], [1013.0, 110.0, 103.0], 1)],
    );
    let scene = scene_of(vec![joist.clone(), opening("O", 0, hole.clone()), bolt]);
    assert!(scene.openings[0].touches);
    assert!(!scene_of(vec![joist, opening("O", 0, hole)]).openings[0].touches);
}

#[test]
fn holes_and_notches_drawn_in_a_body_are_openings() {
    // One outline through the breadth: a notch in the top, a half-lap at the right end, a hole.
    let outline = [
        [0.0, 0.0],
        [3900.0, 0.0],
        [3900.0, 110.0],
        [4000.0, 110.0],
        [4000.0, 220.0],
        [1040.0, 220.0],
        [1040.0, 195.0],
        [1000.0, 195.0],
        [1000.0, 220.0],
        [0.0, 220.0],
    ];
    let hole: Vec<DVec2> = [[2000.0, 100.0], [2000.0, 130.0], [2040.0, 130.0], [2040.0, 100.0]]
        .map(|p| DVec2::from(p) / 1000.0)
        .into();
    let Solid::Prism(mut prism) = slab_of(&outline, [0.0, 47.0]) else { panic!("a prism") };
    let outer: Vec<DVec2> = outline.iter().map(|p| DVec2::from(*p) / 1000.0).collect();
    prism.profile = Profile::from_rings(&outer, &[hole], 0.0).expect("rings");
    let solid = Solid::Prism(prism);
    for solid in [solid.clone(), mesh(&solid), loose(&solid)] {
        let scene = scene_of(vec![timber("J", solid)]);
        assert!(near(only(&scene).length_mm, 4000.0));
        assert_eq!(only(&scene).section.word(), "rectangle");
        assert!(scene.openings.iter().all(|o| o.source == OpeningSource::Body));
        let mut boxes: Vec<[f64; 4]> = scene
            .opening_bodies
            .iter()
            .map(|s| {
                let b = s.bounds();
                [b.min.x, b.max.x, b.min.z, b.max.z].map(|v| (v * 1000.0).round())
            })
            .collect();
        boxes.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(
            boxes,
            [
                [1000.0, 1040.0, 195.0, 220.0],
                [2000.0, 2040.0, 100.0, 130.0],
                [3900.0, 4000.0, 0.0, 110.0],
            ]
        );
    }
}
