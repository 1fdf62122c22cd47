//! How long remedies take: towers with so many joists, about one pipe in five where no hole may be.
//!
//! `cargo bench -p wimble --bench remedies` prints a table: the time for a crossing of a run that
//! does not comply must not grow with the building.

use std::time::{Duration, Instant};
use wimble::Settings;
use wimble_dev::tower::Tower;
use wimble_ifc::Model;
use wimble_model::{Cut, Finding};
use wimble_recognise::{Scene, Source};
use wimble_rules::{PackSet, Situation};

/// Joists, and as many pipes.
const JOISTS: [usize; 3] = [500, 5_000, 50_000];

fn main() {
    println!("{:>7} {:>7} {:>9} {:>9} {:>10}", "joists", "runs", "crossings", "seconds", "µs each");
    for joists in JOISTS {
        measure(joists);
    }
}

fn measure(joists: usize) {
    let mut bytes = Vec::new();
    Tower { members: joists }.write(&mut bytes).expect("memory takes all");
    let settings = Settings::default();
    let packs = settings.packs.clone().region_set("GB").expect("it is shipped");
    let model = Model::open(&bytes).expect("a tower can be read");
    let source = Source { input: wimble_recognise::Input::default(), model: &model };
    let scene = wimble_recognise::recognise(&[source], &settings.recognise);
    let (cuts, mut findings) = judged(&scene, &settings, &packs);
    let started = Instant::now();
    let found = wimble_remedies::find(
        &scene,
        &settings.cross,
        &packs,
        &settings.rules,
        (&cuts, &mut findings),
        &[],
    );
    let took = started.elapsed();
    let crossings = crossings(&cuts, &found.plans);
    println!(
        "{joists:>7} {:>7} {crossings:>9} {:>9.2} {:>10.0}",
        found.plans.len(),
        took.as_secs_f64(),
        each(took, crossings)
    );
}

fn judged(scene: &Scene, settings: &Settings, packs: &PackSet) -> (Vec<Cut>, Vec<Finding>) {
    let mut cuts = wimble_cross::cross(scene, &settings.cross);
    let situation = Situation {
        members: &scene.members,
        services: &scene.services,
        openings: &scene.openings,
        cuts: &cuts,
    };
    let mut judgement = wimble_rules::check(&situation, packs, &settings.rules);
    judgement.write_into(&mut cuts);
    (cuts, judgement.findings)
}

/// Cuts of the runs for which a plan was made.
fn crossings(cuts: &[Cut], plans: &[wimble_model::RunPlan]) -> usize {
    let planned: std::collections::BTreeSet<_> = plans.iter().flat_map(|p| &p.services).collect();
    cuts.iter().filter(|cut| cut.services.iter().any(|s| planned.contains(s))).count()
}

fn each(took: Duration, crossings: usize) -> f64 {
    took.as_secs_f64() * 1e6 / crossings.max(1) as f64
}
