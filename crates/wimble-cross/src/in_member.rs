//! The cuts in one member.

use crate::body::Body;
use crate::crossed::Crossed;
use crate::crosser::Crosser;
use crate::figures::{Around, cut, lone};
use crate::group::apart;
use crate::joinery::{Place, place};
use crate::knock_outs::set_apart;
use crate::merge::{Merged, together};
use crate::settings::Passage;
use crate::timber::Timber;
use wimble_geom::{Aabb, Convex};
use wimble_model::{Cut, MemberIx, OpeningIx, OpeningSource, ServiceIx};
use wimble_recognise::ServiceBody;

/// A service where a member is looked at.
#[derive(Debug)]
pub(crate) struct Passing<'b> {
    pub(crate) service: ServiceIx,
    pub(crate) body: &'b ServiceBody,
    pub(crate) passage: Passage,
}

/// What lies about while a member is crossed: lists that are filled and emptied from member to
/// member without asking for memory again.
#[derive(Debug, Default)]
pub(crate) struct Desk<'b> {
    /// Services whose boxes meet the member's, as the tree finds them.
    pub(crate) near: Vec<u32>,
    /// Services that may pass the member.
    pub(crate) passing: Vec<Passing<'b>>,
    /// What does cross it.
    pub(crate) crossed: Vec<Crossed>,
}

impl Crosser<'_> {
    /// Adds the cuts that the services laid out and some openings make in a member, by x0, z0, kind.
    pub(crate) fn cuts_in(
        &self,
        member: MemberIx,
        timber: &Timber<'_>,
        openings: &[(MemberIx, OpeningIx)],
        desk: &mut Desk<'_>,
        cuts: &mut Vec<Cut>,
    ) {
        self.find_crossed(timber, openings, desk);
        let around =
            Around { member, services: &self.scene.services, clearance: &self.settings.clearance };
        let run = |s: ServiceIx| self.scene.services.get(s.at()).map_or(u32::MAX, |s| s.run);
        let first = cuts.len();
        let mut merged = Vec::new();
        for part in apart(&mut desk.crossed) {
            match part {
                [piece] if piece.is_service() => cuts.push(lone(timber, piece, &around)),
                part => merged.extend(together(timber, part, run)),
            }
        }
        self.finish(timber, set_apart(timber, merged), &around, cuts);
        desk.crossed.clear();
        cuts[first..].sort_by(|a, b| {
            let x0 = a.min_mm.x.total_cmp(&b.min_mm.x);
            let z0 = a.min_mm.z.total_cmp(&b.min_mm.z);
            let sources = || a.services.cmp(&b.services).then(a.openings.cmp(&b.openings));
            x0.then(z0).then(a.kind.cmp(&b.kind)).then_with(sources)
        });
    }

    /// Which of what may cross does.
    fn find_crossed(
        &self,
        timber: &Timber<'_>,
        openings: &[(MemberIx, OpeningIx)],
        desk: &mut Desk<'_>,
    ) {
        let opening = |(_, ix): &(MemberIx, OpeningIx)| {
            let solid = self.scene.opening_bodies.get(ix.at())?;
            let source = self.scene.openings.get(ix.at())?.source;
            let body = Body::of_opening(solid, &timber.member.frame);
            Crossed::opening(timber, *ix, body, source == OpeningSource::Body)
        };
        desk.crossed.extend(openings.iter().filter_map(opening));
        let drawn = desk.crossed.iter().filter(|opening| opening.drawn);
        let voids: Vec<Aabb> = drawn.map(|opening| opening.shared).collect();
        let service = |Passing { service, body, passage }| {
            let bare = Body::of_service(body, &timber.member.frame, passage.lagging_mm);
            Crossed::service(timber, service, bare, passage, &voids)
        };
        desk.crossed.extend(desk.passing.drain(..).filter_map(service));
    }

    /// Adds the cuts of what lies together, but shapes of an end.
    fn finish(
        &self,
        timber: &Timber<'_>,
        merged: Vec<Merged<'_>>,
        around: &Around<'_>,
        cuts: &mut Vec<Cut>,
    ) {
        let neighbours = if merged.iter().any(Merged::has_openings) {
            self.neighbours(around.member, timber)
        } else {
            Vec::new()
        };
        cuts.extend(merged.into_iter().filter_map(|merged| {
            match self.place(timber, &merged, &neighbours) {
                Place::EndShape => None,
                Place::Joint => Some(cut(timber, &merged, true, around)),
                Place::Cut => Some(cut(timber, &merged, false, around)),
            }
        }));
    }

    /// A cut that was measured on site is no joint, wherever it lies.
    fn place(&self, timber: &Timber<'_>, merged: &Merged<'_>, neighbours: &[Convex]) -> Place {
        let openings = merged.openings();
        let mut its = openings.iter().filter_map(|o| self.scene.openings.get(o.at()));
        if its.clone().any(|opening| opening.source == OpeningSource::Measured) {
            return Place::Cut;
        }
        place(timber, merged, neighbours, its.any(|opening| opening.touches))
    }
}
