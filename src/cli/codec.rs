//! `decode` and `encode`: payloads and values, one or many.

use super::Outcome;
use super::args::{Decode, Encode};
use super::error::CliError;
use super::terminal::Terminal;
use crate::knx::batch::{self, LineError};
use crate::knx::codec::DecodeError;
use crate::knx::describe;
use std::io::{self, BufRead as _, Read as _};

/// More than any telegram or value takes.
const MOST_LINE_BYTES: u64 = 64 << 10;

/// Says what a payload means.
pub(super) fn decode(args: &Decode, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    if args.guess {
        let help = "give its bytes in hexadecimal, such as `housewright decode --guess 0C1A`";
        if args.what.concat().trim().is_empty() {
            return Err(CliError::refused("`--guess` needs a payload", help));
        }
        let text = describe::guesses(&args.what.concat())
            .map_err(|error| CliError::refused(error.to_string(), help))?;
        terminal.print(&text)?;
        return Ok(Outcome::Done);
    }
    let one = if args.what.is_empty() { batch::decode_line } else { decode_one };
    run(&args.what, one, terminal)
}

/// A payload that says there is no value is no value for a program that reads lines; for a person it is the answer.
fn decode_one(line: &str) -> Result<String, LineError> {
    match batch::decode_line(line) {
        Err(LineError::Decode(said @ DecodeError::Special { .. })) => Ok(said.to_string()),
        decoded => decoded,
    }
}

/// Says which payload a value has.
pub(super) fn encode(args: &Encode, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let what: &[String] = match args.what.as_slice() {
        // Where a value begins with a dash, people write this before it.
        [dpt, dashes, value @ ..] if dashes == "--" && !value.is_empty() => {
            &[std::slice::from_ref(dpt), value].concat()
        }
        what => what,
    };
    run(what, batch::encode_line, terminal)
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
    let mut input = io::stdin().lock();
    for number in 1u64.. {
        let mut line = Vec::new();
        let read = input.by_ref().take(MOST_LINE_BYTES + 1).read_until(b'\n', &mut line);
        if read.map_err(|cause| CliError::Stream { stream: "input", cause })? == 0 {
            break;
        }
        if line.len() as u64 > MOST_LINE_BYTES {
            let message = format!("line {number} has more than {MOST_LINE_BYTES} bytes");
            return Err(CliError::refused(message, "give one telegram a line"));
        }
        if terminal.closed {
            break;
        }
        let Ok(line) = std::str::from_utf8(&line) else {
            terminal.say(&format!("line {number}: it is not UTF-8 text"));
            outcome = Outcome::Stopped;
            continue;
        };
        if line.trim().is_empty() || line.trim_start().starts_with('#') {
            continue;
        }
        match one(line.trim_end_matches(['\r', '\n'])) {
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
