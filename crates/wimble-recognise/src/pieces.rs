//! All timber members of all files, before their neighbours are looked at.

use crate::candidate::{Candidate, Family};
use crate::neighbours::Neighbours;
use crate::sorting::{Sort, Sticks, names};
use crate::stick::{Figure, Items, Joined, Stick, boxed_in, join, stick, touch_along};
use crate::timber::Evidence;
use crate::words::Topic;
use rustc_hash::FxHashMap;
use thin_vec::{ThinVec, thin_vec};
use wimble_model::{MemberKind, Section};

/// Pieces thinner than this both ways are no sticks, mm.
const SLIVER_MM: f64 = 20.0;
/// I-joists are no deeper; a panel between two stiles is, mm.
const DEEPEST_MM: f64 = 700.0;
/// Flanges and web of an I-joist touch over this much of the length.
const GLUED: f64 = 0.9;

/// One timber member.
#[derive(Debug, Clone)]
pub(crate) struct Piece {
    /// The candidate that gives it its name.
    pub(crate) candidate: u32,
    /// The item, if its element was split into several members.
    pub(crate) item: Option<u32>,
    /// Positions of its items in that candidate.
    pub(crate) items: Items,
    /// Other candidates that are parts of it.
    pub(crate) also: ThinVec<u32>,
    /// Its body.
    pub(crate) stick: Box<Stick>,
    /// Why it is timber.
    pub(crate) evidence: Evidence,
    /// The kind that the user gives.
    pub(crate) told: Option<MemberKind>,
}

/// Left-overs of a boolean or a drawing beside the sticks of one element: no member.
fn is_sliver(stick: &Stick) -> bool {
    stick.section.breadth_mm().max(stick.section.depth_mm()) < SLIVER_MM
}

/// All members, taken out of the sorts; parts that make an open-web joist or an I-joist together are one.
pub(crate) fn pieces(candidates: &[Candidate], sorts: &mut [Sort]) -> Vec<Piece> {
    let several =
        |sort: &Sort| if let Sort::Members(sticks) = sort { sticks.joined.len() } else { 0 };
    let mut pieces = Vec::with_capacity(sorts.iter().map(several).sum());
    let mut webs = Vec::new();
    for (at, sort) in (0u32..).zip(sorts.iter_mut()) {
        match sort {
            Sort::Members(sticks) => {
                let Sticks { joined, evidence, kind } = &mut **sticks;
                let split = joined.len() > 1;
                let sticks = |one: &Joined| !split || !is_sliver(&one.stick);
                for one in std::mem::take(joined).into_iter().filter(sticks) {
                    let first = one.items.first().and_then(|&i| {
                        candidates.get(at as usize)?.items.get(i).map(|item| item.index)
                    });
                    pieces.push(Piece {
                        candidate: at,
                        item: if split { first } else { None },
                        items: one.items,
                        also: ThinVec::new(),
                        stick: one.stick,
                        evidence: *evidence,
                        told: *kind,
                    });
                }
            }
            Sort::Web(one) => webs.push((at, Stick::clone(&one.stick))),
            _ => {}
        }
    }
    let pieces = assemblies(candidates, sorts, pieces);
    glue(candidates, pieces, &webs)
}

/// Open-web joists that are assemblies of chords and webs.
fn assemblies(candidates: &[Candidate], sorts: &[Sort], pieces: Vec<Piece>) -> Vec<Piece> {
    let mut parts: std::collections::BTreeMap<u32, Vec<u32>> = std::collections::BTreeMap::new();
    for (at, candidate) in (0u32..).zip(candidates) {
        if let Some(whole) = candidate.whole {
            let is_assembly = candidates
                .get(whole as usize)
                .is_some_and(|whole| whole.family == Family::Assembly && may_be_joist(whole));
            if is_assembly && candidate.solids().next().is_some() {
                parts.entry(whole).or_default().push(at);
            }
        }
    }
    if parts.is_empty() {
        return pieces;
    }
    let mut taken: FxHashMap<u32, u32> = FxHashMap::default();
    let mut found = Vec::new();
    for (whole, members) in parts {
        let timber = members.iter().find_map(|&m| match sorts.get(m as usize) {
            Some(Sort::Members(sticks)) => Some(sticks.evidence),
            _ => None,
        });
        let (Some(evidence), Some(assembly)) = (timber, candidates.get(whole as usize)) else {
            continue;
        };
        if members.len() < 3 {
            continue;
        }
        let figures = members
            .iter()
            .filter_map(|&m| candidates.get(m as usize))
            .flat_map(|c| c.solids().map(|(_, solid)| Figure::of(solid)))
            .collect();
        let joined = join(figures, None, names(assembly).has(Topic::Engineered));
        let [one] = joined.as_slice() else { continue };
        if !matches!(one.stick.section, Section::OpenWeb { .. }) || one.stick.is_steep() {
            continue;
        }
        taken.extend(members.iter().map(|&m| (m, whole)));
        found.push(Piece {
            candidate: whole,
            item: None,
            items: Items::new(),
            also: members.into(),
            stick: one.stick.clone(),
            evidence,
            told: None,
        });
    }
    let mut pieces: Vec<Piece> =
        pieces.into_iter().filter(|piece| !taken.contains_key(&piece.candidate)).collect();
    pieces.extend(found);
    pieces
}

