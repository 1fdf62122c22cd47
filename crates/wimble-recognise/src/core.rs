//! From candidates to the scene: every step in its order.

use crate::alarm;
use crate::body_voids::{Drawn, drawn};
use crate::candidate::{Candidate, Family};
use crate::coverage::{Fate, coverage};
use crate::duplicates::duplicates;
use crate::kinds::{First, Pitch, are_plies, carried, first, later, pitches, roles};
use crate::members::carriers;
use crate::openings::{Void, Voids, enters};
use crate::pieces::{Piece, pieces};
use crate::place::{loads, places};
use crate::scene::{Input, Scene, Warning};
use crate::services::{Serviced, services};
use crate::settings::{RecogniseSettings, Subject};
use crate::sorting::{Sort, names, sort};
use crate::stick::{Stick, stick};
use crate::supports::{Carriers, Supported, Who, bearings, stated, supported};
use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use wimble_model::{
    CoverageStatus, Element, Member, MemberIx, MemberKind, Note, Opening, OpeningSource, Role,
    Section, Storey,
};

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

/// Recognises members, services, supports, spans and openings.
pub(crate) fn scene(building: Building, settings: &RecogniseSettings) -> Scene {
    let Building { inputs, storeys, candidates, mut warnings } = building;
    let storey_name = |candidate: &Candidate| {
        let storey = candidate.storey.and_then(|s| storeys.get(s as usize));
        storey.map_or("", |s| s.name.as_str())
    };
    let sorts: Vec<Sort> = candidates
        .par_iter()
        .map(|candidate| sort(candidate, storey_name(candidate), &settings.mapping))
        .collect();
    let voids = Voids::new(&candidates, &sorts);
    let mut all = pieces(&candidates, &sorts);
    all.par_iter_mut().for_each(|piece| voids.trim(piece));
    // By storey, GlobalId, item and place: the order in which members are numbered.
    all.par_sort_by(|a, b| order(a, &candidates).partial_cmp(&order(b, &candidates)).unwrap_or(std::cmp::Ordering::Equal));
    let mut fates: Vec<Fate> = candidates.iter().zip(&sorts).map(|(c, s)| fate(c, s)).collect();
    let (mut pieces, twins) = without_twins(all, &candidates, &mut fates);
    turn_studs(&mut pieces, &candidates);

    let sticks: Vec<&Stick> = pieces.iter().map(|p| &p.stick).collect();
    let pitch = pitches(&sticks);
    let firsts: Vec<First> = pieces
        .iter()
        .zip(&pitch)
        .map(|(piece, &pitch)| kind_at_first(piece, pitch, &candidates))
        .collect();
    let piece_of: FxHashMap<u32, u32> =
        pieces.iter().zip(0u32..).map(|(piece, at)| (piece.candidate, at)).collect();
    let carriers = Carriers::new(carriers(&candidates, &sorts, &pieces, &firsts));
    let supports: Vec<Supported> = (0u32..)
        .zip(&pieces)
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|(at, piece)| {
            let candidate = candidates.get(piece.candidate as usize);
            if let Some(stated) = candidate.and_then(|c| told_spans(c, storey_name(c), settings)) {
                return stated;
            }
            let named = named_supports(piece, &candidates, &piece_of);
            let touching = bearings(
                Who::Member(at),
                &piece.stick,
                &carriers,
                &named,
                settings.assume_bearing,
            );
            let element = |at: u32| candidates.get(at as usize).map(|c| c.element.clone());
            supported(piece.stick.length_mm, piece.stick.is_steep(), touching, settings, element)
        })
        .collect();
    mark_supports(&candidates, &sorts, &supports, &mut fates);
    let members = members(&pieces, &candidates, &firsts, &pitch, supports, twins, &storeys);

    let (openings, opening_bodies) = openings(&voids, &pieces, &candidates, &sorts);
    let Serviced { services, bodies } = services(&candidates, &sorts, &mut fates);
    warnings.extend(told_apart(&members, &pieces, &services, &bodies, inputs.len()));
    warnings.extend(same_ids(&candidates, inputs.len()));
    Scene {
        coverage: coverage(&candidates, &fates),
        assumptions: assumptions(&candidates, &members, settings),
        inputs,
        storeys,
        members,
        member_bodies: pieces.iter().map(|p| p.stick.body.clone()).collect(),
        services,
        service_bodies: bodies,
        openings,
        opening_bodies,
        warnings,
    }
}

