//! What a cut is: the table of `docs/measuring.md`, first that fits.

use crate::crossed::{Crossed, Envelope, in_flange};
use crate::figures::Taken;
use crate::timber::{Make, Timber};
use wimble_geom::tolerance::REACHED;
use wimble_model::{CutKind, Edge};
use wimble_recognise::PartKind;

/// A side or edge is reached when less than this is left there, mm.
const REACHED_MM: f64 = REACHED * 1000.0;

/// Which sides and edges an envelope reaches.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reach {
    left: bool,
    right: bool,
    top: bool,
    bottom: bool,
}

impl Reach {
    pub(crate) fn of(envelope: &Envelope) -> Self {
        let Envelope { section, bounds, .. } = envelope;
        let (half_b, half_h) = (section.breadth / 2.0, section.depth / 2.0);
        Self {
            left: section.y + half_b - bounds.max.y < REACHED_MM,
            right: bounds.min.y - (section.y - half_b) < REACHED_MM,
            top: section.z + half_h - bounds.max.z < REACHED_MM,
            bottom: bounds.min.z - (section.z - half_h) < REACHED_MM,
        }
    }

    pub(crate) const fn both_edges(self) -> bool {
        self.top && self.bottom
    }

    pub(crate) const fn edge(self) -> Edge {
        match (self.top, self.bottom) {
            (true, true) => Edge::Full,
            (true, false) => Edge::Top,
            (false, true) => Edge::Bottom,
            (false, false) => Edge::None,
        }
    }
}

/// The kind of a cut that is no joint.
pub(crate) fn kind(timber: &Timber<'_>, taken: &Taken<'_, '_>, reach: Reach) -> CutKind {
    let Taken { hosts, ref envelope, .. } = *taken;
    if taken.in_void {
        return CutKind::BetweenWebs;
    }
    if envelope.end {
        return CutKind::EndCut;
    }
    match timber.make {
        Make::IJoist { flange_mm, .. } => {
            let flange = in_flange(envelope, flange_mm);
            return if flange { CutKind::FlangeCut } else { CutKind::WebHole };
        }
        Make::OpenWeb { .. } => {
            let chord = taken.part == Some(PartKind::Chord);
            return if chord { CutKind::ChordCut } else { CutKind::WebCut };
        }
        // Which part of a truss it is, its drawing seldom tells: none may be cut.
        Make::TrussPart => return CutKind::ChordCut,
        Make::Solid => {}
    }
    let (sides, edges) = (
        usize::from(reach.left) + usize::from(reach.right),
        usize::from(reach.top) + usize::from(reach.bottom),
    );
    if sides == 2 && edges == 2 {
        CutKind::Severed
    } else if hosts.iter().copied().any(Crossed::lengthwise) {
        CutKind::Lengthwise
    } else if (sides < 2 && edges == 2)
        || (edges > 0 && (sides == 0 || hosts.iter().copied().any(Crossed::rises)))
    {
        // One edge and no side: a bore that stops inside.
        CutKind::Bore
    } else if sides == 1 {
        CutKind::SideCut
    } else if sides == 0 {
        CutKind::Enclosed
    } else if reach.top {
        CutKind::TopNotch
    } else if reach.bottom {
        CutKind::BottomNotch
    } else {
        CutKind::Hole
    }
}
