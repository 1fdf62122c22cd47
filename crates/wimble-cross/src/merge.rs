//! Overlapping envelopes are one cut.

use crate::crossed::{Crossed, Envelope, in_flange};
use crate::group::{Group, Pieces, Removal, fill, nest, unite};
use crate::timber::{LocalSection, Make, Timber};
use smallvec::SmallVec;
use thin_vec::ThinVec;
use wimble_geom::Aabb;
use wimble_model::{Note, OpeningIx, ServiceIx};
use wimble_recognise::PartKind;

/// Envelopes that share more than this in both x and z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;

/// One cut: removals whose envelopes overlap.
#[derive(Debug)]
pub(crate) struct Merged<'c> {
    pub(crate) removals: SmallVec<[Removal<'c>; 1]>,
    pub(crate) bounds: Aabb,
    pub(crate) end: bool,
    pub(crate) section: LocalSection,
    /// Passes a void of the member and takes nothing of it.
    pub(crate) in_void: bool,
    /// Remarks for the cut.
    pub(crate) notes: Vec<Note>,
}

impl<'c> Merged<'c> {
    fn of(timber: &Timber<'_>, removal: Removal<'c>) -> Self {
        let Envelope { section, bounds, end } = removal.host.envelope;
        let removals = SmallVec::from_buf([removal]);
        let mut merged = Self { removals, bounds, end, section, in_void: false, notes: vec![] };
        merged.in_void = match timber.make {
            // What is opened where webs are not drawn may have taken one, or nothing.
            Make::OpenWeb { webs_known, .. } => {
                merged.part_taken(timber).is_none() && !(webs_known && merged.has_openings())
            }
            _ => false,
        };
        merged
    }

    fn overlaps(&self, other: &Self) -> bool {
        !self.in_void && !other.in_void && overlap(self.bounds, other.bounds)
    }

    fn join(&mut self, other: Self) {
        self.removals.extend(other.removals);
        self.bounds = self.bounds.union(other.bounds);
        self.end |= other.end;
    }

    fn groups(&self) -> impl Iterator<Item = &Group<'c>> {
        self.removals.iter().flat_map(|r| std::iter::once(&r.host).chain(&r.guests))
    }

    /// The bodies that make the envelope: not those inside an opening.
    pub(crate) fn hosts(&self) -> impl Iterator<Item = &'c Crossed> {
        self.removals.iter().flat_map(|r| r.host.pieces.iter().copied())
    }

    /// Every body, also those inside an opening.
    pub(crate) fn bodies(&self) -> impl Iterator<Item = &'c Crossed> {
        self.groups().flat_map(|g| g.pieces.iter().copied())
    }

    pub(crate) fn openings(&self) -> ThinVec<OpeningIx> {
        sorted(self.hosts().filter_map(|p| p.source.opening()))
    }

    pub(crate) fn has_openings(&self) -> bool {
        self.hosts().any(|p| p.source.opening().is_some())
    }

    /// Openings that a service of this cut overlaps without fitting inside.
    pub(crate) fn too_small(&self) -> ThinVec<OpeningIx> {
        let hosts = || self.removals.iter().map(|r| &r.host);
        let overlapped = |opening: &&Group<'_>| {
            let bounds = opening.envelope.bounds;
            hosts().any(|other| !other.is_opening() && overlap(bounds, other.envelope.bounds))
        };
        let found = hosts().filter(|host| host.is_opening()).filter(overlapped);
        sorted(found.flat_map(|o| o.pieces.iter().filter_map(|p| p.source.opening())))
    }

    pub(crate) fn inside(&self) -> ThinVec<ServiceIx> {
        sorted(self.groups().flat_map(|g| g.inside.iter().copied()))
    }

    /// How many services share it, the pieces of one run as one.
    pub(crate) fn shared(&self) -> usize {
        self.groups().filter(|g| !g.is_opening()).count()
    }

    pub(crate) fn envelope(&self) -> Envelope {
        let Self { section, bounds, end, .. } = *self;
        Envelope { section, bounds, end }
    }

    pub(crate) fn in_flange(&self, flange_mm: f64) -> bool {
        in_flange(&self.envelope(), flange_mm)
    }

    /// The part of an open-web joist that it takes: a chord before a web.
    pub(crate) fn part_taken(&self, timber: &Timber<'_>) -> Option<PartKind> {
        let rank = |kind: &PartKind| usize::from(*kind != PartKind::Chord);
        self.removals
            .iter()
            .flat_map(|r| r.host.pieces.iter().map(|p| (*p, &r.host.envelope)))
            .filter_map(|(piece, envelope)| piece.part_taken(timber, envelope))
            .min_by_key(rank)
    }
}

/// Each once, in order.
fn sorted<T: Ord>(found: impl Iterator<Item = T>) -> ThinVec<T> {
    let mut found: ThinVec<T> = found.collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// Whether two envelopes share more than a hair in both x and z.
fn overlap(a: Aabb, b: Aabb) -> bool {
    let shared = a.intersection(b).size();
    shared.x > OVERLAP_MM && shared.z > OVERLAP_MM
}

/// What lies together along a member, as cuts. `run` tells a service's run.
pub(crate) fn together<'c>(
    timber: &Timber<'_>,
    part: &'c [Crossed],
    run: impl Fn(ServiceIx) -> u32,
) -> Vec<Merged<'c>> {
    let mut part: Pieces<'c> = part.iter().collect();
    part.sort_by_key(|piece| piece.source);
    let (services, openings): (Pieces<'_>, Pieces<'_>) =
        part.into_iter().partition(|piece| piece.is_service());
    let mut groups = nest(timber, unite(services, &run));
    groups.extend(unite(openings, &run));
    merge(timber, fill(timber, groups))
}

/// Merges overlapping envelopes until nothing changes.
fn merge<'c>(timber: &Timber<'_>, removals: Vec<Removal<'c>>) -> Vec<Merged<'c>> {
    let mut cuts: Vec<Merged<'_>> = Vec::with_capacity(removals.len());
    for removal in removals {
        let mut new = Merged::of(timber, removal);
        // What it overlaps grows it, and grown it may overlap more.
        while let Some(at) = cuts.iter().position(|cut| cut.overlaps(&new)) {
            new.join(cuts.swap_remove(at));
        }
        cuts.push(new);
    }
    for cut in &mut cuts {
        cut.section = timber.section_at(cut.bounds.centre().x);
    }
    cuts
}
