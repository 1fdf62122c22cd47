//! How every element ended.

use crate::candidate::Candidate;
use crate::sorting::Sort;
use crate::supports::Supported;
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use std::borrow::Cow;
use std::collections::BTreeMap;
use wimble_model::{CoverageRow, CoverageStatus};

/// How one element ended, and why.
pub(crate) type Fate = (CoverageStatus, Cow<'static, str>);

/// At most so many GlobalIds are given as examples.
const EXAMPLES: usize = 5;

/// What a row of the coverage is about: input, class, status, reason.
type Kind<'a> = (u32, &'a str, CoverageStatus, &'a str);

/// How many ended in one way, and the first of them by GlobalId.
#[derive(Default)]
struct Ended<'a> {
    count: u32,
    examples: Vec<&'a str>,
}

impl<'a> Ended<'a> {
    fn add(&mut self, guid: &'a str) {
        self.count = self.count.saturating_add(1);
        if self.examples.len() < EXAMPLES || self.examples.last().is_some_and(|last| guid < *last) {
            let place = self.examples.partition_point(|known| *known <= guid);
            self.examples.insert(place, guid);
            self.examples.truncate(EXAMPLES);
        }
    }
}

/// Rows by input, class, status and reason.
pub(crate) fn coverage(candidates: &[Candidate], fates: &[Fate]) -> Vec<CoverageRow> {
    let mut rows: BTreeMap<Kind<'_>, Ended<'_>> = BTreeMap::new();
    for (candidate, (status, reason)) in candidates.iter().zip(fates) {
        let element = &candidate.element;
        let kind = (element.input, element.class.as_str(), *status, reason.as_ref());
        rows.entry(kind).or_default().add(&element.guid);
    }
    rows.into_iter()
        .map(|((input, class, status, reason), Ended { count, examples })| CoverageRow {
            input,
            class: class.to_owned(),
            status,
            reason: reason.to_owned(),
            count,
            examples: examples.into_iter().map(str::to_owned).collect(),
        })
        .collect()
}

/// How an element ends, as far as its first look tells.
pub(crate) fn fate(candidate: &Candidate, sort: &Sort) -> Fate {
    match sort {
        Sort::Members(sticks) if sticks.joined.is_empty() => {
            (CoverageStatus::Unreadable, "its shape has no length or no breadth".into())
        }
        Sort::Members(_) => match candidate.trouble() {
            Some(trouble) => {
                (CoverageStatus::Unreadable, format!("only a part of it: {trouble}").into())
            }
            None => (CoverageStatus::Member, "timber member".into()),
        },
        Sort::Web(_) => (CoverageStatus::Other, "a board: cuts in it are not checked".into()),
        Sort::Service(_) => (CoverageStatus::Service, "service".into()),
        Sort::Carrier(_, why) if why.is_empty() => {
            (CoverageStatus::Other, "carries no member".into())
        }
        Sort::Carrier(_, why) | Sort::Other(why) => (CoverageStatus::Other, why.to_string().into()),
        Sort::Fastener => (CoverageStatus::Other, "fastener or accessory".into()),
        Sort::LayerOnly(why) => (CoverageStatus::LayerOnly, why.to_string().into()),
        Sort::Opening | Sort::Provision if candidate.solids().next().is_none() => {
            match candidate.trouble() {
                Some(trouble) => (CoverageStatus::Unreadable, trouble.to_owned().into()),
                None if matches!(sort, Sort::Provision) => (
                    CoverageStatus::NoShape,
                    "a void is asked for, but its shape is not drawn: it is not checked".into(),
                ),
                None => (CoverageStatus::NoShape, "opening without a shape".into()),
            }
        }
        Sort::Opening => (CoverageStatus::Opening, "opening".into()),
        Sort::Provision => (CoverageStatus::Opening, "provision for a void".into()),
        Sort::Covering => (CoverageStatus::Covering, "covering".into()),
        Sort::Spatial => (CoverageStatus::Spatial, "place in the building".into()),
        Sort::PortOrAnnotation => {
            (CoverageStatus::PortOrAnnotation, "port, annotation or grid".into())
        }
        Sort::NoShape if candidate.has_parts => {
            (CoverageStatus::NoShape, "no shape of its own: its parts have".into())
        }
        Sort::NoShape if candidate.lines_only => {
            (CoverageStatus::NoShape, "drawn with lines only: it has no body".into())
        }
        Sort::NoShape => (CoverageStatus::NoShape, "no shape in the model".into()),
        Sort::Unreadable(why) => (CoverageStatus::Unreadable, why.to_string().into()),
        Sort::Ignored => (CoverageStatus::Ignored, "ignored by the settings".into()),
    }
}

/// Elements that carry a member are supports.
pub(crate) fn mark_supports(
    candidates: &[Candidate],
    sorts: &[Sort],
    supports: &[Supported],
    fates: &mut [Fate],
) {
    let of_bearings = supports.par_iter().flat_map_iter(|s| &s.bearings);
    let carrying: FxHashSet<(u32, u64)> = of_bearings
        .filter_map(|bearing| bearing.element.as_ref())
        .map(|element| (element.input, element.instance))
        .fold(FxHashSet::default, |mut all, one| {
            all.insert(one);
            all
        })
        .reduce(FxHashSet::default, |mut all, others| {
            all.extend(others);
            all
        });
    candidates.par_iter().zip(sorts).zip(fates).for_each(|((candidate, sort), fate)| {
        if !carrying.contains(&(candidate.element.input, candidate.element.instance)) {
            return;
        }
        match sort {
            Sort::LayerOnly(why) => fate.1 = format!("{why}; it also carries members").into(),
            Sort::Carrier(..) | Sort::Fastener => {
                *fate = (CoverageStatus::Support, "carries members".into());
            }
            _ => {}
        }
    });
}
