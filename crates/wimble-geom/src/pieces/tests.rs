use crate::{Cylinder, Mesh, Prism, Profile, Solid};
use glam::{DAffine3, DQuat, DVec2, DVec3};
use proptest::prelude::*;

fn block(centre: DVec3, size: DVec3) -> Solid {
    Solid::Prism(Prism {
        frame: DAffine3::from_translation(centre - DVec3::Z * size.z / 2.0),
        profile: Profile::Rectangle { x: size.x, y: size.y },
        sweep: DVec3::Z * size.z,
    })
}

fn step() -> Solid {
    let outer = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)]
        .map(DVec2::from)
        .to_vec();
    Solid::Prism(Prism {
        frame: DAffine3::IDENTITY,
        profile: Profile::Rings { outer, holes: vec![], chord: 0.0 },
        sweep: DVec3::Z,
    })
}

/// A step with points on its straight stretches.
fn dotted_step() -> Solid {
    let outer = [
        (0.0, 0.0),
        (0.7, 0.0),
        (1.3, 0.0),
        (2.0, 0.0),
        (2.0, 1.0),
        (1.0, 1.0),
        (1.0, 1.3),
        (1.0, 2.0),
        (0.0, 2.0),
        (0.0, 1.0),
    ];
    Solid::Prism(Prism {
        frame: DAffine3::from_rotation_y(0.3),
        profile: Profile::Rings {
            outer: outer.map(DVec2::from).to_vec(),
            holes: vec![],
            chord: 0.0,
        },
        sweep: DQuat::from_rotation_y(0.3) * DVec3::Z,
    })
}

fn tube() -> Solid {
    Solid::Cylinder(Cylinder { from: DVec3::ZERO, to: DVec3::Z, radius: 0.5, inner: Some(0.4) })
}

/// The pieces' volumes, each found by cutting a box that holds the solid.
fn pieces_volume(solid: &Solid) -> f64 {
    let bounds = solid.bounds().grown(1.0);
    let around = block(bounds.centre(), bounds.size()).to_mesh(1e-4);
    solid.convex_pieces().unwrap().iter().map(|piece| around.common_convex(piece).volume()).sum()
}

fn as_mesh(solid: &Solid) -> Solid {
    Solid::Mesh(solid.to_mesh(1e-3))
}

#[test]
fn the_pieces_fill_the_solid_and_share_nothing() {
    for solid in [
        block(DVec3::ONE, DVec3::new(1.0, 2.0, 3.0)),
        step(),
        tube(),
        as_mesh(&step()),
        as_mesh(&tube()),
    ] {
        let volume = pieces_volume(&solid);
        assert!((volume / solid.volume() - 1.0).abs() < 3e-3, "{volume} {}", solid.volume());
    }
    assert_eq!(block(DVec3::ONE, DVec3::ONE).convex_pieces().unwrap().len(), 1);
    assert_eq!(step().convex_pieces().unwrap().len(), 2);
    assert_eq!(as_mesh(&step()).convex_pieces().unwrap().len(), 2);
}

#[test]
fn an_open_mesh_has_no_pieces() {
    let mut mesh = step().to_mesh(1e-3);
    mesh.closed = false;
    assert!(Solid::Mesh(mesh).convex_pieces().is_err());
}

#[test]
fn a_hole_through_takes_its_volume_and_an_operand_that_misses_leaves_the_solid_exact() {
    let joist = block(DVec3::ZERO, DVec3::new(4.0, 0.047, 0.22));
    let hole =
        Solid::Cylinder(Cylinder { from: DVec3::NEG_Y, to: DVec3::Y, radius: 0.03, inner: None });
    let cut = joist.minus(&[&hole]).unwrap().unwrap();
    let expected = 0.047 * (4.0 * 0.22 - std::f64::consts::PI * 0.03 * 0.03);
    assert!((cut.volume() / expected - 1.0).abs() < 1e-4);
    let Solid::Mesh(mesh) = &cut else { panic!() };
    assert!(mesh.closed);
    let away = block(DVec3::X * 10.0, DVec3::ONE);
    assert_eq!(joist.minus(&[&away]).unwrap(), Some(joist.clone()));
}

