//! Measures how well the checks find planted mistakes, and prints the table by kind as Markdown:
//!
//! ```text
//! cargo run --release --example score-mistakes -- [ROUNDS [SEED [APPLIANCES …]]]
//! ```
//!
//! Without sizes the generated houses have 50, 300 and 1,500 appliances.
//! Exit code 1 when the checks do not keep what they promise.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a program of the tests: it reads its arguments and prints what it measured"
)]
#![allow(dead_code, reason = "parts are used by the tests alone")]

mod addresses;
mod behaviour;
mod checker;
mod datapoints;
#[path = "../generate/mod.rs"]
mod generate;
mod houses;
mod kinds;
mod naming;
mod plant;
mod reading;
mod score;
mod text;
mod tree;
mod wiring;
mod writing;

use housewright::findings::Severity;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).filter_map(|argument| argument.parse::<u64>().ok());
    let rounds = numbers.next().and_then(|rounds| usize::try_from(rounds).ok()).unwrap_or(1);
    let seed = numbers.next().unwrap_or(1);
    let sizes: Vec<usize> = numbers.filter_map(|size| usize::try_from(size).ok()).collect();
    let sizes = if sizes.is_empty() { vec![50, 300, 1_500] } else { sizes };
    let mut houses = houses::generated(&sizes, seed);
    for name in ["heron-wharf", "heron-wharf-spring"] {
        houses.push((name.to_owned(), houses::example(name)));
    }
    for (name, house) in &houses {
        let seen = checker::check(&house.files);
        let alarms = seen.iter().filter(|seen| seen.severity > Severity::Note).count();
        eprintln!("{name}: {} findings without a mistake, {alarms} of them errors or warnings", seen.len());
    }
    let score = score::measure(&houses, rounds, seed, &checker::check);
    println!("{}", score.table());
    for (number, line) in score.missed.iter().enumerate() {
        eprintln!("missed {}: {line}", number + 1);
    }
    for line in &score.examples {
        eprintln!("false alarm: {line}");
    }
    let short = score.falls_short();
    for line in &short {
        eprintln!("falls short: {line}");
    }
    if short.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
