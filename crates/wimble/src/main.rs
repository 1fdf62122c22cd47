//! Checks the cuts that services make in timber members of IFC models.

use std::process::ExitCode;

fn main() -> ExitCode {
    wimble::run(std::env::args_os())
}