#[test]
fn flush_faces_neither_stay_as_skins_nor_vanish() {
    let body = block(DVec3::ZERO, DVec3::splat(2.0));
    // Flush at the top, touching from outside, and equal.
    let notch = block(DVec3::new(0.0, 0.0, 0.5), DVec3::new(1.0, 4.0, 1.0));
    let cut = body.minus(&[&notch]).unwrap().unwrap();
    assert!((cut.volume() - 6.0).abs() < 1e-9);
    let beside = block(DVec3::X * 2.0, DVec3::splat(2.0));
    let same = body.minus(&[&beside]).unwrap().unwrap();
    assert!((same.volume() - 8.0).abs() < 1e-9);
    assert_eq!(body.minus(&[&body]).unwrap(), None);
    assert!((body.plus(&beside).unwrap().volume() - 16.0).abs() < 1e-9);
    assert!((body.plus(&body).unwrap().volume() - 8.0).abs() < 1e-9);
    assert!((body.common(&notch).unwrap().unwrap().volume() - 2.0).abs() < 1e-9);
}

proptest! {
    #[test]
    fn difference_and_common_part_add_up(
        shift in prop::array::uniform3(-1.5..1.5_f64),
        axis in prop::array::uniform3(-1.0..1.0_f64),
        angle in prop_oneof![Just(0.0), 0.0..3.0_f64],
        snap in any::<bool>(),
        first in 0..4_usize,
        second in 0..4_usize,
        meshed in any::<bool>(),
    ) {
        let solids =
            [block(DVec3::ZERO, DVec3::new(2.0, 1.0, 1.0)), step(), tube(), dotted_step()];
        // On a half-metre grid faces often coincide.
        let shift = DVec3::from_array(shift);
        let shift = if snap { (shift * 2.0).round() / 2.0 } else { shift };
        let axis = DVec3::from_array(axis).try_normalize().unwrap_or(DVec3::Z);
        let turn = DAffine3::from_rotation_translation(DQuat::from_axis_angle(axis, if snap { 0.0 } else { angle }), shift);
        let a = as_mesh(&solids[first]);
        let b = solids[second].transformed(&turn).unwrap();
        // An exact tube has a chord's many pieces: slow here, and no other case.
        let meshed = meshed || second == 2;
        let b = if meshed { as_mesh(&b) } else { b };
        let left = a.minus(&[&b]).unwrap().map_or(0.0, |s| s.volume());
        let shared = a.common(&b).unwrap().map_or(0.0, |s| s.volume());
        prop_assert!((left + shared - a.volume()).abs() < 1e-5, "{left} + {shared} != {}", a.volume());
        if meshed {
            let shared_back = b.common(&a).unwrap().map_or(0.0, |s| s.volume());
            prop_assert!((shared - shared_back).abs() < 1e-5, "{shared} {shared_back}");
        }
    }
}

#[test]
fn separate_parts_are_separate_pieces() {
    let mut both: Mesh = block(DVec3::ZERO, DVec3::ONE).to_mesh(1e-3);
    both.append(&block(DVec3::X * 3.0, DVec3::ONE).to_mesh(1e-3));
    assert_eq!(Solid::Mesh(both).convex_pieces().unwrap().len(), 2);
}

#[test]
fn a_groove_of_several_convex_pieces_takes_its_volume() {
    // A window rail: the groove runs past both ends and out of two faces.
    let rail = block(DVec3::new(0.8575, 0.0, 0.0), DVec3::new(1.715, 0.114, 0.09));
    let outer: Vec<DVec2> = [
        (0.0, 0.0),
        (18.0, 0.0),
        (18.0, 52.0),
        (24.0, 55.0),
        (24.0, 62.0),
        (18.0, 65.0),
        (18.0, 73.0),
        (0.0, 73.0),
    ]
    .map(|(x, y)| DVec2::new(x, y) / 1000.0)
    .to_vec();
    // x of the profile is up, y across, and it is swept along −x.
    let frame = DAffine3 {
        matrix3: glam::DMat3::from_cols(DVec3::Z, DVec3::Y, DVec3::NEG_X),
        translation: DVec3::new(1.7155, -0.015, -0.046),
    };
    let groove = Solid::Prism(Prism {
        frame,
        profile: Profile::Rings { outer, holes: vec![], chord: 0.0 },
        sweep: DVec3::X * -1.716,
    });
    let mesh = rail.to_mesh(1e-4);
    let mut left = mesh.clone();
    for piece in groove.convex_pieces().unwrap() {
        let shared = left.common_convex(&piece).volume();
        let next = left.minus_convex(&piece);
        assert!(
            (left.volume() - shared - next.volume()).abs() < 1e-9,
            "{} - {shared} is not {}",
            left.volume(),
            next.volume()
        );
        left = next;
    }
    let cut = rail.minus(&[&groove]).unwrap().unwrap();
    assert!((cut.volume() - left.volume()).abs() < 1e-9);
    let shared = rail.common(&groove).unwrap().unwrap().volume();
    assert!((shared + cut.volume() - rail.volume()).abs() < 1e-9);
}
