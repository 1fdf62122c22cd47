//! The same building gives the same cuts and verdicts, however it is written (`docs/measuring.md`,
//! Invariance): unit, schema, representation of members and services, nesting, rotation about the
//! vertical, offset by millions of metres, one file or two, order of instances, line endings, number of
//! threads.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[cfg(test)]
mod support;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use support::report::{Cut, Report, check};
use wimble_dev::demo::{self, Variant};
use wimble_dev::floors::{Floor, MemberForm, Random, ServiceForm, Style, floor, write};
use wimble_dev::ifc::{Layout, LengthUnit, LineEnding, Schema, WorldBy};

const SETTINGS: &str = "[rules]\npacks = [\"uk-solid-joist\"]\n[cut]\nclearance = \"5 mm\"\n";

/// A cut with x running north, so that the sense of the members' x does not show.
#[derive(Debug)]
struct North {
    member: String,
    services: Vec<String>,
    words: [String; 3],
    figures: Vec<f64>,
}

fn cuts(floor: &Floor, style: &Style) -> Vec<North> {
    let report = check(&write(floor, style), SETTINGS);
    let mut cuts: Vec<North> = report
        .cuts
        .iter()
        .map(|cut| north(cut, &report, style.world.matrix3.y_axis.into()))
        .collect();
    cuts.sort_by(|a, b| (&a.member, &a.services).cmp(&(&b.member, &b.services)));
    cuts
}

fn north(cut: &Cut, report: &Report, north: [f64; 3]) -> North {
    let member = &report.members[cut.member];
    let along: f64 = member.x.iter().zip(north).map(|(a, b)| a * b).sum();
    let (mut min, mut max) = (cut.min, cut.max);
    if along < 0.0 {
        (min[0], max[0]) = (member.length - max[0], member.length - min[0]);
        (min[1], max[1]) = (-max[1], -min[1]);
    }
    let mut figures = vec![cut.bit, cut.from_bearing.unwrap_or(-1e9), member.length];
    figures.extend(min);
    figures.extend(max);
    North {
        member: member.name.clone(),
        services: cut.services.clone(),
        words: [cut.kind.clone(), cut.edge.clone(), cut.verdict.clone()],
        figures,
    }
}

/// The first difference, in words.
fn difference(a: &[North], b: &[North]) -> Option<String> {
    if a.len() != b.len() {
        return Some(format!("{} cuts and {}\n{a:#?}\n{b:#?}", a.len(), b.len()));
    }
    a.iter().zip(b).find_map(|(a, b)| {
        let same = a.member == b.member
            && a.services == b.services
            && a.words == b.words
            && a.figures.iter().zip(&b.figures).all(|(a, b)| (a - b).abs() <= 0.1);
        (!same).then(|| format!("{a:?}\nis {b:?}"))
    })
}

/// A floor of this seed whose clearance is that of the settings.
fn seeded(seed: u64) -> Floor {
    Floor { clearance: 5.0, ..floor(&mut Random::new(seed)) }
}

/// A style that differs from the plain one as told must change nothing.
fn unchanged(seed: u64, change: impl Fn(&mut Style)) -> Result<(), TestCaseError> {
    let floor = seeded(seed);
    let mut style = Style::plain();
    change(&mut style);
    let found = difference(&cuts(&floor, &Style::plain()), &cuts(&floor, &style));
    prop_assert!(found.is_none(), "{style:?}\n{}", found.unwrap_or_default());
    Ok(())
}

fn one_of<T: Copy + std::fmt::Debug + 'static>(all: &'static [T]) -> impl Strategy<Value = T> {
    proptest::sample::select(all)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, rng_seed: RngSeed::Fixed(7), ..ProptestConfig::default() })]

    #[test]
    fn unit_changes_nothing(seed in 0_u64..1000, unit in one_of(&LengthUnit::ALL), degrees: bool) {
        unchanged(seed, |style| {
            style.unit = unit;
            style.degrees = degrees;
        })?;
    }

    #[test]
    fn schema_changes_nothing(seed in 0_u64..1000, schema in one_of(&Schema::ALL)) {
        unchanged(seed, |style| style.schema = schema)?;
    }

    #[test]
    fn representation_of_members_changes_nothing(
        seed in 0_u64..1000, form in one_of(&MemberForm::ALL), schema in one_of(&Schema::ALL),
    ) {
        unchanged(seed, |style| {
            style.member_form = form;
            style.schema = schema;
        })?;
    }

    #[test]
    fn representation_of_services_changes_nothing(
        seed in 0_u64..1000, form in one_of(&ServiceForm::ALL),
    ) {
        unchanged(seed, |style| style.service_form = form)?;
    }

    #[test]
    fn nesting_changes_nothing(seed in 0_u64..1000, nesting in 1_usize..5) {
        unchanged(seed, |style| style.nesting = nesting)?;
    }

    #[test]
    fn rotation_and_offset_change_nothing(
        seed in 0_u64..1000,
        place in any::<u64>(),
        by in one_of(&[WorldBy::SitePlacement, WorldBy::Context, WorldBy::EveryElement]),
        georeference: bool,
    ) {
        unchanged(seed, |style| {
            style.world = Style::somewhere(&mut Random::new(place));
            style.world_by = by;
            style.georeference = georeference;
        })?;
    }

    #[test]
    fn splitting_over_files_changes_nothing(
        seed in 0_u64..1000, schema in one_of(&Schema::ALL), unit in one_of(&LengthUnit::ALL),
    ) {
        unchanged(seed, |style| style.second = Some((schema, unit)))?;
    }
}

