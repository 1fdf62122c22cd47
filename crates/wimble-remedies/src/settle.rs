//! Shifts of all runs one after the other, each in the building as those before it left it.

use crate::body::moved;
use crate::one_cut::wants;
use crate::reserve::Reserve;
use crate::runs::moves_of;
use crate::shop::Shop;
use glam::DVec3;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use wimble_cross::{Change, CrossSettings, cross};
use wimble_model::{CutIx, MemberIx, RunMove, ServiceIx};
use wimble_recognise::Scene;
use wimble_rules::{PackSet, RuleSettings, Situation, check};

/// Rounds before it is left as it is.
const ROUNDS: usize = 8;

/// What moves so that the runs comply together, as far as shifts do it: a good answer, not proved
/// to be the least. Who moves first by trade moves; what touches the same members waits for the
/// next round.
#[must_use]
pub fn settle(
    scene: &Scene,
    crossing: &CrossSettings,
    packs: &PackSet,
    rules: &RuleSettings,
    reserves: &[Reserve],
) -> Vec<RunMove> {
    let mut now = scene.clone();
    let mut total: BTreeMap<ServiceIx, DVec3> = BTreeMap::new();
    let mut moves: Vec<RunMove> = Vec::new();
    for _ in 0..ROUNDS {
        let shifts = round(&now, crossing, (packs, rules), reserves, &total);
        if shifts.is_empty() {
            break;
        }
        for shift in shifts {
            let by = DVec3::from_array(shift.vector_m);
            for piece in &shift.services {
                if let Some(body) = now.service_bodies.get_mut(piece.at()) {
                    *body = moved(body, by);
                }
                total.insert(*piece, by);
            }
            moves.push(shift);
        }
    }
    moves
}

/// The shifts of one round that have nothing to do with each other.
fn round(
    scene: &Scene,
    crossing: &CrossSettings,
    (packs, rules): (&PackSet, &RuleSettings),
    reserves: &[Reserve],
    done: &BTreeMap<ServiceIx, DVec3>,
) -> Vec<RunMove> {
    let mut cuts = cross(scene, crossing);
    let situation = Situation {
        members: &scene.members,
        services: &scene.services,
        openings: &scene.openings,
        cuts: &cuts,
    };
    check(&situation, packs, rules).write_into(&mut cuts);
    let shop = Shop::new(scene, &cuts, crossing, packs, rules, reserves);
    let bad: Vec<CutIx> = (0..cuts.len())
        .map(CutIx::from)
        .filter(|ix| cuts.get(ix.at()).is_some_and(wants))
        .collect();
    let mut movers = crate::movers(&shop, &bad);
    // Once moved it stays; a part of an element cannot be placed alone.
    movers.retain(|m| !m.pieces.iter().any(|s| done.contains_key(s)) && whole(scene, &m.pieces));
    movers.sort_by_key(|mover| std::cmp::Reverse(shop.rank(mover)));
    let plans: Vec<_> = movers.par_iter().map(|mover| moves_of(&shop, mover)).collect();
    let mut taken: BTreeSet<MemberIx> = BTreeSet::new();
    let mut shifts = Vec::new();
    for moves in plans.into_iter().flatten() {
        let free = |m: &RunMove| {
            whole(scene, &m.services) && !m.services.iter().any(|s| done.contains_key(s))
        };
        let changes: Vec<Change> = moves
            .iter()
            .flat_map(|m| m.services.iter().map(|s| (*s, DVec3::from_array(m.vector_m))))
            .filter_map(|(s, by)| Some(Change::moved(s, moved(shop.body(s)?, by))))
            .collect();
        let touched = shop.touched(&changes);
        if !moves.iter().all(free) || touched.iter().any(|member| taken.contains(member)) {
            continue;
        }
        taken.extend(touched);
        shifts.extend(moves);
    }
    shifts
}

/// Whether every item of the pieces' elements is among them.
fn whole(scene: &Scene, pieces: &[ServiceIx]) -> bool {
    let elements: BTreeSet<(u32, u64)> = pieces
        .iter()
        .filter_map(|s| scene.services.get(s.at()))
        .filter(|service| service.element.item.is_some())
        .map(|service| (service.element.input, service.element.instance))
        .collect();
    elements.is_empty()
        || scene
            .services
            .iter()
            .enumerate()
            .filter(|(_, s)| elements.contains(&(s.element.input, s.element.instance)))
            .all(|(n, _)| pieces.contains(&ServiceIx::from(n)))
}
