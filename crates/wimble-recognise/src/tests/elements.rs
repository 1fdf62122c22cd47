//! Coverage and the user's mapping.

use super::*;
use crate::settings::{Mapping, Selector, Take};
use std::sync::Arc;
use wimble_model::{CoverageStatus, MemberKind, ServiceKind};

fn status(scene: &Scene, class: &str) -> (CoverageStatus, String) {
    let row = scene.coverage.iter().find(|r| r.class == class).expect("a row");
    (row.status, row.reason.clone())
}

fn mapped(name: &str, take: Take) -> RecogniseSettings {
    let selector = Selector { name: Some(name.into()), ..Selector::default() };
    RecogniseSettings { mapping: vec![Mapping { selector, take }], ..RecogniseSettings::default() }
}

#[test]
fn every_element_ends_once() {
    let mut space = element(Family::Spatial, "room", "", Vec::new());
    space.element.class = "IfcSpace".into();
    let mut empty = timber("nothing", block([0.0; 3], [1.0; 3], 0));
    empty.items.clear();
    let mut broken = timber("broken", block([0.0; 3], [1.0; 3], 0));
    broken.items[0].solid = Err("IfcFoo #9 is not read".into());
    let scene = scene_of(vec![joist("J", 0.0, [0.0, 3000.0]), space, empty, broken]);
    assert_eq!(scene.coverage.iter().map(|r| r.count).sum::<u32>(), 4);
    assert!(scene.coverage.iter().any(|r| r.status == CoverageStatus::NoShape));
    assert!(
        scene
            .coverage
            .iter()
            .any(|r| r.status == CoverageStatus::Unreadable && r.reason.contains("IfcFoo"))
    );
}

#[test]
fn timber_as_a_layer_only_is_named_with_its_thickness() {
    let mut slab = element(
        Family::Slab,
        "Floor",
        "Wood - Dimensional Lumber",
        vec![block([0.0; 3], [5000.0, 4000.0, 300.0], 2)],
    );
    let materials = Arc::make_mut(&mut slab.materials);
    materials.layered = true;
    materials.entries[0].thickness_m = Some(0.286);
    let (status, reason) = status(&scene_of(vec![slab]), "IfcSlab");
    assert_eq!(status, CoverageStatus::LayerOnly);
    assert!(reason.contains("Wood - Dimensional Lumber") && reason.contains("286 mm"), "{reason}");
}

#[test]
fn the_users_mapping_wins() {
    let steel =
        || element(Family::Beam, "B1", "steel", vec![block([0.0; 3], [3000.0, 47.0, 220.0], 0)]);
    let scene = scene_with(vec![steel()], &mapped("b*", Take::Member(MemberKind::Joist)));
    assert_eq!(only(&scene).kind, MemberKind::Joist);
    let scene = scene_with(vec![joist("J", 0.0, [0.0, 3000.0])], &mapped("J", Take::NotTimber));
    assert!(scene.members.is_empty());
    let scene = scene_with(vec![joist("J", 0.0, [0.0, 3000.0])], &mapped("J", Take::Ignore));
    assert_eq!(scene.coverage[0].status, CoverageStatus::Ignored);
    let scene = scene_with(
        vec![joist("J", 0.0, [0.0, 3000.0])],
        &mapped("J", Take::Service(ServiceKind::Duct)),
    );
    assert_eq!(scene.services[0].kind, ServiceKind::Duct);
}

#[test]
fn repeated_global_ids_are_told() {
    let mut twin = joist("K", 800.0, [0.0, 3000.0]);
    twin.element.guid = "guid-J".into();
    let scene = scene_of(vec![joist("J", 0.0, [0.0, 3000.0]), twin]);
    assert_eq!(scene.members.len(), 2);
    assert!(scene.warnings.iter().any(|w| w.text.contains("repeats a GlobalId")));
}

#[test]
fn a_name_that_lies_about_the_size_is_told() {
    let lying = timber("Houten balk 44x120mm", block([0.0; 3], [3000.0, 70.0, 170.0], 0));
    let scene = scene_of(vec![lying]);
    assert!(
        only(&scene).notes.iter().any(|n| n.0.contains("44 × 120") && n.0.contains("70 × 170")),
        "{:?}",
        only(&scene).notes
    );
    let true_one = timber("balk:70x170mm", block([0.0; 3], [3000.0, 70.0, 170.0], 0));
    assert!(!only(&scene_of(vec![true_one])).notes.iter().any(|n| n.0.contains("modelled")));
}

#[test]
fn the_order_of_elements_does_not_show() {
    let all = || {
        vec![
            joist("A", 0.0, [0.0, 3000.0]),
            joist("B", 400.0, [0.0, 3000.0]),
            wall("W", [-500.0, -100.0, 0.0], [1000.0, 50.0, 2400.0]),
            joist("C", 800.0, [0.0, 3000.0]),
        ]
    };
    let forward = scene_of(all());
    let mut reversed = all();
    reversed.reverse();
    let backward = scene_of(reversed);
    let strip = |scene: &Scene| {
        let mut members = scene.members.clone();
        for member in &mut members {
            member.element.instance = 0;
            member
                .bearings
                .iter_mut()
                .filter_map(|b| b.element.as_mut())
                .for_each(|e| Arc::make_mut(e).instance = 0);
        }
        members
    };
    assert_eq!(strip(&forward), strip(&backward));
}
