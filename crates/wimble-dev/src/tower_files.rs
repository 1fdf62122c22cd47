//! Writes towers and worst cases to files, for measuring.

use anyhow::{Context, Result};
use std::fs::File;
use std::io::BufWriter;
use std::path::PathBuf;
use wimble_dev::tower::{Tower, everyday, many_records, one_joist, one_pipe, round_bodies};

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// What is written
    #[arg(value_enum)]
    case: Case,
    /// How many joists, pipes or records
    count: usize,
    /// File to write
    file: PathBuf,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Case {
    /// A tower of that many joists, with as many pipes
    Tower,
    /// That many joists and pipes among fittings that no rule looks at
    Everyday,
    /// That many pipes through one joist
    OneJoist,
    /// One pipe through that many joists
    OnePipe,
    /// That many records that mean nothing
    Records,
    /// Ten pipes through a joist, faceted with that many sides
    Bodies,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    let shown = arguments.file.display();
    let file = File::create(&arguments.file).with_context(|| format!("{shown} not written"))?;
    let mut out = BufWriter::with_capacity(1 << 20, file);
    let count = arguments.count;
    let written = match arguments.case {
        Case::Tower => Tower { members: count }.write(&mut out),
        Case::Everyday => everyday(count, &mut out),
        Case::OneJoist => one_joist(count, &mut out),
        Case::OnePipe => one_pipe(count, &mut out),
        Case::Records => many_records(count, &mut out),
        Case::Bodies => round_bodies(10, count, &mut out),
    }
    .with_context(|| format!("{shown} not written"))?;
    crate::output::facts(&serde_json::json!({
        "instances": written.instances,
        "bytes": written.bytes,
        "members": written.members,
        "services": written.services,
        "cuts": written.cuts,
    }))
}
