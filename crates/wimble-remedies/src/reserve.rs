//! Places that are kept for a trade: no remedy of another trade takes the last of them.

use crate::ranges::Ranges;
use crate::shop::Shop;
use wimble_cross::Change;
use wimble_model::{Cut, CutKind, MemberIx, ServiceIx};
use wimble_recognise::Scene;
use wimble_rules::{PackSet, Probe, RuleSettings, windows};

/// A place for a hole that some members keep.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reserve {
    /// The members, sorted.
    pub members: Vec<MemberIx>,
    /// The services that it is kept for, sorted: these may take it.
    pub services: Vec<ServiceIx>,
    /// Diameter of the hole, at mid-depth, mm.
    pub size_mm: f64,
}

/// Stretches of x that a whole hole of a size at mid-depth may lie in, beside all cuts of a
/// member.
#[must_use]
pub fn free(
    scene: &Scene,
    member: MemberIx,
    size_mm: f64,
    cuts: &[Cut],
    packs: &PackSet,
    rules: &RuleSettings,
) -> Vec<[f64; 2]> {
    let Some(member) = scene.members.get(member.at()) else { return Vec::new() };
    let probe = match member.section {
        wimble_model::Section::IJoist { .. } => Probe::hole(size_mm, 0.0).as_kind(CutKind::WebHole),
        _ => Probe::hole(size_mm, 0.0),
    };
    let half = size_mm / 2.0;
    let mut places = Ranges::of(windows(member, &probe, cuts, packs, rules));
    for cut in cuts {
        // Beside it, not one with it.
        if cut.min_mm.z < half && cut.max_mm.z > -half {
            places = places.without(cut.min_mm.x - half, cut.max_mm.x + half);
        }
    }
    places.iter().map(|(from, to)| [from - half, to + half]).collect()
}

/// Whether cuts of a member leave the places that are kept in it, as far as there are any now.
pub(crate) fn left(shop: &Shop<'_>, member: MemberIx, changes: &[Change], after: &[Cut]) -> bool {
    shop.reserves.iter().all(|reserve| {
        let concerns = reserve.members.binary_search(&member).is_ok()
            && changes.iter().any(|c| reserve.services.binary_search(&c.service).is_err());
        let place = |cuts: &[Cut]| {
            let (packs, rules) = (shop.packs, shop.rules);
            !free(shop.scene, member, reserve.size_mm, cuts, packs, rules).is_empty()
        };
        !concerns || place(after) || !place(shop.cuts_in(member).1)
    })
}
