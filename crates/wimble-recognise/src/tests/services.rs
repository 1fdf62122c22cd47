//! Services: kinds, trades, shapes, runs.

use super::*;
use crate::candidate::{OfType, StatedSize, System};
use crate::scene::ServiceBody;
use std::sync::Arc;
use wimble_geom::Cylinder;
use wimble_model::{Lagging, ServiceKind, ServiceShape, Trade};

fn pipe(name: &str, solid: Solid) -> Candidate {
    element(Family::FlowSegment, name, "copper", vec![solid])
}

fn bar(radius: f64, inner: Option<f64>) -> Solid {
    Solid::Cylinder(Cylinder {
        from: DVec3::new(0.0, 1.0, 2.5),
        to: DVec3::new(3.0, 1.0, 2.5),
        radius: radius / 1000.0,
        inner: inner.map(|r| r / 1000.0),
    })
}

#[test]
fn a_round_pipe_is_round_however_it_is_drawn() {
    let hollow = bar(11.0, Some(10.0));
    for solid in
        [bar(11.0, None), hollow.clone(), mesh(&bar(11.0, None)), mesh(&hollow), loose(&hollow)]
    {
        let scene = scene_of(vec![pipe("P", solid)]);
        let ServiceShape::RoundMm(d) = scene.services[0].shape else {
            panic!("{:?}", scene.services[0].shape)
        };
        assert!(near(d, 22.0), "{d}");
        let ServiceBody::Round { from, to, .. } = &scene.service_bodies[0] else { panic!("round") };
        assert!((from.distance(*to) - 3.0).abs() < 1e-4);
    }
}

#[test]
fn a_rectangular_duct_is_rectangular_however_it_is_drawn() {
    let solid = block([0.0, 0.0, 0.0], [220.0, 3000.0, 90.0], 1);
    for solid in [solid.clone(), block([0.0, 0.0, 0.0], [220.0, 3000.0, 90.0], 2), mesh(&solid)] {
        let scene = scene_of(vec![Candidate {
            element: Element { class: "IfcDuctSegment".into(), ..Element::default() },
            ..pipe("D", solid)
        }]);
        assert_eq!(scene.services[0].kind, ServiceKind::Duct);
        let ServiceShape::RectangleMm([a, b]) = scene.services[0].shape else {
            panic!("{:?}", scene.services[0].shape)
        };
        assert!(near(a, 220.0) && near(b, 90.0));
        let ServiceBody::Rectangular { half, frame } = &scene.service_bodies[0] else {
            panic!("rectangular")
        };
        assert!((half.z - 1.5).abs() < 1e-9 && frame.matrix3.z_axis.y.abs() > 0.999);
    }
}

#[test]
fn a_line_has_no_size_unless_a_property_states_the_outside_diameter() {
    let mut line = pipe("L", bar(1.0, None));
    line.items.clear();
    line.more_mut().lines = vec![vec![DVec3::ZERO, DVec3::X]];
    let scene = scene_of(vec![line.clone()]);
    assert_eq!(scene.services[0].shape, ServiceShape::Unknown);
    assert!(!scene.services[0].notes.is_empty());
    line.more_mut().stated = Some(StatedSize::Round(0.0269));
    let scene = scene_of(vec![line.clone()]);
    assert_eq!(scene.services[0].shape, ServiceShape::RoundMm(26.9));
    assert!(scene.services[0].notes[0].0.contains("property"));
    // With a corner in it: two straight pieces of one run.
    line.more_mut().lines[0].push(DVec3::new(1.0, 1.0, 0.0));
    let scene = scene_of(vec![line.clone()]);
    let pieces: Vec<_> = scene.services.iter().map(|s| (s.element.item, s.run)).collect();
    assert_eq!(pieces, [(Some(0), 0), (Some(1), 0)]);
    // A level tray stands upright; a falling one could be turned any way.
    line.more_mut().stated = Some(StatedSize::Rectangle(0.3, 0.06));
    line.more_mut().lines = vec![vec![DVec3::ZERO, DVec3::Y]];
    let scene = scene_of(vec![line.clone()]);
    assert_eq!(scene.services[0].shape, ServiceShape::RectangleMm([300.0, 60.0]));
    let place = crate::alarm::place(&scene.service_bodies[0]);
    assert!((place.size() - DVec3::new(0.3, 1.0, 0.06)).length() < 1e-9, "{place:?}");
    line.more_mut().lines = vec![vec![DVec3::ZERO, DVec3::Z]];
    assert_eq!(scene_of(vec![line]).services[0].shape, ServiceShape::Unknown);
}

