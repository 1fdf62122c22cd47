//! Overlapping envelopes are one cut.

use crate::crossed::{Crossed, Envelope, Source, in_flange};
use crate::group::{Group, Removal};
use crate::timber::{LocalSection, Make, Timber};
use wimble_geom::Aabb;
use wimble_model::{Note, OpeningIx, ServiceIx};
use wimble_recognise::PartKind;

/// Envelopes that share more than this in both x and z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;

/// One cut: removals whose envelopes overlap.
#[derive(Debug)]
pub(crate) struct Merged {
    pub(crate) removals: Vec<Removal>,
    pub(crate) bounds: Aabb,
    pub(crate) end: bool,
    pub(crate) section: LocalSection,
    /// Passes a void of the member and takes nothing of it.
    pub(crate) in_void: bool,
    /// Remarks for the cut.
    pub(crate) notes: Vec<Note>,
}

impl Merged {
    fn of(timber: &Timber<'_>, removal: Removal) -> Self {
        let Envelope { section, bounds, end } = removal.host.envelope;
        let mut merged =
            Self { removals: vec![removal], bounds, end, section, in_void: false, notes: vec![] };
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

    fn groups(&self) -> impl Iterator<Item = &Group> {
        self.removals.iter().flat_map(|r| std::iter::once(&r.host).chain(&r.guests))
    }

    /// The bodies that make the envelope: not those inside an opening.
    pub(crate) fn hosts(&self) -> impl Iterator<Item = &Crossed> {
        self.removals.iter().flat_map(|r| &r.host.pieces)
    }

    /// Every body, also those inside an opening.
    pub(crate) fn bodies(&self) -> impl Iterator<Item = &Crossed> {
        self.groups().flat_map(|g| &g.pieces)
    }

    pub(crate) fn services(&self) -> Vec<ServiceIx> {
        let mut found: Vec<_> = self
            .bodies()
            .filter_map(|p| match p.source {
                Source::Service(service) => Some(service),
                Source::Opening(_) => None,
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    pub(crate) fn openings(&self) -> Vec<OpeningIx> {
        let mut found: Vec<_> = self.hosts().filter_map(opening).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    pub(crate) fn has_openings(&self) -> bool {
        self.hosts().any(|p| opening(p).is_some())
    }

    /// Openings that a service of this cut overlaps without fitting inside.
    pub(crate) fn too_small(&self) -> Vec<OpeningIx> {
        let (openings, services): (Vec<_>, Vec<_>) =
            self.removals.iter().map(|r| &r.host).partition(|g| g.is_opening());
        let mut found: Vec<_> = openings
            .into_iter()
            .filter(|o| services.iter().any(|s| overlap(o.envelope.bounds, s.envelope.bounds)))
            .flat_map(|o| o.pieces.iter().filter_map(opening))
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    pub(crate) fn inside(&self) -> Vec<ServiceIx> {
        let mut found: Vec<_> = self.groups().flat_map(|g| g.inside.iter().copied()).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// How many services share it, the pieces of one run as one.
    pub(crate) fn shared(&self) -> usize {
        self.groups().filter(|g| !g.is_opening()).count()
    }

    pub(crate) fn rises(&self) -> bool {
        self.hosts().any(Crossed::rises)
    }

    pub(crate) fn lengthwise(&self) -> bool {
        self.hosts().any(Crossed::lengthwise)
    }

    pub(crate) fn in_flange(&self, flange_mm: f64) -> bool {
        let Self { section, bounds, end, .. } = *self;
        in_flange(&Envelope { section, bounds, end }, flange_mm)
    }

    /// The part of an open-web joist that it takes: a chord before a web.
    pub(crate) fn part_taken(&self, timber: &Timber<'_>) -> Option<PartKind> {
        let rank = |kind: &PartKind| usize::from(*kind != PartKind::Chord);
        self.removals
            .iter()
            .flat_map(|r| r.host.pieces.iter().map(|p| (p, &r.host.envelope)))
            .filter_map(|(piece, envelope)| piece.part_taken(timber, envelope))
            .min_by_key(rank)
    }
}

const fn opening(piece: &Crossed) -> Option<OpeningIx> {
    match piece.source {
        Source::Opening(opening) => Some(opening),
        Source::Service(_) => None,
    }
}

/// Whether two envelopes share more than a hair in both x and z.
fn overlap(a: Aabb, b: Aabb) -> bool {
    let shared = a.intersection(b).size();
    shared.x > OVERLAP_MM && shared.z > OVERLAP_MM
}

/// Merges overlapping envelopes until nothing changes.
pub(crate) fn merge(timber: &Timber<'_>, removals: Vec<Removal>) -> Vec<Merged> {
    let mut cuts: Vec<Merged> = Vec::with_capacity(removals.len());
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
