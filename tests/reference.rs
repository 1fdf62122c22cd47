//! Extents and volumes of every product agree with a general-purpose IFC toolkit, over the real
//! models beside the repository.
//!
//! The toolkit runs in `.venv` (`tests/reference/setup.sh` makes it), in two processes with a time
//! limit for each file. Its answers are kept in `tests/out/reference/` by the content of file and
//! script. Products that differ are listed in `tests/reference/differences.toml`, with the reason
//! and who is right.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[path = "support/shared.rs"]
mod shared;
#[path = "reference/toolkit.rs"]
mod toolkit;

use serde::Deserialize;
use shared::{files_under, shared, top};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use wimble_ifc::Model;

/// How far extents may lie apart, metres.
const NEAR: f64 = 0.0005;
/// How far volumes may lie apart, as a share of the larger.
const SAME_VOLUME: f64 = 0.005;
/// How many of the products that both read must agree, by what `differences.toml` does not explain
/// and by all.
const SHARE: f64 = 0.995;

#[derive(Deserialize)]
struct Row {
    id: u64,
    class: String,
    guid: String,
    min: Option<[f64; 3]>,
    max: Option<[f64; 3]>,
    volume: Option<f64>,
    error: Option<String>,
}

#[derive(Deserialize, Default)]
struct Known {
    #[serde(default)]
    file: Vec<KnownFile>,
}

/// Products of one file that are known to differ, and why.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KnownFile {
    path: String,
    guids: Vec<String>,
    why: String,
}

#[derive(Default)]
struct Tally {
    agreed: usize,
    volumes: usize,
    differ: Vec<String>,
    only_reference: Vec<String>,
    only_here: usize,
    neither: usize,
    ended: Vec<String>,
    stale: Vec<String>,
}

#[test]
fn extents_and_volumes_agree_with_the_reference() {
    let Some(shared) = shared("extents_and_volumes_agree_with_the_reference") else { return };
    let python = top().join(".venv/bin/python");
    assert!(
        python.is_file() && imports(&python),
        "the reference toolkit is missing: run tests/reference/setup.sh"
    );
    let models = shared.0.join("models");
    let known = known();
    let mut tally = Tally::default();
    let mut jobs = Vec::new();
    let mut opened = Vec::new();
    for path in files_under(&models) {
        let name = path.strip_prefix(&models).unwrap_or(&path).display().to_string();
        match unpacked(&path) {
            Some((bytes, plain)) => {
                jobs.push(toolkit::Job::new(plain, &bytes));
                opened.push((name, bytes));
            }
            None => tally.ended.push(format!("{name}: no model in the archive")),
        }
    }
    toolkit::ask(&python, &jobs);
    for (job, (name, bytes)) in jobs.iter().zip(&opened) {
        let known: BTreeMap<&str, &str> = known
            .file
            .iter()
            .filter(|file| file.path == *name)
            .flat_map(|file| file.guids.iter().map(|guid| (guid.as_str(), file.why.as_str())))
            .collect();
        compare(job, bytes, name, &known, &mut tally);
    }
    report(&tally);
}

fn report(tally: &Tally) {
    let both = tally.agreed + tally.differ.len();
    println!(
        "{} of {both} products agree within 0.5 mm ({} of them have volumes, within 0.5 %); {} are \
         read only here, {} only by the reference, {} by neither",
        tally.agreed,
        tally.volumes,
        tally.only_here,
        tally.only_reference.len(),
        tally.neither,
    );
    for line in &tally.ended {
        println!("the reference did not finish: {line}");
    }
    for line in tally.differ.iter().chain(&tally.only_reference) {
        println!("{line}");
    }
    assert!(tally.stale.is_empty(), "these agree: take them out of the table: {:?}", tally.stale);
    let unlisted: Vec<&String> = tally
        .differ
        .iter()
        .chain(&tally.only_reference)
        .filter(|line| !line.contains("(known: "))
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "thousands")]
    let share = tally.agreed as f64 / both.max(1) as f64;
    assert!(both > 1800, "only {both} products were compared");
    assert!(tally.volumes > 1700, "only {} volumes were compared", tally.volumes);
    assert!(share >= SHARE, "{share:.4} of {both} products agree");
    assert!(
        unlisted.is_empty(),
        "not in tests/reference/differences.toml:\n{}",
        unlisted.iter().map(|line| line.as_str()).collect::<Vec<_>>().join("\n")
    );
}

