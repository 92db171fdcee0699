//! `review --git-driver`: called by git, to show a ledger or a bridge JSON in words.
//!
//! As an external diff program git gives PATH, then file, object name and mode of the old version and of the new one,
//! and of a renamed file two more: its new path and how much is the same. As a filter (textconv) it gives one file. For
//! a path with a conflict it also gives only the path; the file then has marks of a conflict and is shown as it is.

use super::Outcome;
use super::args::Review as Args;
use super::error::CliError;
use super::gate::options;
use super::terminal::Terminal;
use crate::review::forms::Detail;
use crate::runs::git_driver::{Versions, difference, lines};
use crate::source::{Limits, read_single};
use std::path::Path;

/// What git gives in place of a version that there is not.
const NOTHING: &str = "/dev/null";

/// Prints what git shows. A version that cannot be read is told there too: git gives up where a driver fails.
pub(super) fn run(args: &Args, limits: &Limits, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let words: Vec<&str> = args.git_driver.iter().map(String::as_str).collect();
    let text = match words.as_slice() {
        [file] => lines(&read(file, limits)?.unwrap_or_default()),
        [path, old, _, _, new, _, _, renamed @ ..] if renamed.len() != 1 => {
            let (old, new) = (read(old, limits)?, read(new, limits)?);
            let versions = Versions {
                old_path: path,
                old: old.as_deref(),
                new_path: renamed.first().unwrap_or(path),
                new: new.as_deref(),
            };
            let detail = if args.brief { Detail::Brief } else { Detail::Lines };
            difference(&versions, &options(detail, terminal))
        }
        _ => {
            return Err(CliError::refused(
                format!("git gives a diff driver 7 arguments or 9, and a filter 1; here are {}", words.len()),
                "`housewright review --help` shows how git is told of it",
            ));
        }
    };
    terminal.print(&text)?;
    Ok(Outcome::Done)
}

fn read(file: &str, limits: &Limits) -> Result<Option<Vec<u8>>, CliError> {
    if file == NOTHING {
        return Ok(None);
    }
    let cannot = |cause: std::io::Error| {
        CliError::refused(format!("cannot read `{file}`: {cause}"), "look at the file, or raise `--limits`")
    };
    read_single(Path::new(file), limits).map(Some).map_err(cannot)
}
