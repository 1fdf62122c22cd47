//! The limits of one member: zones in millimetres, greatest notch and hole, what pipes fit. From
//! the same answers as the verdicts.

mod besides;
mod pipes;
mod rows;

pub use besides::{CountRow, DutyRow, ScopeRow, SpacingRow};
pub use pipes::{StandardPipe, standard_pipes};
pub use rows::LimitRow;

use crate::judge::{Judge, RuleSettings};
use crate::pack::PackSet;
use crate::subject::View;
use crate::windows::{Probe, windows_for};
use besides::Besides;
use serde::Serialize;
use std::collections::BTreeSet;
use wimble_model::{CutKind, Member, MemberKind, Section, Verdict};

/// The limits of one member.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limits {
    /// Packs that apply to it.
    pub packs: Vec<String>,
    /// What keeps it out of a pack's scope, in words; its limits then do not hold.
    pub outside: Vec<String>,
    /// Its limits, one row for each kind of cut and each way of complying: first what such a
    /// member usually gets, then every other kind that can be made in it.
    pub rows: Vec<LimitRow>,
    /// How far cuts have to stand from each other.
    pub spacing: Vec<SpacingRow>,
    /// How many of a kind a span may have.
    pub counts: Vec<CountRow>,
    /// What has to be done besides, below which figure.
    pub duties: Vec<DutyRow>,
    /// For which members the packs have figures at all.
    pub scope: Vec<ScopeRow>,
    /// Standard pipes, with their clearance, at mid-depth and in the top edge.
    pub pipes: Vec<PipeFit>,
}

/// What becomes of a standard pipe.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PipeFit {
    /// The pipe.
    pub pipe: StandardPipe,
    /// Hole that it needs.
    pub hole_mm: f64,
    /// Best verdict of that hole at mid-depth, anywhere along the member.
    pub hole: Verdict,
    /// Best verdict of a top notch of that depth and width; `None` for members without notches.
    pub notch: Option<Verdict>,
}

/// Works out the limits of a member, without neighbours.
#[must_use]
pub fn limits(member: &Member, packs: &PackSet, settings: &RuleSettings) -> Limits {
    let judge = Judge::of(member, packs, settings);
    let selected = &judge.selected;
    let (usual, rare) = kinds(member);
    let view = View::of(member);
    let mut rows = Vec::new();
    let mut outside = BTreeSet::new();
    let all = usual.iter().map(|&kind| (kind, true)).chain(rare.iter().map(|&kind| (kind, false)));
    for kind in all {
        for size in rows::sizes(selected, member, kind.0) {
            rows.extend(rows::of(&judge, &view, kind, size, &mut outside));
        }
    }
    let pipes =
        standard_pipes().iter().map(|pipe| fit(member, pipe, usual, packs, settings)).collect();
    let Besides { spacing, counts, duties, scope } =
        besides::of(&judge, &view, &[usual, rare].concat());
    Limits {
        packs: selected.packs.iter().map(|p| p.id.clone()).collect(),
        outside: outside.into_iter().collect(),
        rows,
        spacing,
        counts,
        duties,
        scope,
        pipes,
    }
}

/// The kinds of cut that a member usually gets, the commonest first, and the others that can be
/// made in it (`docs/measuring.md` says which section has which).
pub(crate) const fn kinds(member: &Member) -> (&'static [CutKind], &'static [CutKind]) {
    use CutKind as K;
    match (member.section, member.kind) {
        (Section::IJoist { .. }, _) => {
            (&[K::WebHole], &[K::BetweenWebs, K::FlangeCut, K::EndCut, K::Joinery])
        }
        (Section::OpenWeb { .. }, _) => {
            (&[K::BetweenWebs], &[K::ChordCut, K::WebCut, K::EndCut, K::Joinery])
        }
        (_, MemberKind::TrussPart) => (
            &[K::Hole, K::TopNotch, K::BottomNotch],
            &[K::ChordCut, K::WebCut, K::Bore, K::SideCut, K::Enclosed, K::EndCut, K::Joinery],
        ),
        // Pipes rise through plates.
        (_, MemberKind::Plate) => (
            &[K::Bore, K::Hole, K::TopNotch, K::BottomNotch],
            &[K::SideCut, K::Enclosed, K::Lengthwise, K::Severed, K::EndCut, K::Joinery],
        ),
        _ => (
            &[K::Hole, K::TopNotch, K::BottomNotch],
            &[K::Bore, K::SideCut, K::Enclosed, K::Lengthwise, K::Severed, K::EndCut, K::Joinery],
        ),
    }
}

fn fit(
    member: &Member,
    pipe: &StandardPipe,
    kinds: &[CutKind],
    packs: &PackSet,
    settings: &RuleSettings,
) -> PipeFit {
    let size = pipe.outside_mm + pipe.clearance_mm;
    let best = |probe: &Probe| {
        [Verdict::Pass, Verdict::Unknown, Verdict::Refer]
            .into_iter()
            .find(|&target| !windows_for(member, probe, &[], packs, settings, target).is_empty())
            .unwrap_or(Verdict::Fail)
    };
    let hole = kinds.first().copied().unwrap_or(CutKind::Hole);
    PipeFit {
        pipe: pipe.clone(),
        hole_mm: size,
        hole: best(&Probe::hole(size, 0.0).as_kind(hole)),
        notch: kinds
            .contains(&CutKind::TopNotch)
            .then(|| best(&Probe::notch(CutKind::TopNotch, size, size))),
    }
}
