//! The arguments of the command.

use crate::FailOn;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use std::path::PathBuf;

/// Checks the holes and notches that pipes, cables and ducts make in timber members of IFC models
/// against published rules. Not a structural design: local code and a licensed person decide.
#[derive(Debug, Parser)]
#[command(name = "wimble", version, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Check every cut: exit 0 if nothing is at or over --fail-on, 1 if something is, 2 if it
    /// could not be checked
    Check(Check),
    /// Show what was recognised: members, services, supports, spans, coverage
    Inspect(Inspect),
    /// List the rule packs, or explain one pack or rule with its sources
    Rules(Rules),
    /// Print the JSON Schema of the report, the settings or a rule pack
    Schema(Schema),
    /// Print the completions for a shell
    Completions {
        /// Which shell
        shell: Shell,
    },
}

/// What `check` and `inspect` have in common.
#[derive(Debug, Args)]
pub(crate) struct Models {
    /// IFC models (.ifc, .ifczip) of one building; - is standard input
    #[arg(required = true, value_name = "MODEL")]
    pub(crate) models: Vec<PathBuf>,
    /// Settings; without it wimble.toml beside the models
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// How the result is printed
    #[arg(long, value_enum, default_value_t = Format::Terminal)]
    pub(crate) format: Format,
    /// By what several files are put together (over the settings)
    #[arg(long, value_enum)]
    pub(crate) align: Option<Align>,
    /// Fold nothing: passes, notes and every row
    #[arg(long)]
    pub(crate) all: bool,
    /// How many threads work; 0 for one each core
    #[arg(long, default_value_t = 0, value_name = "N")]
    pub(crate) threads: usize,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    pub(crate) models: Models,
    /// Also write the report to a file; the ending or the name before the colon says how
    #[arg(short, long = "output", value_name = "[WRITER:]FILE")]
    pub(crate) outputs: Vec<String>,
    /// From which verdict on the exit code is 1 (over the settings)
    #[arg(long, value_enum)]
    pub(crate) fail_on: Option<FailOn>,
    /// Take a file that could be read only in part; its cuts are at best unknown
    #[arg(long)]
    pub(crate) allow_partial: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Inspect {
    #[command(flatten)]
    pub(crate) models: Models,
}

#[derive(Debug, Args)]
pub(crate) struct Rules {
    /// A pack (uk-solid-joist) or a rule of one (uk-solid-joist/hole-zone)
    pub(crate) id: Option<String>,
    /// Settings whose packs are shown; without it wimble.toml here
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// Of what
    #[arg(value_enum)]
    pub(crate) of: SchemaOf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The JSON report
    Report,
    /// wimble.toml
    Settings,
    /// A rule pack
    Pack,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For a person
    Terminal,
    /// The JSON report
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Align {
    /// Their placements
    Placement,
    /// Their map conversions
    Map,
}
