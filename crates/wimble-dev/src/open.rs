//! Indexes and opens a model as the command does, and says how long each took.

use anyhow::Result;
use std::path::PathBuf;
use std::time::Instant;
use wimble_ifc::Model;
use wimble_step::StepFile;

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Model
    model: PathBuf,
    /// How many threads work; 0 for one each core
    #[arg(long, default_value_t = 0)]
    threads: usize,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    rayon::ThreadPoolBuilder::new().num_threads(arguments.threads).build_global()?;
    let bytes = crate::mapped::map(&arguments.model)?;
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
