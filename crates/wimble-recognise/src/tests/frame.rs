//! The member frame of measuring.md, sentence by sentence.

use super::*;
use wimble_model::Section;

fn size(member: &Member) -> [f64; 3] {
    [member.length_mm, member.section.breadth_mm(), member.section.depth_mm()]
}

fn assert_same(one: &Member, other: &Member) {
    for (a, b) in size(one).into_iter().zip(size(other)) {
        assert!(near(a, b), "{:?} {:?}", size(one), size(other));
    }
    assert!(
        one.frame.origin_m.distance(other.frame.origin_m) < 1e-4,
        "{:?} {:?}",
        one.frame,
        other.frame
    );
    assert!(one.frame.x.distance(other.frame.x) < 1e-4, "{:?} {:?}", one.frame, other.frame);
    assert!(one.frame.z.distance(other.frame.z) < 1e-4, "{:?} {:?}", one.frame, other.frame);
    assert_eq!(one.section.word(), other.section.word());
}

#[test]
fn x_has_the_sense_of_k_whatever_way_the_body_is_swept() {
    for (from, to) in [(0.0, 4000.0), (4000.0, 0.0)] {
        let solid = Solid::Prism(Prism {
            frame: DAffine3::from_translation(DVec3::new(0.0, from / 1000.0, 2.5))
                * DAffine3::from_mat3(DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y)),
            profile: Profile::Rectangle { x: 0.047, y: 0.22 },
            sweep: DVec3::new(0.0, (to - from) / 1000.0, 0.0),
        });
        let scene = scene_of(vec![timber("J", solid)]);
        let member = only(&scene);
        assert!(member.frame.x.distance(DVec3::Y) < 1e-12);
        assert!(member.frame.origin_m.distance(DVec3::new(0.0, 0.0, 2.5)) < 1e-9);
        assert!(member.frame.z.distance(DVec3::Z) < 1e-12);
    }
}

#[test]
fn the_sense_of_x_follows_the_azimuth() {
    let k = DVec3::new(0.935, 0.353, 0.05);
    for degrees in [0, 30, 90, 135, 180, 270, 300] {
        let turn = DAffine3::from_rotation_z(f64::from(degrees).to_radians());
        let solid = moved(&block([0.0, -23.5, 0.0], [4000.0, 23.5, 220.0], 0), &turn);
        let scene = scene_of(vec![timber("J", solid)]);
        assert!(only(&scene).frame.x.dot(k) > 0.0, "{degrees}");
        assert!(near(only(&scene).length_mm, 4000.0));
    }
}

#[test]
fn every_representation_gives_the_same_member() {
    let reference = scene_of(vec![timber("J", block([0.0, 0.0, 0.0], [4200.0, 47.0, 220.0], 0))]);
    let outline = [[0.0, 0.0], [4200.0, 0.0], [4200.0, 220.0], [0.0, 220.0]];
    let others = [
        block([0.0, 0.0, 0.0], [4200.0, 47.0, 220.0], 1),
        block([0.0, 0.0, 0.0], [4200.0, 47.0, 220.0], 2),
        slab_of(&outline, [0.0, 47.0]),
        bar_of(&[[0.0, 0.0], [47.0, 0.0], [47.0, 220.0], [0.0, 220.0]], [0.0, 4200.0]),
        mesh(&block([0.0, 0.0, 0.0], [4200.0, 47.0, 220.0], 0)),
        loose(&slab_of(&outline, [0.0, 47.0])),
    ];
    for turn in [0.0_f64, 17.3, 211.0] {
        let far = DAffine3::from_translation(DVec3::new(512_345.6, 5_403_210.9, 87.4))
            * DAffine3::from_rotation_z(turn.to_radians());
        let first = only(&reference).clone();
        let at = scene_of(vec![timber(
            "J",
            moved(&block([0.0, 0.0, 0.0], [4200.0, 47.0, 220.0], 0), &far),
        )]);
        assert!(near(only(&at).length_mm, first.length_mm));
        for solid in &others {
            let scene = scene_of(vec![timber("J", moved(solid, &far))]);
            assert_same(only(&at), only(&scene));
        }
    }
}

