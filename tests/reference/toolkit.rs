//! Asking the reference toolkit: two processes, each through its share of the files, with a time
//! limit for each file. One that dies is started again behind the file that it died of.

use crate::shared::top;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// How long the toolkit may take over one file, on a busy machine too.
const LIMIT: Duration = Duration::from_secs(300);
/// How many processes run at a time.
const PROCESSES: usize = 2;

/// One file to ask about.
pub(crate) struct Job {
    model: PathBuf,
    bytes: usize,
    /// Where the answers are, once asked: one JSON object a line, `end: …` if it did not end well.
    pub(crate) answers: PathBuf,
}

impl Job {
    /// A file by its path and content.
    pub(crate) fn new(model: PathBuf, bytes: &[u8]) -> Self {
        let mut hasher = blake3::Hasher::new();
        hasher.update(&fs::read(script()).expect("the script is beside the test"));
        hasher.update(bytes);
        let answers = out().join(format!("{}.jsonl", &hasher.finalize().to_hex()[..24]));
        Self { model, bytes: bytes.len(), answers }
    }

    /// Answers that are being written.
    fn partial(&self) -> PathBuf {
        self.answers.with_extension("part")
    }
}

fn script() -> PathBuf {
    top().join("tests/reference/extents.py")
}

/// The folder that answers are kept in.
pub(crate) fn out() -> PathBuf {
    let folder = top().join("tests/out/reference");
    fs::create_dir_all(&folder).expect("tests/out can be written");
    folder
}

/// Makes the answers that are not there yet.
pub(crate) fn ask(python: &Path, jobs: &[Job]) {
    let mut open: Vec<&Job> = jobs.iter().filter(|job| !job.answers.is_file()).collect();
    open.sort_by_key(|job| std::cmp::Reverse(job.bytes));
    let mut shares: [(usize, Vec<&Job>); PROCESSES] = Default::default();
    for job in open {
        let lighter = shares.iter_mut().min_by_key(|(bytes, _)| *bytes).expect("some");
        lighter.0 += job.bytes + 100_000;
        lighter.1.push(job);
    }
    std::thread::scope(|scope| {
        for (_, share) in &shares {
            scope.spawn(|| through(python, share));
        }
    });
}

fn through(python: &Path, mut jobs: &[&Job]) {
    while !jobs.is_empty() {
        let mut process = Command::new(python)
            .arg(script())
            .args(jobs.iter().flat_map(|job| [&job.model, &job.answers]))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the reference can be started");
        let end = watch(&mut process, jobs);
        let done = done(jobs);
        jobs = &jobs[done..];
        if let Some((job, rest)) = jobs.split_first() {
            // What was written before the end counts.
            let mut text = fs::read_to_string(job.partial()).unwrap_or_default();
            if !text.is_empty() && !text.ends_with('\n') {
                text.push('\n');
            }
            text.push_str(&format!("end: {end}\n"));
            fs::write(&job.answers, text).expect("tests/out can be written");
            jobs = rest;
        }
    }
}

/// How many of the jobs have their answers: they are done in their order.
fn done(jobs: &[&Job]) -> usize {
    jobs.iter().take_while(|job| job.answers.is_file()).count()
}

/// Waits for a process, and stops it when one file takes too long. How it ended.
fn watch(process: &mut Child, jobs: &[&Job]) -> String {
    let (mut last, mut since) = (0, Instant::now());
    loop {
        if let Some(status) = process.try_wait().expect("the reference can be waited for") {
            return status.to_string();
        }
        let now = done(jobs);
        if now > last {
            (last, since) = (now, Instant::now());
        }
        if since.elapsed() > LIMIT {
            let _ = process.kill();
            let _ = process.wait();
            return format!("stopped after {} s", LIMIT.as_secs());
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}
