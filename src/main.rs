//! The program: arguments in, exit code out.

use std::process::ExitCode;

/// Memory in many small pieces, asked for and given back by several threads: the system's own takes a third longer over a
/// large house.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    housewright::cli::run()
}
