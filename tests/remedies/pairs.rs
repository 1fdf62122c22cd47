//! Two runs in each other's way: both move, the least sum along is no longer than what a grid finds,
//! and services that have to exchange places do.

use crate::brute_pair::BrutePair;
use crate::building::Building;
use crate::short_span::short_span;
use crate::{NOISE_MM, of_floors, small, support};
use glam::DVec3;
use wimble_dev::floors::{Floor, Random, Through};
use wimble_model::{
    Cut, CutIx, CutKind, MemberIx, RunMove, RunPlan, Service, ServiceIx, ServiceShape, Verdict,
};
use wimble_remedies::{Proposals, Reserve};

/// The plan of the one pipe that fails in all three joists.
fn plan(proposals: &Proposals) -> &RunPlan {
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

/// Who moves before whom in these floors, which have one trade: the smaller, then the later.
fn moves_before(building: &Building, a: ServiceIx, b: ServiceIx) -> bool {
    let size = |s: ServiceIx| match building.scene.services[s.at()].shape {
        ServiceShape::RoundMm(diameter) => diameter,
        _ => panic!("only round ones are drawn"),
    };
    (size(b), a) > (size(a), b)
}

#[test]
fn no_two_shifts_along_are_longer_than_what_a_grid_finds() {
    let proved = of_floors(support::shared::floors_wanted() / 2, |seed| {
        compared(&Building::of(&crowded(seed as u64)), 100.0)
    });
    println!("{proved} pairs of shifts that are proved least");
    assert!(proved > 0);
}

/// Pipes at any level and place, now and then askew.
#[test]
fn nor_are_they_in_any_floor() {
    of_floors(support::shared::floors_wanted() / 10, |seed| {
        compared(&Building::of(&small(seed + 3000, 2)), 50.0)
    });
}

/// The plans for two, or for none, against the grid of all sums up to a limit: how many were proved
/// least, and what is wrong.
fn compared(building: &Building, grid_mm: f64) -> (usize, Vec<String>) {
    let (_, proposals) = building.with_remedies();
    let (mut proved, mut wrong) = (0, Vec::new());
    for plan in proposals.plans.iter().filter(|plan| plan.moves.len() != 1) {
        let [service] = plan.services[..] else { continue };
        let fails = |ix: &CutIx| building.cuts[ix.at()].verdict == Verdict::Fail;
        let across = building.scene.members[0].frame.turn(building.direction(service)).y.abs();
        if !plan.cuts.iter().any(fails) || across < 0.2 {
            continue;
        }
        let length = |m: &RunMove| 1000.0 * DVec3::from_array(m.vector_m).length();
        let ours = match plan.moves.len() {
            0 => f64::INFINITY,
            _ => plan.moves.iter().map(length).sum(),
        };
        let others = (0..building.scene.services.len()).map(ServiceIx::from);
        for other in others.filter(|other| moves_before(building, *other, service)) {
            let brute = BrutePair::new(building, [service, other]);
            if let Some((sum, two)) = brute.least((ours - NOISE_MM).min(grid_mm)) {
                wrong.push(format!(
                    "{service:?} and {other:?}: {ours}, but {two:?} serve ({sum}): {}",
                    plan.text
                ));
            }
        }
        if plan.moves.len() == 2 {
            proved += usize::from(plan.least);
            wrong.extend(fault(building, plan));
        }
    }
    (proved, wrong)
}

/// What is wrong with a building after a plan for two.
fn fault(building: &Building, plan: &RunPlan) -> Option<String> {
    let after = building.after_plan(plan);
    let both: Vec<ServiceIx> = plan.moves.iter().flat_map(|m| m.services.clone()).collect();
    let mut members = (0..building.scene.members.len()).map(MemberIx::from);
    if members.any(|member| after.worst_of(member, &both) != Verdict::Pass) {
        return Some(format!("does not pass: {}", plan.text));
    }
    let worse = after.worse_than(building).count();
    (worse > 0).then(|| format!("{worse} are worse: {}", plan.text))
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

/// Two services that have to exchange places. The clear span is 600: zones for holes from 250 to 340
/// and from 460 to 550, for notches from 142 to 250 and from 550 to 658. The large pipe is too deep a
/// notch and wants a hole; of the two zones for one the far is full, the near is taken by the small
/// pipe, which may be a notch as well.
#[test]
fn two_services_that_have_to_exchange_places_do() {
    let mut floor = short_span(&[(36.0, 505.0), (28.0, 315.0), (12.0, 290.0)]);
    floor.ends = [0.0, 800.0];
    floor.walls[1] = [700.0, 800.0];
    let level = |service: &mut Through, z: f64| {
        (service.from.z, service.to.z) = (z, z);
    };
    let large = floor.top - 14.0;
    level(&mut floor.services[1], large);
    let building = Building::of(&floor);
    let (_, proposals) = building.with_remedies();
    let named = |name: &str| {
        let service = |s: &Service| s.element.name.as_deref() == Some(name);
        building.scene.services.iter().position(service).unwrap()
    };
    let (large, small) = (named("S2"), named("S3"));
    let of_large = |plan: &&RunPlan| plan.services == [large.into()];
    let plan = proposals.plans.iter().find(of_large).unwrap();
    assert_eq!(plan.moves.len(), 2, "{}", plan.text);
    let after = building.after_plan(plan);
    assert!(after.cuts.iter().all(|cut| cut.verdict == Verdict::Pass), "{}", plan.text);
    // The hole is now the large one's, and the notch the small one's.
    let kinds = |building: &Building, service: usize| -> Vec<CutKind> {
        let own = |cut: &&Cut| cut.services.contains(&ServiceIx::from(service));
        building.cuts.iter().filter(own).map(|cut| cut.kind).collect()
    };
    assert_eq!(kinds(&building, large), [CutKind::TopNotch; 3]);
    assert_eq!(kinds(&building, small), [CutKind::Hole; 3]);
    assert_eq!(kinds(&after, large), [CutKind::Hole; 3]);
    assert_eq!(kinds(&after, small), [CutKind::TopNotch; 3]);
}

/// The free zone is near, but it is the last for the large hole that is kept: the pipe goes to the
/// other, whose pipe gives place.
#[test]
fn a_place_that_is_kept_for_a_trade_is_not_taken_by_another() {
    let building = Building::of(&short_span(&[(28.0, 600.0), (12.0, 775.0)]));
    let left = |building: &Building| {
        let Building { scene, packs, cuts, .. } = building;
        (0..scene.members.len()).all(|n| {
            let member = MemberIx::from(n);
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

    let members = (0..building.scene.members.len()).map(MemberIx::from).collect();
    let keep = Reserve { members, services: Vec::new(), size_mm: 40.0 };
    let (_, kept) = building.with_remedies_that_keep(&[keep]);
    let after = building.after_plan(plan(&kept));
    assert_eq!(plan(&kept).moves.len(), 2, "{}", plan(&kept).text);
    assert!(left(&after), "{}", plan(&kept).text);
    assert!(after.cuts.iter().all(|cut| cut.verdict == Verdict::Pass));
}
