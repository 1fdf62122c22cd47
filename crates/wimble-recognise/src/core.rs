//! From candidates to the scene: every step in its order.

use crate::alarm::{same_ids, told_apart};
use crate::candidate::Candidate;
use crate::coverage::{Fate, coverage, fate, mark_supports};
use crate::duplicates::duplicates;
use crate::kinds::{First, Pitch, first, pitches};
use crate::members::{carriers, carries};
use crate::neighbours::Neighbours;
use crate::openings::{Voids, openings};
use crate::pieces::{Piece, pieces};
use crate::rows::members;
use crate::scene::{Input, MemberBody, Scene, Warning};
use crate::services::{Serviced, served, services};
use crate::settings::{RecogniseSettings, Subject};
use crate::sorting::{Sort, names, sort};
use crate::stick::{Stick, stick};
use crate::supports::{Carriers, Supported, Who, bearings, stated, supported};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::cmp::Ordering;
use thin_vec::ThinVec;
use wimble_geom::Solid;
use wimble_model::{CoverageStatus, Element, Member, MemberKind, Opening, Section, Storey};

/// Everything that the adapter reads.
#[derive(Default)]
pub(crate) struct Building {
    pub(crate) inputs: Vec<Input>,
    /// By elevation and name.
    pub(crate) storeys: Vec<Storey>,
    /// By file, then in the file's order.
    pub(crate) candidates: Vec<Candidate>,
    pub(crate) warnings: Vec<Warning>,
}

/// Takes a first look at an element, and lets go of what nothing asks of it after that.
pub(crate) fn look(
    mut candidate: Candidate,
    storeys: &[Storey],
    settings: &RecogniseSettings,
) -> (Candidate, Sort) {
    let sort = sort(&candidate, storey_of(&candidate, storeys), &settings.mapping);
    candidate.let_go(&sort);
    (candidate, sort)
}

/// Recognises members, services, supports, spans and openings among elements that were looked at
/// one by one.
pub(crate) fn scene(
    building: Building,
    mut sorts: Vec<Sort>,
    settings: &RecogniseSettings,
) -> Scene {
    let Building { inputs, storeys, candidates, mut warnings } = building;
    let mut fates: Vec<Fate> = candidates.par_iter().zip(&sorts).map(|(c, s)| fate(c, s)).collect();
    let served = served(&mut sorts);
    // One after the other: what the first needs for its work is room for the second.
    let Timber { members, member_bodies, near, openings, opening_bodies } =
        timber(&candidates, sorts, &mut fates, &storeys, settings);
    let Serviced { services, bodies, fates: of_services } = services(&candidates, served);
    for (at, fate) in of_services {
        fates[at as usize] = fate;
    }
    warnings.extend(told_apart(&near, &services, &bodies, inputs.len()));
    let (coverage, (same_ids, assumptions)) = rayon::join(
        || coverage(&candidates, &fates),
        || {
            rayon::join(
                || same_ids(&candidates, inputs.len()),
                || assumptions(&candidates, &members, settings),
            )
        },
    );
    warnings.extend(same_ids);
    candidates.into_par_iter().for_each(drop);
    Scene {
        coverage,
        assumptions,
        inputs,
        storeys,
        members,
        member_bodies,
        services,
        service_bodies: bodies,
        openings,
        opening_bodies,
        warnings,
    }
}

/// The timber of a building: members and openings parallel to their bodies.
struct Timber {
    members: Vec<Member>,
    member_bodies: Vec<MemberBody>,
    /// The pieces by their boxes.
    near: Neighbours,
    openings: Vec<Opening>,
    opening_bodies: Vec<Solid>,
}

