//! A whole scene: broad phase, one member at a time, order.

use crate::body::Body;
use crate::crossed::Crossed;
use crate::figures::{Around, cut};
use crate::group::{apart, fill, nest, unite};
use crate::joinery::{Place, place};
use crate::knock_outs::set_apart;
use crate::merge::{Merged, merge};
use crate::settings::{CrossSettings, Passage};
use crate::timber::{CROSSING_MM, Timber};
use glam::DVec3;
use rayon::prelude::*;
use wimble_geom::{Aabb, BroadPhase, Convex};
use wimble_model::{Cut, Frame, Member, MemberIx, OpeningIx, OpeningSource, Service, ServiceIx};
use wimble_recognise::{MemberBody, Scene, ServiceBody};

/// Members that are crossed in one piece.
const BLOCK: usize = 64;
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

/// A service where a member is looked at.
struct Passing<'b> {
    service: ServiceIx,
    body: &'b ServiceBody,
    passage: Passage,
}

/// A scene sorted once for crossing.
#[derive(Debug)]
pub struct Crosser<'a> {
    scene: &'a Scene,
    settings: CrossSettings,
    /// Boxes are sorted about this point: coordinates of map size lose no digits.
    origin: DVec3,
    passages: Vec<Passage>,
    services: BroadPhase,
    members: BroadPhase,
    /// Openings of each member, parallel to the scene's members.
    openings: Vec<Vec<OpeningIx>>,
}

impl<'a> Crosser<'a> {
    /// Sorts a scene.
    #[must_use]
    pub fn new(scene: &'a Scene, settings: &CrossSettings) -> Self {
        let origin = scene.members.first().map_or(DVec3::ZERO, |m| m.frame.origin_m);
        let passages: Vec<Passage> =
            scene.services.iter().map(|s| Passage::of(s, settings)).collect();
        let of_service = |(body, passage): (&ServiceBody, &Passage)| {
            let (frame, reach) = (about(origin), passage.lagging_mm + passage.grow_mm + 1.0);
            scaled(Body::of_service(body, &frame, 0.0).bounds().grown(reach))
        };
        let of_member = |(member, body): (&Member, &MemberBody)| member_box(member, body, origin);
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
        let mut openings = vec![Vec::new(); scene.members.len()];
        for (i, opening) in scene.openings.iter().enumerate() {
            if let Some(list) = openings.get_mut(opening.member.at()) {
                list.push(OpeningIx::from(i));
            }
        }
        Self { scene, settings: *settings, origin, passages, services, members, openings }
    }

    /// Every cut, by member, x0, z0, kind.
    #[must_use]
    pub fn cuts(&self) -> Vec<Cut> {
        let members = self.scene.members.len();
        let of_block = |block: usize| -> Vec<Cut> {
            let of_block = block * BLOCK..members.min((block + 1) * BLOCK);
            of_block.flat_map(|member| self.recut(MemberIx::from(member), &[])).collect()
        };
        // A round at a time, so that no more than a round is held twice.
        let round = BLOCKS * rayon::current_num_threads();
        let mut cuts = Vec::new();
        for first in (0..members.div_ceil(BLOCK)).step_by(round) {
            let last = members.div_ceil(BLOCK).min(first + round);
            let blocks: Vec<Vec<Cut>> = (first..last).into_par_iter().map(of_block).collect();
            if first == 0 && last * BLOCK < members {
                // Members are much alike: what is found in the first tells how many there will be.
                // Where they are not, and there is no room for so many, the list grows as it has to.
                let found: usize = blocks.iter().map(Vec::len).sum();
                _ = cuts.try_reserve(found.saturating_mul(members.div_ceil(last * BLOCK)));
            }
            cuts.extend(blocks.into_iter().flatten());
        }
        cuts.shrink_to_fit();
        cuts
    }

    /// The cuts of one member with some services moved; empty for a member that is not there.
    #[must_use]
    pub fn recut(&self, member: MemberIx, moved: &[(ServiceIx, ServiceBody)]) -> Vec<Cut> {
        let Some(timber) = self.timber(member) else { return Vec::new() };
        let is_moved = |s: ServiceIx| moved.iter().any(|(m, _)| *m == s);
        let mut services = self.near(&timber, is_moved);
        services.extend(moved.iter().filter_map(|(s, body)| self.passing(*s, body, None)));
        self.cuts_in(member, &timber, services, self.openings(member, &timber))
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
        let services = self.changed(changes);
        self.cuts_in(member, &timber, services, Vec::new())
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
        scaled(Body::of_service(body, &about(self.origin), 0.0).bounds())
    }

