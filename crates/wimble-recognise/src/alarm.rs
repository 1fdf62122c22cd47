//! What a person should know of the files as a whole: whether they lie in one place (services that
//! meet no member at all are an alarm), and GlobalIds that repeat.

use crate::candidate::{Candidate, Family};
use crate::pieces::Piece;
use crate::scene::{ServiceBody, Warning};
use glam::DVec3;
use rstar::primitives::Rectangle;
use rstar::{AABB, RTree};
use rustc_hash::FxHashMap;
use wimble_geom::Aabb;
use wimble_model::{Member, Service};

/// Places of one kind of thing with the file of each.
pub(crate) type Places = [(u32, Aabb)];

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

/// An alarm for each file whose services meet no member of any file.
pub(crate) fn alarms(members: &Places, services: &Places, inputs: usize) -> Vec<Warning> {
    if members.is_empty() || services.is_empty() {
        return Vec::new();
    }
    let boxes = members
        .iter()
        .map(|(_, b)| Rectangle::from_corners(b.min.to_array(), b.max.to_array()))
        .collect();
    let tree = RTree::bulk_load(boxes);
    let meets = |place: &Aabb, shift: DVec3| {
        let moved =
            AABB::from_corners((place.min + shift).to_array(), (place.max + shift).to_array());
        tree.locate_in_envelope_intersecting(moved).next().is_some()
    };
    let all_members = members.iter().fold(Aabb::EMPTY, |all, (_, b)| all.union(*b));
    (0u32..)
        .take(inputs)
        .filter_map(|input| {
            let own: Vec<&Aabb> =
                services.iter().filter(|(i, _)| *i == input).map(|(_, b)| b).collect();
            if own.is_empty() || own.iter().any(|place| meets(place, DVec3::ZERO)) {
                return None;
            }
            let all = own.iter().fold(Aabb::EMPTY, |all, b| all.union(**b));
            let apart = !all.grown(1.0).touches(all_members);
            // The shifts that would lay the two buildings on each other; the one that makes most
            // services meet a member is named.
            let shifts = [
                all_members.min - all.min,
                all_members.max - all.max,
                all_members.centre() - all.centre(),
            ];
            let hits = |shift: DVec3| own.iter().filter(|place| meets(place, shift)).count();
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
    members: &[Member],
    pieces: &[Piece],
    services: &[Service],
    bodies: &[ServiceBody],
    inputs: usize,
) -> Vec<Warning> {
    let member_places: Vec<_> = members
        .iter()
        .zip(pieces)
        .map(|(m, p)| (m.element.input, p.stick.figure.world_box()))
        .collect();
    let service_places: Vec<_> =
        services.iter().zip(bodies).map(|(s, b)| (s.element.input, place(b))).collect();
    alarms(&member_places, &service_places, inputs)
}

/// GlobalIds that several elements have.
pub(crate) fn same_ids(candidates: &[Candidate], inputs: usize) -> Vec<Warning> {
    let mut seen: FxHashMap<&str, (u32, u32)> = FxHashMap::default();
    let mut within = vec![0u32; inputs];
    let mut across = 0u32;
    for candidate in candidates
        .iter()
        .filter(|c| !matches!(c.family, Family::Spatial | Family::PortOrAnnotation))
    {
        let guid = candidate.element.guid.as_str();
        if guid.is_empty() {
            continue;
        }
        let input = candidate.element.input;
        match seen.get_mut(guid) {
            None => _ = seen.insert(guid, (input, 1)),
            Some((first, count)) => {
                *count += 1;
                if *first == input {
                    if let Some(n) = within.get_mut(input as usize) {
                        *n += 1;
                    }
                } else {
                    across += 1;
                }
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

    #[test]
    fn services_that_miss_by_one_vector_are_told_with_it() {
        let members = [(0, at(0.0, 0.0, 2.4)), (0, at(0.0, 0.4, 2.4))];
        let services = [(1, at(100.0, 200.0, 2.4)), (1, at(100.0, 200.4, 2.4))];
        let alarms = alarms(&members, &services, 2);
        assert_eq!(alarms.len(), 1);
        assert!(alarms[0].text.contains("(-100.000, -200.000, 0.000) m"), "{}", alarms[0].text);
    }

    #[test]
    fn services_that_meet_a_member_are_no_alarm() {
        let members = [(0, at(0.0, 0.0, 2.4))];
        assert!(alarms(&members, &[(1, at(1.0, 0.0, 2.5))], 2).is_empty());
    }
}