/// Trusses stay apart, unless they are named as open-web joists.
fn may_be_joist(assembly: &Candidate) -> bool {
    let words = names(assembly);
    words.has(Topic::Engineered)
        || !(assembly.of_type.predefined == "TRUSS" || words.has(Topic::Truss))
}

/// I-joists that are three elements: a web with a flange on each edge.
fn glue(candidates: &[Candidate], mut pieces: Vec<Piece>, webs: &[(u32, Stick)]) -> Vec<Piece> {
    // Thin timber sticks may be webs as well as boards without a name for it.
    let thin = pieces.iter().filter(|p| {
        let (b, h) = (p.stick.section.breadth_mm(), p.stick.section.depth_mm());
        b.min(h) <= 20.0
    });
    let webs: Vec<(u32, Stick)> =
        webs.iter().cloned().chain(thin.map(|p| (p.candidate, Stick::clone(&p.stick)))).collect();
    if webs.is_empty() {
        return pieces;
    }
    let tree = Neighbours::among(&pieces);
    let mut gone = vec![false; pieces.len()];
    let mut made = Vec::new();
    for (web_at, web) in &webs {
        let place = web.figure.world_box().grown(0.002);
        let mut near: Vec<usize> = tree
            .near(place)
            .into_iter()
            .map(|i| i as usize)
            .filter(|&i| !gone[i] && pieces[i].candidate != *web_at)
            .filter(|&i| touch_along(&pieces[i].stick, web, GLUED))
            .collect();
        near.sort_by(|&a, &b| pieces[a].candidate.cmp(&pieces[b].candidate));
        let middle = |i: &usize| boxed_in(web, &pieces[*i].stick.figure).centre();
        let along = web.local_box().size();
        // The flanges stand out on both sides of the web: a board nailed to a face is none.
        let own = web.local_box();
        let astride = |i: &usize| {
            let flange = boxed_in(web, &pieces[*i].stick.figure);
            if along.z >= along.y {
                flange.min.y < own.min.y && flange.max.y > own.max.y
            } else {
                flange.min.z < own.min.z && flange.max.z > own.max.z
            }
        };
        near.retain(astride);
        // The flanges lie beyond the web's two long edges.
        let edge = |i: &usize| if along.z >= along.y { middle(i).z } else { middle(i).y };
        let (Some(&low), Some(&high)) =
            (near.iter().find(|i| edge(i) < 0.0), near.iter().find(|i| edge(i) > 0.0))
        else {
            continue;
        };
        let whole =
            Figure::union([&pieces[low].stick.figure, &web.figure, &pieces[high].stick.figure]);
        let Some(joist) = stick(whole, None) else { continue };
        if !matches!(joist.section, Section::IJoist { .. }) || joist.section.depth_mm() > DEEPEST_MM
        {
            continue;
        }
        let lower = if pieces[low].stick.middle_m().z <= pieces[high].stick.middle_m().z {
            low
        } else {
            high
        };
        let upper = if lower == low { high } else { low };
        let named = pieces[lower].candidate;
        let assembly = candidates.get(named as usize).and_then(|c| c.whole).filter(|&whole| {
            candidates.get(whole as usize).is_some_and(|w| w.family == Family::Assembly)
        });
        let mut also = thin_vec![pieces[upper].candidate, *web_at];
        if assembly.is_some() {
            also.push(named);
        }
        made.push(Piece {
            candidate: assembly.unwrap_or(named),
            also,
            stick: Box::new(joist),
            ..pieces[lower].clone()
        });
        gone[low] = true;
        gone[high] = true;
        for (i, piece) in pieces.iter().enumerate() {
            if piece.candidate == *web_at {
                gone[i] = true;
            }
        }
    }
    let mut keep = gone.iter().map(|gone| !gone);
    pieces.retain(|_| keep.next().unwrap_or(true));
    pieces.extend(made);
    pieces
}