type Order<'a> = (u32, &'a str, u32, Option<u32>, [f64; 3]);

/// Members without a storey come last.
fn order<'a>(piece: &Piece, candidates: &'a [Candidate]) -> Order<'a> {
    let candidate = candidates.get(piece.candidate as usize);
    let storey = candidate.and_then(|c| c.storey).unwrap_or(u32::MAX);
    let guid = candidate.map_or("", |c| c.element.guid.as_str());
    let input = candidate.map_or(0, |c| c.element.input);
    (storey, guid, input, piece.item, piece.stick.middle_m().to_array())
}

/// Takes out pieces given twice; the first file is the authority. For each piece that stays, the
/// elements that repeat it.
fn without_twins(
    all: Vec<Piece>,
    candidates: &[Candidate],
    fates: &mut [Fate],
) -> (Vec<Piece>, Vec<Vec<Element>>) {
    let input = |p: &Piece| candidates.get(p.candidate as usize).map_or(0, |c| c.element.input);
    // By file for trust; equal files keep their order.
    let mut by_trust: Vec<usize> = (0..all.len()).collect();
    by_trust.sort_by_key(|&i| all.get(i).map_or(0, input));
    let trusted: Vec<Piece> = by_trust.iter().filter_map(|&i| all.get(i).cloned()).collect();
    let twin = duplicates(&trusted);
    let mut twins: Vec<Vec<Element>> = vec![Vec::new(); all.len()];
    let mut stays = vec![true; all.len()];
    for (at, twin) in twin.iter().enumerate() {
        let (Some(twin), Some(&me)) = (twin, by_trust.get(at)) else { continue };
        let (Some(&first), Some(piece)) = (by_trust.get(*twin), all.get(me)) else { continue };
        let Some(candidate) = candidates.get(piece.candidate as usize) else { continue };
        if let (Some(list), Some(stay)) = (twins.get_mut(first), stays.get_mut(me)) {
            list.push(candidate.element.clone());
            *stay = false;
        }
        let of = all.get(first).and_then(|p| candidates.get(p.candidate as usize));
        let reason = format!("fills the same place as {}", of.map_or_else(String::new, Candidate::called));
        if let Some(fate) = fates.get_mut(piece.candidate as usize) {
            *fate = (CoverageStatus::Duplicate, reason);
        }
    }
    let kept = all.into_iter().zip(twins).zip(stays).filter(|(_, stays)| *stays).map(|(p, _)| p);
    kept.unzip()
}

