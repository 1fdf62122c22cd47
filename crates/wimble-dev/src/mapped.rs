//! Files mapped as the command maps them, for measuring.

use anyhow::{Context, Result};
use memmap2::Mmap;
use std::fs::File;
use std::path::Path;

/// Maps a file anew, so that whoever reads it first meets its pages first.
pub(crate) fn map(path: &Path) -> Result<Mmap> {
    let file = File::open(path).with_context(|| format!("{} cannot be read", path.display()))?;
    #[expect(unsafe_code, reason = "mapped as the command maps it; see its `source.rs`")]
    // SAFETY: the map is only read, and nobody changes the file that is being measured.
    let map = unsafe { Mmap::map(&file) }?;
    Ok(map)
}
