//! What a person should know of the files as a whole: whether they lie in one place (services that
//! meet no member at all are an alarm), and GlobalIds that repeat.

use crate::candidate::{Candidate, Family};
use crate::neighbours::Neighbours;
use crate::scene::{ServiceBody, Warning};
use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::FxBuildHasher;
use std::hash::BuildHasher;
use wimble_geom::Aabb;
use wimble_model::Service;

/// The box of a service.
pub(crate) fn place(body: &ServiceBody) -> Aabb {
    match body {
        ServiceBody::Round { from, to, radius } => Aabb::of([*from, *to]).grown(*radius),
        ServiceBody::Rectangular { frame, half } => Aabb { min: -*half, max: *half }
            .corners()
            .into_iter()
            .fold(Aabb::EMPTY, |all, c| all.with(frame.transform_point3(c))),
        ServiceBody::Mesh(mesh) => mesh.bounds(),
        ServiceBody::Line { points } => Aabb::of(points.iter().copied()),
    }
}

/// An alarm for each file whose services meet no member of any file. `meets` tells whether any
/// member's box meets a box, `around_members` is the box of all; `services` gives the boxes of a file's services.
fn alarms<S: Iterator<Item = Aabb>>(
    meets: impl Fn(Aabb) -> bool,
    around_members: impl FnOnce() -> Aabb + Copy,
    services: impl Fn(u32) -> S,
    inputs: usize,
) -> Vec<Warning> {
    let meets =
        |place: Aabb, shift: DVec3| meets(Aabb { min: place.min + shift, max: place.max + shift });
    (0u32..)
        .take(inputs)
        .filter_map(|input| {
            // Nearly always one of the first meets a member.
            if services(input).any(|place| meets(place, DVec3::ZERO)) {
                return None;
            }
            let own: Vec<Aabb> = services(input).collect();
            let all_members = around_members();
            if own.is_empty() || all_members.is_empty() {
                return None;
            }
            let all = own.iter().fold(Aabb::EMPTY, |all, b| all.union(*b));
            let apart = !all.grown(1.0).touches(all_members);
            // The shifts that would lay the two buildings on each other; the one that makes most
            // services meet a member is named.
            let shifts = [
                all_members.min - all.min,
                all_members.max - all.max,
                all_members.centre() - all.centre(),
            ];
            let hits = |shift: DVec3| own.iter().filter(|place| meets(**place, shift)).count();
            let best = shifts
                .into_iter()
                .map(|shift| (hits(shift), shift))
                .max_by(|a, b| a.0.cmp(&b.0))
                .filter(|(hits, _)| *hits > 0);
            let text = match best {
                Some((hits, v)) if apart => format!(
                    "no service of this file meets any member; moved by ({:.3}, {:.3}, {:.3}) m, \
                     {hits} of {} would: the files do not seem to share an origin; export them \
                     with the same one",
                    v.x,
                    v.y,
                    v.z,
                    own.len()
                ),
                _ if apart => "no service of this file meets any member, and it lies apart from \
                     all of them: the files do not seem to share an origin; export them with the \
                     same one"
                    .to_owned(),
                _ => "no service of this file meets any member: if some should, see whether the \
                     files share an origin"
                    .to_owned(),
            };
            Some(Warning { input: Some(input), line: None, text })
        })
        .collect()
}

/// Alarms when files do not lie in one place.
pub(crate) fn told_apart(
    near: &Neighbours,
    services: &[Service],
    bodies: &[ServiceBody],
    inputs: usize,
) -> Vec<Warning> {
    let of_file = |input: u32| {
        let all = services.iter().zip(bodies);
        all.filter(move |(service, _)| service.element.input == input).map(|(_, body)| place(body))
    };
    let meets = |place: Aabb| !near.near(place).is_empty();
    alarms(meets, || near.bounds(), of_file, inputs)
}

/// GlobalIds that several elements have.
pub(crate) fn same_ids(candidates: &[Candidate], inputs: usize) -> Vec<Warning> {
    // By a hash of the GlobalId: what is alike then stands together, the first of the files first.
    let mut ids: Vec<(u64, u32)> = candidates
        .par_iter()
        .zip(0..u32::try_from(candidates.len()).unwrap_or(u32::MAX))
        .filter(|(c, _)| !matches!(c.family, Family::Spatial | Family::PortOrAnnotation))
        .filter(|(c, _)| !c.element.guid.is_empty())
        .map(|(c, at)| (FxBuildHasher.hash_one(c.element.guid.as_str()), at))
        .collect();
    ids.par_sort_unstable();
    let mut within = vec![0u32; inputs];
    let mut across = 0u32;
    for alike in ids.chunk_by(|a, b| a.0 == b.0).filter(|alike| alike.len() > 1) {
        let mut firsts: Vec<(&str, u32)> = Vec::new();
        for element in
            alike.iter().filter_map(|(_, at)| Some(&candidates.get(*at as usize)?.element))
        {
            match firsts.iter().find(|(guid, _)| *guid == element.guid) {
                None => firsts.push((&element.guid, element.input)),
                Some((_, first)) if *first == element.input => {
                    if let Some(n) = within.get_mut(element.input as usize) {
                        *n += 1;
                    }
                }
                Some(_) => across += 1,
            }
        }
    }
    let mut warnings: Vec<Warning> = (0u32..)
        .zip(within)
        .filter(|(_, n)| *n > 0)
        .map(|(input, n)| Warning {
            input: Some(input),
            line: None,
            text: match n {
                1 => "an element repeats a GlobalId of this file: they are told apart by instance"
                    .to_owned(),
                n => format!(
                    "{n} elements repeat a GlobalId of this file: they are told apart by instance"
                ),
            },
        })
        .collect();
    if across > 0 {
        warnings.push(Warning {
            input: None,
            line: None,
            text: format!("{across} elements have a GlobalId that another file uses too: they are told apart by file"),
        });
    }
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(x: f64, y: f64, z: f64) -> Aabb {
        Aabb { min: DVec3::new(x, y, z), max: DVec3::new(x + 4.0, y + 0.05, z + 0.2) }
    }

    fn told(members: &[Aabb], services: &[(u32, Aabb)], inputs: usize) -> Vec<Warning> {
        let around = || members.iter().fold(Aabb::EMPTY, |all, b| all.union(*b));
        let of_file =
            |input| services.iter().filter(move |(i, _)| *i == input).map(|(_, place)| *place);
        let meets = |place: Aabb| members.iter().any(|member| member.touches(place));
        alarms(meets, around, of_file, inputs)
    }

    #[test]
    fn services_that_miss_by_one_vector_are_told_with_it() {
        let members = [at(0.0, 0.0, 2.4), at(0.0, 0.4, 2.4)];
        let services = [(1, at(100.0, 200.0, 2.4)), (1, at(100.0, 200.4, 2.4))];
        let alarms = told(&members, &services, 2);
        assert_eq!(alarms.len(), 1);
        assert!(alarms[0].text.contains("(-100.000, -200.000, 0.000) m"), "{}", alarms[0].text);
    }

    #[test]
    fn services_that_meet_a_member_are_no_alarm() {
        let members = [at(0.0, 0.0, 2.4)];
        assert!(told(&members, &[(1, at(1.0, 0.0, 2.5))], 2).is_empty());
    }
}
