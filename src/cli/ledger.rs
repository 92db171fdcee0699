//! `ledger merge`: the ledgers of two branches brought together, as a git merge driver does it.

use super::Outcome;
use super::args::{BuiltSide, LedgerCommand, LedgerMerge};
use super::error::CliError;
use super::terminal::Terminal;
use crate::emit;
use crate::ledger::{self, Built, Change, Ledger};
use crate::source;
use std::path::Path;

/// Merges, and says what gave way.
pub(super) fn run(command: &LedgerCommand, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let LedgerCommand::Merge(args) = command;
    merge(args, terminal)
}

fn merge(args: &LedgerMerge, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let (base, ours, theirs) = (read(&args.base)?, read(&args.ours)?, read(&args.theirs)?);
    let built = match args.built {
        BuiltSide::Ours => Built::Ours,
        BuiltSide::Theirs => Built::Theirs,
    };
    let merged = ledger::merge(base.as_ref(), &ours.unwrap_or_default(), &theirs.unwrap_or_default(), built)
        .map_err(|full| CliError::refused(full.to_string(), "move appliances to another bridge on one branch, then merge"))?;
    for change in &merged.changes {
        terminal.say(&change.to_string());
    }
    emit::replace_file(&args.ours, ledger::write(&merged.ledger).as_bytes())?;
    Ok(Outcome::Done)
}
