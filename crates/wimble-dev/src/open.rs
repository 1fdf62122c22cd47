//! Indexes and opens a model as the command does, and says how long each took.

use anyhow::{Context, Result};
use std::fs::File;
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
    let shown = arguments.model.display();
    let file = File::open(&arguments.model).with_context(|| format!("{shown} cannot be read"))?;
    #[expect(unsafe_code, reason = "mapped as the command maps it; see its `source.rs`")]
    // SAFETY: the map is only read, and nobody changes the file that is being measured.
    let bytes = unsafe { memmap2::Mmap::map(&file) }?;
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