#[test]
fn a_skew_end_counts_to_its_longest_point_and_cuts_the_body() {
    // Sawn at 45 degrees in plan at one end, plumb at the other.
    let prism = block([0.0, 0.0, 0.0], [4200.0, 100.0, 220.0], 0);
    let normal = DVec3::new(1.0, 1.0, 0.0).normalize();
    let plane = wimble_geom::Plane::through(DVec3::new(4.2, 0.0, 0.0), normal).expect("a plane");
    let cut = Solid::Mesh(prism.to_mesh(1e-4).clipped(&plane));
    let scene = scene_of(vec![timber("J", cut)]);
    let member = only(&scene);
    assert!(near(member.length_mm, 4200.0), "{}", member.length_mm);
    assert_eq!(member.section.word(), "rectangle");
    let body = &scene.member_bodies[0];
    let [crate::scene::Part { shape: crate::scene::PartShape::Box { ends, bounds }, .. }] =
        body.parts.as_slice()
    else {
        panic!("one box: {body:?}")
    };
    assert!(near(bounds.max.x, 4200.0) && near(bounds.size().y, 100.0));
    assert_eq!(ends.len(), 1);
    assert!(ends[0].normal.distance(normal) < 1e-6);
}

#[test]
fn a_birdsmouth_changes_neither_axis_nor_section() {
    // A rafter at 35 degrees with a seat cut, swept through its breadth.
    let (s, c) = 35f64.to_radians().sin_cos();
    let along = |x: f64, z: f64| [x * c - z * s, x * s + z * c];
    let outline = [
        along(0.0, 0.0),
        along(600.0, 0.0),
        along(657.0, 40.0),
        along(690.0, 0.0),
        along(4000.0, 0.0),
        along(4000.0, 150.0),
        along(0.0, 150.0),
    ];
    let scene = scene_of(vec![timber("R", slab_of(&outline, [0.0, 47.0]))]);
    let member = only(&scene);
    assert!(
        near(member.length_mm, 4000.0) && near(member.section.depth_mm(), 150.0),
        "{:?}",
        size(member)
    );
    assert!(near(member.section.breadth_mm(), 47.0));
    assert_eq!(member.kind.word(), "rafter");
    assert!(!member.varies);
}

#[test]
fn a_level_plank_takes_the_upright_side_for_its_depth() {
    let scene = scene_of(vec![timber("P", block([0.0, 0.0, 0.0], [4000.0, 220.0, 47.0], 0))]);
    assert!(near(only(&scene).section.depth_mm(), 47.0));
    // Rolled by 30 degrees the more upright side still counts.
    let roll = DAffine3::from_rotation_x(30f64.to_radians());
    let scene = scene_of(vec![timber(
        "P",
        moved(&block([0.0, 0.0, 0.0], [4000.0, 220.0, 47.0], 0), &roll),
    )]);
    assert!(near(only(&scene).section.depth_mm(), 47.0));
    // At 45 degrees both are equally upright: the longer side.
    let roll = DAffine3::from_rotation_x(45f64.to_radians());
    let scene = scene_of(vec![timber(
        "P",
        moved(&block([0.0, 0.0, 0.0], [4000.0, 220.0, 47.0], 0), &roll),
    )]);
    assert!(near(only(&scene).section.depth_mm(), 220.0));
}

#[test]
fn a_round_member_takes_the_vertical_made_square_to_x() {
    let pole = Solid::Cylinder(wimble_geom::Cylinder {
        from: DVec3::new(0.0, 0.0, 2.0),
        to: DVec3::new(4.0, 0.0, 2.5),
        radius: 0.075,
        inner: None,
    });
    for solid in [pole.clone(), mesh(&pole)] {
        let scene = scene_of(vec![timber("R", solid)]);
        let member = only(&scene);
        let Section::Round { diameter_mm } = member.section else { panic!("{:?}", member.section) };
        assert!((diameter_mm - 150.0).abs() < 0.3, "{diameter_mm}");
        assert!(member.frame.z.y.abs() < 1e-9 && member.frame.z.z > 0.9, "{:?}", member.frame);
    }
}