/// Recognises members, their supports and spans, and the openings in them.
fn timber(
    candidates: &[Candidate],
    mut sorts: Vec<Sort>,
    fates: &mut [Fate],
    storeys: &[Storey],
    settings: &RecogniseSettings,
) -> Timber {
    let voids = Voids::new(candidates, &sorts);
    let mut all = pieces(candidates, &mut sorts);
    all.par_iter_mut().for_each(|piece| voids.trim(piece));
    // By storey, GlobalId, item and place: the order in which members are numbered.
    let at_first = |piece: &Piece| (piece.candidate, piece.items.first().copied());
    let middle = |piece: &Piece| piece.stick.middle_m().to_array();
    all.par_sort_unstable_by(|a, b| {
        let by_place = || middle(a).partial_cmp(&middle(b)).unwrap_or(Ordering::Equal);
        order(a, candidates)
            .cmp(&order(b, candidates))
            .then_with(by_place)
            .then_with(|| at_first(a).cmp(&at_first(b)))
    });
    let near = Neighbours::among(&all);
    let given = all.len();
    let (mut pieces, twins) = without_twins(all, &near, candidates, fates);
    let near = if pieces.len() == given { near } else { Neighbours::among(&pieces) };
    turn_studs(&mut pieces, &near, candidates);

    let sticks: Vec<&Stick> = pieces.iter().map(|p| &*p.stick).collect();
    let pitch = pitches(&sticks, &near);
    let firsts: Vec<First> = pieces
        .par_iter()
        .zip(&pitch)
        .map(|(piece, &pitch)| kind_at_first(piece, pitch, candidates))
        .collect();
    let elements = carriers(candidates, &sorts);
    let carry = firsts.iter().map(carries).collect();
    let carriers = Carriers::new(elements, (&pieces, &near), carry, candidates);
    let connected = candidates.iter().any(|candidate| !candidate.more().connected.is_empty());
    let piece_of: FxHashMap<u32, u32> = pieces
        .iter()
        .zip(0u32..)
        .filter(|_| connected)
        .map(|(piece, at)| (piece.candidate, at))
        .collect();
    let supports: Vec<Supported> = near.map(|_, at| {
        let Some(piece) = pieces.get(at as usize) else { return Supported::default() };
        let candidate = candidates.get(piece.candidate as usize);
        let stated = |c| told_spans(c, storey_of(c, storeys), settings);
        if let Some(stated) = candidate.and_then(stated) {
            return stated;
        }
        let named = named_supports(piece, candidates, &piece_of);
        let me = Who::Member(at);
        let touching = bearings(me, &piece.stick, &carriers, &named, settings.assume_bearing);
        supported(piece.stick.length_mm, piece.stick.is_steep(), touching, settings, |who| {
            carriers.told(who)
        })
    });
    mark_supports(candidates, &sorts, &supports, fates);
    drop(carriers);
    let (openings, opening_bodies) = openings(&voids, (&pieces, &near), candidates, &sorts);
    drop(sorts);
    let members = members((&pieces, &near), candidates, &firsts, &pitch, supports, twins, storeys);
    let member_bodies = pieces.into_par_iter().map(|piece| piece.stick.body).collect();
    Timber { members, member_bodies, near, openings, opening_bodies }
}

/// The name of the storey that a candidate is in.
fn storey_of<'a>(candidate: &Candidate, storeys: &'a [Storey]) -> &'a str {
    let storey = candidate.storey.and_then(|s| storeys.get(s as usize));
    storey.map_or("", |s| s.name.as_str())
}

type Order<'a> = (u32, &'a str, u32, Option<u32>);

/// Members without a storey come last.
fn order<'a>(piece: &Piece, candidates: &'a [Candidate]) -> Order<'a> {
    let candidate = candidates.get(piece.candidate as usize);
    let storey = candidate.and_then(|c| c.storey).unwrap_or(u32::MAX);
    let guid = candidate.map_or("", |c| c.element.guid.as_str());
    let input = candidate.map_or(0, |c| c.element.input);
    (storey, guid, input, piece.item)
}

/// Takes out pieces given twice; the first file is the authority. For each piece that stays, the
/// elements that repeat it.
fn without_twins(
    all: Vec<Piece>,
    near: &Neighbours,
    candidates: &[Candidate],
    fates: &mut [Fate],
) -> (Vec<Piece>, Vec<ThinVec<Element>>) {
    let input = |at: &u32| {
        let piece = all.get(*at as usize);
        piece.and_then(|p| candidates.get(p.candidate as usize)).map_or(0, |c| c.element.input)
    };
    // By file for trust; equal files keep their order.
    let mut by_trust: Vec<u32> = (0u32..).take(all.len()).collect();
    by_trust.sort_by_key(input);
    let mut ranks = vec![0u32; all.len()];
    for (rank, &at) in (0u32..).zip(&by_trust) {
        if let Some(place) = ranks.get_mut(at as usize) {
            *place = rank;
        }
    }
    let trust = |at: u32| ranks.get(at as usize).copied().unwrap_or(u32::MAX);
    let twin_list = duplicates(&all, near, trust);
    if twin_list.iter().all(Option::is_none) {
        let twins = vec![ThinVec::new(); all.len()];
        return (all, twins);
    }
    let mut twins: Vec<ThinVec<Element>> = vec![ThinVec::new(); all.len()];
    let mut stays = vec![true; all.len()];
    for me in by_trust.into_iter().map(|at| at as usize) {
        let Some(&Some(twin)) = twin_list.get(me) else { continue };
        // What repeats a repetition repeats its first.
        let first = twin_of(&twin_list, twin);
        let Some(piece) = all.get(me) else { continue };
        let Some(candidate) = candidates.get(piece.candidate as usize) else { continue };
        if let (Some(list), Some(stay)) = (twins.get_mut(first), stays.get_mut(me)) {
            list.push(candidate.element.clone());
            *stay = false;
        }
        let of = all.get(first).and_then(|p| candidates.get(p.candidate as usize));
        let reason =
            format!("fills the same place as {}", of.map(Candidate::called).unwrap_or_default());
        if let Some(fate) = fates.get_mut(piece.candidate as usize) {
            *fate = (CoverageStatus::Duplicate, reason.into());
        }
    }
    let kept = all.into_iter().zip(twins).zip(stays).filter(|(_, stays)| *stays).map(|(p, _)| p);
    kept.unzip()
}

