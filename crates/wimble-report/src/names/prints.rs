//! Fingerprints of findings.

use super::digest::{Digest, Hex};
use super::{Names, cuts_of};
use crate::Report;
use rayon::prelude::*;
use smallvec::SmallVec;
use std::collections::BTreeMap;
use wimble_model::{CutIx, Finding};

/// Findings that are named in one piece, and a few more up to the next member.
const PIECE: usize = 1024;

/// GlobalIds in order, each once.
type Guids<'a> = SmallVec<[&'a str; 2]>;

/// What a finding is of. The ordinal among equals goes by place along the member, not by the order
/// of findings (which puts the worst verdict first): a verdict that changes must not change the
/// fingerprint.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Key<'a> {
    rule: &'a str,
    services: Guids<'a>,
    openings: Guids<'a>,
    first_cut: Option<CutIx>,
    /// Position in the report.
    at: usize,
}

/// 16 hex digits over the rule, the GlobalIds, and the ordinal along x among equals.
pub(super) fn fingerprints(report: &Report, names: &Names) -> Vec<Hex<16>> {
    let findings = report.findings.as_slice();
    let mut prints = vec![Hex::default(); findings.len()];
    let guid_of = |finding: &Finding| {
        let member = report.members.get(finding.member.at());
        member.map_or("", |member| member.element.guid.as_str())
    };
    // Only what is of one GlobalId can be equal. It stands together where no other member has that
    // GlobalId, that is, where it is the member's id.
    let together = findings.is_sorted_by_key(|finding| finding.member);
    let alone = |finding: &Finding| together && names.member(finding.member) == guid_of(finding);

    let pieces = pieces(findings, &mut prints);
    pieces.into_par_iter().for_each(|(from, findings, prints)| {
        let (mut at, mut digest) = (0, Digest::default());
        for same in findings.chunk_by(|a, b| a.member == b.member) {
            let keys = (from + at..).zip(same).map(|(at, finding)| Key::new(report, at, finding));
            if let Some(finding) = same.first().filter(|finding| alone(finding)) {
                name(&mut digest, guid_of(finding), keys.collect(), |of, print| {
                    if let Some(place) = prints.get_mut(of - from) {
                        *place = print;
                    }
                });
            }
            at += same.len();
        }
    });

    let mut shared: BTreeMap<&str, Vec<Key<'_>>> = BTreeMap::new();
    for (at, finding) in findings.iter().enumerate().filter(|(_, finding)| !alone(finding)) {
        shared.entry(guid_of(finding)).or_default().push(Key::new(report, at, finding));
    }
    let mut digest = Digest::default();
    for (guid, keys) in shared {
        name(&mut digest, guid, keys, |at, print| {
            if let Some(place) = prints.get_mut(at) {
                *place = print;
            }
        });
    }
    prints
}

/// A stretch of the findings: where it begins, its findings, and the places of their fingerprints.
type Piece<'a, 'p> = (usize, &'a [Finding], &'p mut [Hex<16>]);

/// The findings in pieces of whole members.
fn pieces<'a, 'p>(findings: &'a [Finding], prints: &'p mut [Hex<16>]) -> Vec<Piece<'a, 'p>> {
    let mut pieces = Vec::new();
    let (mut from, mut places) = (0, prints);
    while let Some(rest) = findings.get(from..).filter(|rest| !rest.is_empty()) {
        let (first, behind) = rest.split_at(rest.len().min(PIECE));
        let same = |finding: &&Finding| first.last().is_some_and(|l| l.member == finding.member);
        let length = first.len() + behind.iter().take_while(same).count();
        let (own, others) = places.split_at_mut(length);
        pieces.push((from, &rest[..length], own));
        (from, places) = (from + length, others);
    }
    pieces
}

/// Names the findings of one GlobalId.
fn name(
    digest: &mut Digest,
    guid: &str,
    mut keys: Vec<Key<'_>>,
    mut named: impl FnMut(usize, Hex<16>),
) {
    keys.sort_unstable();
    for same in keys.chunk_by(Key::is_equal) {
        for (ordinal, key) in (0..).zip(same) {
            digest.add(key.rule);
            digest.add(guid);
            digest.list(key.services.iter().copied());
            digest.list(key.openings.iter().copied());
            digest.ordinal(ordinal);
            named(key.at, digest.hex(b""));
        }
    }
}

impl<'a> Key<'a> {
    fn new(report: &'a Report, at: usize, finding: &'a Finding) -> Self {
        let services = finding.services.iter().filter_map(|s| report.services.get(s.at()));
        let openings = cuts_of(report, finding)
            .flat_map(|cut| &cut.openings)
            .filter_map(|o| report.openings.get(o.at()));
        Self {
            rule: &finding.rule,
            services: in_order(services.map(|s| s.element.guid.as_str())),
            openings: in_order(openings.map(|o| o.element.guid.as_str())),
            first_cut: finding.cuts.first().copied(),
            at,
        }
    }

    /// Whether another differs in nothing but its ordinal.
    fn is_equal(&self, other: &Self) -> bool {
        (self.rule, &self.services, &self.openings)
            == (other.rule, &other.services, &other.openings)
    }
}

fn in_order<'a>(guids: impl Iterator<Item = &'a str>) -> Guids<'a> {
    let mut guids: Guids<'a> = guids.collect();
    guids.sort_unstable();
    guids.dedup();
    guids
}
