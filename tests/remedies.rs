//! Remedies on random floors: each, applied, makes its cut pass and no other worse; none is longer
//! than a search on a grid of 1 mm finds; and where that finds one, so do we.
//!
//! `WIMBLE_FLOORS=500` runs as many floors; 60 by default.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[cfg(test)]
mod support;

#[path = "remedies/brute.rs"]
mod brute;
#[path = "remedies/brute_pair.rs"]
mod brute_pair;
#[path = "remedies/building.rs"]
mod building;
#[path = "remedies/pairs.rs"]
mod pairs;
#[path = "remedies/put_in.rs"]
mod put_in;
#[path = "remedies/share.rs"]
mod share;
#[path = "remedies/short_span.rs"]
mod short_span;

use brute::Brute;
use building::Building;
use rayon::prelude::*;
use wimble_dev::floors::{Floor, Random, Section, floor};
use wimble_model::{Action, Cut, CutKind, Finding, Remedy, Verdict};

/// How much longer than the grid's least a shift may be: nothing but noise.
const NOISE_MM: f64 = 1e-3;

fn drawn(seed: usize) -> Floor {
    floor(&mut Random::new(seed as u64))
}

/// What went wrong in any of the floors, and the sum of what was counted.
fn of_floors(floors: usize, of: impl Fn(usize) -> (usize, Vec<String>) + Sync) -> usize {
    let found: Vec<(usize, Vec<String>)> = (0..floors).into_par_iter().map(&of).collect();
    let wrong: Vec<String> = found
        .iter()
        .enumerate()
        .flat_map(|(n, (_, wrong))| wrong.iter().map(move |w| format!("floor {n}: {w}")))
        .collect();
    let shown: Vec<&str> = wrong.iter().take(12).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} faults\n{}", wrong.len(), shown.join("\n"));
    found.iter().map(|(count, _)| count).sum()
}

#[test]
fn every_remedy_applied_makes_its_cut_pass_and_no_other_worse() {
    let floors = support::shared::floors_wanted();
    let proved = of_floors(floors, |seed| {
        let building = Building::of(&drawn(seed));
        let (findings, _) = building.with_remedies();
        let mut proved = 0;
        let mut wrong = Vec::new();
        for finding in &findings {
            for remedy in finding.remedies.iter() {
                match fault(&building, finding, remedy) {
                    Some(fault) => wrong.push(format!("{}: {fault}", remedy.text)),
                    None => proved += usize::from(!is_proposal(remedy)),
                }
            }
        }
        (proved, wrong)
    });
    println!("{proved} remedies proved");
    assert!(proved > 2 * floors, "too few were found: {proved}");
}

fn is_proposal(remedy: &Remedy) -> bool {
    matches!(remedy.action, Action::Turn | Action::TrimOut | Action::Refer)
}

/// What is wrong with the building after a remedy.
fn fault(before: &Building, finding: &Finding, remedy: &Remedy) -> Option<String> {
    // Of a pair the cut of who moves is the one that the remedy is about.
    let own: Vec<&Cut> = finding.cuts.iter().map(|ix| &before.cuts[ix.at()]).collect();
    let moves = |cut: &&&Cut| cut.services.iter().any(|s| remedy.services.contains(s));
    let about: Vec<&&Cut> = match own.iter().filter(moves).count() {
        0 => own.iter().collect(),
        _ => own.iter().filter(moves).collect(),
    };
    let first = about.first()?;
    let after = before.after(finding.member, first, remedy)?;
    for cut in about {
        for now in after.with(finding.member, &cut.services) {
            if now.verdict != Verdict::Pass {
                return Some(format!("{} is {}", now.kind.word(), now.verdict.word()));
            }
        }
    }
    if let Some(worse) = after.worse_than(before).next() {
        let member = &after.scene.members[worse.member.at()].element.name;
        return Some(format!("{:?} in {member:?} is worse: {:?}", worse.services, worse.verdict));
    }
    (!after.keeps_clear(before, &remedy.services)).then(|| "too near to another".to_owned())
}

/// A floor without rectangular services, whose distance the grid does not measure, and with the
/// first joists alone.
fn small(seed: usize, joists: usize) -> Floor {
    let mut floor = drawn(seed);
    floor.services.retain(|s| matches!(s.section, Section::Round(_)));
    floor.joists.truncate(joists);
    floor
}