#[test]
fn a_stud_takes_the_direction_across_its_wall() {
    let stud = |name: &str, x: f64, size: [f64; 2]| {
        element(
            Family::Member,
            name,
            "C16",
            vec![block([x, 0.0, 38.0], [x + size[0], size[1], 2438.0], 2)],
        )
    };
    let sole = |b: f64| timber("sole plate", block([0.0, 0.0, 0.0], [3000.0, b, 38.0], 0));
    // 89 × 38 laid flat in its wall: the depth is 38, across the wall along x.
    let scene = scene_of(vec![sole(38.0), stud("S", 300.0, [89.0, 38.0])]);
    let member = named(&scene, "S");
    assert!(near(member.section.depth_mm(), 38.0), "{:?}", member.section);
    // Without plates the longer side.
    let scene = scene_of(vec![stud("S", 300.0, [89.0, 38.0])]);
    assert!(near(only(&scene).section.depth_mm(), 89.0));
    // Equal sides: the one nearer to k, that is x.
    let scene = scene_of(vec![stud("S", 300.0, [90.0, 90.0])]);
    assert!(only(&scene).frame.z.distance(DVec3::X) < 1e-9);
    assert!(only(&scene).frame.x.distance(DVec3::Z) < 1e-9);
}

#[test]
fn the_origin_is_the_centre_of_the_section_at_the_least_x() {
    let scene = scene_of(vec![timber("J", block([100.0, 0.0, 2400.0], [4300.0, 47.0, 2620.0], 0))]);
    assert!(only(&scene).frame.origin_m.distance(DVec3::new(0.1, 0.0235, 2.51)) < 1e-9);
}

#[test]
fn a_tapered_beam_varies_and_gives_the_depth_at_its_middle() {
    let outline = [[0.0, 0.0], [6000.0, 0.0], [6000.0, 400.0], [0.0, 200.0]];
    for solid in [slab_of(&outline, [0.0, 90.0]), mesh(&slab_of(&outline, [0.0, 90.0]))] {
        let scene = scene_of(vec![timber("T", solid)]);
        let member = only(&scene);
        assert!(member.varies);
        assert!(near(member.length_mm, 6000.0));
        assert!((member.section.depth_mm() - 300.0).abs() < 1.0, "{:?}", member.section);
    }
}

#[test]
fn a_curved_beam_varies_and_runs_along_its_chord() {
    let arc = |r: f64, degrees: f64| {
        let (s, c) = degrees.to_radians().sin_cos();
        [r * s, r * c - 10_000.0]
    };
    let n = 24;
    let angle = |i: i32| -20.0 + 40.0 * f64::from(i) / f64::from(n);
    let lower = (0..=n).map(|i| arc(10_000.0, angle(i)));
    let upper = (0..=n).rev().map(|i| arc(10_400.0, angle(i)));
    let outline: Vec<[f64; 2]> = lower.chain(upper).collect();
    let scene = scene_of(vec![timber("C", mesh(&slab_of(&outline, [0.0, 140.0])))]);
    let member = only(&scene);
    assert!(member.varies);
    assert!(member.frame.x.distance(DVec3::X) < 1e-3, "{:?}", member.frame.x);
    assert!((member.section.depth_mm() - 400.0).abs() < 2.0, "{:?}", member.section);
}

const I_SECTION: [[f64; 2]; 12] = [
    [-22.5, 0.0],
    [22.5, 0.0],
    [22.5, 45.0],
    [5.0, 45.0],
    [5.0, 195.0],
    [22.5, 195.0],
    [22.5, 240.0],
    [-22.5, 240.0],
    [-22.5, 195.0],
    [-5.0, 195.0],
    [-5.0, 45.0],
    [-22.5, 45.0],
];

