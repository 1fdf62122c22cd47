//! How every element ended.

use crate::candidate::Candidate;
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
        let key = (candidate.element.input, candidate.element.class.as_str(), *status, reason.as_str());
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