/// Studs and posts stand across their wall: from its plates, else its host wall.
fn turn_studs(pieces: &mut [Piece], candidates: &[Candidate]) {
    let across = crate::members::across_walls(pieces, candidates);
    pieces.par_iter_mut().zip(across).for_each(|(piece, across)| {
        if let Some(across) = across
            && let Some(turned) = stick(&piece.stick.figure, Some(across))
            && matches!(turned.section, Section::Rectangle { .. } | Section::Round { .. })
        {
            piece.stick = turned;
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
    own.map_or(&[][..], |c| &c.connected)
        .iter()
        .map(|at| piece_of.get(at).map_or(Who::Element(*at), |&ix| Who::Member(ix)))
        .collect()
}

/// Bearings or spans that the settings state.
fn told_spans(candidate: &Candidate, storey: &str, settings: &RecogniseSettings) -> Option<Supported> {
    let materials: Vec<&str> = candidate.materials.entries.iter().map(|m| m.name.as_str()).collect();
    let subject = Subject {
        guid: &candidate.element.guid,
        name: candidate.element.name.as_deref().unwrap_or_default(),
        class: &candidate.element.class,
        type_name: &candidate.type_name,
        materials: &materials,
        storey,
    };
    let entry = settings.stated.iter().find(|entry| entry.selector.fits(&subject))?;
    Some(stated(&entry.bearings_mm, &entry.spans_mm))
}

/// How an element ends, as far as its first look tells.
fn fate(candidate: &Candidate, sort: &Sort) -> Fate {
    match sort {
        Sort::Members { joined, .. } if joined.is_empty() => {
            (CoverageStatus::Unreadable, "its shape has no length or no breadth".to_owned())
        }
        Sort::Members { .. } => match candidate.trouble() {
            Some(trouble) => (CoverageStatus::Unreadable, format!("only a part of it: {trouble}")),
            None => (CoverageStatus::Member, "timber member".to_owned()),
        },
        Sort::Web(_) => (CoverageStatus::Other, "a board: cuts in it are not checked".to_owned()),
        Sort::Service(_) => (CoverageStatus::Service, "service".to_owned()),
        Sort::Carrier(_, why) if why.is_empty() => (CoverageStatus::Other, "carries no member".to_owned()),
        Sort::Carrier(_, why) | Sort::Other(why) => (CoverageStatus::Other, why.clone()),
        Sort::Fastener => (CoverageStatus::Other, "fastener or accessory".to_owned()),
        Sort::LayerOnly(why) => (CoverageStatus::LayerOnly, why.clone()),
        Sort::Opening if candidate.solids().next().is_none() => match candidate.trouble() {
            Some(trouble) => (CoverageStatus::Unreadable, trouble.to_owned()),
            None => (CoverageStatus::NoShape, "opening without a shape".to_owned()),
        },
        Sort::Opening => (CoverageStatus::Opening, "opening".to_owned()),
        Sort::Provision => (CoverageStatus::Opening, "provision for a void".to_owned()),
        Sort::Covering => (CoverageStatus::Covering, "covering".to_owned()),
        Sort::Spatial => (CoverageStatus::Spatial, "place in the building".to_owned()),
        Sort::PortOrAnnotation => (CoverageStatus::PortOrAnnotation, "port, annotation or grid".to_owned()),
        Sort::NoShape if candidate.has_parts => (CoverageStatus::NoShape, "no shape of its own: its parts have".to_owned()),
        Sort::NoShape => (CoverageStatus::NoShape, "no shape in the model".to_owned()),
        Sort::Unreadable(why) => (CoverageStatus::Unreadable, why.clone()),
        Sort::Ignored => (CoverageStatus::Ignored, "ignored by the settings".to_owned()),
    }
}

/// Elements that carry a member are supports.
fn mark_supports(candidates: &[Candidate], sorts: &[Sort], supports: &[Supported], fates: &mut [Fate]) {
    let mut at: rustc_hash::FxHashMap<(u32, u64), usize> = rustc_hash::FxHashMap::default();
    for (i, c) in candidates.iter().enumerate() {
        at.insert((c.element.input, c.element.instance), i);
    }
    for element in supports.iter().flat_map(|s| &s.bearings).filter_map(|b| b.element.as_ref()) {
        let Some(&i) = at.get(&(element.input, element.instance)) else { continue };
        let (Some(fate), Some(sort)) = (fates.get_mut(i), sorts.get(i)) else { continue };
        match sort {
            Sort::LayerOnly(why) => fate.1 = format!("{why}; it also carries members"),
            Sort::Carrier(..) | Sort::Fastener => {
                *fate = (CoverageStatus::Support, "carries members".to_owned());
            }
            _ => {}
        }
    }
}

#[expect(clippy::too_many_arguments, reason = "each is a list parallel to the pieces, made once")]
fn members(
    pieces: &[Piece],
    candidates: &[Candidate],
    firsts: &[First],
    pitch: &[Pitch],
    supports: Vec<Supported>,
    twins: Vec<Vec<Element>>,
    storeys: &[Storey],
) -> Vec<Member> {
    let sticks: Vec<&Stick> = pieces.iter().map(|p| &p.stick).collect();
    let bearing_lists: Vec<_> = supports.iter().map(|s| s.bearings.clone()).collect();
    let mut carried = carried(&sticks, &bearing_lists);
    let mut kinds: Vec<MemberKind> = (0..pieces.len())
        .filter_map(|i| {
            Some(later(*firsts.get(i)?, sticks[i], *pitch.get(i)?, carried.get(i)?, bearing_lists.get(i)?, supports.get(i)?.along))
        })
        .collect();
    // Strutting hangs between joists but makes none of them a trimming joist.
    for row in &mut carried {
        row.ends.retain(|(who, _)| kinds.get(*who as usize) != Some(&MemberKind::Blocking));
    }
    let roles = roles(&sticks, &kinds, firsts, &bearing_lists, &carried);
    // What a row of joists hangs on in the way of a trimmer is judged as one of the floor's joists.
    for (kind, role) in kinds.iter_mut().zip(&roles) {
        if *kind == MemberKind::Unknown && role.is_some() {
            *kind = MemberKind::Beam;
        }
    }
    let plies = plies(&sticks, &kinds);
    let places = places(pieces, &kinds, candidates, storeys);
    let loads = loads(pieces, &kinds, pitch, candidates, &bearing_lists);
    let rows = pieces.iter().zip(supports).zip(twins).enumerate();
    rows.map(|(i, ((piece, support), duplicates))| {
        let candidate = candidates.get(piece.candidate as usize);
        let with: Vec<MemberIx> = plies.get(i).cloned().unwrap_or_default();
        let role = if with.is_empty() { roles.get(i).copied().flatten() } else { Some(Role::Ply) };
        let mut element = candidate.map(|c| c.element.clone()).unwrap_or_default();
        element.item = piece.item;
        let mut notes = support.notes;
        notes.extend(own_notes(piece, candidate));
        Member {
            element,
            kind: kinds.get(i).copied().unwrap_or(MemberKind::Unknown),
            role,
            with,
            duplicates,
            storey: candidate.and_then(|c| c.storey),
            place: places.get(i).copied().unwrap_or(wimble_model::Place::Unknown),
            material: candidate.and_then(material),
            make: piece.evidence.make(),
            section: piece.stick.section,
            varies: piece.stick.varies,
            length_mm: piece.stick.length_mm,
            frame: piece.stick.frame,
            bearings: support.bearings,
            spans: support.spans,
            spans_without_doubtful: support.without_doubtful,
            open_ends: support.open_ends,
            loads: loads.get(i).cloned().unwrap_or_default(),
            load_bearing: candidate.and_then(|c| {
                c.load_bearing.or_else(|| candidates.get(c.whole? as usize)?.load_bearing)
            }),
            notes,
        }
    })
    .collect()
}

/// Plies of each member.
fn plies(sticks: &[&Stick], kinds: &[MemberKind]) -> Vec<Vec<MemberIx>> {
    let level = |i: usize| {
        matches!(
            kinds.get(i),
            Some(MemberKind::Joist | MemberKind::Beam | MemberKind::Lintel | MemberKind::Rafter | MemberKind::Unknown)
        )
    };
    crate::members::neighbours(sticks, 0.02)
        .into_par_iter()
        .enumerate()
        .map(|(i, near)| {
            near.into_iter()
                .filter(|&j| level(i) && level(j) && are_plies(sticks[i], sticks[j]))
                .map(MemberIx::from)
                .collect()
        })
        .collect()
}

/// Material as the model names it, with its grade and species.
fn material(candidate: &Candidate) -> Option<String> {
    let first = candidate.materials.entries.first()?;
    let words = [first.name.as_str(), first.text.as_str()];
    let mut said: Vec<&str> = Vec::new();
    for word in words.into_iter().flat_map(|text| text.split(" / ")) {
        if !word.trim().is_empty() && !said.contains(&word.trim()) {
            said.push(word.trim());
        }
    }
    (!said.is_empty()).then(|| said.join(" "))
}

/// Remarks about the piece itself.
fn own_notes(piece: &Piece, candidate: Option<&Candidate>) -> Vec<Note> {
    let mut notes = Vec::new();
    let evidence = &piece.evidence;
    if evidence.is_contradictory() {
        notes.push(Note(format!("taken for timber, though {}", evidence.against.join(", "))));
    } else if !evidence.has_material {
        notes.push(Note(format!("no material is stated: taken for timber by {}", evidence.for_it.join(" and "))));
    }
    let told = candidate.and_then(|c| named_size(c.element.name.as_deref().unwrap_or_default(), &c.type_text));
    let size = [piece.stick.section.breadth_mm(), piece.stick.section.depth_mm()];
    if let Some([a, b]) = told {
        let fits = |a: f64, b: f64| (a - size[0]).abs() <= 2.0 && (b - size[1]).abs() <= 2.0;
        let rectangle =
            matches!(piece.stick.section, Section::Rectangle { .. }) && !piece.stick.varies;
        if rectangle && !fits(a, b) && !fits(b, a) {
            notes.push(Note(format!(
                "its name says {a:.0} × {b:.0} but it is modelled {:.0} × {:.0}: the modelled size is used",
                size[0], size[1]
            )));
        }
    }
    if matches!(drawn(&piece.stick), Drawn::Unread) {
        notes.push(Note(
            "something is missing from its body that could not be told apart: cuts are judged as \
             if the member were whole"
                .to_owned(),
        ));
    }
    if piece.stick.varies {
        notes.push(Note("tapered or curved: depth and level are those at each cut".to_owned()));
    }
    notes
}

/// A size such as `47x220` in a name, mm.
fn named_size(name: &str, type_text: &str) -> Option<[f64; 2]> {
    [name, type_text].into_iter().find_map(|text| {
        let bytes: Vec<char> = text.chars().collect();
        (0..bytes.len()).find_map(|i| {
            let starts = i == 0 || !bytes[i - 1].is_ascii_digit() && bytes[i - 1] != '.';
            if !starts {
                return None;
            }
            let (a, rest) = number(&bytes[i..])?;
            let rest: Vec<char> = rest.iter().copied().skip_while(|c| *c == ' ').collect();
            let rest = rest.strip_prefix(&['x']).or(rest.strip_prefix(&['X'])).or(rest.strip_prefix(&['×']))?;
            let rest: Vec<char> = rest.iter().copied().skip_while(|c| *c == ' ').collect();
            let (b, after) = number(&rest)?;
            // A third figure makes it a length or a multiple; inches are not read.
            let plain = !matches!(after.first(), Some('x' | 'X' | '×' | '"' | '/'));
            (plain && (20.0..=1000.0).contains(&a) && (20.0..=1000.0).contains(&b)).then_some([a, b])
        })
    })
}

fn number(text: &[char]) -> Option<(f64, &[char])> {
    let digits = text.iter().take_while(|c| c.is_ascii_digit() || **c == '.').count();
    let value: String = text.get(..digits)?.iter().collect();
    Some((value.parse().ok()?, text.get(digits..)?))
}

/// Openings of members and their bodies, by member, GlobalId, place.
fn openings(
    voids: &Voids<'_>,
    pieces: &[Piece],
    candidates: &[Candidate],
    sorts: &[Sort],
) -> (Vec<Opening>, Vec<wimble_geom::Solid>) {
    let mut found: Vec<Void> =
        (0u32..).zip(pieces).flat_map(|(at, piece)| voids.enter(at, piece)).collect();
    let provisions = candidates.iter().zip(sorts).zip(0u32..).filter(|((_, s), _)| matches!(s, Sort::Provision));
    for ((candidate, _), at) in provisions {
        let several = candidate.items.len() > 1;
        for (item, solid) in candidate.solids() {
            let place = solid.bounds();
            for (piece_at, piece) in (0u32..).zip(pieces) {
                if piece.stick.figure.world_box().touches(place) && enters(piece, solid) {
                    found.push(Void {
                        candidate: at,
                        item: several.then_some(item.index),
                        piece: piece_at,
                        source: OpeningSource::Provision,
                        solid: solid.clone(),
                    });
                }
            }
        }
    }
    let guid = |v: &Void| candidates.get(v.candidate as usize).map_or("", |c| c.element.guid.as_str());
    let centre = |v: &Void| v.solid.bounds().centre();
    let far = |a: DVec3, b: DVec3| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)).then(a.z.total_cmp(&b.z));
    found.sort_by(|a, b| {
        (a.piece, guid(a), a.item).cmp(&(b.piece, guid(b), b.item)).then(far(centre(a), centre(b)))
    });
    let fasteners = fasteners(candidates, sorts);
    found
        .into_iter()
        .map(|v| {
            let mut element = candidates.get(v.candidate as usize).map(|c| c.element.clone()).unwrap_or_default();
            element.item = v.item;
            let place = v.solid.bounds().grown(wimble_geom::tolerance::CONTACT);
            let around = rstar::AABB::from_corners(place.min.to_array(), place.max.to_array());
            let touches = fasteners.locate_in_envelope_intersecting(around).next().is_some();
            (Opening { element, member: MemberIx(v.piece), source: v.source, touches }, v.solid)
        })
        .unzip()
}

/// Hangers, plates, bolts and other carriers of small size, by place.
fn fasteners(
    candidates: &[Candidate],
    sorts: &[Sort],
) -> rstar::RTree<rstar::primitives::Rectangle<[f64; 3]>> {
    let small = |c: &Candidate, s: &Sort| {
        matches!(s, Sort::Fastener) || (matches!(s, Sort::Carrier(..)) && c.family == Family::Plate)
    };
    let boxes = candidates.iter().zip(sorts).filter(|(c, s)| small(c, s)).flat_map(|(c, _)| {
        c.solids().map(|(_, solid)| {
            let place = solid.bounds();
            rstar::primitives::Rectangle::from_corners(place.min.to_array(), place.max.to_array())
        })
    });
    rstar::RTree::bulk_load(boxes.collect())
}

/// Alarms when files do not lie in one place.
fn told_apart(
    members: &[Member],
    pieces: &[Piece],
    services: &[wimble_model::Service],
    bodies: &[crate::scene::ServiceBody],
    inputs: usize,
) -> Vec<Warning> {
    let member_places: Vec<_> =
        members.iter().zip(pieces).map(|(m, p)| (m.element.input, p.stick.figure.world_box())).collect();
    let service_places: Vec<_> =
        services.iter().zip(bodies).map(|(s, b)| (s.element.input, alarm::place(b))).collect();
    alarm::alarms(&member_places, &service_places, inputs)
}

/// GlobalIds that several elements have.
fn same_ids(candidates: &[Candidate], inputs: usize) -> Vec<Warning> {
    let mut seen: rustc_hash::FxHashMap<&str, (u32, u32)> = rustc_hash::FxHashMap::default();
    let mut within = vec![0u32; inputs];
    let mut across = 0u32;
    for candidate in candidates.iter().filter(|c| !matches!(c.family, Family::Spatial | Family::PortOrAnnotation)) {
        let guid = candidate.element.guid.as_str();
        if guid.is_empty() {
            continue;
        }
        let input = candidate.element.input;
        match seen.get_mut(guid) {
            None => _ = seen.insert(guid, (input, 1)),
            Some((first, count)) => {
                *count += 1;
                if *first == input {
                    if let Some(n) = within.get_mut(input as usize) {
                        *n += 1;
                    }
                } else {
                    across += 1;
                }
            }
        }
    }
    let mut warnings: Vec<Warning> = (0u32..)
        .zip(within)
        .filter(|(_, n)| *n > 0)
        .map(|(input, n)| Warning {
            input: Some(input),
            line: None,
            text: format!("{n} elements repeat a GlobalId of this file: they are told apart by instance"),
        })
        .collect();
    if across > 0 {
        warnings.push(Warning {
            input: None,
            line: None,
            text: format!("{across} elements have a GlobalId that another file uses too: they are told apart by file"),
        });
    }
    warnings
}

/// What was assumed.
fn assumptions(candidates: &[Candidate], members: &[Member], settings: &RecogniseSettings) -> Vec<String> {
    let mut said = Vec::new();
    let unsaid = |m: &&Member| {
        m.bearings.iter().any(|b| {
            let element = b.element.as_ref();
            element.is_some_and(|e| {
                e.class.starts_with("IfcWall")
                    && candidates.iter().any(|c| {
                        c.element.input == e.input && c.element.instance == e.instance && c.load_bearing.is_none()
                    })
            })
        })
    };
    if settings.assume_bearing && members.iter().take(64).any(|m| unsaid(&m)) {
        said.push("Walls whose LoadBearing is not stated carry at the ends of members".to_owned());
    }
    if settings.accept_member_ends {
        said.push("Ends of members without a bearing count as bearings (settings)".to_owned());
    }
    let untold = members.iter().filter(|m| m.kind == MemberKind::Unknown).count();
    if untold > 0 {
        said.push(format!("{untold} timber members whose kind cannot be told: what needs it is unknown"));
    }
    said
}
