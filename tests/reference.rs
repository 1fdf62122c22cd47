//! Extents of members and services agree with a general-purpose IFC toolkit, over the real models
//! beside the repository.
//!
//! The toolkit runs in `.venv` (`tests/reference/setup.sh` makes it), one process a file with a time limit.
//! Its answers are kept in `tests/out/reference/` by the content of file and script. Products that differ
//! are listed with their reasons in `tests/reference/differences.toml`.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[path = "support/shared.rs"]
mod shared;

use serde::Deserialize;
use shared::{files_under, shared, top};
use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use wimble_ifc::Model;

/// How far extents may lie apart, metres.
const NEAR: f64 = 0.0005;
/// How many of the products that both read must agree.
const SHARE: f64 = 0.99;
/// How long the toolkit may take over one file.
const LIMIT: Duration = Duration::from_secs(100);

#[derive(Deserialize)]
struct Row {
    id: u64,
    class: String,
    guid: String,
    min: Option<[f64; 3]>,
    max: Option<[f64; 3]>,
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
    differ: Vec<String>,
    only_reference: Vec<String>,
    only_here: usize,
    neither: usize,
    ended: Vec<String>,
    stale: Vec<String>,
}

#[test]
fn extents_agree_with_the_reference() {
    let Some(shared) = shared("extents_agree_with_the_reference") else { return };
    let python = top().join(".venv/bin/python");
    assert!(
        python.is_file() && imports(&python),
        "the reference toolkit is missing: run tests/reference/setup.sh"
    );
    let models = shared.0.join("models");
    let known = known();
    let mut tally = Tally::default();
    for path in files_under(&models) {
        let name = path.strip_prefix(&models).unwrap_or(&path).display().to_string();
        let known: BTreeMap<&str, &str> = known
            .file
            .iter()
            .filter(|file| file.path == name)
            .flat_map(|file| file.guids.iter().map(|guid| (guid.as_str(), file.why.as_str())))
            .collect();
        compare(&python, &path, &name, &known, &mut tally);
    }
    report(&tally);
}

fn report(tally: &Tally) {
    let both = tally.agreed + tally.differ.len();
    println!(
        "{} of {both} products agree within 0.5 mm; {} are read only here, {} only by the reference, {} by neither",
        tally.agreed,
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
    assert!(both > 300, "only {both} products were compared");
    assert!(share >= SHARE, "{share:.4} of {both} products agree");
    assert!(
        unlisted.is_empty(),
        "not in tests/reference/differences.toml:\n{}",
        unlisted.iter().map(|line| line.as_str()).collect::<Vec<_>>().join("\n")
    );
}

fn compare(
    python: &Path,
    path: &Path,
    name: &str,
    known: &BTreeMap<&str, &str>,
    tally: &mut Tally,
) {
    let Some((bytes, plain)) = unpacked(path) else {
        tally.ended.push(format!("{name}: no model in the archive"));
        return;
    };
    let (rows, end) = extents(python, &plain, &bytes);
    if let Some(end) = end {
        tally.ended.push(format!("{name}: {end}"));
    }
    if rows.is_empty() {
        return;
    }
    let Ok(model) = Model::open(&bytes) else {
        tally.ended.push(format!("{name}: not opened here"));
        return;
    };
    for row in rows {
        let here = model.step().find(row.id).map(|at| bounds(&model, at));
        let reference = row.min.zip(row.max);
        let remark =
            known.get(row.guid.as_str()).map_or(String::new(), |why| format!(" (known: {why})"));
        let what = format!("{name} {} #{} {}", row.class, row.id, row.guid);
        match (here, reference) {
            (Some(Ok(here)), Some(reference)) => {
                let apart = apart(here, reference);
                if apart <= NEAR {
                    tally.agreed += 1;
                    if !remark.is_empty() {
                        tally.stale.push(what);
                    }
                } else {
                    tally.differ.push(format!("{what}: {:.2} mm apart{remark}", apart * 1000.0));
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

/// The extent of all items of a body, differences applied; the reason if one cannot be read.
fn bounds(model: &Model<'_>, row: wimble_step::Row) -> Result<Extent, String> {
    let body = model.body(row);
    if body.items.is_empty() {
        return Err(format!("nothing in its body ({})", body.representation));
    }
    let mut whole: Option<Extent> = None;
    for item in &body.items {
        let solid = match item.net() {
            Ok(Some(solid)) => solid,
            Ok(None) => continue,
            Err(why) => return Err(why.to_string()),
        };
        let bounds = solid.bounds();
        let (min, max) = (bounds.min.to_array(), bounds.max.to_array());
        whole = Some(whole.map_or((min, max), |(low, high)| {
            ([0, 1, 2].map(|i| low[i].min(min[i])), [0, 1, 2].map(|i| high[i].max(max[i])))
        }));
    }
    whole.ok_or_else(|| "nothing is left of its body".to_owned())
}

/// The model's bytes, and a path to them for the reference: zips are unpacked beside its answers.
fn unpacked(path: &Path) -> Option<(Vec<u8>, PathBuf)> {
    let bytes = fs::read(path).unwrap_or_else(|e| panic!("{path:?}: {e}"));
    if !wimble_ifc::is_zip(&bytes) {
        return Some((bytes, path.to_path_buf()));
    }
    let bytes = wimble_ifc::unzip(&bytes).ok()?;
    let plain = out().join(path.with_extension("ifc").file_name()?);
    fs::write(&plain, &bytes).expect("tests/out can be written");
    Some((bytes, plain))
}

fn out() -> PathBuf {
    let folder = top().join("tests/out/reference");
    fs::create_dir_all(&folder).expect("tests/out can be written");
    folder
}

/// What the reference says of a file, and how it ended if not well.
fn extents(python: &Path, model: &Path, bytes: &[u8]) -> (Vec<Row>, Option<String>) {
    let script = top().join("tests/reference/extents.py");
    let mut hasher = blake3::Hasher::new();
    hasher.update(&fs::read(&script).expect("the script is beside the test"));
    hasher.update(bytes);
    let kept = out().join(format!("{}.jsonl", &hasher.finalize().to_hex()[..24]));
    let text = fs::read_to_string(&kept).unwrap_or_else(|_| {
        let text = run(python, &script, model);
        fs::write(&kept, &text).expect("tests/out can be written");
        text
    });
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

/// The script's output, with a line `end: …` if it was stopped or failed.
fn run(python: &Path, script: &Path, model: &Path) -> String {
    let mut process = Command::new(python)
        .arg(script)
        .arg(model)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the reference can be started");
    let mut pipe = process.stdout.take().expect("piped");
    let reader = std::thread::spawn(move || {
        let mut text = String::new();
        // What was printed before a crash counts.
        let _ = pipe.read_to_string(&mut text);
        text
    });
    let started = Instant::now();
    let end = loop {
        match process.try_wait().expect("the reference can be waited for") {
            Some(status) if status.success() => break None,
            Some(status) => break Some(status.to_string()),
            None if started.elapsed() > LIMIT => {
                let _ = process.kill();
                let _ = process.wait();
                break Some(format!("stopped after {} s", LIMIT.as_secs()));
            }
            None => std::thread::sleep(Duration::from_millis(50)),
        }
    };
    let mut text = reader.join().expect("the reader ends with the pipe");
    if let Some(end) = end {
        if !text.is_empty() && !text.ends_with('\n') {
            text.push('\n');
        }
        text.push_str(&format!("end: {end}\n"));
    }
    text
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
