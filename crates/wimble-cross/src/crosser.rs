//! A whole scene: what is near what, and what may be asked.

use crate::body::Body;
use crate::in_member::{Desk, Passing};
use crate::settings::{CrossSettings, Passage};
use crate::timber::{CROSSING_MM, Timber};
use glam::{DMat3, DVec3};
use rayon::prelude::*;
use wimble_geom::{Aabb, BroadPhase, Convex};
use wimble_model::{Cut, Frame, Member, MemberIx, OpeningIx, Service, ServiceIx};
use wimble_recognise::{MemberBody, Scene, ServiceBody};

/// Members that are crossed in one piece.
const BLOCK: usize = 64;
/// Cuts that there is room for in a block at first, for each of its members.
const CUTS: usize = 8;
/// Blocks that each thread crosses in one round.
const BLOCKS: usize = 32;

/// The cuts that a scene's services and openings imply, by member, x0, z0, kind.
#[must_use]
pub fn cross(scene: &Scene, settings: &CrossSettings) -> Vec<Cut> {
    Crosser::new(scene, settings).cuts()
}

/// The cuts of one member with some services moved: what a remedy would leave. Services that are
/// not named stay where they are. For many questions about one scene keep a [`Crosser`].
#[must_use]
pub fn recut(
    scene: &Scene,
    settings: &CrossSettings,
    member: MemberIx,
    moved: &[(ServiceIx, ServiceBody)],
) -> Vec<Cut> {
    Crosser::new(scene, settings).recut(member, moved)
}

/// A service that is to be changed: moved, made larger or smaller, or taken away.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The service.
    pub service: ServiceIx,
    /// Its new body; `None` takes it away.
    pub body: Option<ServiceBody>,
    /// Its new row where its size changes, since clearance may depend on that.
    pub row: Option<Service>,
}

impl Change {
    /// The service in another place.
    #[must_use]
    pub const fn moved(service: ServiceIx, body: ServiceBody) -> Self {
        Self { service, body: Some(body), row: None }
    }

    /// The service taken away.
    #[must_use]
    pub const fn gone(service: ServiceIx) -> Self {
        Self { service, body: None, row: None }
    }
}

/// A service that only its clearance brings into a member: `tight to the joist`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tight {
    /// The member.
    pub member: MemberIx,
    /// The service.
    pub service: ServiceIx,
    /// How far the bare service is from it, mm; 0 if it touches.
    pub gap_mm: f64,
}

/// Services nearer to a member than half their clearance that do not cut it (a pipe clipped to a
/// side or a soffit), by member and service.
#[must_use]
pub fn tight_to(scene: &Scene, settings: &CrossSettings) -> Vec<Tight> {
    Crosser::new(scene, settings).tight()
}

/// A scene sorted once for crossing.
#[derive(Debug)]
pub struct Crosser<'a> {
    pub(crate) scene: &'a Scene,
    pub(crate) settings: CrossSettings,
    /// Boxes are sorted about this point: coordinates of map size lose no digits.
    origin: DVec3,
    passages: Vec<Passage>,
    services: BroadPhase,
    members: BroadPhase,
    /// By member.
    openings: Vec<(MemberIx, OpeningIx)>,
}

impl<'a> Crosser<'a> {
    /// Sorts a scene.
    #[must_use]
    pub fn new(scene: &'a Scene, settings: &CrossSettings) -> Self {
        let origin = scene.members.first().map_or(DVec3::ZERO, |m| m.frame.origin_m);
        let passages: Vec<Passage> =
            scene.services.par_iter().map(|s| Passage::of(s, settings)).collect();
        let of_service = |(body, passage): (&ServiceBody, &Passage)| {
            let reach_mm = passage.lagging_mm + passage.grow_mm + 1.0;
            service_box(body, origin).grown(reach_mm / 1000.0)
        };
        let of_member = |(member, body): (&Member, &MemberBody)| {
            world_box(&member.frame, Timber::new(member, body).reach(), origin)
        };
        let (services, members) = rayon::join(
            || {
                let bodies = scene.service_bodies.par_iter().zip(&passages);
                BroadPhase::new(&bodies.map(of_service).collect::<Vec<Aabb>>())
            },
            || {
                let bodies = scene.members.par_iter().zip(&scene.member_bodies);
                BroadPhase::new(&bodies.map(of_member).collect::<Vec<Aabb>>())
            },
        );
        let openings = scene.openings.iter().enumerate();
        let mut openings: Vec<(MemberIx, OpeningIx)> =
            openings.map(|(i, opening)| (opening.member, OpeningIx::from(i))).collect();
        openings.sort_unstable();
        Self { scene, settings: *settings, origin, passages, services, members, openings }
    }

