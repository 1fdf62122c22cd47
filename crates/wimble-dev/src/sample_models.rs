//! Writes the demo building into `sample-models/`.

use crate::output::write_or_check;
use anyhow::Result;
use wimble_dev::demo;

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Write nothing; fail when a model is stale
    #[arg(long)]
    check: bool,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    for (name, bytes) in demo::files() {
        let path = format!("{}/{name}", demo::FOLDER);
        write_or_check(&path, &bytes, arguments.check, "cargo run -p wimble-dev -- demo")?;
    }
    Ok(())
}