/// The first of a chain of repetitions.
fn twin_of(twins: &[Option<u32>], mut at: u32) -> usize {
    while let Some(&Some(earlier)) = twins.get(at as usize) {
        at = earlier;
    }
    at as usize
}

/// Studs and posts stand across their wall: from its plates, else its host wall.
fn turn_studs(pieces: &mut [Piece], near: &Neighbours, candidates: &[Candidate]) {
    let across = crate::members::across_walls(pieces, near, candidates);
    pieces.par_iter_mut().zip(across).for_each(|(piece, across)| {
        if let Some(across) = across
            && let Some(turned) = stick(piece.stick.figure.clone(), Some(across))
            && matches!(turned.section, Section::Rectangle { .. } | Section::Round { .. })
        {
            *piece.stick = turned;
        }
    });
}

fn kind_at_first(piece: &Piece, pitch: Pitch, candidates: &[Candidate]) -> First {
    if let Some(kind) = piece.told {
        return First { kind, said: true, trimmer: false };
    }
    let Some(candidate) = candidates.get(piece.candidate as usize) else {
        return First { kind: MemberKind::Unknown, said: false, trimmer: false };
    };
    let whole = candidate.whole.and_then(|w| candidates.get(w as usize));
    first(candidate, whole, names(candidate), &piece.stick, pitch)
}

/// What relationships in the model connect a piece to.
fn named_supports(
    piece: &Piece,
    candidates: &[Candidate],
    piece_of: &FxHashMap<u32, u32>,
) -> Vec<Who> {
    let own = candidates.get(piece.candidate as usize);
    own.map_or(&[][..], |c| &c.more().connected)
        .iter()
        .map(|at| piece_of.get(at).map_or(Who::Element(*at), |&ix| Who::Member(ix)))
        .collect()
}

/// Bearings or spans that the settings state.
fn told_spans(
    candidate: &Candidate,
    storey: &str,
    settings: &RecogniseSettings,
) -> Option<Supported> {
    let materials: Vec<&str> =
        candidate.materials.entries.iter().map(|m| m.name.as_str()).collect();
    let subject = Subject {
        guid: &candidate.element.guid,
        name: candidate.element.name.as_deref().unwrap_or_default(),
        class: &candidate.element.class,
        type_name: &candidate.of_type.name,
        materials: &materials,
        storey,
    };
    let entry = settings.stated.iter().find(|entry| entry.selector.fits(&subject))?;
    Some(stated(&entry.bearings_mm, &entry.spans_mm))
}

/// What was assumed.
fn assumptions(
    candidates: &[Candidate],
    members: &[Member],
    settings: &RecogniseSettings,
) -> Vec<String> {
    let mut said = Vec::new();
    let first = members.iter().take(64).flat_map(|m| &m.bearings);
    let walls: FxHashSet<(u32, u64)> = first
        .filter_map(|bearing| bearing.element.as_ref())
        .filter(|element| element.class.starts_with("IfcWall"))
        .map(|element| (element.input, element.instance))
        .collect();
    let unsaid = |c: &Candidate| {
        c.load_bearing.is_none() && walls.contains(&(c.element.input, c.element.instance))
    };
    if settings.assume_bearing && !walls.is_empty() && candidates.iter().any(unsaid) {
        said.push("Walls whose LoadBearing is not stated carry at the ends of members".to_owned());
    }
    if settings.accept_member_ends {
        said.push("Ends of members without a bearing count as bearings (settings)".to_owned());
    }
    let untold = members.iter().filter(|m| m.kind == MemberKind::Unknown).count();
    if untold > 0 {
        said.push(format!(
            "{untold} timber members whose kind cannot be told: what needs it is unknown"
        ));
    }
    said
}
