//! What is one removal before any overlap is looked at: pieces of one run united, nested services
//! listed inside, services in openings taken into them.

use crate::body::Body;
use crate::crossed::{Crossed, Envelope, Source, TOUCH_MM};
use crate::timber::{FAVOUR_MM, Timber};
use glam::DVec3;
use smallvec::SmallVec;
use wimble_geom::{Aabb, Cylinder};
use wimble_model::ServiceIx;

/// Round pieces of one run whose axes lie further apart than this, and beside each other, are a bundle
/// and not one line, mm.
const APART_MM: f64 = 1.0;
/// Sine of the angle up to which axes run side by side.
const PARALLEL: f64 = 0.02;
/// A service is inside another if it stands out of it by no more than this, mm.
const INSIDE_MM: f64 = 0.1;

/// Some of what crosses a member, by source; nearly always one service alone.
pub(crate) type Pieces<'c> = SmallVec<[&'c Crossed; 2]>;

/// Crossed bodies that are one removal: the pieces of one run, or one opening.
#[derive(Debug)]
pub(crate) struct Group<'c> {
    pub(crate) pieces: Pieces<'c>,
    /// Services wholly inside it.
    pub(crate) inside: Vec<ServiceIx>,
    pub(crate) envelope: Envelope,
}

impl<'c> Group<'c> {
    pub(crate) fn new(pieces: Pieces<'c>) -> Option<Self> {
        let envelope = pieces.iter().map(|piece| piece.envelope).reduce(|a, b| Envelope {
            bounds: a.bounds.union(b.bounds),
            end: a.end || b.end,
            ..a
        })?;
        Some(Self { pieces, inside: Vec::new(), envelope })
    }

    pub(crate) fn is_opening(&self) -> bool {
        self.pieces.iter().any(|p| matches!(p.source, Source::Opening(_)))
    }

    /// The services that make it; none for an opening.
    fn services(&self) -> impl Iterator<Item = ServiceIx> {
        self.pieces.iter().filter_map(|piece| piece.source.service())
    }

    /// Whether a point lies in one of its bodies.
    fn holds(&self, point: DVec3, slack: f64) -> bool {
        self.pieces.iter().any(|piece| piece.bare.holds(point, slack))
    }

    /// Whether all of another group's part in the member lies in this one.
    fn swallows(&self, other: &Group<'_>, timber: &Timber<'_>, grown: bool, slack: f64) -> bool {
        let mut points = other.pieces.iter().flat_map(|p| p.surface(timber, grown)).peekable();
        points.peek().is_some() && points.all(|p| self.holds(p, slack))
    }

    fn shared(&self) -> Aabb {
        self.pieces.iter().fold(Aabb::EMPTY, |all, p| all.union(p.shared))
    }
}

/// Whether two round pieces run side by side, as the cables of a bundle that is modelled as one
/// element do: each then takes its own place.
fn side_by_side(a: &Crossed, b: &Crossed) -> bool {
    let (Body::Round(a), Body::Round(b)) = (&a.bare, &b.bare) else { return false };
    let along = |bar: &Cylinder| (bar.to - bar.from).normalize_or_zero();
    let way = along(a);
    if way.cross(along(b)).length() > PARALLEL {
        return false;
    }
    let between = b.from.midpoint(b.to) - a.from.midpoint(a.to);
    let aside = (between - between.dot(way) * way).length();
    let lengths = (a.from.distance(a.to) + b.from.distance(b.to)) / 2.0;
    aside > APART_MM && between.dot(way).abs() < lengths - APART_MM
}

/// Parts what crosses a member along it, and puts it in that order: nothing of one part touches,
/// holds or overlaps anything of another, so that only what lies together is held against each other.
pub(crate) fn apart(crossed: &mut [Crossed]) -> impl Iterator<Item = &[Crossed]> {
    crossed.sort_by(|a, b| a.reach().0.total_cmp(&b.reach().0));
    let mut end = f64::NEG_INFINITY;
    crossed.chunk_by(move |before, next| {
        end = end.max(before.reach().1);
        next.reach().0 <= end
    })
}

