//! The services of all files as rows.

use super::{Bare, Covering, is_untold, kind, lagging, line, material, runs, trade};
use crate::candidate::Candidate;
use crate::coverage::Fate;
use crate::scene::ServiceBody;
use crate::sorting::{Served, Sort, names};
use crate::words::{Topics, topics};
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

/// One solid of a service, or a piece of its line.
struct Row {
    /// Its candidate.
    at: u32,
    /// Its place among the candidate's.
    number: u32,
    item: Option<u32>,
    /// The kind that the user gives, if any.
    told: Option<ServiceKind>,
    bare: Box<Bare>,
}

/// Takes the services out of the sorts: each with its candidate.
pub(crate) fn served(sorts: &mut [Sort]) -> Vec<(u32, Served)> {
    let served = sorts.iter_mut().zip(0u32..).filter_map(|(sort, at)| match sort {
        Sort::Service(served) => Some((at, std::mem::take(&mut **served))),
        _ => None,
    });
    served.collect()
}

/// The rows of the services, and how those ended that are no service after all, or only in part.
fn rows(candidates: &[Candidate], served: Vec<(u32, Served)>) -> (Vec<Row>, Vec<(u32, Fate)>) {
    let mut rows = Vec::with_capacity(served.iter().map(|(_, served)| served.shapes.len()).sum());
    let mut fates = Vec::new();
    for (at, served) in served {
        let Some(candidate) = candidates.get(at as usize) else { continue };
        fates.extend(trouble(candidate, &served).map(|fate| (at, fate)));
        rows.extend(rows_of(candidate, served, at));
    }
    (rows, fates)
}

/// All services, by storey, GlobalId, item; one given twice is left out.
pub(crate) fn services(candidates: &[Candidate], served: Vec<(u32, Served)>) -> Serviced {
    let (mut rows, mut fates) = rows(candidates, served);
    let of = |row: &Row| candidates.get(row.at as usize);
    let centre = |row: &Row| crate::alarm::place(&row.bare.body).centre().to_array();
    rows.par_sort_unstable_by(|a, b| {
        let storey = |row: &Row| of(row).and_then(|c| c.storey).unwrap_or(u32::MAX);
        let element = |row: &Row| of(row).map(|c| (c.element.guid.as_str(), c.element.input));
        storey(a)
            .cmp(&storey(b))
            .then_with(|| (element(a), a.item).cmp(&(element(b), b.item)))
            .then_with(|| centre(a).partial_cmp(&centre(b)).unwrap_or(std::cmp::Ordering::Equal))
            .then_with(|| (a.at, a.number).cmp(&(b.at, b.number)))
    });
    without_twins(&mut rows, candidates, &mut fates);
    let of: Vec<u32> = rows.iter().map(|row| row.at).collect();
    let (mut services, mut bodies) = (Vec::new(), Vec::new());
    rows.into_par_iter()
        .map(|row| service(row, candidates))
        .unzip_into_vecs(&mut services, &mut bodies);
    let runs = runs(&bodies, &joined(candidates, &of));
    services.iter_mut().zip(runs).for_each(|(service, run)| service.run = run);
    Serviced { services, bodies, fates }
}

/// How a service ends whose body could not be read, or that has none.
fn trouble(candidate: &Candidate, served: &Served) -> Option<Fate> {
    if let Some(trouble) = candidate.trouble().filter(|_| !candidate.lines_only) {
        return Some((CoverageStatus::Unreadable, trouble.to_owned().into()));
    }
    (served.shapes.is_empty() && candidate.more().lines.is_empty()).then(|| {
        let why = "a service without a shape: what it would cut is not known";
        (CoverageStatus::NoShape, why.into())
    })
}

