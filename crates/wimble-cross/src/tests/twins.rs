//! Slow twins and invariances over random services.

use crate::body::Body;
use crate::crossed::Crossed;
use crate::figures::{Around, cut, lone};
use crate::merge::together;
use crate::settings::Passage;
use crate::testing::{Build, JOIST};
use crate::timber::Timber;
use crate::{cross, recut};
use glam::{DVec2, DVec3};
use proptest::prelude::*;
use wimble_geom::Aabb;
use wimble_model::{Cut, MemberIx, Section, ServiceIx};

#[derive(Debug, Clone, Copy)]
struct Pipe {
    diameter: f64,
    from: DVec3,
    to: DVec3,
}

fn any_pipe() -> impl Strategy<Value = Pipe> {
    let point = || {
        (0.0..1200.0f64, -150.0..150.0f64, -180.0..180.0f64)
            .prop_map(|(x, y, z)| DVec3::new(x, y, z))
    };
    (6.0..120.0f64, point(), point())
        .prop_filter("a length", |(_, from, to)| from.distance(*to) > 20.0)
        .prop_map(|(diameter, from, to)| Pipe { diameter, from, to })
}

fn build(pipes: &[Pipe], origin: DVec3, turn: f64) -> Build {
    let mut build = Build::at(origin, turn);
    build.member(JOIST, 1200.0, DVec3::ZERO);
    build.member(JOIST, 1200.0, DVec3::new(0.0, 60.0, 0.0));
    for pipe in pipes {
        build.pipe(pipe.diameter, pipe.from.to_array(), pipe.to.to_array());
    }
    build
}

/// Points all through a pipe of this diameter.
fn points(pipe: Pipe, diameter: f64) -> impl Iterator<Item = DVec3> {
    let along = (pipe.to - pipe.from).normalize();
    let (u, v) = along.any_orthonormal_pair();
    (0..=160).flat_map(move |i| {
        (0..36).flat_map(move |j| {
            (0..=6).map(move |k| {
                let arm = DVec2::from_angle(f64::from(j) * std::f64::consts::TAU / 36.0)
                    * (diameter / 2.0 * f64::from(k) / 6.0);
                pipe.from.lerp(pipe.to, f64::from(i) / 160.0) + arm.x * u + arm.y * v
            })
        })
    })
}

fn same(a: &[Cut], b: &[Cut], within: f64) -> bool {
    a.len() == b.len()
        && a.iter().zip(b).all(|(a, b)| {
            (a.member, &a.services, &a.besides.inside, a.shared)
                == (b.member, &b.services, &b.besides.inside, b.shared)
                && a.min_mm.distance(b.min_mm) < within
                && a.max_mm.distance(b.max_mm) < within
                && (a.bit_mm - b.bit_mm).abs() < within
        })
}

