//! The command line: arguments in, one library call, printing.
//!
//! The only module that knows the terminal, the environment and exit codes. Standard output carries the result,
//! standard error the rest.

mod args;
mod args_ledger;
mod args_review;
mod build;
mod check;
mod codec;
mod error;
mod explain;
mod gate;
mod git_driver;
mod houses;
mod ledger;
mod line;
mod list;
mod load;
mod memory;
mod new;
mod open_files;
mod review;
mod schema;
mod terminal;
mod watch;

use args::{Cli, Command};
use clap::Parser as _;
use error::CliError;
use std::io::{self, Write as _};
use std::process::ExitCode;
use terminal::Terminal;

/// How a command ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Outcome {
    /// Done.
    #[default]
    Done,
    /// Findings or consequences at or over the limit asked for.
    Stopped,
    /// Something could not be read, and was told.
    Unread,
}

/// Runs the program: reads the command line, does what it says, and gives the exit code.
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return refuse(&error),
    };
    let mut terminal = Terminal::new(&cli.shared);
    if let Some(threads) = cli.shared.threads {
        // Fails only when a pool exists already, which is never so at the start of the program.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(usize::from(threads)).build_global();
    }
    let outcome = match &cli.command {
        Command::New(args) => new::run(args, &mut terminal),
        Command::Check(args) if args.watch => watch::run(args, &cli.shared, &mut terminal),
        Command::Check(args) => check::run(args, &cli.shared, &mut terminal),
        Command::Build(args) => build::run(args, &cli.shared, &mut terminal),
        Command::Review(args) => review::run(args, &cli.shared, &mut terminal),
        Command::Explain(args) => explain::run(args, &cli.shared, &mut terminal),
        Command::List(args) => list::run(args, &cli.shared, &mut terminal),
        Command::Schema(args) => schema::run(args, &mut terminal),
        Command::Decode(args) => codec::decode(args, &mut terminal),
        Command::Encode(args) => codec::encode(args, &mut terminal),
        Command::Ledger(command) => ledger::run(command, &cli.shared, &mut terminal),
    };
    match outcome {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::Stopped) => ExitCode::from(1),
        Ok(Outcome::Unread) | Err(CliError::Told) => ExitCode::from(2),
        Err(error) => {
            terminal.complain(&error);
            ExitCode::from(2)
        }
    }
}

/// Help and version are results; everything else is wrong use.
fn refuse(error: &clap::Error) -> ExitCode {
    match error.print() {
        _ if error.use_stderr() => ExitCode::from(2),
        Err(cause) if cause.kind() != io::ErrorKind::BrokenPipe => {
            // Nothing can be done when standard error is gone, too.
            let _ = writeln!(io::stderr().lock(), "error: cannot use standard output: {cause}");
            ExitCode::from(2)
        }
        // Whoever reads no further has what was asked for.
        Ok(()) | Err(_) => ExitCode::SUCCESS,
    }
}
