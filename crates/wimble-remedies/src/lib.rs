//! What would make it comply: moves, sizes and depths, each proved by the checker itself.
//!
//! [`find`] takes a building with its judged cuts and findings. For each cut that fails or is
//! referred it looks for the nearest move along the member and up or down, a smaller pipe of the
//! same trade's list and a deeper member; for each straight run with such a cut for the least
//! shift at which it complies in all its members. Nothing is printed that the checker, asked of
//! the changed building, does not confirm: the cut passes, no other is worse, and every service
//! keeps its clearance to the others.
//!
//! A search is exact where the cut is moved without changing its form: the places where it may be
//! are unions of intervals ([`wimble_rules::MemberRules::windows`]), and what its level changes
//! it changes at finitely many levels. What is not so simple is asked of the checker step by step,
//! and the plan says that a shorter shift is not ruled out.
//!
//! Not here: who agrees to a move, capacity, and what it costs.

mod body;
mod deeper;
mod least_sum;
mod none;
mod one_cut;
mod pair;
mod put_in;
mod ranges;
mod reserve;
mod runs;
mod search;
mod settle;
mod share;
mod shop;
mod sizes;
mod words;

pub use put_in::{PutIn, put_in};
pub use reserve::{Reserve, free};
pub use settle::settle;

use none::{may_be_trimmed_out, trimmed_out};
use one_cut::{OfCut, of_cut, wants};
use rayon::prelude::*;
use runs::{OfRun, of_run};
use rustc_hash::FxHashMap;
use shop::{Mover, Shop};
use wimble_cross::CrossSettings;
use wimble_model::{Action, Cut, CutIx, CutPlaces, Finding, Remedy, RunPlan, ServiceIx, Verdict};
use wimble_recognise::Scene;
use wimble_rules::{PackSet, RuleSettings};

/// What was found besides the remedies of each finding.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Proposals {
    /// For each straight run with a cut that fails or is referred, by its first piece.
    pub plans: Vec<RunPlan>,
    /// For each such cut, in the order of the cuts.
    pub places: Vec<CutPlaces>,
}

/// How many cuts [`find`] would look for remedies of.
#[must_use]
pub fn wanting(cuts: &[Cut]) -> usize {
    cuts.par_iter().filter(|cut| wants(cut)).count()
}

/// Looks for remedies and writes them into the findings, before the proposals that they have.
/// `cuts` are those of the scene as [`wimble_cross::cross`] gives them, judged.
pub fn find(
    scene: &Scene,
    cross: &CrossSettings,
    packs: &PackSet,
    rules: &RuleSettings,
    (cuts, findings): (&[Cut], &mut [Finding]),
    reserves: &[Reserve],
) -> Proposals {
    let bad: Vec<CutIx> = (0..cuts.len())
        .map(CutIx::from)
        .filter(|ix| cuts.get(ix.at()).is_some_and(wants))
        .collect();
    if bad.is_empty() {
        return Proposals::default();
    }
    let shop = Shop::new(scene, cuts, cross, packs, rules, reserves);
    let movers = movers(&shop, &bad);
    let runs: Vec<OfRun> = movers.par_iter().filter_map(|mover| of_run(&shop, mover)).collect();
    let of_cuts: Vec<OfCut> = bad.par_iter().filter_map(|ix| of_cut(&shop, *ix)).collect();
    let mut run_of: FxHashMap<ServiceIx, &OfRun> = FxHashMap::default();
    for run in &runs {
        run_of.extend(run.plan.services.iter().map(|s| (*s, run)));
    }
    let by_cut: FxHashMap<CutIx, &OfCut> = of_cuts.iter().map(|c| (c.places.cut, c)).collect();
    findings
        .par_iter_mut()
        .filter(|f| matches!(f.verdict, Verdict::Fail | Verdict::Refer))
        .for_each(|finding| write_into(&shop, finding, &by_cut, &run_of));
    Proposals {
        plans: runs.iter().map(|run| run.plan.clone()).collect(),
        places: of_cuts.into_iter().map(|c| c.places).collect(),
    }
}

