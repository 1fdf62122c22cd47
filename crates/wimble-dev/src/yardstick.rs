//! What the machine gives, to hold the index against: one pass over a file's bytes, and the places of
//! every `;` and nothing else, on the same file and the same threads as the index.

use crate::mapped::Measured;
use anyhow::{Result, ensure};
use memchr::{memchr, memchr_iter};
use rayon::prelude::*;
use std::time::Instant;
use wimble_step::StepFile;

/// Bytes that one thread reads at once, as many as the index gives one.
const STRETCH: usize = 4 << 20;

pub(crate) fn run(measured: &Measured) -> Result<()> {
    measured.start_threads()?;
    let timed = |work: fn(&[u8]) -> usize| -> Result<(usize, f64)> {
        let bytes = measured.map()?;
        let start = Instant::now();
        let found = work(&bytes);
        Ok((found, start.elapsed().as_secs_f64()))
    };
    let (zeros, pass) = timed(stretches_with_a_zero)?;
    let (semicolons, places) = timed(semicolons)?;
    let (instances, index) = timed(|bytes| StepFile::index(bytes).map_or(0, |file| file.len()))?;
    ensure!(zeros == 0, "a pass would end at a zero byte");
    ensure!(0 < instances && instances < semicolons, "{instances} of {semicolons}");
    crate::output::facts(&serde_json::json!({
        "pass_s": pass,
        "semicolons_s": places,
        "index_s": index,
    }))
}

/// Looks for a byte that no model holds: a pass over all others.
fn stretches_with_a_zero(bytes: &[u8]) -> usize {
    bytes.par_chunks(STRETCH).filter(|stretch| memchr(0, stretch).is_some()).count()
}

/// Keeps the place of every `;`, in each stretch by itself.
fn semicolons(bytes: &[u8]) -> usize {
    let places: Vec<Vec<u32>> = bytes
        .par_chunks(STRETCH)
        .map(|stretch| {
            let mut places = Vec::with_capacity(stretch.len() / 32);
            places.extend(memchr_iter(b';', stretch).map(|place| place as u32));
            places
        })
        .collect();
    places.iter().map(Vec::len).sum()
}