    /// Every cut, by member, x0, z0, kind.
    #[must_use]
    pub fn cuts(&self) -> Vec<Cut> {
        let members = self.scene.members.len();
        let of_block = |block: usize| {
            let mut desk = Desk::default();
            let mut cuts = Vec::with_capacity(CUTS * BLOCK);
            for member in block * BLOCK..members.min((block + 1) * BLOCK) {
                self.add_cuts(MemberIx::from(member), &mut desk, &mut cuts);
            }
            cuts
        };
        // A round at a time, so that no more than a round is held twice; while one is crossed that
        // before it is put behind the others.
        let round = BLOCKS * rayon::current_num_threads();
        let blocks = members.div_ceil(BLOCK);
        let mut cuts = Vec::new();
        let mut done: Vec<Vec<Cut>> = Vec::new();
        for first in (0..blocks).step_by(round) {
            let last = blocks.min(first + round);
            let ((), next) = rayon::join(
                || done.iter_mut().for_each(|block| cuts.append(block)),
                || (first..last).into_par_iter().with_max_len(1).map(of_block).collect(),
            );
            done = next;
            if first == 0 && last < blocks {
                // Members are much alike: what is found in the first tells how many there will be,
                // and room that is not used costs nothing. Where they are not, or there is no room
                // for so many, the list grows as it has to.
                let found: usize = done.iter().map(Vec::len).sum();
                _ = cuts.try_reserve(found.saturating_mul(blocks.div_ceil(last)) / 8 * 9);
            }
        }
        done.iter_mut().for_each(|block| cuts.append(block));
        cuts
    }

    fn add_cuts(&self, member: MemberIx, desk: &mut Desk<'a>, cuts: &mut Vec<Cut>) {
        if let Some(timber) = self.timber(member) {
            self.near(&timber, |_| false, desk);
            self.cuts_in(member, &timber, self.openings(member), desk, cuts);
        }
    }

    /// The cuts of one member with some services moved; empty for a member that is not there.
    #[must_use]
    pub fn recut(&self, member: MemberIx, moved: &[(ServiceIx, ServiceBody)]) -> Vec<Cut> {
        let Some(timber) = self.timber(member) else { return Vec::new() };
        let mut desk = Desk::default();
        self.near(&timber, |s| moved.iter().any(|(m, _)| *m == s), &mut desk);
        desk.passing.extend(moved.iter().filter_map(|(s, body)| self.passing(*s, body, None)));
        self.cuts_on(member, &timber, self.openings(member), desk)
    }

    /// The cuts of one member with some services changed.
    #[must_use]
    pub fn recut_changed(&self, member: MemberIx, changes: &[Change]) -> Vec<Cut> {
        let Some(timber) = self.timber(member) else { return Vec::new() };
        self.changed_in(member, &timber, changes)
    }

    /// The cuts of one member as they would be in another body of it (a deeper one, say), with
    /// some services changed.
    #[must_use]
    pub fn recut_as(
        &self,
        ix: MemberIx,
        member: &Member,
        body: &MemberBody,
        changes: &[Change],
    ) -> Vec<Cut> {
        self.changed_in(ix, &Timber::new(member, body), changes)
    }