/// Unites the pieces of each run that touch inside the member, one behind the other. `run` tells a
/// service's run.
pub(crate) fn unite<'c>(
    crossed: impl IntoIterator<Item = &'c Crossed>,
    run: impl Fn(ServiceIx) -> u32,
) -> Vec<Group<'c>> {
    let run_of = |piece: &Crossed| piece.source.service().map(&run);
    let mut sets: Vec<Pieces<'_>> = Vec::new();
    for piece in crossed {
        let touches = |set: &Pieces<'_>| {
            run_of(piece).is_some()
                && set.iter().any(|other| {
                    run_of(other) == run_of(piece)
                        && !side_by_side(other, piece)
                        && other.shared.grown(TOUCH_MM).touches(piece.shared)
                })
        };
        let (mut joined, apart): (Vec<_>, Vec<_>) = sets.into_iter().partition(touches);
        sets = apart;
        let mut set: Pieces<'_> = joined.drain(..).flatten().collect();
        set.push(piece);
        sets.push(set);
    }
    sets.into_iter()
        .filter_map(|mut set| {
            set.sort_by_key(|piece| piece.source);
            Group::new(set)
        })
        .collect()
}

/// Lists services wholly inside another beside it: a cable in its conduit, a pipe in its sleeve.
/// Of two that fill each other the first stays.
pub(crate) fn nest<'c>(timber: &Timber<'_>, mut groups: Vec<Group<'c>>) -> Vec<Group<'c>> {
    groups.sort_by_key(|g| g.pieces.iter().map(|p| p.source).min());
    let size = |g: &Group<'_>| g.shared().size().element_product();
    let outer_of = |i: usize| {
        let inner = &groups[i];
        groups.iter().enumerate().find(|(j, outer)| {
            // Only a larger one, or the first of two alike, so that no two hold each other.
            let (a, b) = (size(outer), size(inner));
            let ranks_above = if (a - b).abs() <= 1e-6 * a.max(b) { *j < i } else { a > b };
            i != *j
                && ranks_above
                && !outer.is_opening()
                && !inner.is_opening()
                && outer.shared().grown(INSIDE_MM).touches(inner.shared())
                && outer.swallows(inner, timber, false, INSIDE_MM)
        })
    };
    let mut outer: Vec<Option<usize>> =
        (0..groups.len()).map(|i| outer_of(i).map(|(j, _)| j)).collect();
    // A cable in a conduit in a sleeve is listed beside the sleeve.
    for _ in 0..outer.len() {
        for i in 0..outer.len() {
            if let Some(next) = outer[i].and_then(|j| outer[j]) {
                outer[i] = Some(next);
            }
        }
    }
    take_in(groups, &outer, |host, guest| {
        host.inside.extend(guest.services());
        host.inside.extend(guest.inside);
        host.inside.sort_unstable();
    })
}

/// An opening with the services that pass inside it with their clearance, which add nothing to
/// its envelope; or services alone.
#[derive(Debug)]
pub(crate) struct Removal<'c> {
    pub(crate) host: Group<'c>,
    pub(crate) guests: Vec<Group<'c>>,
}

/// Takes services into the openings that hold them.
pub(crate) fn fill<'c>(timber: &Timber<'_>, groups: Vec<Group<'c>>) -> Vec<Removal<'c>> {
    let hosts: Vec<Option<usize>> = groups
        .iter()
        .map(|inner| {
            if inner.is_opening() {
                return None;
            }
            groups.iter().position(|outer| {
                outer.is_opening()
                    && outer.shared().grown(FAVOUR_MM).touches(inner.shared())
                    && outer.swallows(inner, timber, true, FAVOUR_MM)
            })
        })
        .collect();
    let removals = groups.into_iter().map(|host| Removal { host, guests: Vec::new() }).collect();
    take_in(removals, &hosts, |host: &mut Removal<'c>, guest: Removal<'c>| {
        host.guests.push(guest.host);
    })
}

/// Gives each item that has a host to it; hosts have none themselves.
fn take_in<T>(items: Vec<T>, hosts: &[Option<usize>], mut give: impl FnMut(&mut T, T)) -> Vec<T> {
    let mut slots: Vec<Option<T>> = items.into_iter().map(Some).collect();
    for (guest, host) in hosts.iter().enumerate() {
        let Some(host) = *host else { continue };
        let Some(taken) = slots.get_mut(guest).and_then(Option::take) else { continue };
        match slots.get_mut(host).and_then(Option::as_mut) {
            Some(host) => give(host, taken),
            // A host is never given away; were it, nothing may be lost.
            None => slots[guest] = Some(taken),
        }
    }
    slots.into_iter().flatten().collect()
}