    fn changed<'b>(&self, changes: &'b [Change]) -> Vec<Passing<'b>> {
        changes
            .iter()
            .filter_map(|c| self.passing(c.service, c.body.as_ref()?, c.row.as_ref()))
            .collect()
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
        let mut services = self.near(timber, |s| changes.iter().any(|c| c.service == s));
        services.extend(self.changed(changes));
        self.cuts_in(member, timber, services, self.openings(member, timber))
    }

    fn cuts_in(
        &self,
        member: MemberIx,
        timber: &Timber<'_>,
        mut passing: Vec<Passing<'_>>,
        openings: Vec<Crossed>,
    ) -> Vec<Cut> {
        passing.sort_by_key(|p| p.service);
        let drawn = openings.iter().filter(|o| o.drawn);
        let voids: Vec<Aabb> = drawn.map(|opening| opening.shared).collect();
        let services: Vec<Crossed> = passing
            .into_iter()
            .filter_map(|Passing { service, body, passage }| {
                let bare = Body::of_service(body, &timber.member.frame, passage.lagging_mm);
                Crossed::service(timber, service, bare, passage, &voids)
            })
            .collect();
        let run = |s: ServiceIx| self.scene.services.get(s.at()).map_or(u32::MAX, |s| s.run);
        let mut merged = Vec::new();
        for part in apart(services.into_iter().chain(openings).collect()) {
            let (services, openings) = part.into_iter().partition(Crossed::is_service);
            let mut groups = nest(timber, unite(services, run));
            groups.extend(unite(openings, run));
            merged.extend(merge(timber, fill(timber, groups)));
        }
        let merged = set_apart(timber, merged);
        let mut cuts = self.finish(member, timber, &merged);
        cuts.sort_by(|a, b| {
            let x0 = a.min_mm.x.total_cmp(&b.min_mm.x);
            let z0 = a.min_mm.z.total_cmp(&b.min_mm.z);
            let sources = || a.services.cmp(&b.services).then(a.openings.cmp(&b.openings));
            x0.then(z0).then(a.kind.cmp(&b.kind)).then_with(sources)
        });
        cuts
    }

    fn finish(&self, member: MemberIx, timber: &Timber<'_>, merged: &[Merged]) -> Vec<Cut> {
        let around =
            Around { member, services: &self.scene.services, clearance: &self.settings.clearance };
        let neighbours = if merged.iter().any(Merged::has_openings) {
            self.neighbours(member, timber)
        } else {
            Vec::new()
        };
        let touched =
            |o: &OpeningIx| self.scene.openings.get(o.at()).is_some_and(|opening| opening.touches);
        let fastened = |merged: &Merged| merged.openings().iter().any(touched);
        merged
            .iter()
            .filter_map(|merged| match self.place(timber, merged, &neighbours, fastened(merged)) {
                Place::EndShape => None,
                Place::Joint => Some(cut(timber, merged, true, &around)),
                Place::Cut => Some(cut(timber, merged, false, &around)),
            })
            .collect()
    }

    /// A cut that was measured on site is no joint, wherever it lies.
    fn place(
        &self,
        timber: &Timber<'_>,
        merged: &Merged,
        neighbours: &[Convex],
        fastened: bool,
    ) -> Place {
        let measured = |o: &OpeningIx| {
            let opening = self.scene.openings.get(o.at());
            opening.is_some_and(|opening| opening.source == OpeningSource::Measured)
        };
        if merged.openings().iter().any(measured) {
            return Place::Cut;
        }
        place(timber, merged, neighbours, fastened)
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
        self.near(&timber, |_| false)
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

    /// Services whose boxes meet the member's, but those left out; by index.
    fn near(&self, timber: &Timber<'_>, left_out: impl Fn(ServiceIx) -> bool) -> Vec<Passing<'a>> {
        let around = world_box(&timber.member.frame, timber.reach(), self.origin);
        let scene = self.scene;
        self.services
            .near(around)
            .into_iter()
            .map(ServiceIx)
            .filter(|s| !left_out(*s))
            .filter_map(|service| {
                let body = scene.service_bodies.get(service.at())?;
                Some(Passing { service, body, passage: *self.passages.get(service.at())? })
            })
            .collect()
    }

    fn openings(&self, member: MemberIx, timber: &Timber<'_>) -> Vec<Crossed> {
        let list = self.openings.get(member.at()).map_or(&[][..], Vec::as_slice);
        list.iter()
            .filter_map(|ix| {
                let solid = self.scene.opening_bodies.get(ix.at())?;
                let source = self.scene.openings.get(ix.at())?.source;
                let body = Body::of_opening(solid, &timber.member.frame);
                Crossed::opening(timber, *ix, body, source == OpeningSource::Body)
            })
            .collect()
    }

    /// Other members near this one as convex bodies in its frame.
    fn neighbours(&self, member: MemberIx, timber: &Timber<'_>) -> Vec<Convex> {
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

/// The world's axes about a point, as a frame: millimetres.
const fn about(origin: DVec3) -> Frame {
    Frame { origin_m: origin, x: DVec3::X, z: DVec3::Z }
}

/// Millimetres to metres.
fn scaled(bounds: Aabb) -> Aabb {
    Aabb { min: bounds.min / 1000.0, max: bounds.max / 1000.0 }
}

fn member_box(member: &Member, body: &MemberBody, origin: DVec3) -> Aabb {
    world_box(&member.frame, Timber::new(member, body).reach(), origin)
}

/// A box of a member's frame in the world's axes about a point, metres.
fn world_box(frame: &Frame, local: Aabb, origin: DVec3) -> Aabb {
    Aabb::of(local.corners().map(|corner| frame.world_m(corner) - origin))
}
