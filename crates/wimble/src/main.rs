//! Checks the cuts that services make in timber members of IFC models.

use std::process::ExitCode;

// Much is allocated side by side; the system allocator takes a tenth longer and more memory.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    wimble::run(std::env::args_os())
}