#[test]
fn the_trade_comes_from_the_system_first() {
    let of = |name: &str, system: &str| {
        let mut pipe = pipe(name, bar(11.0, None));
        pipe.systems = [System { name: system.into(), text: String::new() }].into();
        scene_of(vec![pipe]).services[0].trade
    };
    assert_eq!(of("P", "Heating flow"), Trade::Heating);
    assert_eq!(of("P", "Schmutzwasser"), Trade::Soil);
    assert_eq!(of("P", "afvoer badkamer"), Trade::Waste);
    assert_eq!(of("gas pipe", "System 1"), Trade::Gas);
    assert_eq!(of("P", "給水"), Trade::Water);
    assert_eq!(of("P", ""), Trade::Unknown);
}

#[test]
fn ifc2x3_segments_are_told_apart_by_their_type() {
    let mut segment = pipe("S", bar(8.0, None));
    segment.element.class = "IfcFlowSegment".into();
    segment.of_type = OfType { class: "IfcCableSegmentType", ..OfType::default() }.into();
    let scene = scene_of(vec![segment]);
    assert_eq!(scene.services[0].kind, ServiceKind::Cable);
    assert_eq!(scene.services[0].trade, Trade::Electric);
}

#[test]
fn lagging_is_a_covering_on_the_service() {
    let mut lagged = pipe("P", bar(11.0, None));
    lagged.more_mut().coverings = vec![1];
    let mut covering = element(Family::Covering, "L", "insulation", Vec::new());
    let of =
        |covering: &Candidate| scene_of(vec![lagged.clone(), covering.clone()]).services[0].lagging;
    // Nothing tells how thick: a covering of unknown thickness.
    assert_eq!(of(&covering), Lagging::Covering { thickness_mm: 0.0 });
    // By its body, its properties, its layers: the later one is the better.
    covering.items = element(Family::Covering, "", "", vec![bar(24.0, Some(11.0))]).items;
    let Lagging::Covering { thickness_mm } = of(&covering) else { panic!("a covering") };
    assert!(near(thickness_mm, 13.0), "{thickness_mm}");
    covering.more_mut().thickness_m = Some(0.019);
    assert_eq!(of(&covering), Lagging::Covering { thickness_mm: 19.0 });
    Arc::make_mut(&mut covering.materials).entries[0].thickness_m = Some(0.02);
    assert_eq!(of(&covering), Lagging::Covering { thickness_mm: 20.0 });
}

#[test]
fn a_bend_stays_a_mesh_and_is_of_the_run_of_its_pipes() {
    // A mitred elbow between two pipes.
    let elbow = mesh(&slab_of(
        &[
            [3000.0, 989.0],
            [3030.0, 989.0],
            [3030.0, 1040.0],
            [3008.0, 1040.0],
            [3008.0, 1011.0],
            [3000.0, 1011.0],
        ],
        [2489.0, 2511.0],
    ));
    // slab_of sweeps along y: turn so that it lies in plan.
    let turn = DAffine3::from_rotation_x(-90f64.to_radians());
    let elbow = moved(&elbow, &turn);
    let bounds = elbow.bounds();
    let elbow =
        moved(&elbow, &DAffine3::from_translation(DVec3::new(3.0, 0.989, 2.489) - bounds.min));
    let mut fitting = pipe("E", elbow);
    fitting.family = Family::FlowFitting;
    let scene = scene_of(vec![pipe("P", bar(11.0, None)), fitting]);
    let kinds: Vec<_> = scene.services.iter().map(|s| (s.kind, s.run)).collect();
    assert_eq!(kinds, [(ServiceKind::Fitting, 0), (ServiceKind::Pipe, 0)]);
    assert_eq!(scene.services[0].shape, ServiceShape::Mesh);
}
