//! Writes a generated house into a folder:
//!
//! ```text
//! cargo run --example generate-house -- --appliances 300 --scheme by-room --seed 7 --language de --files 4 OUT
//! ```
#![allow(
    clippy::disallowed_methods,
    clippy::print_stderr,
    reason = "a test tool of its own: it reads its arguments, writes files and says what was wrong"
)]
#![allow(dead_code, reason = "what the tests use of the generator is not all used here")]

#[path = "mod.rs"]
mod generate;

use generate::{Language, Order, Scheme};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

const USAGE: &str = "usage: generate-house [--appliances N] [--scheme by-trade|by-floor|by-room|two-level|irregular] \
                     [--seed S] [--language en|de] [--files K] OUT";

fn main() -> ExitCode {
    let outcome = order(std::env::args().skip(1))
        .and_then(|(order, folder)| put(&folder, &generate::house(order)).map_err(|cause| cause.to_string()));
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}\n{USAGE}");
            ExitCode::from(2)
        }
    }
}

/// Reads the arguments.
fn order(mut arguments: impl Iterator<Item = String>) -> Result<(Order, PathBuf), String> {
    let mut order =
        Order { appliances: 300, scheme: Scheme::ByTrade, seed: 1, language: Language::English, files: 0 };
    let mut folder = None;
    while let Some(argument) = arguments.next() {
        if !argument.starts_with("--") {
            folder = Some(PathBuf::from(argument));
            continue;
        }
        let value = arguments.next().ok_or_else(|| format!("`{argument}` needs a value"))?;
        let number = || value.parse::<u64>().map_err(|cause| format!("`{argument} {value}`: {cause}"));
        let count = || number().map(|number| usize::try_from(number).unwrap_or(usize::MAX));
        match argument.as_str() {
            "--appliances" => order.appliances = count()?,
            "--seed" => order.seed = number()?,
            "--files" => order.files = count()?,
            "--scheme" => {
                order.scheme = Scheme::ALL
                    .into_iter()
                    .find(|scheme| scheme.name() == value)
                    .ok_or_else(|| format!("no address scheme `{value}`"))?;
            }
            "--language" => {
                order.language = match value.as_str() {
                    "en" => Language::English,
                    "de" => Language::German,
                    _ => return Err(format!("no language `{value}`")),
                };
            }
            _ => return Err(format!("no option `{argument}`")),
        }
    }
    Ok((order, folder.ok_or("no folder to write to")?))
}

fn put(folder: &Path, texts: &[(String, String)]) -> std::io::Result<()> {
    for (path, text) in texts {
        let path = folder.join(path);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(path, text)?;
    }
    Ok(())
}