/// One row for each solid of a service, or one for its line.
fn rows_of(candidate: &Candidate, served: Served, at: u32) -> impl Iterator<Item = Row> {
    let Served { told, mut shapes } = served;
    if shapes.is_empty() {
        let more = candidate.more();
        let pieces = more.lines.iter().flat_map(|points| line(points, more.stated));
        let pieces: Vec<Box<Bare>> = pieces.map(Box::new).collect();
        let several = pieces.len() > 1;
        shapes = (0..).zip(pieces).map(|(piece, bare)| (several.then_some(piece), bare)).collect();
    }
    shapes
        .into_iter()
        .zip(0..)
        // A service without any shape is in the coverage; there is nothing to cross.
        .filter(
            |((_, bare), _)| !matches!(&bare.body, ServiceBody::Line { points } if points.is_empty()),
        )
        .map(move |((item, bare), number)| Row { at, number, item, told, bare })
}

/// What a row is.
fn kind_of(row: &Row, candidate: &Candidate, words: Topics) -> ServiceKind {
    row.told.unwrap_or_else(|| match kind(candidate, words) {
        untold if is_untold(untold) => of_shape(candidate, row.bare.shape),
        kind => kind,
    })
}

/// What the systems of a service speak of.
fn systems(candidate: &Candidate) -> Topics {
    candidate
        .systems
        .iter()
        .fold(Topics::NONE, |all, system| all.or(topics(&system.name)).or(topics(&system.text)))
}

/// A row as a service with its body.
fn service(row: Row, candidates: &[Candidate]) -> (Service, ServiceBody) {
    let nothing = Candidate::default();
    let candidate = candidates.get(row.at as usize).unwrap_or(&nothing);
    let own = names(candidate);
    let made_of = own.or(candidate.materials.topics());
    let systems = systems(candidate);
    let coverings: Vec<Covering<'_>> = candidate
        .more()
        .coverings
        .iter()
        .filter_map(|&at| candidates.get(at as usize))
        .map(Covering::of)
        .collect();
    let kind = kind_of(&row, candidate, own.or(systems));
    let Row { item, bare, .. } = row;
    let Bare { shape, body, note } = *bare;
    let mut element = candidate.element.clone();
    element.item = item;
    let service = Service {
        element,
        kind,
        trade: trade(kind, systems, own),
        material: material(made_of),
        system: candidate.systems.first().map(|s| s.name.clone()),
        run: 0,
        storey: candidate.storey,
        shape,
        lagging: lagging(&coverings, shape, own.or(systems)),
        notes: note.map(Note::from).into_iter().collect(),
    };
    (service, body)
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
fn without_twins(rows: &mut Vec<Row>, candidates: &[Candidate], fates: &mut Vec<(u32, Fate)>) {
    let input = |row: &Row| candidates.get(row.at as usize).map_or(0, |c| c.element.input);
    if rows.iter().all(|row| Some(input(row)) == rows.first().map(input)) {
        return;
    }
    let mut first: FxHashMap<[i64; 7], (u32, u32)> = FxHashMap::default();
    let mut trusted: Vec<usize> = (0..rows.len()).collect();
    trusted.sort_by_key(|&i| rows.get(i).map_or(0, input));
    let mut stays = vec![true; rows.len()];
    for i in trusted {
        let Some(row) = rows.get(i) else { continue };
        let Some(candidate) = candidates.get(row.at as usize) else { continue };
        let kind = kind_of(row, candidate, names(candidate).or(systems(candidate)));
        let place = crate::alarm::place(&row.bare.body);
        #[expect(clippy::cast_possible_truncation, reason = "a grid cell, far inside i64")]
        let cell = |x: f64| (x * 1000.0).round() as i64;
        let key = [
            cell(place.min.x),
            cell(place.min.y),
            cell(place.min.z),
            cell(place.max.x),
            cell(place.max.y),
            cell(place.max.z),
            kind as i64,
        ];
        let exact = !matches!(row.bare.body, ServiceBody::Line { .. });
        match first.get(&key) {
            Some(&(owner, of)) if exact && of != input(row) => {
                stays[i] = false;
                let of = candidates.get(owner as usize).map(Candidate::called).unwrap_or_default();
                let why = format!("fills the same place as {of}");
                fates.push((row.at, (CoverageStatus::Duplicate, why.into())));
            }
            _ => _ = first.entry(key).or_insert((row.at, input(row))),
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
        pairs.extend(
            candidate.more().joined.iter().filter_map(|other| Some((row, *first.get(other)?))),
        );
    }
    pairs
}
