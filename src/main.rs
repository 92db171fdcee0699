//! The program: arguments in, exit code out.

use std::process::ExitCode;

/// Memory in many small pieces, asked for and given back by several threads: a quarter of the time of a large house with
/// the system's own.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    housewright::cli::run()
}
