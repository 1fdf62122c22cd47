//! Files mapped as the command maps them, for measuring.

use anyhow::{Context, Result};
use memmap2::Mmap;
use std::fs::File;
use std::path::PathBuf;

/// What is measured, and by how many threads.
#[derive(clap::Args)]
pub(crate) struct Measured {
    /// Model
    model: PathBuf,
    /// How many threads work; 0 for one each core
    #[arg(long, default_value_t = 0)]
    threads: usize,
}

impl Measured {
    /// Starts the threads, for the whole process.
    pub(crate) fn start_threads(&self) -> Result<()> {
        Ok(rayon::ThreadPoolBuilder::new().num_threads(self.threads).build_global()?)
    }

    /// Maps the file anew, so that whoever reads it first meets its pages first.
    pub(crate) fn map(&self) -> Result<Mmap> {
        let path = self.model.display();
        let file = File::open(&self.model).with_context(|| format!("{path} cannot be read"))?;
        #[expect(unsafe_code, reason = "mapped as the command maps it; see its `source.rs`")]
        // SAFETY: the map is only read, and nobody changes the file that is being measured.
        let map = unsafe { Mmap::map(&file) }?;
        Ok(map)
    }
}
