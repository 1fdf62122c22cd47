//! Indexes and opens a model as the command does, and says how long each took.

use crate::mapped::Measured;
use anyhow::Result;
use std::time::Instant;
use wimble_ifc::Model;
use wimble_step::StepFile;

pub(crate) fn run(measured: &Measured) -> Result<()> {
    measured.start_threads()?;
    let bytes = measured.map()?;
    let start = Instant::now();
    let step = StepFile::index(&bytes)?;
    let index = start.elapsed();
    let instances = step.len();
    let model = Model::of_step(step)?;
    let open = start.elapsed();
    crate::output::facts(&serde_json::json!({
        "index_s": index.as_secs_f64(),
        "open_s": open.as_secs_f64(),
        "instances": instances,
        "products": model.products().len(),
    }))
}