/// Cuts of one straight service across the whole breadth that do not pass, with their findings.
fn wanting<'f>(
    building: &'f Building,
    findings: &'f [Finding],
) -> Vec<(&'f Cut, Vec<&'f Finding>)> {
    let across = |cut: &&Cut| {
        use CutKind::{BottomNotch, Hole, Severed, TopNotch};
        matches!(cut.kind, BottomNotch | Hole | Severed | TopNotch)
            && cut.services.len() == 1
            && matches!(cut.verdict, Verdict::Fail | Verdict::Refer)
    };
    let cuts = building.cuts.iter().enumerate().filter(|(_, cut)| across(cut));
    cuts.map(|(n, cut)| {
        let alone =
            |f: &&Finding| f.cuts.len() == 1 && f.cuts[0].at() == n && f.verdict > Verdict::Unknown;
        (cut, findings.iter().filter(alone).collect::<Vec<_>>())
    })
    .filter(|(_, findings)| !findings.is_empty())
    .collect()
}

#[test]
fn no_move_along_is_longer_than_what_a_grid_finds() {
    // The grid asks thousands of times more than the search.
    let compared = of_floors(support::shared::floors_wanted() / 4, |seed| {
        let building = Building::of(&small(seed, 2));
        let (findings, _) = building.with_remedies();
        let (mut compared, mut wrong) = (0, Vec::new());
        for (cut, findings) in wanting(&building, &findings) {
            let brute = Brute::new(&building, cut, cut.services[0], false);
            let (mut along, mut up) = (f64::INFINITY, f64::INFINITY);
            for remedy in findings.iter().flat_map(|f| f.remedies.iter()) {
                match remedy.action {
                    Action::MoveAlong { by_mm } => along = along.min(by_mm.abs()),
                    Action::MoveDepth { by_mm } => up = up.min(by_mm.abs()),
                    _ => {}
                }
            }
            let member = &building.scene.members[cut.member.at()];
            let what = format!("{:?} in {:?}", cut.services, member.element.name);
            if let Some(found) = brute.least_along((along - NOISE_MM).min(member.length_mm)) {
                wrong.push(format!("{what}: along {along}, but {found} serves"));
            }
            if let Some(found) = brute.least_up((up - NOISE_MM).min(member.section.depth_mm())) {
                wrong.push(format!("{what}: up or down {up}, but {found} serves"));
            }
            compared += 1;
        }
        (compared, wrong)
    });
    println!("{compared} cuts compared with the grid");
}

/// Shifts of whole runs up to this long are searched on the grid both ways.
const GRID_MM: f64 = 20.0;

#[test]
fn no_shift_both_ways_is_longer_than_what_a_grid_finds() {
    let compared = of_floors(20, |seed| {
        let building = Building::of(&small(seed + 1000, 2));
        let (_, proposals) = building.with_remedies();
        let (mut compared, mut wrong) = (0, Vec::new());
        for plan in &proposals.plans {
            let Some(cut) = plan.cuts.first().map(|ix| &building.cuts[ix.at()]) else { continue };
            let [service] = plan.services[..] else { continue };
            let member = &building.scene.members[cut.member.at()];
            let run = member.frame.turn(building.direction(service));
            let straight = run.y.abs() > 0.2;
            if !straight {
                continue;
            }
            let by = plan.moves.first().map(|m| glam::DVec3::from_array(m.vector_m));
            let all = by.is_some_and(|_| building.run_passes_after(plan));
            // A plan that leaves some to the engineer says that no shift makes all pass.
            let ours = by.filter(|_| all).map_or(f64::INFINITY, |by| 1000.0 * by.length());
            let brute = Brute::new(&building, cut, service, true);
            if let Some((along, up)) = brute.least_of_both((ours - NOISE_MM).min(GRID_MM)) {
                // Shorter by less than a millimetre is not worth moving both ways.
                if along.hypot(up) < ours - 1.0 - NOISE_MM {
                    wrong.push(format!(
                        "{:?}: {ours} ({:?}), but {along} along and {up} up serve: {}",
                        plan.services, by, plan.text
                    ));
                }
            }
            compared += 1;
        }
        (compared, wrong)
    });
    println!("{compared} runs compared with the grid both ways");
    assert!(compared > 20, "{compared}");
}
