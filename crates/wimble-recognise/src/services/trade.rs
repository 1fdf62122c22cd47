//! What a service carries, and what it is made of.

use crate::words::{Topic, Topics};
use wimble_model::{ServiceKind, ServiceMaterial, Trade};

/// What a service carries: from its systems first, else from its own words, else its kind.
pub(crate) fn trade(kind: ServiceKind, systems: Topics, words: Topics) -> Trade {
    // "Soil and waste" names a whole installation: the pipe's own words tell which of the two.
    if systems.has(Topic::Soil)
        && systems.has(Topic::Waste)
        && words.has(Topic::Waste)
        && !words.has(Topic::Soil)
    {
        return Trade::Waste;
    }
    of(systems).or_else(|| of(words)).unwrap_or(match kind {
        ServiceKind::Cable | ServiceKind::Carrier => Trade::Electric,
        ServiceKind::Duct => Trade::Air,
        _ => Trade::Unknown,
    })
}

/// The narrower word counts: a soil drain is soil, heating water is heating.
fn of(words: Topics) -> Option<Trade> {
    [
        (Topic::Flue, Trade::Flue),
        (Topic::Gas, Trade::Gas),
        (Topic::Soil, Trade::Soil),
        (Topic::Waste, Trade::Waste),
        (Topic::Chilled, Trade::Chilled),
        (Topic::Heating, Trade::Heating),
        (Topic::Water, Trade::Water),
        (Topic::Air, Trade::Air),
        (Topic::Electric, Trade::Electric),
    ]
    .into_iter()
    .find(|(topic, _)| words.has(*topic))
    .map(|(_, trade)| trade)
}

/// What a service is made of, as far as its clearance needs it.
pub(crate) fn material(words: Topics) -> ServiceMaterial {
    if words.has(Topic::PushFit) {
        ServiceMaterial::PushFit
    } else if words.has(Topic::Solvent) {
        ServiceMaterial::Solvent
    } else if words.has(Topic::PlasticPipe) {
        ServiceMaterial::Plastic
    } else if words.has(Topic::MetalPipe) {
        ServiceMaterial::Metal
    } else {
        ServiceMaterial::NotStated
    }
}
