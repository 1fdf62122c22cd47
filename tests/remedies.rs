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

use brute::Brute;
use brute_pair::BrutePair;
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
            for remedy in &finding.remedies {
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
            for remedy in findings.iter().flat_map(|f| &f.remedies) {
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

/// Three joists of a short span, 47 × 170, with pipes across them: diameter and place. Zones for
/// holes: 0.25 to 0.40 of the 1000 from either face, 350 to 500 and 700 to 850. Too shallow for one
/// hole round two of the pipes.
fn short_span(pipes: &[(f64, f64)]) -> Floor {
    let pipe = |(n, (diameter, y)): (usize, &(f64, f64))| wimble_dev::floors::Through {
        name: format!("S{}", n + 1),
        from: glam::dvec3(-200.0, *y, 2510.0),
        to: glam::dvec3(1000.0, *y, 2510.0),
        section: Section::Round(*diameter),
    };
    Floor {
        breadth: 47.0,
        depth: 170.0,
        top: 2595.0,
        ends: [0.0, 1200.0],
        joists: vec![0.0, 400.0, 800.0],
        walls: vec![[0.0, 100.0], [1100.0, 1200.0]],
        services: pipes.iter().enumerate().map(pipe).collect(),
        clearance: 5.0,
    }
}

/// The plan of the one pipe that fails in all three joists.
fn plan(proposals: &wimble_remedies::Proposals) -> &wimble_model::RunPlan {
    proposals.plans.iter().find(|plan| plan.cuts.len() == 3).expect("the pipe in mid-span")
}

/// Pipes in and beside one zone for holes, with hardly room for all of them there; a large one has
/// the other zone to itself.
fn crowded(seed: u64) -> Floor {
    let mut random = Random::new(seed);
    let count = 2 + random.below(2);
    let mut pipes = vec![(36.0, 978.0)];
    let near: Vec<(f64, f64)> = (0..count)
        .map(|n| {
            let diameter = random.pick(&[12.0, 15.0, 22.0, 28.0], 15.0);
            // Each in its own stretch, so that they do not run into each other.
            let from = 380.0 + 95.0 * f64::from(u32::try_from(n).unwrap());
            (diameter, from + random.between(0.0, 55.0))
        })
        .collect();
    pipes.extend(near);
    let mut floor = short_span(&pipes);
    // Clear span 1300: zones 425 to 620 and 880 to 1075.
    floor.ends = [0.0, 1500.0];
    floor.walls[1] = [1400.0, 1500.0];
    floor.joists.truncate(2);
    floor.services.iter_mut().for_each(|s| s.to.x = 600.0);
    floor
}

/// Sums of two shifts along up to this are searched on the grid.
const GRID_OF_TWO_MM: f64 = 120.0;

/// Who moves before whom in these floors, which have one trade: the smaller, then the later.
fn moves_before(
    building: &Building,
    a: wimble_model::ServiceIx,
    b: wimble_model::ServiceIx,
) -> bool {
    let size = |s: wimble_model::ServiceIx| match building.scene.services[s.at()].shape {
        wimble_model::ServiceShape::RoundMm(diameter) => diameter,
        _ => panic!("only round ones are drawn"),
    };
    (size(b), a) > (size(a), b)
}

#[test]
fn no_two_shifts_along_are_longer_than_what_a_grid_finds() {
    let proved = of_floors(support::shared::floors_wanted() * 2, |seed| {
        let building = Building::of(&crowded(seed as u64));
        let (_, proposals) = building.with_remedies();
        let (mut proved, mut wrong) = (0, Vec::new());
        for plan in proposals.plans.iter().filter(|plan| plan.moves.len() != 1) {
            let [service] = plan.services[..] else { continue };
            let fails = |ix: &wimble_model::CutIx| building.cuts[ix.at()].verdict == Verdict::Fail;
            if !plan.cuts.iter().any(fails) {
                continue;
            }
            let length =
                |m: &wimble_model::RunMove| 1000.0 * glam::DVec3::from_array(m.vector_m).length();
            let ours = match plan.moves.len() {
                0 => f64::INFINITY,
                _ => plan.moves.iter().map(length).sum(),
            };
            let others = (0..building.scene.services.len()).map(wimble_model::ServiceIx::from);
            for other in others.filter(|other| moves_before(&building, *other, service)) {
                let brute = BrutePair::new(&building, [service, other]);
                if let Some((sum, two)) = brute.least((ours - NOISE_MM).min(GRID_OF_TWO_MM)) {
                    wrong.push(format!(
                        "{service:?} and {other:?}: {ours}, but {two:?} serve ({sum}): {}",
                        plan.text
                    ));
                }
            }
            if plan.moves.len() == 2 {
                proved += usize::from(plan.least);
                let after = building.after_plan(plan);
                let of_both = plan.moves.iter().flat_map(|m| m.services.iter().copied());
                let of_both: Vec<_> = of_both.collect();
                for member in (0..building.scene.members.len()).map(wimble_model::MemberIx::from) {
                    if after.worst_of(member, &of_both) != Verdict::Pass {
                        wrong.push(format!("does not pass: {}", plan.text));
                    }
                }
                let worse = after.worse_than(&building).count();
                if worse > 0 {
                    wrong.push(format!("{worse} are worse: {}", plan.text));
                }
            }
        }
        (proved, wrong)
    });
    println!("{proved} pairs of shifts that are proved least");
    assert!(proved > 0);
}

/// A pipe in the middle of each zone leaves no place for a third that is bored in mid-span: NBS
/// wants three times the larger hole between centres.
#[test]
fn of_two_runs_in_each_others_way_the_lower_rank_gives_place() {
    let building = Building::of(&short_span(&[(28.0, 600.0), (12.0, 425.0), (12.0, 775.0)]));
    let (_, proposals) = building.with_remedies();
    let plan = plan(&proposals);
    assert_eq!(plan.moves.len(), 2, "{}", plan.text);
    assert!(plan.least, "no two shorter shifts along serve: {}", plan.text);
    let after = building.after_plan(plan);
    assert!(after.cuts.iter().all(|cut| cut.verdict == Verdict::Pass), "{}", plan.text);
}

/// The free zone is near, but it is the last for the large hole that is kept: the pipe goes to the
/// other, whose pipe gives place.
#[test]
fn a_place_that_is_kept_for_a_trade_is_not_taken_by_another() {
    let building = Building::of(&short_span(&[(28.0, 600.0), (12.0, 775.0)]));
    let left = |building: &Building| {
        let Building { scene, packs, cuts, .. } = building;
        (0..scene.members.len()).all(|n| {
            let member = wimble_model::MemberIx::from(n);
            let of_member: Vec<Cut> =
                cuts.iter().filter(|cut| cut.member == member).cloned().collect();
            let free =
                wimble_remedies::free(scene, member, 40.0, &of_member, packs, building.rules());
            !free.is_empty()
        })
    };
    assert!(left(&building));
    let (_, alone) = building.with_remedies();
    assert_eq!(plan(&alone).moves.len(), 1);
    assert!(!left(&building.after_plan(plan(&alone))), "else the test tests nothing");

    let members = (0..building.scene.members.len()).map(wimble_model::MemberIx::from).collect();
    let keep = wimble_remedies::Reserve { members, services: Vec::new(), size_mm: 40.0 };
    let (_, kept) = building.with_remedies_that_keep(&[keep]);
    let after = building.after_plan(plan(&kept));
    assert_eq!(plan(&kept).moves.len(), 2, "{}", plan(&kept).text);
    assert!(left(&after), "{}", plan(&kept).text);
    assert!(after.cuts.iter().all(|cut| cut.verdict == Verdict::Pass));
}
