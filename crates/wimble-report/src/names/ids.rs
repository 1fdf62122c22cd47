//! Ids of members, services and openings.

use super::centre_m;
use crate::Report;
use compact_str::{CompactString, format_compact};
use glam::DVec3;
use rayon::prelude::*;
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
}

/// Ids for rows that share one pool of GlobalIds.
fn number(mut claims: Vec<Claim<'_>>) -> Vec<CompactString> {
    let mut ids = vec![CompactString::default(); claims.len()];
    claims.par_sort_by(|a, b| {
        (a.guid, a.path, a.item)
            .cmp(&(b.guid, b.path, b.item))
            .then(a.centre_m.x.total_cmp(&b.centre_m.x))
            .then(a.centre_m.y.total_cmp(&b.centre_m.y))
            .then(a.centre_m.z.total_cmp(&b.centre_m.z))
            .then(a.row.cmp(&b.row))
    });
    for same in claims.chunk_by(|a, b| a.guid == b.guid) {
        for (n, claim) in (1..).zip(same) {
            let alone = same.len() == 1 && !claim.guid.is_empty();
            if let Some(id) = ids.get_mut(claim.row) {
                *id = if alone { claim.guid.into() } else { format_compact!("{}~{n}", claim.guid) };
            }
        }
    }
    ids
}

/// Ids of members and services, which share one pool.
pub(super) fn rows(report: &Report) -> (Vec<CompactString>, Vec<CompactString>) {
    let count = report.members.len();
    let of_members = report
        .members
        .iter()
        .enumerate()
        .map(|(row, member)| Claim::new(report, &member.element, centre_m(member), row));
    let of_services = report.services.iter().enumerate().map(|(row, service)| {
        let centre = report.service_centres_m.get(row).copied().unwrap_or_default();
        Claim::new(report, &service.element, centre, count + row)
    });
    let mut ids = number(of_members.chain(of_services).collect());
    let services = ids.split_off(count);
    (ids, services)
}

/// Ids of openings: a pool of their own, since a void found in a body bears its host's GlobalId.
pub(super) fn openings(report: &Report) -> Vec<CompactString> {
    let claims = report.openings.iter().enumerate();
    number(claims.map(|(row, o)| Claim::new(report, &o.element, DVec3::ZERO, row)).collect())
}