    /// The cuts that these services alone would make in a member: no other service, no opening.
    #[must_use]
    pub fn alone(&self, member: MemberIx, changes: &[Change]) -> Vec<Cut> {
        let Some(timber) = self.timber(member) else { return Vec::new() };
        let desk = Desk { passing: self.changed(changes).collect(), ..Desk::default() };
        self.cuts_on(member, &timber, &[], desk)
    }

    /// Members whose boxes a body in the world comes to, by index.
    #[must_use]
    pub fn members_near(&self, body: &ServiceBody) -> Vec<MemberIx> {
        self.members.near(self.world_bounds(body)).into_iter().map(MemberIx).collect()
    }

    /// Services whose boxes, with their clearances, come within `reach_mm` of a body, by index.
    #[must_use]
    pub fn services_near(&self, body: &ServiceBody, reach_mm: f64) -> Vec<ServiceIx> {
        let around = self.world_bounds(body).grown(reach_mm / 1000.0);
        self.services.near(around).into_iter().map(ServiceIx).collect()
    }

    /// What a service is larger by where it passes, mm on each side: lagging that passes with it,
    /// and half its clearance.
    #[must_use]
    pub fn reach_mm(&self, service: ServiceIx) -> f64 {
        self.passages.get(service.at()).map_or(0.0, |p| p.lagging_mm + p.grow_mm)
    }

    /// The bare and the grown extents of a body of a service within the breadth and the length of
    /// a member, in its frame, not ended in depth; `None` if it does not pass there.
    #[must_use]
    pub fn extents(
        &self,
        member: MemberIx,
        service: ServiceIx,
        body: &ServiceBody,
    ) -> Option<[Aabb; 2]> {
        let timber = self.timber(member)?;
        let passage = self.passages.get(service.at())?;
        let bare = Body::of_service(body, &timber.member.frame, passage.lagging_mm);
        let region = timber.region_open_in_depth(timber.section());
        let found = [bare.extents(&region), bare.grown(passage.grow_mm).extents(&region)];
        (!found[0].is_empty()).then_some(found)
    }

    fn world_bounds(&self, body: &ServiceBody) -> Aabb {
        service_box(body, self.origin)
    }