fn compare(
    job: &toolkit::Job,
    bytes: &[u8],
    name: &str,
    known: &BTreeMap<&str, &str>,
    tally: &mut Tally,
) {
    let (rows, end) = answers(job);
    if let Some(end) = end {
        tally.ended.push(format!("{name}: {end}"));
    }
    if rows.is_empty() {
        return;
    }
    let Ok(model) = Model::open(bytes) else {
        tally.ended.push(format!("{name}: not opened here"));
        return;
    };
    for row in rows {
        let here = model.step().find(row.id).map(|at| measured(&model, at));
        let reference = row.min.zip(row.max);
        let remark =
            known.get(row.guid.as_str()).map_or(String::new(), |why| format!(" (known: {why})"));
        let what = format!("{name} {} #{} {}", row.class, row.id, row.guid);
        match (here, reference) {
            (Some(Ok(here)), Some(reference)) => {
                let apart = apart(here.extent, reference);
                let volumes = here.volume.zip(row.volume.map(f64::abs));
                let off = volumes.map_or(0.0, |(a, b)| (a - b).abs() / a.max(b).max(1e-12));
                if apart <= NEAR && off <= SAME_VOLUME {
                    tally.agreed += 1;
                    tally.volumes += usize::from(volumes.is_some());
                    if !remark.is_empty() {
                        tally.stale.push(what);
                    }
                } else {
                    let volumes =
                        volumes.map_or(String::new(), |(a, b)| format!(", {a:.9} and {b:.9} m³"));
                    tally
                        .differ
                        .push(format!("{what}: {:.2} mm apart{volumes}{remark}", apart * 1000.0));
                }
            }
            (Some(Ok(_)), None) => tally.only_here += 1,
            (Some(Err(why)), Some(_)) => {
                tally.only_reference.push(format!("{what}: {why}{remark}"));
            }
            (None, Some(_)) => tally.only_reference.push(format!("{what}: no such row{remark}")),
            (_, None) => tally.neither += usize::from(row.error.is_some()),
        }
    }
}

type Extent = ([f64; 3], [f64; 3]);

fn apart(a: Extent, b: Extent) -> f64 {
    let sides = a.0.iter().zip(&b.0).chain(a.1.iter().zip(&b.1));
    sides.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

/// What is compared of a body.
struct Measured {
    extent: Extent,
    /// If every item is closed.
    volume: Option<f64>,
}

/// All items of a body, differences applied; the reason if one cannot be read.
fn measured(model: &Model<'_>, row: wimble_step::Row) -> Result<Measured, String> {
    let body = model.body(row);
    if body.items.is_empty() {
        return Err(format!("nothing in its body ({})", body.representation));
    }
    let mut whole: Option<Extent> = None;
    let mut volume = Some(0.0);
    for item in &body.items {
        let solid = match item.net() {
            Ok(Some(solid)) => solid,
            Ok(None) => continue,
            Err(why) => return Err(why.to_string()),
        };
        volume = volume.filter(|_| solid.is_closed()).map(|sum| sum + solid.volume());
        let bounds = solid.bounds();
        let (min, max) = (bounds.min.to_array(), bounds.max.to_array());
        whole = Some(whole.map_or((min, max), |(low, high)| {
            ([0, 1, 2].map(|i| low[i].min(min[i])), [0, 1, 2].map(|i| high[i].max(max[i])))
        }));
    }
    let extent = whole.ok_or_else(|| "nothing is left of its body".to_owned())?;
    Ok(Measured { extent, volume })
}

/// The model's bytes, and a path to them for the reference: zips are unpacked beside its answers.
fn unpacked(path: &Path) -> Option<(Vec<u8>, PathBuf)> {
    let bytes = fs::read(path).unwrap_or_else(|e| panic!("{path:?}: {e}"));
    if !wimble_ifc::is_zip(&bytes) {
        return Some((bytes, path.to_path_buf()));
    }
    let bytes = wimble_ifc::unzip(&bytes).ok()?;
    let plain = toolkit::out().join(path.with_extension("ifc").file_name()?);
    fs::write(&plain, &bytes).expect("tests/out can be written");
    Some((bytes, plain))
}

/// What the reference says of a file, and how it ended if not well.
fn answers(job: &toolkit::Job) -> (Vec<Row>, Option<String>) {
    let text =
        fs::read_to_string(&job.answers).unwrap_or_else(|e| panic!("{:?}: {e}", job.answers));
    let mut end = None;
    let rows = text
        .lines()
        .filter_map(|line| match line.strip_prefix("end: ") {
            Some(how) => {
                end = Some(how.to_owned());
                None
            }
            // The last line of a process that was stopped may be cut short.
            None => serde_json::from_str(line).ok(),
        })
        .collect();
    (rows, end)
}

fn imports(python: &Path) -> bool {
    let status = Command::new(python)
        .args(["-c", "import ifcopenshell, numpy"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    status.is_ok_and(|status| status.success())
}

fn known() -> Known {
    let path = top().join("tests/reference/differences.toml");
    match fs::read_to_string(path) {
        Ok(text) => toml::from_str(&text).unwrap_or_else(|error| panic!("{error}")),
        Err(_) => Known::default(),
    }
}
