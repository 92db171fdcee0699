//! Words that the house's own rows use for a status: "terugmelding" at the feedbacks of lamps and of blinds.
//!
//! Counted at the points that have both ends: a word that the row of the feedback has and that of the command has not. The
//! words of the trade say more, since they were not learned from rows that may be exchanged; these stand in where a house
//! speaks another language.

use super::stems::Stems;
use super::tokens::{PerWord, Tokens, Word};
use super::vocabulary::Vocabulary;
use super::wires::{Function, Wired, Wires};
use crate::resolve::plan::Role;

/// Fewer points than this teach no word.
const FEWEST: u32 = 6;

/// Of this many rows with the word one may be a command's.
const OF_EACH: u32 = 8;

/// Where a word was seen.
#[derive(Clone, Copy, Debug, Default)]
struct Seen {
    /// At feedbacks whose commands have not got it.
    answers: u32,
    /// At any command.
    commands: u32,
    /// The function of the first of those feedbacks.
    first: Option<Function>,
    /// Whether there are those of another one: "akt." of the setpoints alone says something else.
    several: bool,
}

/// Which words stand for a status, and are none that the trade knows.
pub(super) fn taught(
    wires: &Wires,
    stems: &Stems,
    tokens: &Tokens,
    vocabulary: &Vocabulary,
) -> PerWord<bool> {
    let mut seen = PerWord::<Seen>::new(tokens.len());
    let words = |wired: &Wired| wired.row.map_or(&[][..], |row| stems.row(wired.bus, row));
    for wired in wires.all.iter().filter(|wired| wired.role == Role::Command) {
        words(wired).iter().for_each(|word| seen.change(*word, |seen| seen.commands += 1));
    }
    let of_one = |one: &Wired, other: &Wired| (one.appliance, one.point) == (other.appliance, other.point);
    for (command, feedback) in wires.all.iter().zip(wires.all.iter().skip(1)) {
        // Of the two ends of a point the command comes first.
        if !of_one(command, feedback) || command.row.is_none() {
            continue;
        }
        let besides = words(command);
        for word in words(feedback).iter().filter(|word| besides.binary_search(word).is_err()) {
            seen.change(*word, |seen| {
                seen.answers += 1;
                seen.several |= seen.first.is_some_and(|first| first != feedback.function);
                seen.first = seen.first.or(Some(feedback.function));
            });
        }
    }
    let is_status = |(word, text): (Word, &str)| {
        let Seen { answers, commands, several, .. } = seen.of(word);
        answers >= FEWEST && several && commands * OF_EACH <= answers && vocabulary.of(text).is_none()
    };
    PerWord::with(tokens.words().map(is_status).collect())
}
