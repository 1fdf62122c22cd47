//! The names that the outside sees: ids of rows, fingerprints and places of findings.

use crate::Report;
use glam::DVec3;
use rayon::prelude::*;
use std::collections::BTreeMap;
use wimble_model::{Cut, CutIx, Element, Finding, Member, MemberIx, OpeningIx, ServiceIx};

/// Names of a report's rows; each list is parallel to the report's.
///
/// GlobalIds repeat in real models, so an id is the GlobalId only where no other row has it, else
/// `GlobalId~n`. A fingerprint outlives small changes of the model: it is made of the rule and the
/// GlobalIds, not of figures. A place outlives changed GlobalIds: it is made of figures alone.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// Ids of members.
    pub members: Vec<String>,
    /// Ids of services.
    pub services: Vec<String>,
    /// Ids of openings.
    pub openings: Vec<String>,
    /// Ids of cuts.
    pub cuts: Vec<String>,
    /// Fingerprints of findings.
    pub fingerprints: Vec<String>,
    /// Places of findings.
    pub places: Vec<String>,
}

impl Names {
    /// Names all rows.
    #[must_use]
    pub fn of(report: &Report) -> Self {
        let (members, services) = rows(report);
        let openings = openings(report);
        let mut names = Self { members, services, openings, ..Self::default() };
        names.cuts = cuts(report, &names);
        names.fingerprints = fingerprints(report);
        let corners = least_corners(report);
        names.places = report.findings.par_iter().map(|f| place(report, &corners, f)).collect();
        names
    }

    /// Id of a member; empty if there is none.
    #[must_use]
    pub fn member(&self, ix: MemberIx) -> &str {
        self.members.get(ix.at()).map_or("", String::as_str)
    }

    /// Id of a service; empty if there is none.
    #[must_use]
    pub fn service(&self, ix: ServiceIx) -> &str {
        self.services.get(ix.at()).map_or("", String::as_str)
    }

    /// Id of an opening; empty if there is none.
    #[must_use]
    pub fn opening(&self, ix: OpeningIx) -> &str {
        self.openings.get(ix.at()).map_or("", String::as_str)
    }

    /// Id of a cut; empty if there is none.
    #[must_use]
    pub fn cut(&self, ix: CutIx) -> &str {
        self.cuts.get(ix.at()).map_or("", String::as_str)
    }
}

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
fn number(mut claims: Vec<Claim<'_>>) -> Vec<String> {
    let mut ids = vec![String::new(); claims.len()];
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
                *id = if alone { claim.guid.into() } else { format!("{}~{n}", claim.guid) };
            }
        }
    }
    ids
}

/// Ids of members and services, which share one pool.
fn rows(report: &Report) -> (Vec<String>, Vec<String>) {
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
fn openings(report: &Report) -> Vec<String> {
    let claims = report.openings.iter().enumerate();
    number(claims.map(|(row, o)| Claim::new(report, &o.element, DVec3::ZERO, row)).collect())
}

/// `c` and 12 hex digits over member, services, openings and the ordinal along x among equals.
fn cuts(report: &Report, names: &Names) -> Vec<String> {
    // The ordinal is counted within a member, and the cuts of a member stand together.
    let by_member: Vec<&[Cut]> = if report.cuts.is_sorted_by_key(|cut| cut.member) {
        report.cuts.chunk_by(|a, b| a.member == b.member).collect()
    } else {
        vec![&report.cuts]
    };
    let ids: Vec<Vec<String>> = by_member.par_iter().map(|cuts| of_member(names, cuts)).collect();
    ids.into_iter().flatten().collect()
}

fn of_member(names: &Names, cuts: &[Cut]) -> Vec<String> {
    let mut seen: BTreeMap<(MemberIx, Vec<&str>, Vec<&str>), u32> = BTreeMap::new();
    cuts.iter()
        .map(|cut| {
            let mut services: Vec<&str> = cut.services.iter().map(|s| names.service(*s)).collect();
            let mut openings: Vec<&str> = cut.openings.iter().map(|o| names.opening(*o)).collect();
            services.sort_unstable();
            openings.sort_unstable();
            let mut digest = Digest::default();
            digest.add(names.member(cut.member));
            digest.list(&services);
            digest.list(&openings);
            // The cuts of a member come by x0, so counting is the ordinal along x.
            let ordinal = seen.entry((cut.member, services, openings)).or_insert(0);
            digest.add(&ordinal.to_string());
            *ordinal += 1;
            format!("c{}", digest.hex(12))
        })
        .collect()
}

/// GlobalIds in order, each once.
fn sorted<'a>(guids: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut guids: Vec<&str> = guids.collect();
    guids.sort_unstable();
    guids.dedup();
    guids
}

