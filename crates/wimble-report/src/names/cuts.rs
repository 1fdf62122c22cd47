//! Ids of cuts.

use super::Names;
use super::digest::{Digest, Hex};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use wimble_model::{Cut, MemberIx, OpeningIx, ServiceIx};

/// Cuts that are named in one piece: those of whole members.
const PIECE: usize = 4096;
/// Up to so many cuts of a member are compared one with another, which takes no table.
const FEW: usize = 16;

/// `c` and 12 hex digits over member, services, openings and the ordinal along x among equals.
pub(super) fn ids(names: &Names, cuts: &[Cut]) -> Vec<Hex<13>> {
    let mut ids = vec![Hex::default(); cuts.len()];
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
    pieces.into_par_iter().for_each(|(cuts, mut places)| {
        let (mut seen, mut digest) = (Seen::default(), Digest::default());
        for of_member in cuts.chunk_by(|a, b| a.member == b.member) {
            let few = apart && of_member.len() <= FEW;
            for (at, cut) in of_member.iter().enumerate() {
                let ordinal = if few { equals(&of_member[..at], cut) } else { seen.ordinal(cut) };
                if let Some(place) = places.split_off_first_mut() {
                    *place = id(names, &mut digest, cut, ordinal);
                }
            }
        }
    });
    ids
}

/// How many of some cuts of a member have the services and openings of another.
fn equals(cuts: &[Cut], of: &Cut) -> u32 {
    let is_equal = |cut: &&Cut| cut.services == of.services && cut.openings == of.openings;
    cuts.iter().filter(is_equal).map(|_| 1).sum()
}

/// How many of the first cuts make a piece of whole members.
fn piece(cuts: &[Cut]) -> usize {
    let Some(last) = cuts.get(PIECE.min(cuts.len()) - 1) else { return cuts.len() };
    cuts.partition_point(|cut| cut.member <= last.member)
}

fn id(names: &Names, digest: &mut Digest, cut: &Cut, ordinal: u32) -> Hex<13> {
    digest.add(names.member(cut.member));
    digest.sorted(cut.services.iter().map(|service| names.service(*service)));
    digest.sorted(cut.openings.iter().map(|opening| names.opening(*opening)));
    digest.ordinal(ordinal);
    digest.hex(b"c")
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