    fn changed<'b>(&self, changes: &'b [Change]) -> impl Iterator<Item = Passing<'b>> {
        changes.iter().filter_map(|c| self.passing(c.service, c.body.as_ref()?, c.row.as_ref()))
    }

    fn passing<'b>(
        &self,
        service: ServiceIx,
        body: &'b ServiceBody,
        row: Option<&Service>,
    ) -> Option<Passing<'b>> {
        let passage = match row {
            Some(row) => Passage::of(row, &self.settings),
            None => *self.passages.get(service.at())?,
        };
        Some(Passing { service, body, passage })
    }

    fn changed_in(&self, member: MemberIx, timber: &Timber<'_>, changes: &[Change]) -> Vec<Cut> {
        let mut desk = Desk::default();
        self.near(timber, |s| changes.iter().any(|c| c.service == s), &mut desk);
        desk.passing.extend(self.changed(changes));
        self.cuts_on(member, timber, self.openings(member), desk)
    }

    fn cuts_on(
        &self,
        member: MemberIx,
        timber: &Timber<'_>,
        openings: &[(MemberIx, OpeningIx)],
        mut desk: Desk<'_>,
    ) -> Vec<Cut> {
        let mut cuts = Vec::new();
        self.cuts_in(member, timber, openings, &mut desk, &mut cuts);
        cuts
    }

    /// Services that only their clearance brings into a member, by member and service.
    #[must_use]
    pub fn tight(&self) -> Vec<Tight> {
        let by_member: Vec<Vec<Tight>> = (0..self.scene.members.len())
            .into_par_iter()
            .map(|member| self.tight_to_member(MemberIx::from(member)))
            .collect();
        by_member.into_iter().flatten().collect()
    }

    fn tight_to_member(&self, member: MemberIx) -> Vec<Tight> {
        let Some(timber) = self.timber(member) else { return Vec::new() };
        let mut desk = Desk::default();
        self.near(&timber, |_| false, &mut desk);
        desk.passing
            .into_iter()
            .filter_map(|Passing { service, body, passage }| {
                let bare = Body::of_service(body, &timber.member.frame, passage.lagging_mm);
                if timber.shared(&bare, CROSSING_MM).is_some() {
                    return None;
                }
                let entered = timber.shared(&bare.grown(passage.grow_mm), 1e-6)?;
                let gap_mm = (passage.grow_mm - entered.size().min_element()).max(0.0);
                Some(Tight { member, service, gap_mm })
            })
            .collect()
    }

    fn timber(&self, member: MemberIx) -> Option<Timber<'a>> {
        let body = self.scene.member_bodies.get(member.at())?;
        Some(Timber::new(self.scene.members.get(member.at())?, body))
    }

    /// Lays out the services whose boxes meet the member's, but those left out; by index.
    fn near<'b>(
        &self,
        timber: &Timber<'_>,
        left_out: impl Fn(ServiceIx) -> bool,
        desk: &mut Desk<'b>,
    ) where
        'a: 'b,
    {
        let around = world_box(&timber.member.frame, timber.reach(), self.origin);
        self.services.near_into(around, &mut desk.near);
        let services = desk.near.iter().copied().map(ServiceIx).filter(|s| !left_out(*s));
        desk.passing.extend(services.filter_map(|service| {
            let body = self.scene.service_bodies.get(service.at())?;
            Some(Passing { service, body, passage: *self.passages.get(service.at())? })
        }));
    }

    /// The openings of a member.
    fn openings(&self, member: MemberIx) -> &[(MemberIx, OpeningIx)] {
        let first = self.openings.partition_point(|(of, _)| *of < member);
        let of_later = &self.openings[first..];
        &of_later[..of_later.partition_point(|(of, _)| *of == member)]
    }

    /// Other members near this one as convex bodies in its frame.
    pub(crate) fn neighbours(&self, member: MemberIx, timber: &Timber<'_>) -> Vec<Convex> {
        let around = world_box(&timber.member.frame, timber.reach(), self.origin);
        self.members
            .near(around)
            .into_iter()
            .filter(|other| *other != member.0)
            .filter_map(|other| {
                let other = self.timber(MemberIx(other))?;
                let mut body = other.region(other.section()).body().clone();
                for p in &mut body.points {
                    *p = timber.member.frame.local_mm(other.member.frame.world_m(*p));
                }
                Some(body)
            })
            .collect()
    }
}

/// A box round a bare service, in the world's axes about a point, metres.
fn service_box(body: &ServiceBody, origin: DVec3) -> Aabb {
    let round = |points: &[DVec3]| Aabb::of(points.iter().map(|p| *p - origin));
    match body {
        ServiceBody::Round { from, to, radius } => round(&[*from, *to]).grown(radius.max(0.0)),
        ServiceBody::Rectangular { frame, half } => {
            turned_box(frame.translation - origin, &frame.matrix3, *half)
        }
        ServiceBody::Mesh(mesh) => round(&mesh.points),
        ServiceBody::Line { points } => round(points),
    }
}

/// A box round a box of a member's frame, in the world's axes about a point, metres.
fn world_box(frame: &Frame, local: Aabb, origin: DVec3) -> Aabb {
    let axes = DMat3::from_cols(frame.x, frame.y(), frame.z);
    turned_box(frame.world_m(local.centre()) - origin, &axes, local.size() / 2000.0)
}

/// The box round a box with its own axes.
fn turned_box(centre: DVec3, axes: &DMat3, half: DVec3) -> Aabb {
    let reach = axes.x_axis.abs() * half.x.abs()
        + axes.y_axis.abs() * half.y.abs()
        + axes.z_axis.abs() * half.z.abs();
    Aabb { min: centre - reach, max: centre + reach }
}
