//! `decode` and `encode`: payloads and values, one or many.

use super::Outcome;
use super::args::{Decode, Encode};
use super::error::CliError;
use super::terminal::Terminal;
use crate::knx::{batch, describe};
use std::io::{self, BufRead as _};

/// Says what a payload means.
pub(super) fn decode(args: &Decode, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    if args.guess {
        let text = describe::guesses(&args.what.concat()).map_err(wrong)?;
        terminal.print(&text)?;
        return Ok(Outcome::Done);
    }
    run(&args.what, batch::decode_line, terminal)
}

/// Says which payload a value has.
pub(super) fn encode(args: &Encode, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    run(&args.what, batch::encode_line, terminal)
}

fn run<E: std::fmt::Display>(
    what: &[String],
    one: fn(&str) -> Result<String, E>,
    terminal: &mut Terminal,
) -> Result<Outcome, CliError> {
    if !what.is_empty() {
        let text = one(&what.join(" ")).map_err(wrong)?;
        terminal.print(&format!("{text}\n"))?;
        return Ok(Outcome::Done);
    }
    let mut outcome = Outcome::Done;
    for (line, number) in io::stdin().lock().lines().zip(1u64..) {
        let line = line.map_err(|cause| CliError::Stream { stream: "input", cause })?;
        if line.trim().is_empty() {
            continue;
        }
        match one(&line) {
            Ok(text) => terminal.print(&format!("{text}\n"))?,
            Err(error) => {
                terminal.say(&format!("line {number}: {error}"));
                outcome = Outcome::Stopped;
            }
        }
    }
    Ok(outcome)
}

fn wrong(error: impl std::fmt::Display) -> CliError {
    CliError::refused(error.to_string(), "`housewright explain` with the datapoint type shows what it takes")
}
