//! `review`: what a change means for the family.

use super::args::{Review as Args, ReviewForm, Shared};
use super::error::CliError;
use super::gate::{accepted, consequence, gate_words, told};
use super::terminal::Terminal;
use super::{Outcome, git_driver, houses, load, memory};
use crate::review;
use crate::review::forms::{self, Detail};
use crate::runs::beside;
use crate::runs::compare::{self, Side};
use std::path::{Path, PathBuf};

/// Prints the review, and holds it against the gate.
pub(super) fn run(args: &Args, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let limits = load::limits(shared);
    if !args.git_driver.is_empty() {
        return git_driver::run(args, &limits, terminal);
    }
    refuse_idle(args)?;
    let (old, new) = sides(args)?;
    memory::keep();
    let (mut review, patch) = if args.format == ReviewForm::JsonPatch {
        let (review, patch) = compare::compare_as_patch(&old, &new, &limits).map_err(|error| {
            CliError::refused(error.to_string(), "only a build that can be read whole can be patched")
        })?;
        (review, Some(patch))
    } else {
        (compare::compare(&old, &new, &limits), None)
    };
    // A list with mistakes is told below the review: that can be read all the same.
    let held = accepted(&args.gate, shared).map(|accepted| {
        let gate = review::gate(&review, &accepted, args.gate.stop_at.map(consequence));
        review.note_reasons(&gate, &accepted);
        (accepted, gate)
    });
    match (args.format, patch) {
        (ReviewForm::JsonPatch, Some(patch)) => terminal.print(&format!("{patch:#}\n")),
        (ReviewForm::Text, _) => terminal.print(&told(&review, detail(args), terminal)),
        (ReviewForm::Markdown, _) => terminal.print(&forms::markdown(&review)),
        (ReviewForm::Json | ReviewForm::JsonPatch, _) => {
            terminal.print_by(|out| forms::write_json(&review, out))
        }
        (ReviewForm::Html, _) => terminal.print(&forms::html(&review)),
    }?;
    let (accepted, gate) = held?;
    for line in gate_words(&review, &gate, &accepted) {
        terminal.say(&line);
    }
    load::leave(review);
    Ok(match (gate.incomplete, gate.is_open()) {
        (true, _) => Outcome::Unread,
        (false, true) => Outcome::Done,
        (false, false) => Outcome::Stopped,
    })
}

/// Refuses an option that says nothing about what is printed.
fn refuse_idle(args: &Args) -> Result<(), CliError> {
    let option = match detail(args) {
        Detail::Usual => return Ok(()),
        Detail::Brief => "--brief",
        Detail::Lines => "--lines",
    };
    if args.format == ReviewForm::Text {
        return Ok(());
    }
    Err(CliError::refused(
        format!("`{option}` is for `--format text`"),
        "leave one of the two out: every other form has all that there is to tell",
    ))
}

/// Which two sides are meant.
fn sides(args: &Args) -> Result<(Side, Side), CliError> {
    let side = |word: &str| {
        Side::of(word).map_err(|error| {
            CliError::refused(error.to_string(), "`housewright review --help` shows what a side can be")
        })
    };
    match (args.of.as_slice(), &args.since) {
        ([old, new], None) => Ok((side(old)?, side(new)?)),
        ([_, _], Some(_)) => Err(CliError::refused(
            "`--since` is for one house, and two sides are given",
            "leave out `--since`, or one of the sides",
        )),
        (of, since) => {
            let house = of.first().map_or_else(|| PathBuf::from("."), PathBuf::from);
            let old = match since {
                Some(revision) => Side::Revision { revision: revision.clone(), house: house.clone() },
                None => last_build(&house)?,
            };
            Ok((old, Side::House(house)))
        }
    }
}

fn last_build(house: &Path) -> Result<Side, CliError> {
    let out = beside::usual_out(&houses::folder_of_one(house)?);
    if out.is_dir() {
        return Ok(Side::Folder(out));
    }
    Err(CliError::refused(
        format!("`{}` was not built yet: there is no `{}`", house.display(), out.display()),
        "build it first, or give two sides: `housewright review OLD NEW`",
    ))
}

/// How much is told.
fn detail(args: &Args) -> Detail {
    match (args.brief, args.lines) {
        (true, _) => Detail::Brief,
        (false, true) => Detail::Lines,
        (false, false) => Detail::Usual,
    }
}
