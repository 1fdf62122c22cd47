//! Ids of members, services and openings.

use super::centre_m;
use crate::Report;
use compact_str::{CompactString, format_compact};
use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::FxBuildHasher;
use std::cmp::Ordering;
use std::hash::BuildHasher;
use wimble_model::Element;

/// What decides the number of rows with the same GlobalId: input path, item, centre point; the
/// position in the list settles what is equal in all of them.
struct Claim<'a> {
    guid: &'a str,
    path: &'a str,
    item: Option<u32>,
    centre_m: DVec3,
    row: usize,
}

impl Claim<'_> {
    fn new<'a>(report: &'a Report, element: &'a Element, centre_m: DVec3, row: usize) -> Claim<'a> {
        let path = report.inputs.get(element.input as usize).map_or("", |input| &input.path);
        Claim { guid: &element.guid, path, item: element.item, centre_m, row }
    }

    fn order(&self, other: &Self) -> Ordering {
        (self.guid, self.path, self.item)
            .cmp(&(other.guid, other.path, other.item))
            .then(self.centre_m.x.total_cmp(&other.centre_m.x))
            .then(self.centre_m.y.total_cmp(&other.centre_m.y))
            .then(self.centre_m.z.total_cmp(&other.centre_m.z))
            .then(self.row.cmp(&other.row))
    }
}

/// Ids of so many rows that share one pool of GlobalIds.
fn number<'a>(
    rows: usize,
    element: impl Fn(usize) -> Option<&'a Element> + Sync,
    claim: impl Fn(usize) -> Option<Claim<'a>>,
) -> Vec<CompactString> {
    let guid = |row: usize| element(row).map_or("", |element| element.guid.as_str());
    let mut ids: Vec<CompactString> =
        (0..rows).into_par_iter().map(|row| guid(row).into()).collect();
    // By a hash of the GlobalId: what is alike then stands together. Nearly all stand alone.
    let mut order: Vec<(u64, usize)> =
        (0..rows).into_par_iter().map(|row| (FxBuildHasher.hash_one(guid(row)), row)).collect();
    order.par_sort_unstable();
    let nameless = FxBuildHasher.hash_one("");
    for alike in order.chunk_by(|a, b| a.0 == b.0) {
        if let [(hash, _)] = alike
            && *hash != nameless
        {
            continue;
        }
        let mut claims: Vec<Claim<'_>> = alike.iter().filter_map(|(_, row)| claim(*row)).collect();
        claims.sort_by(Claim::order);
        for same in claims.chunk_by(|a, b| a.guid == b.guid) {
            let alone = same.len() == 1 && !same[0].guid.is_empty();
            for (n, claim) in (1..).zip(same).filter(|_| !alone) {
                if let Some(id) = ids.get_mut(claim.row) {
                    *id = format_compact!("{}~{n}", claim.guid);
                }
            }
        }
    }
    ids
}

/// Ids of members and services, which share one pool.
pub(super) fn rows(report: &Report) -> (Vec<CompactString>, Vec<CompactString>) {
    let members = report.members.len();
    let element = |row: usize| match row.checked_sub(members) {
        None => report.members.get(row).map(|member| &member.element),
        Some(row) => report.services.get(row).map(|service| &service.element),
    };
    let centre_m = |row: usize| match row.checked_sub(members) {
        None => report.members.get(row).map_or(DVec3::ZERO, centre_m),
        Some(row) => report.service_centres_m.get(row).copied().unwrap_or_default(),
    };
    let claim = |row: usize| Some(Claim::new(report, element(row)?, centre_m(row), row));
    let mut ids = number(members + report.services.len(), element, claim);
    let services = ids.split_off(members);
    (ids, services)
}

/// Ids of openings: a pool of their own, since a void found in a body bears its host's GlobalId.
pub(super) fn openings(report: &Report) -> Vec<CompactString> {
    let element = |row: usize| report.openings.get(row).map(|opening| &opening.element);
    let claim = |row: usize| Some(Claim::new(report, element(row)?, DVec3::ZERO, row));
    number(report.openings.len(), element, claim)
}
