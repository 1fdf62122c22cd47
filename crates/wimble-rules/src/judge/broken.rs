//! What did not hold, before it is put into words.

use crate::check::{Answered, Free, Missing};
use crate::pack::{Otherwise, Pack, Rule, Said};
use wimble_model::{ObligationKind, Verdict};

/// What is said of one cut by all rules.
#[derive(Debug, Clone)]
pub(crate) struct Outcome<'p> {
    pub(crate) verdict: Verdict,
    pub(crate) margin_mm: Option<f64>,
    /// How far the cut may turn out otherwise in its span, and still pass if it passes.
    pub(crate) free: Free,
    /// How far the places that are allowed along the member may shift, and it fails all the same if
    /// it fails, mm; less than nothing where that cannot be told.
    pub(crate) fails_by_mm: f64,
    pub(crate) broken: Vec<Broken<'p>>,
    pub(crate) obliged: Vec<(&'p Pack, &'p Rule, ObligationKind, f64, f64)>,
}

impl Default for Outcome<'_> {
    fn default() -> Self {
        Self {
            verdict: Verdict::Pass,
            margin_mm: None,
            free: Free::WHOLLY,
            fails_by_mm: f64::NEG_INFINITY,
            broken: Vec::new(),
            obliged: Vec::new(),
        }
    }
}

impl Outcome<'_> {
    /// Takes a room into the margin.
    pub(crate) fn room(&mut self, mm: f64) {
        self.margin_mm = Some(self.margin_mm.map_or(mm, |least| least.min(mm)));
    }

    /// Takes what does not hold into the verdict.
    pub(crate) fn worsen(&mut self, broken: Option<Otherwise>) {
        let verdict = broken.map_or(Verdict::Pass, Otherwise::verdict);
        self.verdict = self.verdict.max(verdict);
    }

    /// The worse of two readings of the same cut.
    pub(crate) fn worse(self, other: Self) -> Self {
        let margin_mm = match (self.margin_mm, other.margin_mm) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        let free = self.free.and(other.free);
        let worse = if other.verdict > self.verdict { other } else { self };
        Self { margin_mm, free, ..worse }
    }
}

impl<'p> Outcome<'p> {
    /// Takes in what does not hold of a cut, and why.
    pub(crate) fn push(&mut self, cut: u32, otherwise: Otherwise, cause: Cause<'p>) {
        self.worsen(Some(otherwise));
        self.broken.push(Broken { cut, otherwise, cause });
    }
}

/// One thing that did not hold.
#[derive(Debug, Clone)]
pub(crate) struct Broken<'p> {
    /// The cut that was asked about.
    pub(crate) cut: u32,
    /// What it means.
    pub(crate) otherwise: Otherwise,
    pub(crate) cause: Cause<'p>,
}

/// Why.
#[derive(Debug, Clone)]
pub(crate) enum Cause<'p> {
    /// A rule's check does not hold.
    Part { rule: &'p Rule, part: Answered },
    /// A rule needs a fact that is missing.
    Missing { rule: &'p Rule, missing: Missing },
    /// Which pack applies cannot be told without a fact.
    WhichPack { missing: Missing },
    /// No pack in force speaks of such a member or cut.
    NoPack,
    /// A remark that no rule makes, in its words.
    Remark { remark: &'static Said, words: String },
}
