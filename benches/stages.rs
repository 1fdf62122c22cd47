//! Every stage by itself, on towers and worst cases: `cargo bench -p wimble`.
//!
//! What a bench gives is asserted against what the generator wrote, so that a stage that skips its
//! work cannot look fast.

use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};
use wimble::{Input, Settings, check};
use wimble_cross::{CrossSettings, cross};
use wimble_dev::tower::{Tower, Written, many_records, one_joist, one_pipe, round_bodies};
use wimble_ifc::Model;
use wimble_recognise::{RecogniseSettings, Scene, Source, recognise};
use wimble_report::Report;
use wimble_rules::{PackSet, RuleSettings, Situation};
use wimble_step::StepFile;

fn main() {
    divan::main();
}

/// Joists of the towers.
const TOWERS: [usize; 3] = [1_000, 4_000, 16_000];

/// The models that benches run on: a tower, or the worst case of a stage.
#[derive(Debug, Clone, Copy)]
enum Case {
    Tower(usize),
    OneJoist(usize),
    OnePipe(usize),
    Bodies(usize),
}

const CASES: [Case; 6] = [
    Case::Tower(1_000),
    Case::Tower(4_000),
    Case::Tower(16_000),
    Case::OneJoist(4_000),
    Case::OnePipe(16_000),
    Case::Bodies(4_000),
];

impl Case {
    fn written(self) -> (Vec<u8>, Written) {
        let mut bytes = Vec::new();
        let written = match self {
            Self::Tower(members) => Tower { members }.write(&mut bytes),
            Self::OneJoist(pipes) => one_joist(pipes, &mut bytes),
            Self::OnePipe(joists) => one_pipe(joists, &mut bytes),
            Self::Bodies(sides) => round_bodies(10, sides, &mut bytes),
        };
        (bytes, written.expect("a Vec takes all"))
    }
}

fn tower(members: usize) -> (Vec<u8>, Written) {
    Case::Tower(members).written()
}

fn scene(bytes: &[u8]) -> Scene {
    let model = Model::open(bytes).expect("the generator writes models");
    let source = Source { input: wimble_recognise::Input::default(), model: &model };
    recognise(&[source], &RecogniseSettings::default())
}

fn report(bytes: &[u8]) -> Report {
    let input = Input::new("model.ifc", bytes);
    check(&[input], &Settings::default()).expect("the generator writes models")
}

#[divan::bench(args = TOWERS)]
fn index(bencher: Bencher<'_, '_>, members: usize) {
    let (bytes, written) = tower(members);
    bencher.counter(BytesCount::of_slice(&bytes)).bench(|| {
        let file = StepFile::index(&bytes).expect("a STEP file");
        assert_eq!(file.len() as u64, written.instances);
    });
}

#[divan::bench(args = [100_000, 1_000_000])]
fn index_of_tiny_records(bencher: Bencher<'_, '_>, records: usize) {
    let mut bytes = Vec::new();
    let written = many_records(records, &mut bytes).expect("a Vec takes all");
    bencher.counter(BytesCount::of_slice(&bytes)).bench(|| {
        let file = StepFile::index(&bytes).expect("a STEP file");
        assert_eq!(file.len() as u64, written.instances);
    });
}

#[divan::bench(args = TOWERS)]
fn decode(bencher: Bencher<'_, '_>, members: usize) {
    let (bytes, written) = tower(members);
    let file = StepFile::index(&bytes).expect("a STEP file");
    bencher.counter(ItemsCount::new(written.instances)).bench(|| {
        let values: usize = file.rows().map(|row| file.record(row).len()).sum();
        assert!(values as u64 > 2 * written.instances);
    });
}

#[divan::bench(args = TOWERS)]
fn shapes(bencher: Bencher<'_, '_>, members: usize) {
    let (bytes, written) = tower(members);
    let model = Model::open(&bytes).expect("a model");
    bencher.counter(ItemsCount::new(written.members + written.services)).bench(|| {
        let bodies = model.products().iter().filter(|row| !model.body(**row).items.is_empty());
        assert!(bodies.count() as u64 > written.members + written.services);
    });
}

#[divan::bench(args = TOWERS)]
fn recognition(bencher: Bencher<'_, '_>, members: usize) {
    let (bytes, written) = tower(members);
    bencher.counter(ItemsCount::new(written.members + written.services)).bench(|| {
        let scene = scene(&bytes);
        assert_eq!(scene.members.len() as u64, written.members);
        assert_eq!(scene.services.len() as u64, written.services);
    });
}

#[divan::bench(args = CASES)]
fn crossing(bencher: Bencher<'_, '_>, case: Case) {
    let (bytes, written) = case.written();
    let scene = scene(&bytes);
    bencher.counter(ItemsCount::new(written.cuts)).bench(|| {
        assert_eq!(cross(&scene, &CrossSettings::default()).len() as u64, written.cuts);
    });
}

#[divan::bench(args = CASES)]
fn rules(bencher: Bencher<'_, '_>, case: Case) {
    let (bytes, written) = case.written();
    let scene = scene(&bytes);
    let cuts = cross(&scene, &CrossSettings::default());
    let packs = PackSet::built_in().region_set("GB").expect("a region that is built in");
    let situation = Situation {
        members: &scene.members,
        services: &scene.services,
        openings: &scene.openings,
        cuts: &cuts,
    };
    bencher.counter(ItemsCount::new(written.cuts)).bench(|| {
        let judged = wimble_rules::check(&situation, &packs, &RuleSettings::default());
        assert_eq!(judged.cuts.len() as u64, written.cuts);
    });
}

/// The formats that are written from the report alone.
const WRITERS: [&str; 6] = ["json", "jsonl", "csv", "sarif", "junit", "summary"];

#[divan::bench(args = WRITERS)]
fn writer(bencher: Bencher<'_, '_>, writer: &str) {
    let (bytes, written) = tower(4_000);
    let report = report(&bytes);
    bencher.counter(ItemsCount::new(written.cuts)).bench(|| {
        let mut out = Vec::new();
        match writer {
            "json" => wimble_report::json::write(&report, &mut out),
            "jsonl" => wimble_report::jsonl::write(&report, &mut out),
            "csv" => wimble_report::csv::write(&report, &mut out),
            "sarif" => wimble_report::sarif::write(&report, &mut out),
            "junit" => wimble_report::junit::write(&report, &mut out),
            _ => wimble_report::summary_page::write(&report, &mut out),
        }
        .expect("a Vec takes all");
        assert!(out.len() > if writer == "summary" { 1_000 } else { 100_000 });
    });
}

#[divan::bench(args = CASES)]
fn end_to_end(bencher: Bencher<'_, '_>, case: Case) {
    let (bytes, written) = case.written();
    bencher.counter(ItemsCount::new(written.cuts)).bench(|| {
        let report = report(&bytes);
        assert_eq!(report.cuts.len() as u64, written.cuts);
        let mut out = Vec::new();
        wimble_report::json::write(&report, &mut out).expect("a Vec takes all");
        assert!(out.ends_with(b"}\n"));
    });
}
