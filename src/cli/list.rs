//! `list`: classes, rules, datapoint types, kinds of changes.

use super::args::{List, Listed, Shared};
use super::error::CliError;
use super::terminal::Terminal;
use super::{Outcome, explain};
use crate::classes;
use crate::knx;
use crate::review::forms;
use crate::rules;

/// Prints the list.
pub(super) fn run(args: &List, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    refuse_idle(args)?;
    let width = terminal.width;
    let text = match args.what {
        Listed::Classes => {
            classes::list(&explain::library(args.house.as_deref(), shared)?, args.text.as_deref(), width)
        }
        Listed::Changes => forms::changes(args.text.as_deref(), width),
        Listed::Rules => rules::list(args.family, args.text.as_deref(), width),
        Listed::DatapointTypes => {
            knx::describe::list(args.unit.as_deref(), args.size.as_deref(), args.text.as_deref(), width)
                .map_err(|error| {
                    CliError::refused(error.to_string(), "leave the size out, or write it like that")
                })?
        }
    };
    if text.is_empty() {
        return Err(CliError::refused("nothing in the list fits", "leave one of the filters out"));
    }
    terminal.print(&text)?;
    Ok(Outcome::Done)
}

/// Refuses a filter that says nothing about what is listed.
fn refuse_idle(args: &List) -> Result<(), CliError> {
    let filters = [
        ("--unit", args.unit.is_some(), Listed::DatapointTypes, "datapoint-types"),
        ("--size", args.size.is_some(), Listed::DatapointTypes, "datapoint-types"),
        ("--family", args.family.is_some(), Listed::Rules, "rules"),
        ("--house", args.house.is_some(), Listed::Classes, "classes"),
    ];
    match filters.into_iter().find(|(_, given, what, _)| *given && *what != args.what) {
        Some((option, _, _, word)) => Err(CliError::refused(
            format!("`{option}` is for `list {word}`"),
            "leave it out; `--text` goes with every list",
        )),
        None => Ok(()),
    }
}