proptest! {
    /// Points through the pipe: what they show is met, and lies in the envelope.
    #[test]
    fn every_point_of_the_pipe_in_the_member_is_in_its_cut(pipe in any_pipe()) {
        let mut build = Build::new();
        build.member(JOIST, 1200.0, DVec3::ZERO);
        build.pipe(pipe.diameter, pipe.from.to_array(), pipe.to.to_array());
        let cuts = build.cuts();
        let whole = Aabb { min: DVec3::new(0.0, -23.5, -110.0), max: DVec3::new(1200.0, 23.5, 110.0) };
        let inside = |p: &DVec3| p.cmpge(whole.min).all() && p.cmple(whole.max).all();
        let bare = Aabb::of(points(pipe, pipe.diameter).filter(inside));
        if !bare.is_empty() && bare.size().min_element() > 1.0 {
            prop_assert_eq!(cuts.len(), 1);
        }
        if let [cut] = &cuts[..] {
            let grown = Aabb::of(points(pipe, pipe.diameter + 5.0).filter(inside));
            prop_assert!(grown.is_empty() || (grown.min - cut.min_mm).min_element() > -1e-6);
            prop_assert!(grown.is_empty() || (cut.max_mm - grown.max).min_element() > -1e-6);
            // And it is no larger than the points' own pitch explains, where it is well shaped.
            let pitch = (pipe.from.distance(pipe.to) / 160.0).max(pipe.diameter / 10.0);
            if !grown.is_empty() && bare.size().min_element() > 3.0 * pitch {
                let open = Aabb::of(points(pipe, pipe.diameter + 5.0).filter(|p| {
                    p.with_z(0.0).cmpge(whole.min).all() && p.with_z(0.0).cmple(whole.max).all()
                }));
                prop_assert!((open.min - cut.min_mm).x < 6.0 * pitch);
                prop_assert!((cut.max_mm - open.max).x < 6.0 * pitch);
                prop_assert!((grown.min - cut.min_mm).z < 6.0 * pitch);
                prop_assert!((cut.max_mm - grown.max).z < 6.0 * pitch);
            }
        }
    }

    /// A service with nothing beside it takes a short way: the long one gives the same cut.
    #[test]
    fn alone_or_among_others_a_service_makes_the_same_cut(pipe in any_pipe()) {
        let mut build = build(&[pipe], DVec3::ZERO, 0.0);
        let i_joist =
            Section::IJoist { breadth_mm: 63.5, depth_mm: 220.0, flange_mm: 45.0, web_mm: 10.0 };
        let open_web =
            Section::OpenWeb { breadth_mm: 72.0, depth_mm: 220.0, chord_mm: 47.0, webs_known: false };
        for section in [i_joist, open_web] {
            build.member(section, 1200.0, DVec3::ZERO);
        }
        for (member, body) in build.scene.members.iter().zip(&build.scene.member_bodies) {
            let timber = Timber::new(member, body);
            let passage = Passage::of(&build.scene.services[0], &build.settings);
            let bare = Body::of_service(&build.scene.service_bodies[0], &member.frame, 0.0);
            let Some(crossed) = Crossed::service(&timber, ServiceIx(0), bare, passage, &[]) else {
                continue;
            };
            let around = Around {
                member: MemberIx(0),
                services: &build.scene.services,
                clearance: &build.settings.clearance,
            };
            let among = together(&timber, std::slice::from_ref(&crossed), |_| 0);
            let among: Vec<Cut> =
                among.iter().map(|merged| cut(&timber, merged, false, &around)).collect();
            prop_assert_eq!(among, [lone(&timber, &crossed, &around)]);
            // What it stands proud by has a short way too.
            let section = timber.section();
            let proud = crossed.proud(&timber, section);
            prop_assert!(crossed.rises() || proud == crossed.proud_at_length(&timber, section));
        }
    }

    #[test]
    fn turned_about_the_vertical_and_far_away_the_cuts_are_the_same(
        pipes in prop::collection::vec(any_pipe(), 1..6), turn in 0.0..6.2f64,
        far in (-1.0e7..1.0e7f64, -1.0e7..1.0e7f64)) {
        let here = build(&pipes, DVec3::ZERO, 0.0);
        let there = build(&pipes, DVec3::new(far.0, far.1, 300.0), turn);
        prop_assert!(same(&here.cuts(), &there.cuts(), 0.01));
    }

    #[test]
    fn any_number_of_threads_gives_identical_cuts(pipes in prop::collection::vec(any_pipe(), 1..9)) {
        let build = build(&pipes, DVec3::ZERO, 0.0);
        let with = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| cross(&build.scene, &build.settings))
        };
        prop_assert_eq!(with(1), with(3));
    }

    #[test]
    fn a_recut_is_what_crossing_the_changed_scene_gives(
        pipes in prop::collection::vec(any_pipe(), 2..6), moved in any_pipe()) {
        let before = build(&pipes, DVec3::ZERO, 0.0);
        let mut changed = pipes;
        changed[0] = moved;
        let after = build(&changed, DVec3::ZERO, 0.0);
        let body = after.scene.service_bodies[0].clone();
        for member in [MemberIx(0), MemberIx(1)] {
            let again =
                recut(&before.scene, &before.settings, member, &[(ServiceIx(0), body.clone())]);
            let whole: Vec<Cut> = after.cuts().into_iter().filter(|c| c.member == member).collect();
            prop_assert!(same(&again, &whole, 1e-9));
        }
    }

    /// The order in which services are listed shows in their indices only.
    #[test]
    fn the_order_of_services_does_not_matter(pipes in prop::collection::vec(any_pipe(), 2..7)) {
        let backwards: Vec<_> = pipes.iter().rev().copied().collect();
        let bounds = |pipes: &[Pipe]| {
            build(pipes, DVec3::ZERO, 0.0)
                .cuts()
                .iter()
                .map(|c| (c.member, c.kind, c.min_mm.to_array(), c.max_mm.to_array(), c.shared))
                .collect::<Vec<_>>()
        };
        prop_assert_eq!(bounds(&pipes), bounds(&backwards));
    }
}
