//! Reading what people really export, as a user sees it: through the command or its library, never
//! by looking inside.

#[path = "reading/carriers.rs"]
mod carriers;
#[path = "reading/faults.rs"]
mod faults;
#[path = "reading/federation.rs"]
mod federation;
#[path = "reading/mutations.rs"]
mod mutations;
#[path = "reading/openings.rs"]
mod openings;
#[path = "reading/parser_cases.rs"]
mod parser_cases;
#[path = "reading/pieces.rs"]
mod pieces;
#[path = "reading/services.rs"]
mod services;
#[expect(dead_code, reason = "each test uses its own part of it")]
mod support;

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Runs the command, with something on standard input if given.
fn run(folder: &Path, arguments: &[&str], input: Option<&[u8]>) -> Output {
    let mut process = Command::new(env!("CARGO_BIN_EXE_wimble"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command runs");
    let mut pipe = process.stdin.take().expect("piped");
    // A command that does not read its input may close it.
    let _ = pipe.write_all(input.unwrap_or_default());
    drop(pipe);
    process.wait_with_output().expect("the command ends")
}

fn json(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| {
        panic!("{error}: {}", String::from_utf8_lossy(&output.stderr));
    })
}

/// Warnings of a report, in words.
fn warnings(report: &serde_json::Value) -> Vec<String> {
    let list = report["warnings"].as_array().into_iter().flatten();
    list.map(|warning| {
        let text = warning["text"].as_str().or(warning["message"].as_str());
        text.unwrap_or_default().to_owned()
    })
    .collect()
}
