//! The command: arguments in, exit code out.

mod apply;
mod check;
mod compare;
mod inspect;
pub(crate) mod limits;
mod named;
mod rules;
mod screen;
mod settings;
mod sheet;

use crate::Trouble;
use crate::args::{Arguments, Command, SchemaOf};
use anyhow::{Error, Result, bail};
use clap::{CommandFactory, Parser};
use std::ffi::OsString;
use std::io::{self, Write};
use std::process::ExitCode;

/// Nothing at or over `--fail-on`.
const CLEAN: u8 = 0;
/// Something is.
const FINDINGS: u8 = 1;
/// It could not be checked.
const NOT_CHECKED: u8 = 2;

/// Runs the command with its arguments (the first is the program's name).
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(usage) => {
            // Help and version are no errors; a closed pipe while printing them is none either.
            let _ = usage.print();
            return ExitCode::from(if usage.use_stderr() { NOT_CHECKED } else { CLEAN });
        }
    };
    match command(arguments.command) {
        Ok(code) => ExitCode::from(code),
        // Whoever reads has seen enough (`wimble check … | head`).
        Err(error) if is_broken_pipe(&error) => ExitCode::from(CLEAN),
        Err(error) => {
            tell(&error);
            ExitCode::from(NOT_CHECKED)
        }
    }
}

fn command(command: Command) -> Result<u8> {
    match command {
        Command::Check(arguments) => check::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Inspect(arguments) => inspect::run(&arguments),
        Command::Limits(arguments) => limits::run(&arguments),
        Command::Sheet(arguments) => sheet::run(&arguments),
        Command::Rules(arguments) => rules::run(&arguments),
        Command::Schema(arguments) => {
            let schema = match arguments.of {
                SchemaOf::Report => wimble_report::json::schema(),
                SchemaOf::Settings => crate::Settings::schema(),
                SchemaOf::Pack => serde_json::to_value(wimble_rules::pack_schema())?,
                SchemaOf::Sheet => wimble_sheet::schema(),
            };
            let mut out = io::stdout().lock();
            serde_json::to_writer_pretty(&mut out, &schema).map_err(io::Error::from)?;
            writeln!(out)?;
            Ok(CLEAN)
        }
        Command::Init(arguments) => settings::init(&arguments),
        Command::Settings(arguments) => settings::show(&arguments),
        Command::Man { command } => man(command.as_deref()),
        Command::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "wimble", &mut text);
            io::stdout().write_all(&text)?;
            Ok(CLEAN)
        }
    }
}

/// The manual page of the program or of one command.
fn man(command: Option<&str>) -> Result<u8> {
    let program = Arguments::command();
    let page = match command {
        None => clap_mangen::Man::new(program),
        Some(name) => match program.find_subcommand(name) {
            Some(found) => clap_mangen::Man::new(found.clone()).title(format!("wimble-{name}")),
            None => {
                let names: Vec<&str> =
                    program.get_subcommands().map(clap::Command::get_name).collect();
                bail!("there is no command `{name}`; there are {}", names.join(", "));
            }
        },
    };
    let mut text = Vec::new();
    page.render(&mut text)?;
    io::stdout().write_all(&text)?;
    Ok(CLEAN)
}

/// One clear error on standard error.
fn tell(error: &Error) {
    let colour = screen::colour(&io::stderr());
    let of_sheet = match error.downcast_ref::<crate::CheckError>() {
        Some(crate::CheckError::Sheet(trouble)) => Some(trouble),
        _ => None,
    };
    let text = match of_sheet.or_else(|| error.downcast_ref::<Box<Trouble>>()) {
        Some(trouble) => trouble.render(colour),
        None => {
            let chain: Vec<String> = error.chain().map(ToString::to_string).collect();
            format!("error: {}", chain.join(": "))
        }
    };
    // If standard error is closed, the exit code still says it.
    let _ = writeln!(io::stderr(), "{text}");
}

fn is_broken_pipe(error: &Error) -> bool {
    error.chain().any(|cause| {
        cause.downcast_ref::<io::Error>().is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
    })
}