/// The straight runs of some cuts, by first piece.
fn movers(shop: &Shop<'_>, cuts: &[CutIx]) -> Vec<Mover> {
    let mut seen: FxHashMap<ServiceIx, ()> = FxHashMap::default();
    let mut movers = Vec::new();
    for cut in cuts.iter().filter_map(|ix| shop.cut(*ix)) {
        for service in cut.services.iter().filter(|s| !cut.besides.inside.contains(s)) {
            if seen.contains_key(service) {
                continue;
            }
            if let Some(mover) = shop.mover(*service) {
                seen.extend(mover.pieces.iter().map(|s| (*s, ())));
                movers.push(mover);
            }
        }
    }
    movers.sort_by(|a, b| a.pieces.cmp(&b.pieces));
    movers
}

/// Writes the remedies of a finding's cut into it.
fn write_into(
    shop: &Shop<'_>,
    finding: &mut Finding,
    by_cut: &FxHashMap<CutIx, &OfCut>,
    run_of: &FxHashMap<ServiceIx, &OfRun>,
) {
    let mut found: Vec<Remedy> = Vec::new();
    match finding.cuts.as_slice() {
        [cut] => {
            if let Some(of_cut) = by_cut.get(cut) {
                found.extend(of_cut.remedies.iter().cloned());
            }
            found.extend(shifts(shop, &[*cut], run_of));
        }
        [a, b] => {
            found.extend(separate(shop, [*a, *b], by_cut));
            let as_one = share::one_for_both(shop, [*a, *b]);
            // The nearest move may have come to the same.
            let told = |one: &Remedy| {
                let along = |action: &Action| match *action {
                    Action::MoveAlong { by_mm } | Action::Separate { by_mm } => Some(by_mm),
                    _ => None,
                };
                let same = |r: &Remedy| match (along(&r.action), along(&one.action)) {
                    (Some(a), Some(b)) => (a - b).abs() < 2.0 && r.services == one.services,
                    _ => false,
                };
                found.iter().any(same)
            };
            found.extend(as_one.filter(|one| !told(one)));
        }
        _ => {}
    }
    found.sort_by(|a, b| length(&a.action).total_cmp(&length(&b.action)));
    if found.is_empty() {
        found.extend(statement(shop, finding, run_of));
    }
    let first = finding.cuts.first().and_then(|ix| shop.cut(*ix));
    for proposal in finding.remedies.iter() {
        let mut proposal = proposal.clone();
        if let (Action::TrimOut, Some(cut)) = (proposal.action, first) {
            proposal.text = trimmed_out(shop, cut);
        }
        found.push(proposal);
    }
    finding.remedies = found.into();
}

/// Where nothing was found for a finding: what is to be known of that, and trimming out where one
/// would do so.
fn statement(
    shop: &Shop<'_>,
    finding: &Finding,
    run_of: &FxHashMap<ServiceIx, &OfRun>,
) -> Vec<Remedy> {
    let cuts = finding.cuts.iter().filter_map(|ix| shop.cut(*ix)).filter(|cut| wants(cut));
    let Some(cut) = cuts.max_by_key(|cut| cut.verdict) else { return Vec::new() };
    let mut said = Vec::new();
    let trims = finding.remedies.iter().any(|r| r.action == Action::TrimOut);
    if !trims && may_be_trimmed_out(shop, cut) {
        let text = trimmed_out(shop, cut);
        said.push(Remedy { action: Action::TrimOut, services: Vec::new(), text });
    }
    let plans = cut.services.iter().filter_map(|s| run_of.get(s)).map(|run| &run.plan);
    // What moves together with another run, or why nothing does, its plan says.
    let tells = |plan: &&RunPlan| plan.moves.len() != 1;
    let text = match plans.clone().find(tells).or_else(|| plans.clone().next()) {
        Some(plan) if tells(&plan) => plan.text.clone(),
        Some(_) => {
            "The shift that makes the rest of its run comply leaves this cut as it is: what \
                    stands here only the engineer can settle."
                .to_owned()
        }
        None => "It is not straight here, or its size is not known: no move of it is worked out. \
                 Move the run that it belongs to, or ask the services designer."
            .to_owned(),
    };
    said.push(Remedy { action: Action::Refer, services: Vec::new(), text });
    said
}

