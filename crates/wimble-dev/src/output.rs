//! Writing generated files, or checking that they are fresh.

use anyhow::{Context, Result, bail};
use std::fs;
use std::path::{Path, PathBuf};

/// The repository's top folder.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_path_buf()
}

/// Writes `content` to `path` (from the top folder), or, with `check`, fails when the file there
/// differs. `how` is the command that makes it anew.
pub(crate) fn write_or_check(path: &str, content: &[u8], check: bool, how: &str) -> Result<()> {
    let full = root().join(path);
    if check {
        let present = fs::read(&full).with_context(|| format!("{path} cannot be read"))?;
        if present != content {
            bail!("{path} is stale: make it anew with `{how}`");
        }
        return Ok(());
    }
    if let Some(folder) = full.parent() {
        fs::create_dir_all(folder).with_context(|| format!("{path}: no folder for it"))?;
    }
    fs::write(&full, content).with_context(|| format!("{path} cannot be written"))
}

/// Prints facts for a script, as one line of JSON.
pub(crate) fn facts(facts: &serde_json::Value) -> anyhow::Result<()> {
    let mut out = std::io::stdout().lock();
    std::io::Write::write_all(&mut out, format!("{facts}\n").as_bytes())?;
    Ok(())
}
