//! Ids of cuts.

use super::Names;
use super::digest::Digest;
use compact_str::CompactString;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;
use wimble_model::{Cut, MemberIx, OpeningIx, ServiceIx};

/// Cuts that are named in one piece: those of whole members.
const PIECE: usize = 4096;

/// `c` and 12 hex digits over member, services, openings and the ordinal along x among equals.
pub(super) fn ids(names: &Names, cuts: &[Cut]) -> Vec<CompactString> {
    let mut ids = vec![CompactString::default(); cuts.len()];
    // The ordinal is counted within a member: where the cuts of a member stand together, pieces
    // of whole members are named side by side.
    let apart = cuts.is_sorted_by_key(|cut| cut.member);
    let mut pieces = Vec::new();
    let (mut cuts, mut rest) = (cuts, ids.as_mut_slice());
    while !cuts.is_empty() {
        let at = if apart { piece(cuts) } else { cuts.len() };
        let (of_piece, behind) = cuts.split_at(at);
        let (places, others) = rest.split_at_mut(at);
        pieces.push((of_piece, places));
        (cuts, rest) = (behind, others);
    }
    pieces.into_par_iter().for_each(|(cuts, places)| {
        let mut seen = Seen::default();
        for (cut, place) in cuts.iter().zip(places) {
            *place = id(names, cut, seen.ordinal(cut));
        }
    });
    ids
}

/// How many of the first cuts make a piece of whole members.
fn piece(cuts: &[Cut]) -> usize {
    let Some(last) = cuts.get(PIECE.min(cuts.len()) - 1) else { return cuts.len() };
    cuts.partition_point(|cut| cut.member <= last.member)
}

fn id(names: &Names, cut: &Cut, ordinal: u32) -> CompactString {
    let mut services: SmallVec<[&str; 4]> =
        cut.services.iter().map(|s| names.service(*s)).collect();
    let mut openings: SmallVec<[&str; 4]> =
        cut.openings.iter().map(|o| names.opening(*o)).collect();
    services.sort_unstable();
    openings.sort_unstable();
    let mut digest = Digest::default();
    digest.add(names.member(cut.member));
    digest.list(&services);
    digest.list(&openings);
    digest.ordinal(ordinal);
    digest.hex("c", 12)
}

/// Counts the cuts of the same services and openings in one member after another. The cuts of a member
/// come by x0, so counting is the ordinal along x.
#[derive(Default)]
struct Seen<'a> {
    counts: FxHashMap<(MemberIx, &'a [ServiceIx], &'a [OpeningIx]), u32>,
}

impl<'a> Seen<'a> {
    fn ordinal(&mut self, cut: &'a Cut) -> u32 {
        let count = self.counts.entry((cut.member, &cut.services, &cut.openings)).or_insert(0);
        *count += 1;
        *count - 1
    }
}