#[test]
fn an_i_joist_is_one_from_profile_mesh_three_items_and_three_elements() {
    let profile = bar_of(&I_SECTION, [0.0, 4400.0]);
    let flange = |z: f64| block([0.0, -22.5, z], [4400.0, 22.5, z + 45.0], 0);
    let web = block([0.0, -5.0, 45.0], [4400.0, 5.0, 195.0], 0);
    let web_element = element(Family::Plate, "web", "OSB", vec![web.clone()]);
    let variants = [
        vec![timber("I", profile.clone())],
        vec![timber("I", mesh(&profile))],
        vec![timber("I", loose(&profile))],
        vec![element(Family::Beam, "I", "C24", vec![flange(0.0), web.clone(), flange(195.0)])],
        vec![timber("I", flange(0.0)), timber("top", flange(195.0)), web_element],
        vec![timber("I", flange(0.0)), timber("top", flange(195.0)), timber("web", web)],
    ];
    for (n, variant) in variants.into_iter().enumerate() {
        let scene = scene_of(variant);
        let member = only(&scene);
        let Section::IJoist { breadth_mm, depth_mm, flange_mm, web_mm } = member.section else {
            panic!("variant {n}: {:?}", member.section)
        };
        assert!(
            near(breadth_mm, 45.0) && near(depth_mm, 240.0),
            "variant {n}: {:?}",
            member.section
        );
        assert!(near(flange_mm, 45.0) && near(web_mm, 10.0), "variant {n}: {:?}", member.section);
        let kinds: Vec<_> = scene.member_bodies[0].parts.iter().map(|p| p.kind).collect();
        use crate::scene::PartKind::{Flange, Web};
        assert_eq!(kinds, [Flange, Web, Flange], "variant {n}");
        assert_eq!(member.element.name.as_deref(), Some("I"), "variant {n}");
    }
}

/// By their lengths the flanges are the two longest, as the chords of an open-web joist would be,
/// and the name says that it is a made thing: the board between them decides.
#[test]
fn flanges_with_a_board_between_are_no_open_web_joist() {
    let flange = |z: f64| block([0.0, -22.5, z], [4400.0, 22.5, z + 45.0], 0);
    let web = block([0.0, -5.0, 45.0], [4399.9, 5.0, 195.0], 0);
    let scene = scene_of(vec![element(
        Family::Beam,
        "I-joist",
        "C24",
        vec![flange(0.0), web, flange(195.0)],
    )]);
    let section = only(&scene).section;
    assert!(matches!(section, Section::IJoist { .. }), "{section:?}");
}

fn open_web() -> Vec<Solid> {
    let chord = |z: f64| block([0.0, -36.0, z], [4400.0, 36.0, z + 47.0], 0);
    let web = |x: f64| {
        slab_of(&[[x, 40.0], [x + 40.0, 40.0], [x + 340.0, 214.0], [x + 300.0, 214.0]], [-1.0, 1.0])
    };
    vec![chord(0.0), web(0.0), web(600.0), web(1200.0), chord(207.0)]
}

#[test]
fn an_open_web_joist_is_one_from_items_and_from_an_assembly() {
    let items = element(Family::Beam, "OW", "C24", open_web());
    let mut assembly = vec![element(Family::Assembly, "OW", "", Vec::new())];
    assembly[0].has_parts = true;
    for (n, solid) in open_web().into_iter().enumerate() {
        let material = if (1..4).contains(&n) { "steel" } else { "C24" };
        assembly.push(Candidate {
            whole: Some(0),
            ..element(Family::Member, &format!("part {n}"), material, vec![solid])
        });
    }
    for candidates in [vec![items], assembly] {
        let scene = scene_of(candidates);
        let member = only(&scene);
        let Section::OpenWeb { breadth_mm, depth_mm, chord_mm, webs_known } = member.section else {
            panic!("{:?}", member.section)
        };
        assert!(
            near(breadth_mm, 72.0) && near(depth_mm, 254.0) && near(chord_mm, 47.0) && webs_known
        );
        assert_eq!(member.element.name.as_deref(), Some("OW"));
        assert_eq!(scene.member_bodies[0].parts.len(), 5);
    }
}

#[test]
fn items_that_touch_along_their_length_are_one_member_and_others_are_split() {
    let ply = |y: f64| block([0.0, y, 0.0], [4000.0, y + 47.0, 220.0], 0);
    let scene = scene_of(vec![element(Family::Beam, "2", "C24", vec![ply(0.0), ply(47.5)])]);
    assert!(near(only(&scene).section.breadth_mm(), 94.5), "{:?}", only(&scene).section);
    assert_eq!(only(&scene).element.item, None);
    let scene =
        scene_of(vec![element(Family::Beam, "3", "C24", vec![ply(0.0), ply(400.0), ply(800.0)])]);
    let items: Vec<_> = scene.members.iter().map(|m| m.element.item).collect();
    assert_eq!(items, [Some(0), Some(1), Some(2)]);
}
