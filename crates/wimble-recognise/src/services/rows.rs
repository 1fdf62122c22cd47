//! The services of all files as rows.

use super::{Bare, Covering, bare, is_untold, kind, lagging, line, material, runs, trade};
use crate::candidate::Candidate;
use crate::coverage::Fate;
use crate::scene::ServiceBody;
use crate::sorting::{Sort, names};
use crate::words::{Topics, lexicon};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use wimble_model::{CoverageStatus, Note, Service, ServiceKind, ServiceShape};

/// Services with their bodies.
pub(crate) struct Serviced {
    pub(crate) services: Vec<Service>,
    pub(crate) bodies: Vec<ServiceBody>,
    /// How candidates ended that are no service after all, or only in part.
    pub(crate) fates: Vec<(u32, Fate)>,
}

/// A candidate that is a service, with the kind that the user gives.
pub(crate) type Told = (u32, Option<ServiceKind>);

/// Which candidates are services.
pub(crate) fn told(sorts: &[Sort]) -> Vec<Told> {
    let services = (0..).zip(sorts).filter_map(|(at, sort)| match sort {
        Sort::Service(kind) => Some((at, *kind)),
        _ => None,
    });
    services.collect()
}

/// All services, by storey, GlobalId, item; one given twice is left out.
pub(crate) fn services(candidates: &[Candidate], told: &[Told]) -> Serviced {
    let mut rows: Vec<(u32, Service, ServiceBody)> = told
        .par_iter()
        .filter_map(|&(at, told)| Some((candidates.get(at as usize)?, told, at)))
        .flat_map_iter(|(candidate, told, at)| {
            rows_of(candidate, told, candidates).into_iter().map(move |(s, b)| (at, s, b))
        })
        .collect();
    let mut fates: Vec<(u32, Fate)> = told
        .iter()
        .filter_map(|&(at, _)| Some((at, trouble(candidates.get(at as usize)?)?)))
        .collect();
    let centre = |body: &ServiceBody| crate::alarm::place(body).centre().to_array();
    rows.par_sort_by(|a, b| {
        let key = |s: &Service| (s.storey.unwrap_or(u32::MAX), s.element.input, s.element.item);
        let (ka, kb) = (key(&a.1), key(&b.1));
        ka.0.cmp(&kb.0)
            .then_with(|| a.1.element.guid.cmp(&b.1.element.guid))
            .then_with(|| (ka.1, ka.2).cmp(&(kb.1, kb.2)))
            .then_with(|| {
                centre(&a.2).partial_cmp(&centre(&b.2)).unwrap_or(std::cmp::Ordering::Equal)
            })
    });
    without_twins(&mut rows, candidates, &mut fates);
    let of: Vec<u32> = rows.iter().map(|(at, _, _)| *at).collect();
    let (mut services, bodies): (Vec<Service>, Vec<ServiceBody>) =
        rows.into_iter().map(|(_, s, b)| (s, b)).unzip();
    let runs = runs(&bodies, &joined(candidates, &of));
    services.iter_mut().zip(runs).for_each(|(service, run)| service.run = run);
    Serviced { services, bodies, fates }
}

/// How a service ends whose body could not be read, or that has none.
fn trouble(candidate: &Candidate) -> Option<Fate> {
    if let Some(trouble) = candidate.trouble().filter(|_| !candidate.lines_only) {
        return Some((CoverageStatus::Unreadable, trouble.to_owned().into()));
    }
    (candidate.solids().next().is_none() && candidate.lines.is_empty()).then(|| {
        let why = "a service without a shape: what it would cut is not known";
        (CoverageStatus::NoShape, why.into())
    })
}

