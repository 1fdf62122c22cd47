//! One service in one member: whether it crosses, and what its own cut would be.

use crate::body::Body;
use crate::settings::Passage;
use crate::timber::{CROSSING_MM, LocalSection, Make, Timber};
use glam::DVec3;
use std::borrow::Cow;
use wimble_geom::{Aabb, Disc, Plane};
use wimble_model::{OpeningIx, ServiceIx};
use wimble_recognise::PartKind;

/// Pieces of one run nearer than this touch, mm.
pub(crate) const TOUCH_MM: f64 = 5.0;

/// What crosses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Source {
    Service(ServiceIx),
    Opening(OpeningIx),
}

impl Source {
    pub(crate) const fn service(self) -> Option<ServiceIx> {
        match self {
            Self::Service(service) => Some(service),
            Self::Opening(_) => None,
        }
    }

    pub(crate) const fn opening(self) -> Option<OpeningIx> {
        match self {
            Self::Opening(opening) => Some(opening),
            Self::Service(_) => None,
        }
    }
}

/// A service (or an opening) that crosses a member, bare and as its cut is made.
#[derive(Debug)]
pub(crate) struct Crossed {
    pub(crate) source: Source,
    pub(crate) bare: Body,
    /// Which way it runs, if it is straight.
    direction: Option<DVec3>,
    /// What the cut is larger by on each side.
    pub(crate) grow: f64,
    /// What the bare body shares with the member's solid; of the void it passes, for a service
    /// that touches no part.
    pub(crate) shared: Aabb,
    pub(crate) lagging_unknown: bool,
    pub(crate) cable: bool,
    /// An opening that the member's solid is drawn without.
    pub(crate) drawn: bool,
    /// What its cut takes.
    pub(crate) envelope: Envelope,
}

/// The extents of what is removed, before merging, with what decides its kind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Envelope {
    pub(crate) section: LocalSection,
    /// Clipped to the member.
    pub(crate) bounds: Aabb,
    /// It reached past an end of the member before it was clipped.
    pub(crate) end: bool,
}

impl Envelope {
    /// Until it is worked out.
    const NOT_MEASURED: Self = Self {
        section: LocalSection { y: 0.0, z: 0.0, breadth: 0.0, depth: 0.0 },
        bounds: Aabb::EMPTY,
        end: false,
    };
}

impl Crossed {
    /// A service, if its bare body crosses the member. `voids`: what openings take that the
    /// member's solid is drawn without; a service that passes there crosses too.
    pub(crate) fn service(
        timber: &Timber<'_>,
        source: ServiceIx,
        bare: Body,
        passage: Passage,
        voids: &[Aabb],
    ) -> Option<Self> {
        let shared = match timber.shared(&bare, CROSSING_MM) {
            Some(shared) => shared,
            None => {
                let shared = enough(&bare, bare.extents(&timber.region(timber.section())))?;
                let open_web = matches!(timber.make, Make::OpenWeb { .. });
                let in_opening = voids.iter().any(|v| !v.intersection(shared).is_empty());
                (open_web || in_opening).then_some(shared)?
            }
        };
        let mut crossed = Self {
            source: Source::Service(source),
            direction: bare.direction(),
            bare,
            grow: passage.grow_mm,
            shared,
            lagging_unknown: passage.lagging_unknown,
            cable: passage.cable,
            drawn: false,
            envelope: Envelope::NOT_MEASURED,
        };
        crossed.envelope = crossed.envelope_of(timber);
        Some(crossed)
    }