/// The shifts of the runs through a cut that make it pass in particular.
fn shifts(shop: &Shop<'_>, cuts: &[CutIx], run_of: &FxHashMap<ServiceIx, &OfRun>) -> Vec<Remedy> {
    let mut found: Vec<Remedy> = Vec::new();
    for cut in cuts.iter().filter_map(|ix| shop.cut(*ix)) {
        for run in cut.services.iter().filter_map(|s| run_of.get(s)) {
            for remedy in &run.remedies {
                let moves_all = cut.services.iter().all(|s| remedy.services.contains(s));
                if one_way_in_one_member(shop, cut, remedy) {
                    continue;
                }
                let told = found.iter().any(|r| {
                    r.services == remedy.services && length(&r.action) == length(&remedy.action)
                });
                if moves_all && !told && passes(shop, cut, remedy) {
                    found.push(remedy.clone());
                }
            }
        }
    }
    found
}

/// Whether a shift says no more than the cut's own move does.
fn one_way_in_one_member(shop: &Shop<'_>, cut: &Cut, remedy: &Remedy) -> bool {
    let cuts = shop.cuts_of(&remedy.services);
    let alone = cuts.iter().filter_map(|ix| shop.cut(*ix)).all(|c| c.member == cut.member);
    let (Some(member), Action::ShiftRun { vector_m }) =
        (shop.scene.members.get(cut.member.at()), remedy.action)
    else {
        return false;
    };
    let way = member.frame.turn(glam::DVec3::from_array(vector_m));
    let straight = (way.x.abs() < 1e-9) != (way.z.abs() < 1e-9);
    alone && straight && way.y.abs() < 1e-9
}

/// Whether a cut passes after a shift of a run (which may leave it to the engineer).
fn passes(shop: &Shop<'_>, cut: &Cut, remedy: &Remedy) -> bool {
    let Action::ShiftRun { vector_m } = remedy.action else { return false };
    let mover = Mover { pieces: remedy.services.clone(), along: glam::DVec3::X };
    let changes = search::changes(shop, &mover, glam::DVec3::from_array(vector_m));
    shop.all_pass(cut, &changes)
}

/// Two cuts that are too near to each other: who moves first moves along or up or down, so that
/// its cut passes, which settles what is between the two.
fn separate(shop: &Shop<'_>, pair: [CutIx; 2], by_cut: &FxHashMap<CutIx, &OfCut>) -> Vec<Remedy> {
    let mut cuts: Vec<(CutIx, &Cut)> =
        pair.into_iter().filter_map(|ix| Some((ix, shop.cut(ix)?))).collect();
    let rank = |cut: &Cut| shop.movers(cut).and_then(|m| m.first().map(|m| shop.rank(m)));
    cuts.sort_by_key(|(_, cut)| std::cmp::Reverse(rank(cut)));
    let mut found = Vec::new();
    for (ix, _) in cuts {
        let remedies = by_cut.get(&ix).map_or(&[][..], |of_cut| of_cut.remedies.as_slice());
        for remedy in remedies {
            let action = match remedy.action {
                Action::MoveAlong { by_mm } => Action::Separate { by_mm },
                Action::MoveDepth { .. } => remedy.action,
                _ => continue,
            };
            found.push(Remedy { action, ..remedy.clone() });
        }
        if !found.is_empty() {
            break;
        }
    }
    found
}

/// The order of remedies: how far something moves; then a smaller pipe, a deeper member, and
/// what is only proposed.
fn length(action: &Action) -> f64 {
    match action {
        Action::MoveAlong { by_mm } | Action::MoveDepth { by_mm } | Action::Separate { by_mm } => {
            by_mm.abs()
        }
        Action::ShiftRun { vector_m } => 1000.0 * glam::DVec3::from_array(*vector_m).length(),
        Action::Smaller { .. } => 1e9,
        Action::DeeperMember { .. } => 2e9,
        Action::Turn | Action::TrimOut | Action::Refer => 3e9,
    }
}