/// One row for each solid of a service, or one for its line.
fn rows_of(
    candidate: &Candidate,
    told: Option<ServiceKind>,
    candidates: &[Candidate],
) -> Vec<(Service, ServiceBody)> {
    let own = names(candidate);
    let made_of = candidate.materials.entries.iter().fold(own, |topics, material| {
        topics.or(lexicon().topics(&material.name)).or(lexicon().topics(&material.text))
    });
    let systems = candidate.systems.iter().fold(Topics::NONE, |topics, system| {
        topics.or(lexicon().topics(&system.name)).or(lexicon().topics(&system.text))
    });
    let kind = told.unwrap_or_else(|| kind(candidate, own.or(systems)));
    let coverings: Vec<Covering<'_>> = candidate
        .coverings
        .iter()
        .filter_map(|&at| candidates.get(at as usize))
        .map(Covering::of)
        .collect();
    let shapes: Vec<(Option<u32>, Bare)> = if candidate.solids().next().is_none() {
        let pieces = candidate.lines.iter().flat_map(|points| line(points, candidate.stated));
        let pieces: Vec<Bare> = pieces.collect();
        let several = pieces.len() > 1;
        (0..).zip(pieces).map(|(piece, bare)| (several.then_some(piece), bare)).collect()
    } else {
        let several = candidate.items.len() > 1;
        candidate
            .solids()
            .map(|(item, solid)| (several.then_some(item.index), bare(solid)))
            .collect()
    };
    shapes
        .into_iter()
        // A service without any shape is in the coverage; there is nothing to cross.
        .filter(
            |(_, bare)| !matches!(&bare.body, ServiceBody::Line { points } if points.is_empty()),
        )
        .map(|(item, bare)| {
            let mut element = candidate.element.clone();
            element.item = item;
            let kind = if is_untold(kind) && told.is_none() {
                of_shape(candidate, bare.shape)
            } else {
                kind
            };
            let service = Service {
                element,
                kind,
                trade: trade(kind, systems, own),
                material: material(made_of),
                system: candidate.systems.first().map(|s| s.name.clone()),
                run: 0,
                storey: candidate.storey,
                shape: bare.shape,
                lagging: lagging(&coverings, bare.shape, own.or(systems)),
                notes: bare.note.map(Note).into_iter().collect(),
            };
            (service, bare.body)
        })
        .collect()
}

/// A segment that nothing names: rectangular ones are ducts, the rest stays untold.
fn of_shape(candidate: &Candidate, shape: ServiceShape) -> ServiceKind {
    match shape {
        ServiceShape::RectangleMm([_, short]) if candidate.family.is_flow() && short >= 50.0 => {
            ServiceKind::Duct
        }
        _ => ServiceKind::Other,
    }
}

/// Takes out services that another file gives too: equal shape, kind and place.
fn without_twins(
    rows: &mut Vec<(u32, Service, ServiceBody)>,
    candidates: &[Candidate],
    fates: &mut Vec<(u32, Fate)>,
) {
    let input = |row: &(u32, Service, ServiceBody)| row.1.element.input;
    if rows.iter().all(|row| Some(input(row)) == rows.first().map(input)) {
        return;
    }
    let mut first: FxHashMap<[i64; 7], (u32, u32)> = FxHashMap::default();
    let mut trusted: Vec<usize> = (0..rows.len()).collect();
    trusted.sort_by_key(|&i| rows.get(i).map_or(0, |r| r.1.element.input));
    let mut stays = vec![true; rows.len()];
    for i in trusted {
        let Some((at, service, body)) = rows.get(i) else { continue };
        let place = crate::alarm::place(body);
        #[expect(clippy::cast_possible_truncation, reason = "a grid cell, far inside i64")]
        let cell = |x: f64| (x * 1000.0).round() as i64;
        let key = [
            cell(place.min.x),
            cell(place.min.y),
            cell(place.min.z),
            cell(place.max.x),
            cell(place.max.y),
            cell(place.max.z),
            service.kind as i64,
        ];
        let exact = !matches!(body, ServiceBody::Line { .. });
        match first.get(&key) {
            Some(&(owner, input)) if exact && input != service.element.input => {
                stays[i] = false;
                let of = candidates.get(owner as usize).map_or_else(String::new, Candidate::called);
                let why = format!("fills the same place as {of}");
                fates.push((*at, (CoverageStatus::Duplicate, why.into())));
            }
            _ => _ = first.entry(key).or_insert((*at, service.element.input)),
        }
    }
    let mut stays = stays.into_iter();
    rows.retain(|_| stays.next().unwrap_or(true));
}

/// Pairs of rows that ports join, or that are items of one element.
fn joined(candidates: &[Candidate], of: &[u32]) -> Vec<(u32, u32)> {
    let mut first: FxHashMap<u32, u32> = FxHashMap::default();
    let mut pairs = Vec::new();
    for (row, &at) in (0u32..).zip(of) {
        match first.get(&at) {
            Some(&own) => pairs.push((own, row)),
            None => _ = first.insert(at, row),
        }
    }
    for (row, &at) in (0u32..).zip(of) {
        let Some(candidate) = candidates.get(at as usize) else { continue };
        pairs.extend(candidate.joined.iter().filter_map(|other| Some((row, *first.get(other)?))));
    }
    pairs
}
