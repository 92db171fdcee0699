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
    let text = match args.what {
        Listed::Classes => {
            classes::list(&explain::library(args.house.as_deref(), shared)?, args.text.as_deref())
        }
        Listed::Changes => forms::changes(args.text.as_deref(), terminal.width),
        Listed::Rules => rules::list(args.family, args.text.as_deref()),
        Listed::DatapointTypes => {
            knx::describe::list(args.unit.as_deref(), args.size.as_deref(), args.text.as_deref()).map_err(
                |error| CliError::refused(error.to_string(), "leave the size out, or write it like that"),
            )?
        }
    };
    if text.is_empty() {
        return Err(CliError::refused("nothing in the list fits", "leave one of the filters out"));
    }
    terminal.print(&text)?;
    Ok(Outcome::Done)
}
