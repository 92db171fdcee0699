//! What stops a build or a review, and how a terminal is told of changes: what `build` and `review` have in common.

use super::args::{Gate as Args, Shared, StopAt};
use super::error::CliError;
use super::load;
use super::terminal::Terminal;
use crate::review::forms::{self, Colour, Detail, TextOptions};
use crate::review::{AcceptList, Consequence, Gate, Review, judgement, read_accept_list};
use crate::source::{self, FileId, Limits, Place};

/// So many changes that stop a build are named in the line that says so.
const NAMED: usize = 3;

/// The consequence that a word of the command line means.
pub(super) fn consequence(word: StopAt) -> Consequence {
    match word {
        StopAt::Unseen => Consequence::Unseen,
        StopAt::Shown => Consequence::Shown,
        StopAt::Regained => Consequence::Regained,
        StopAt::Lost => Consequence::Lost,
    }
}

/// What is wrong with a text, in its order, each with its line and column.
fn told_at(text: &str, name: &str, wrong: Vec<(Place, String, String)>) -> Vec<(String, String, String)> {
    let (mut line, mut column, mut at) = (1, 1, 0);
    let told = wrong.into_iter().map(|(place, what, help)| {
        let start = (place.start as usize).max(at);
        let passed = text.get(at..start).unwrap_or("");
        match passed.rsplit_once('\n') {
            Some((lines, rest)) => {
                line += lines.matches('\n').count() + 1;
                column = rest.chars().count() + 1;
            }
            None => column += passed.chars().count(),
        }
        at = start;
        (format!("{name}:{line}:{column}"), what, help)
    });
    told.collect()
}

/// The changes that the owner agreed to. A list with anything wrong in it lets nothing through.
pub(super) fn accepted(gate: &Args, shared: &Shared) -> Result<AcceptList, CliError> {
    let Some(path) = &gate.accept else { return Ok(AcceptList::default()) };
    let name = path.display();
    let limits = load::limits(shared);
    let unreadable = |why: String| {
        CliError::refused(
            format!("the accept list `{name}` cannot be read: {why}"),
            "give a file of YAML text",
        )
    };
    let bytes = source::read_single(path, &limits).map_err(|cause| unreadable(cause.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|_| unreadable("it is not UTF-8 text".to_owned()))?;
    let reading = read_accept_list(&text, FileId(0), &limits);
    let wrong = told_at(&text, &name.to_string(), reading.wrong());
    match wrong.as_slice() {
        [] => Ok(reading.list),
        [(at, message, help)] => Err(CliError::refused(format!("{at}: {message}"), help)),
        several => {
            let told = several.iter().map(|(at, message, help)| format!("{at}: {message}; {help}"));
            let more = reading.wrong_count() - several.len();
            let more = (more > 0).then(|| format!("{name}: {more} more mistakes are not told"));
            let told: Vec<String> = told.chain(more).collect();
            Err(CliError::refused(
                told.join("\nerror: "),
                "mend the list: until then it lets nothing through",
            ))
        }
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
