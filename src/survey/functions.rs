//! How well the function words of a row go with what a wire is for.
//!
//! Counted in the house itself: the rows called "status" are those of `switching` feedbacks. Where a house has too few
//! rows to count, the words of the trade stand in.

use super::stems::{Call, Stems};
use super::tokens::{Tokens, Word};
use super::vocabulary::Vocabulary;
use super::wires::{Function, Wired, Wires};
use crate::resolve::plan::Role;

/// What the words of the trade weigh, in rows.
const TRADE: f64 = 2.0;

/// What nobody knows: as good as not.
pub(super) const UNKNOWN: f64 = 0.4;

/// How often which call was seen at which function.
#[derive(Debug, Default)]
pub(super) struct Functions {
    counts: Vec<Vec<(Function, f64)>>,
    /// How many wires of each function have rows.
    wires: Vec<f64>,
    /// For each call, what the words of the trade say of each function.
    known: Vec<Vec<Function>>,
    /// Whether a call has a word for a status.
    status: Vec<bool>,
}

impl Functions {
    pub(super) fn of(wires: &Wires, stems: &Stems, tokens: &Tokens, vocabulary: &Vocabulary) -> Self {
        let says = |words: &[Word]| {
            let said = wires.functions();
            let said = said.filter(|(_, point, role)| says(words, point, *role, tokens, vocabulary));
            said.map(|(function, ..)| function).collect()
        };
        let mut functions = Self {
            counts: vec![Vec::new(); stems.calls().len()],
            wires: vec![0.0; wires.functions().count()],
            known: stems.calls().map(says).collect(),
            status: stems.calls().map(|words| is_status(words, tokens, vocabulary)).collect(),
        };
        for wired in &wires.all {
            let call = wired.row.and_then(|row| stems.call(wired.bus, row));
            let Some(of_call) = call.and_then(|call| functions.counts.get_mut(call.index())) else {
                continue;
            };
            functions.wires.get_mut(wired.function.0 as usize).into_iter().for_each(|count| *count += 1.0);
            match of_call.iter_mut().find(|(function, _)| *function == wired.function) {
                Some((_, count)) => *count += 1.0,
                None => of_call.push((wired.function, 1.0)),
            }
        }
        functions
    }

    /// Whether a call has a word for a status.
    pub(super) fn is_status(&self, call: Call) -> bool {
        self.status.get(call.index()).copied().unwrap_or(false)
    }

    /// How many wires of a function have rows called so.
    pub(super) fn seen(&self, call: Call, function: Function) -> f64 {
        let seen = self.counts.get(call.index()).map_or(&[][..], Vec::as_slice);
        seen.iter().find(|(seen, _)| *seen == function).map_or(0.0, |(_, count)| *count)
    }

    /// Whether rows called so fit a function so well, or are what several of its wires have and no fewer than have others: the
    /// "on/off" of valves, though most rows called so are those of lamps.
    pub(super) fn is_called(&self, call: Call, function: Function, fit: f64) -> bool {
        let all = self.wires.get(function.0 as usize).copied().unwrap_or(0.0);
        let seen = self.seen(call, function);
        self.fit(call, function, None) >= fit || (seen >= 2.0 && seen * 2.0 >= all)
    }

    /// Whether rows called so are seen at such a function, or at none.
    pub(super) fn may_be(&self, call: Call, is_such: impl Fn(Function) -> bool) -> bool {
        let seen = self.counts.get(call.index()).map_or(&[][..], Vec::as_slice);
        seen.is_empty() || seen.iter().any(|(function, _)| is_such(*function))
    }

    /// From 0 (rows called so are for something else) to 1 (they are for this); [`UNKNOWN`] where nothing is known.
    /// `own` is the wire that is looked at: it does not speak for itself.
    pub(super) fn fit(&self, call: Call, function: Function, own: Option<&Wired>) -> f64 {
        let less = |seen: Function| if own.is_some_and(|own| own.function == seen) { 1.0 } else { 0.0 };
        let known = self.known.get(call.index()).map_or(&[][..], Vec::as_slice);
        let trade = |function: Function| if known.contains(&function) { TRADE } else { 0.0 };
        let seen = self.counts.get(call.index()).map_or(&[][..], Vec::as_slice);
        let counted = |wanted: Function| (self.seen(call, wanted) - less(wanted)).max(0.0) + trade(wanted);
        let most =
            seen.iter().map(|(seen, _)| *seen).chain(known.iter().copied()).map(counted).fold(0.0, f64::max);
        if most < 1.0 { UNKNOWN } else { counted(function) / most }
    }
}

fn is_status(words: &[Word], tokens: &Tokens, vocabulary: &Vocabulary) -> bool {
    words.iter().any(|word| vocabulary.of(tokens.text(*word)).is_some_and(|meaning| meaning.status))
}

/// Whether the words of the trade give these words to a point and role: the words name the point, and no status word
/// stands with a command, nor is missing at a feedback that has a command too.
fn says(words: &[Word], point: &str, role: Role, tokens: &Tokens, vocabulary: &Vocabulary) -> bool {
    let points: Vec<&str> = words
        .iter()
        .filter_map(|word| vocabulary.of(tokens.text(*word)))
        .flat_map(|meaning| meaning.points.iter().map(String::as_str))
        .collect();
    let status = is_status(words, tokens, vocabulary);
    let measured = matches!(
        point,
        "temperature"
            | "humidity"
            | "illuminance"
            | "occupancy"
            | "contact"
            | "open-contact"
            | "tilt"
            | "leak"
            | "smoke"
            | "fault"
    );
    let end = status == (role == Role::Feedback) || (measured && role == Role::Feedback);
    let named = points.contains(&point) || (points.is_empty() && status && point == "switching");
    end && named
}
