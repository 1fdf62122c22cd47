//! Writes random floors out, to look at one that a test names.

use anyhow::{Context, Result};
use std::fs;
use std::path::PathBuf;
use wimble_dev::floors::{Random, Style, floor, write};

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Number of the floor, as the tests print it
    #[arg(default_value_t = 0)]
    number: usize,
    /// How many from that one on
    #[arg(long, default_value_t = 1)]
    count: usize,
    /// Folder to write into
    #[arg(long, default_value = "tests/out/floors")]
    into: PathBuf,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    for number in arguments.number..arguments.number + arguments.count {
        let mut random = Random::new(number as u64);
        let floor = floor(&mut random);
        let style = Style::nth(number, &mut random);
        let folder = arguments.into.join(number.to_string());
        fs::create_dir_all(&folder).with_context(|| format!("no folder {}", folder.display()))?;
        for (name, bytes) in write(&floor, &style) {
            let path = folder.join(name);
            fs::write(&path, bytes).with_context(|| format!("{} not written", path.display()))?;
        }
        fs::write(folder.join("floor.txt"), format!("{floor:#?}\n{style:#?}\n"))
            .with_context(|| format!("{} not written", folder.display()))?;
    }
    Ok(())
}
