//! How every element ended.

use crate::candidate::Candidate;
use crate::sorting::Sort;
use crate::supports::Supported;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use wimble_model::{CoverageRow, CoverageStatus};

/// How one element ended, and why.
pub(crate) type Fate = (CoverageStatus, String);

/// At most so many GlobalIds are given as examples.
const EXAMPLES: usize = 5;

/// Rows by input, class, status and reason.
pub(crate) fn coverage(candidates: &[Candidate], fates: &[Fate]) -> Vec<CoverageRow> {
    let mut rows: BTreeMap<(u32, &str, CoverageStatus, &str), Vec<&str>> = BTreeMap::new();
    for (candidate, (status, reason)) in candidates.iter().zip(fates) {
        let key =
            (candidate.element.input, candidate.element.class.as_str(), *status, reason.as_str());
        rows.entry(key).or_default().push(&candidate.element.guid);
    }
    rows.into_iter()
        .map(|((input, class, status, reason), mut guids)| {
            guids.sort_unstable();
            CoverageRow {
                input,
                class: class.to_owned(),
                status,
                reason: reason.to_owned(),
                count: u32::try_from(guids.len()).unwrap_or(u32::MAX),
                examples: guids.into_iter().take(EXAMPLES).map(str::to_owned).collect(),
            }
        })
        .collect()
}

/// How an element ends, as far as its first look tells.
pub(crate) fn fate(candidate: &Candidate, sort: &Sort) -> Fate {
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
        Sort::Carrier(_, why) if why.is_empty() => {
            (CoverageStatus::Other, "carries no member".to_owned())
        }
        Sort::Carrier(_, why) | Sort::Other(why) => (CoverageStatus::Other, why.clone()),
        Sort::Fastener => (CoverageStatus::Other, "fastener or accessory".to_owned()),
        Sort::LayerOnly(why) => (CoverageStatus::LayerOnly, why.clone()),
        Sort::Opening | Sort::Provision if candidate.solids().next().is_none() => {
            match candidate.trouble() {
                Some(trouble) => (CoverageStatus::Unreadable, trouble.to_owned()),
                None if matches!(sort, Sort::Provision) => (
                    CoverageStatus::NoShape,
                    "a void is asked for, but its shape is not drawn: it is not checked".to_owned(),
                ),
                None => (CoverageStatus::NoShape, "opening without a shape".to_owned()),
            }
        }
        Sort::Opening => (CoverageStatus::Opening, "opening".to_owned()),
        Sort::Provision => (CoverageStatus::Opening, "provision for a void".to_owned()),
        Sort::Covering => (CoverageStatus::Covering, "covering".to_owned()),
        Sort::Spatial => (CoverageStatus::Spatial, "place in the building".to_owned()),
        Sort::PortOrAnnotation => {
            (CoverageStatus::PortOrAnnotation, "port, annotation or grid".to_owned())
        }
        Sort::NoShape if candidate.has_parts => {
            (CoverageStatus::NoShape, "no shape of its own: its parts have".to_owned())
        }
        Sort::NoShape if candidate.lines_only => {
            (CoverageStatus::NoShape, "drawn with lines only: it has no body".to_owned())
        }
        Sort::NoShape => (CoverageStatus::NoShape, "no shape in the model".to_owned()),
        Sort::Unreadable(why) => (CoverageStatus::Unreadable, why.clone()),
        Sort::Ignored => (CoverageStatus::Ignored, "ignored by the settings".to_owned()),
    }
}

/// Elements that carry a member are supports.
pub(crate) fn mark_supports(
    candidates: &[Candidate],
    sorts: &[Sort],
    supports: &[Supported],
    fates: &mut [Fate],
) {
    let mut at: FxHashMap<(u32, u64), usize> = FxHashMap::default();
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
