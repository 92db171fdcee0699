//! `review`: what a change means for the family.

use super::args::{Review as Args, ReviewForm, Shared};
use super::build::{accepted, consequence};
use super::error::CliError;
use super::terminal::Terminal;
use super::{Outcome, git_driver, houses, load};
use crate::build;
use crate::compare::{self, Side};
use crate::review::forms::{self, Colour, Detail, TextOptions};
use crate::review::{self, AcceptList, Gate, Review, judgement};
use crate::source::Limits;
use std::path::{Path, PathBuf};

/// So many changes that stop a build are named in the line that says so.
const NAMED: usize = 3;

/// Prints the review, and holds it against the gate.
pub(super) fn run(args: &Args, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let limits = load::limits(shared);
    if !args.git_driver.is_empty() {
        return git_driver::run(args, &limits, terminal);
    }
    refuse_idle(args)?;
    let (old, new) = sides(args)?;
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
    let out = build::usual_out(&houses::folder_of_one(house)?);
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

/// The review as text for this terminal.
pub(super) fn told(review: &Review, detail: Detail, terminal: &Terminal) -> String {
    forms::text(review, &options(detail, terminal))
}

/// How a review is written on this terminal.
pub(super) fn options(detail: Detail, terminal: &Terminal) -> TextOptions {
    let colour = if terminal.colour { Colour::Coloured } else { Colour::Plain };
    TextOptions { width: terminal.width, colour, detail }
}

/// Why the gate is closed, or what it let through with a word, a line each.
pub(super) fn gate_words(review: &Review, gate: &Gate, accepted: &AcceptList) -> Vec<String> {
    let mut words = Vec::new();
    if !gate.stopped_by.is_empty() {
        let (stopped, of) = (gate.stopped_by.len(), review.changes.len());
        let (plural, verb) = (if of == 1 { "" } else { "s" }, if stopped == 1 { "is" } else { "are" });
        let some = gate.stopped_by.iter().take(NAMED).filter_map(|at| review.changes.get(*at));
        let some: Vec<String> = some.map(forms::named).collect();
        let more = stopped.saturating_sub(NAMED);
        let more = if more == 0 { String::new() } else { format!("; and {more} more") };
        words.push(format!(
            "stopped: {stopped} of {of} change{plural} {verb} at or over the limit and not agreed to ({}{more})",
            some.join("; ")
        ));
    }
    let partly = gate.partly.iter().filter(|(change, _)| gate.stopped_by.contains(change));
    for (change, keys) in partly.filter_map(|(at, keys)| Some((review.changes.get(*at)?, keys))) {
        let some: Vec<String> = keys.iter().take(NAMED).map(|key| format!("`{key}`")).collect();
        let more = match keys.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        words.push(format!(
            "stopped: the accept list agrees to `{}` of some of these appliances, and not of {}{more}; each needs an entry",
            judgement(change.kind).name,
            some.join(", ")
        ));
    }
    let left = if gate.unchanged { "note" } else { "stopped" };
    for problem in gate.problems.iter().take(Limits::PROBLEMS_PER_FILE) {
        words.push(format!("{left}: {}; {}", problem.message(accepted), problem.help()));
    }
    let more = gate.problems.len().saturating_sub(Limits::PROBLEMS_PER_FILE);
    if more > 0 {
        words.push(format!("{left}: {more} more entries of the accept list agree to nothing"));
    }
    if gate.incomplete {
        let left = if gate.limited { "stopped" } else { "note" };
        words.push(format!("{left}: not everything could be compared"));
    }
    words
}