    /// An opening, if it takes something of the member; one `drawn` in the member's solid takes
    /// of its box. Where the webs of an open-web joist are not known, what it takes of them is not
    /// either.
    pub(crate) fn opening(
        timber: &Timber<'_>,
        source: OpeningIx,
        body: Body,
        drawn: bool,
    ) -> Option<Self> {
        let of_box = || enough(&body, body.extents(&timber.region(timber.section())));
        let may_take = drawn || matches!(timber.make, Make::OpenWeb { webs_known: false, .. });
        let shared =
            timber.shared(&body, CROSSING_MM).or_else(|| may_take.then(of_box).flatten())?;
        let mut crossed = Self {
            source: Source::Opening(source),
            direction: body.direction(),
            bare: body,
            grow: 0.0,
            shared,
            lagging_unknown: false,
            cable: false,
            drawn,
            envelope: Envelope::NOT_MEASURED,
        };
        crossed.envelope = crossed.envelope_of(timber);
        Some(crossed)
    }

    pub(crate) const fn is_service(&self) -> bool {
        self.source.service().is_some()
    }

    /// It as its cut is made.
    fn grown(&self) -> Cow<'_, Body> {
        self.bare.grown(self.grow)
    }

    /// From where to where along the member it has to do with what is beside it.
    pub(crate) fn reach(&self) -> (f64, f64) {
        let (envelope, shared) = (&self.envelope.bounds, &self.shared);
        let (from, to) = (envelope.min.x.min(shared.min.x), envelope.max.x.max(shared.max.x));
        (from - TOUCH_MM, to + TOUCH_MM)
    }

    /// Whether it rises more than it crosses.
    pub(crate) fn rises(&self) -> bool {
        self.direction.is_some_and(|d| d.z.abs() > d.y.abs() + 1e-12)
    }

    /// Whether it runs within 30 degrees of the member. For a shape without an axis: whether
    /// what it shares is that much longer than it is thick.
    pub(crate) fn lengthwise(&self) -> bool {
        match (self.direction, self.source) {
            (Some(d), _) => d.x.abs() >= 30f64.to_radians().cos() - 1e-12,
            (None, Source::Opening(_)) => false,
            (None, Source::Service(_)) => {
                let size = self.shared.size();
                size.x >= 60f64.to_radians().tan() * size.y.hypot(size.z)
            }
        }
    }

    /// Degrees off square to the member, for a straight service.
    pub(crate) fn skew_deg(&self) -> f64 {
        self.direction.map_or(0.0, |d| d.y.abs().max(d.z.abs()).clamp(0.0, 1.0).acos().to_degrees())
    }

    /// How far the bare service stands out of the depth, within breadth and length. A riser
    /// passes through: it does not stand proud.
    pub(crate) fn proud(&self, timber: &Timber<'_>, section: LocalSection) -> f64 {
        if self.rises() || self.leaves_both_edges(timber) {
            return 0.0;
        }
        self.proud_at_length(timber, section)
    }

    /// The same of what may stand out.
    pub(crate) fn proud_at_length(&self, timber: &Timber<'_>, section: LocalSection) -> f64 {
        let found = self.bare.extents(&timber.region_open_in_depth(section));
        if found.is_empty() {
            return 0.0;
        }
        let above = found.max.z - (section.z + section.depth / 2.0);
        let below = (section.z - section.depth / 2.0) - found.min.z;
        let passes_through = self.direction.is_none() && above > 0.0 && below > 0.0;
        if passes_through { 0.0 } else { above.max(below).max(0.0) }
    }

    /// Whether its cut, of which it is part, plainly leaves wood to both edges over the whole of the
    /// breadth: the short way of [`Self::proud`].
    fn leaves_both_edges(&self, timber: &Timber<'_>) -> bool {
        const PLAINLY_MM: f64 = 1e-3;
        let Envelope { section, bounds, .. } = self.envelope;
        let half = section.depth / 2.0 - PLAINLY_MM;
        // The cut of an I-joist's web is told over the web alone.
        let whole_breadth = !timber.member.varies && !matches!(timber.make, Make::IJoist { .. });
        whole_breadth
            && self.bare.is_straight()
            && self.grow >= 0.0
            && bounds.max.z < section.z + half
            && bounds.min.z > section.z - half
    }

    /// The section at the middle of what it takes.
    fn section(&self, timber: &Timber<'_>) -> LocalSection {
        timber.section_at(self.shared.centre().x)
    }

    /// The envelope of what its cut takes.
    fn envelope_of(&self, timber: &Timber<'_>) -> Envelope {
        let section = self.section(timber);
        let full = self.envelope_over(timber, section);
        match timber.make {
            Make::IJoist { flange_mm, web_mm } if !in_flange(&full, flange_mm) => {
                let web = self.envelope_over(timber, LocalSection { breadth: web_mm, ..section });
                Envelope { section, ..web }
            }
            _ => full,
        }
    }

    fn envelope_over(&self, timber: &Timber<'_>, section: LocalSection) -> Envelope {
        let grown = self.grown();
        let region = if grown.is_straight() && !self.rises() {
            timber.region_open_in_depth(section)
        } else {
            timber.region(section)
        };
        let mut found = grown.extents(&region);
        if found.is_empty() {
            // Only where a varying section and its slice differ: what is surely taken.
            found = self.shared.grown(self.grow);
        }
        let margin = self.bare.margin(self.grow);
        found = found.grown(margin);
        let past = |plane: &Plane| {
            // What the box round it does not reach it does not reach.
            let short = Plane { offset: plane.offset - 1e-6, ..*plane };
            !found.is_behind(&short)
                && grown.reach(&region, plane.normal).is_some_and(|r| r + margin >= short.offset)
        };
        let end = found.min.x <= 1e-6
            || found.max.x >= timber.length - 1e-6
            || timber.ends.iter().any(past);
        Envelope { section, bounds: found.intersection(timber.bounds(section)), end }
    }

    /// Which part of an open-web joist its cut takes.
    pub(crate) fn part_taken(&self, timber: &Timber<'_>, envelope: &Envelope) -> Option<PartKind> {
        let Make::OpenWeb { chord_mm, webs_known } = timber.make else { return None };
        let body = self.grown();
        let least = crate::timber::FAVOUR_MM;
        if in_flange(envelope, chord_mm) || timber.enters(&body, PartKind::Chord, least) {
            return Some(PartKind::Chord);
        }
        (webs_known && timber.enters(&body, PartKind::Strut, least)).then_some(PartKind::Strut)
    }

    /// Its outline in the x–z plane within the breadth, bare or as its cut is made.
    pub(crate) fn outline(
        &self,
        timber: &Timber<'_>,
        section: LocalSection,
        cut: bool,
    ) -> Vec<Disc> {
        let region = timber.region_open_in_depth(section);
        let body = if cut { self.grown() } else { Cow::Borrowed(&self.bare) };
        let margin = if cut { self.bare.margin(self.grow) } else { 0.0 };
        let mut discs = body.outline(&region);
        for disc in &mut discs {
            disc.radius += margin;
        }
        discs
    }

    /// Points of the surface of the part in the member: if a convex body holds them it holds all.
    pub(crate) fn surface(&self, timber: &Timber<'_>, grown: bool) -> Vec<DVec3> {
        let body = if grown { self.grown() } else { Cow::Borrowed(&self.bare) };
        let mut section = self.section(timber);
        if let Make::IJoist { web_mm, flange_mm } = timber.make
            && !in_flange(&self.envelope_over(timber, section), flange_mm)
        {
            section.breadth = web_mm;
        }
        body.points(&timber.region(section))
    }
}

/// What is shared, if it is enough for a crossing.
fn enough(body: &Body, shared: Aabb) -> Option<Aabb> {
    let size = shared.size();
    let most = match body {
        Body::Line(_) => size.length(),
        _ => size.min_element(),
    };
    (!shared.is_empty() && most > CROSSING_MM).then_some(shared)
}

/// Whether an envelope takes of a flange or chord of this depth.
pub(crate) fn in_flange(envelope: &Envelope, depth_mm: f64) -> bool {
    let LocalSection { z, depth, .. } = envelope.section;
    let clear = depth / 2.0 - depth_mm + crate::timber::FAVOUR_MM;
    envelope.bounds.max.z - z > clear || z - envelope.bounds.min.z > clear
}
