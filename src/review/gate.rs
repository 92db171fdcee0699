//! The gate of a build step: which changes stop it, given what the owner agreed to.

use super::accept::{AcceptList, AcceptProblem};
use super::change::Review;
use super::judgement::Consequence;

/// What a build step does with a review.
#[derive(Clone, Debug, PartialEq)]
pub struct Gate {
    /// Changes at or over the limit that nobody agreed to, as indices into [`Review::changes`].
    pub stopped_by: Vec<usize>,
    /// Changes that an entry agrees to, with the entry's index.
    pub accepted: Vec<(usize, usize)>,
    /// Changes that happened to several appliances alike, of which only some are agreed to, with the keys of the others.
    pub partly: Vec<(usize, Vec<String>)>,
    /// Entries that agree to nothing.
    pub problems: Vec<AcceptProblem>,
    /// Whether something could not be compared.
    pub incomplete: bool,
    /// Whether everything was compared and nothing changed.
    pub unchanged: bool,
    /// Whether a limit was asked for.
    pub limited: bool,
}

impl Gate {
    /// True if the build may go on: nothing stops it, every entry was used, and everything that the limit is for was
    /// compared. Where nothing changed there is nothing to let through, and entries are left over from the build before.
    pub fn is_open(&self) -> bool {
        self.stopped_by.is_empty()
            && (self.problems.is_empty() || self.unchanged)
            && !(self.incomplete && self.limited)
    }
}

impl Review {
    /// Writes the owner's reason to each change that was agreed to, so that every form of the review tells it.
    pub fn note_reasons(&mut self, gate: &Gate, accepted: &AcceptList) {
        for (change, entry) in &gate.accepted {
            if let (Some(change), Some(entry)) = (self.changes.get_mut(*change), accepted.entries.get(*entry))
                && !change
                    .agreed
                    .as_ref()
                    .is_some_and(|agreed| agreed.split("; ").any(|it| it == entry.reason))
            {
                let before = change.agreed.take().map(|agreed| format!("{agreed}; ")).unwrap_or_default();
                change.agreed = Some(before + &entry.reason);
            }
        }
    }
}

/// Holds a review against a limit and the list of changes that were agreed to.
///
/// Without `stop_at` neither a change nor what could not be read stops; an entry that agrees to none of the changes does.
pub fn gate(review: &Review, accepted: &AcceptList, stop_at: Option<Consequence>) -> Gate {
    let uses = accepted.uses(review);
    let agreed: rustc_hash::FxHashSet<usize> = uses.accepted.iter().map(|(change, _)| *change).collect();
    let stopped_by = review
        .changes
        .iter()
        .enumerate()
        .filter(|(index, change)| {
            stop_at.is_some_and(|limit| change.consequence() >= limit) && !agreed.contains(index)
        })
        .map(|(index, _)| index)
        .collect();
    Gate {
        stopped_by,
        accepted: uses.accepted,
        partly: uses.partly,
        problems: uses.problems,
        incomplete: !review.unread.is_empty(),
        unchanged: review.is_empty(),
        limited: stop_at.is_some(),
    }
}
