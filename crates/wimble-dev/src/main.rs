//! Makes what is generated: attribute tables, schemas, demo models.
//!
//! Each subcommand writes its files into the repository; with `--check` it writes nothing and
//! fails when a file is stale.

mod floor_files;
mod mapped;
mod measure;
mod open;
mod output;
mod reading;
mod rules;
mod sample_models;
mod schemas;
mod tower_files;
mod yardstick;

use clap::{Parser, Subcommand};

#[derive(Parser)]
#[command(name = "wimble-dev", about = "Makes what is generated", version)]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand)]
enum Task {
    /// The demo building, as sample-models/
    Demo(sample_models::Arguments),
    /// Random floors of the tests, to look at
    Floors(floor_files::Arguments),
    /// One stage on a fixed tower, for counting its instructions
    Measure(measure::Arguments),
    /// Index and open a model, timed
    Open(mapped::Measured),
    /// Towers and worst cases, for measuring
    Tower(tower_files::Arguments),
    /// docs/reading.md and its census, from the tables of what is read
    Reading(reading::Arguments),
    /// The pages of docs/rules/ and the JSON Schema of packs, from the shipped packs
    Rules(rules::Arguments),
    /// Attribute tables of the three IFC schemas, for wimble-ifc
    Schemas(schemas::Arguments),
    /// What the machine gives beside the index, timed
    Yardstick(mapped::Measured),
}

fn main() -> anyhow::Result<()> {
    match Arguments::parse().task {
        Task::Floors(arguments) => floor_files::run(&arguments),
        Task::Measure(arguments) => measure::run(&arguments),
        Task::Open(arguments) => open::run(&arguments),
        Task::Tower(arguments) => tower_files::run(&arguments),
        Task::Demo(arguments) => sample_models::run(&arguments),
        Task::Reading(arguments) => reading::run(&arguments),
        Task::Rules(arguments) => rules::run(&arguments),
        Task::Schemas(arguments) => schemas::run(&arguments),
        Task::Yardstick(arguments) => yardstick::run(&arguments),
    }
}
