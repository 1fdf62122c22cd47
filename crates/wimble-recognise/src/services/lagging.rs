//! Lagging of a service, and how thick it is.

use super::{Bare, bare};
use crate::candidate::Candidate;
use crate::words::{Topic, Topics};
use wimble_model::{Lagging, ServiceShape};

/// A lagging thinner or thicker than this was not measured on its own pipe, mm.
const SENSIBLE_MM: std::ops::RangeInclusive<f64> = 1.0..=300.0;

/// A covering of a service.
pub(crate) struct Covering<'a> {
    /// Thickness that its layers, else its properties, state, mm.
    stated_mm: Option<f64>,
    candidate: &'a Candidate,
}

impl<'a> Covering<'a> {
    /// What a covering says of its thickness.
    pub(crate) fn of(candidate: &'a Candidate) -> Self {
        let layers: f64 = candidate.materials.entries.iter().filter_map(|m| m.thickness_m).sum();
        let stated = (layers > 0.0).then_some(layers).or(candidate.more().thickness_m);
        Self { stated_mm: stated.map(|t| 1000.0 * t), candidate }
    }

    /// Thickness by its body: half of what its outside is larger than the service's, mm.
    fn drawn_mm(&self, service: ServiceShape) -> Option<f64> {
        let thickness = |outside: ServiceShape| match (outside, service) {
            (ServiceShape::RoundMm(outer), ServiceShape::RoundMm(inner)) => {
                Some(0.5 * (outer - inner))
            }
            (ServiceShape::RectangleMm(outer), ServiceShape::RectangleMm(inner)) => {
                Some(0.5 * (outer[0] - inner[0]).max(outer[1] - inner[1]))
            }
            _ => None,
        };
        self.candidate
            .solids()
            .filter_map(|(_, solid)| {
                let Bare { shape, .. } = bare(solid);
                thickness(shape)
            })
            .filter(|mm| SENSIBLE_MM.contains(mm))
            .reduce(f64::max)
    }
}

/// Lagging: a covering on it (of thickness 0 if nothing tells it), or a system that says lagged
/// while the model shows one solid.
pub(crate) fn lagging(coverings: &[Covering<'_>], service: ServiceShape, words: Topics) -> Lagging {
    let thickness =
        |c: &Covering<'_>| c.stated_mm.or_else(|| c.drawn_mm(service)).unwrap_or_default();
    match coverings.iter().map(thickness).reduce(f64::max) {
        Some(thickness_mm) => Lagging::Covering { thickness_mm },
        None if words.has(Topic::Insulation) => Lagging::InTheSolid,
        None => Lagging::None,
    }
}