/// 16 hex digits over the rule, the GlobalIds, and the ordinal along x among equals.
fn fingerprints(report: &Report) -> Vec<String> {
    let keys: Vec<(&str, &str, Vec<&str>, Vec<&str>)> = report
        .findings
        .par_iter()
        .map(|finding| {
            let services = finding.services.iter().filter_map(|s| report.services.get(s.at()));
            let openings = cuts_of(report, finding)
                .flat_map(|cut| &cut.openings)
                .filter_map(|o| report.openings.get(o.at()));
            let member = report.members.get(finding.member.at());
            (
                &*finding.rule,
                member.map_or("", |m| m.element.guid.as_str()),
                sorted(services.map(|s| s.element.guid.as_str())),
                sorted(openings.map(|o| o.element.guid.as_str())),
            )
        })
        .collect();
    // The ordinal goes by place along the member, not by the order of findings (which puts the
    // worst verdict first): a verdict that changes must not change the fingerprint.
    let mut order: Vec<usize> = (0..keys.len()).collect();
    let first_cut = |i: &usize| report.findings.get(*i).and_then(|f| f.cuts.first().copied());
    order.par_sort_by(|a, b| {
        keys.get(*a).cmp(&keys.get(*b)).then(first_cut(a).cmp(&first_cut(b))).then(a.cmp(b))
    });
    let mut prints = vec![String::new(); keys.len()];
    for same in order.chunk_by(|a, b| keys.get(*a) == keys.get(*b)) {
        for (ordinal, i) in same.iter().enumerate() {
            let (Some((rule, member, services, openings)), Some(print)) =
                (keys.get(*i), prints.get_mut(*i))
            else {
                continue;
            };
            let mut digest = Digest::default();
            digest.add(rule);
            digest.add(member);
            digest.list(services);
            digest.list(openings);
            digest.add(&ordinal.to_string());
            *print = digest.hex(16);
        }
    }
    prints
}

/// Class and size of the member, and the centre of what the finding speaks of to 10 mm from the
/// least corner of its storey's members.
fn place(report: &Report, corners: &BTreeMap<Option<u32>, DVec3>, finding: &Finding) -> String {
    let Some(member) = report.members.get(finding.member.at()) else {
        return String::new();
    };
    let points: Vec<DVec3> = cuts_of(report, finding).map(|cut| cut.point_m).collect();
    #[expect(clippy::cast_precision_loss, reason = "a finding speaks of a few cuts")]
    let centre = if points.is_empty() {
        centre_m(member)
    } else {
        points.iter().sum::<DVec3>() / points.len() as f64
    };
    let corner = corners.get(&member.storey).copied().unwrap_or_default();
    let whole = |value: f64| crate::number::round(value, 1.0);
    // By way of tenths of a millimetre, so that a tie falls the same way wherever the building is.
    let centimetres = |metres: f64| whole(whole(metres * 1e4) / 100.0);
    let at = centre - corner;
    format!(
        "{} {}x{}x{} at {},{},{}",
        member.element.class,
        whole(member.section.breadth_mm()),
        whole(member.section.depth_mm()),
        whole(member.length_mm),
        10.0 * centimetres(at.x),
        10.0 * centimetres(at.y),
        10.0 * centimetres(at.z)
    )
}

fn cuts_of<'a>(report: &'a Report, finding: &'a Finding) -> impl Iterator<Item = &'a Cut> {
    finding.cuts.iter().filter_map(|cut| report.cuts.get(cut.at()))
}

fn centre_m(member: &Member) -> DVec3 {
    member.frame.world_m(DVec3::new(member.length_mm / 2.0, 0.0, 0.0))
}

/// Least corner of the boxes of each storey's members, world, metres.
fn least_corners(report: &Report) -> BTreeMap<Option<u32>, DVec3> {
    let mut corners: BTreeMap<Option<u32>, DVec3> = BTreeMap::new();
    for member in &report.members {
        let corner = corners.entry(member.storey).or_insert(DVec3::INFINITY);
        let (y, z) = (member.section.breadth_mm() / 2.0, member.section.depth_mm() / 2.0);
        for x in [0.0, member.length_mm] {
            for (y, z) in [(-y, -z), (-y, z), (y, -z), (y, z)] {
                *corner = corner.min(member.frame.world_m(DVec3::new(x, y, z)));
            }
        }
    }
    corners
}

/// BLAKE3 over parts, each closed by its length so that no two lists of parts look alike.
#[derive(Default)]
struct Digest(blake3::Hasher);

impl Digest {
    fn add(&mut self, part: &str) {
        self.0.update(part.as_bytes());
        self.0.update(&(part.len() as u64).to_le_bytes());
    }

    fn list(&mut self, parts: impl IntoIterator<Item: AsRef<str>>) {
        let mut count = 0_u64;
        for part in parts {
            self.add(part.as_ref());
            count += 1;
        }
        self.0.update(&count.to_le_bytes());
    }

    fn hex(&self, digits: usize) -> String {
        let mut hex = self.0.finalize().to_hex().to_string();
        hex.truncate(digits);
        hex
    }
}

#[cfg(test)]
mod tests;
