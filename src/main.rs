//! The program: arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    housewright::cli::run()
}
