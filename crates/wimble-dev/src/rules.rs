//! The pages of `docs/rules/` and the JSON Schema of packs, made from the shipped packs.

use crate::output::write_or_check;
use anyhow::Result;
use wimble_rules::{PackSet, rule_pages};

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Write nothing; fail when a page is stale
    #[arg(long)]
    check: bool,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    for page in rule_pages(&PackSet::built_in()) {
        let path = format!("docs/rules/{}", page.file);
        write_or_check(
            &path,
            page.text.as_bytes(),
            arguments.check,
            "cargo run -p wimble-dev -- rules",
        )?;
    }
    Ok(())
}