/// The demo building, checked.
fn of_demo(variant: &Variant) -> Report {
    check(&demo_files(variant), "[cut]\nclearance = \"5 mm\"\n")
}

fn demo_files(variant: &Variant) -> Vec<(String, Vec<u8>)> {
    let files = demo::files_as(variant).into_iter();
    files.map(|(name, bytes)| (name.to_owned(), bytes)).collect()
}

/// Every cut of the demo building in words and figures that do not hang on the sense of x.
fn senseless(report: &Report) -> Vec<(String, Vec<f64>)> {
    let mut rows: Vec<(String, Vec<f64>)> = report
        .cuts
        .iter()
        .map(|cut| {
            let name = &report.members[cut.member].name;
            let words = format!("{name} {:?} {} {}", cut.services, cut.kind, cut.verdict);
            let size = |axis: usize| cut.max[axis] - cut.min[axis];
            let from = cut.from_bearing.unwrap_or(-1e9);
            (words, vec![size(0), size(1), size(2), cut.offset.abs(), cut.bit, from])
        })
        .collect();
    rows.sort_by(|a, b| a.0.cmp(&b.0).then(a.1[0].total_cmp(&b.1[0])));
    rows
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, rng_seed: RngSeed::Fixed(7), ..ProptestConfig::default() })]

    /// Trusses, rafters, openings, bends, a cylinder and all, turned and moved, in other units.
    #[test]
    fn place_and_units_of_the_demo_building_change_nothing(
        place in any::<u64>(),
        structure in one_of(&LengthUnit::ALL),
        services in one_of(&LengthUnit::ALL),
        world_by in one_of(&[WorldBy::SitePlacement, WorldBy::Context, WorldBy::EveryElement]),
    ) {
        let moved = Variant { structure, services, world_by, ..moved_to(place) };
        let found = demo_differs(&moved);
        prop_assert!(found.is_none(), "{}", found.unwrap_or_default());
    }
}

fn moved_to(place: u64) -> Variant {
    Variant { world: Style::somewhere(&mut Random::new(place)), ..Variant::default() }
}

/// The first cut of the demo building that differs where it is written as told.
fn demo_differs(variant: &Variant) -> Option<String> {
    let plain = senseless(&of_demo(&Variant::default()));
    let moved = senseless(&of_demo(variant));
    let different = plain
        .iter()
        .zip(&moved)
        .find(|(a, b)| a.0 != b.0 || a.1.iter().zip(&b.1).any(|(a, b)| (a - b).abs() > 0.1));
    let told = different.map(|(a, b)| format!("{a:?}\nis {b:?}\n{variant:?}"));
    told.or_else(|| {
        (plain.len() != moved.len()).then(|| format!("{} cuts and {}", plain.len(), moved.len()))
    })
}

/// Noise of the coordinates once made an I-joist's web thin as nothing (the first) and took the flanges of
/// another for the chords of an open-web joist (the second).
#[test]
fn noise_of_coordinates_makes_no_other_section() {
    for place in [15838, 174_218] {
        let variant = Variant { structure: LengthUnit::Inch, ..moved_to(place) };
        assert_eq!(demo_differs(&variant), None);
    }
}

fn same_report(a: &Report, b: &Report, what: &str) {
    let strip = |report: &Report| {
        let mut json = report.json.clone();
        for input in json["inputs"].as_array_mut().expect("inputs are listed") {
            input["blake3"] = serde_json::Value::Null;
        }
        json
    };
    let (a, b) = (strip(a), strip(b));
    if a != b {
        let (a, b) = (
            serde_json::to_string_pretty(&a).expect("JSON"),
            serde_json::to_string_pretty(&b).expect("JSON"),
        );
        let first = a.lines().zip(b.lines()).position(|(a, b)| a != b).unwrap_or(0);
        let near = |text: &str| {
            text.lines().skip(first.saturating_sub(12)).take(25).collect::<Vec<_>>().join("\n")
        };
        panic!("{what} changes the report:\n{}\n---\n{}", near(&a), near(&b));
    }
}

fn laid_out(layout: Layout) -> Variant {
    Variant { layout, ..Variant::default() }
}

#[test]
fn order_of_instances_changes_nothing() {
    let plain = of_demo(&Variant::default());
    for seed in [1, 2] {
        let shuffled = of_demo(&laid_out(Layout { shuffle: Some(seed), ..Layout::default() }));
        same_report(&plain, &shuffled, "the order of instances");
    }
}

#[test]
fn line_endings_change_nothing() {
    let plain = of_demo(&Variant::default());
    for line_ending in [LineEnding::CrLf, LineEnding::Cr] {
        same_report(
            &plain,
            &of_demo(&laid_out(Layout { line_ending, shuffle: None })),
            "the line ending",
        );
    }
}

#[test]
fn number_of_threads_changes_nothing() {
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| of_demo(&Variant::default()))
    };
    let one = with(1);
    for threads in [2, 7] {
        assert_eq!(one.text, with(threads).text, "{threads} threads");
    }
}

#[test]
fn order_of_files_changes_no_verdict() {
    let mut files = demo_files(&Variant::default());
    let settings = "[cut]\nclearance = \"5 mm\"\n";
    let forwards = senseless(&check(&files, settings));
    files.reverse();
    assert_eq!(forwards, senseless(&check(&files, settings)));
}
