//! Keys that are there twice: a file that was copied is one mistake, and what is said of its appliances follows from it.

use crate::findings::Finding;
use crate::house::{Keyed, Problem, ProblemKind};
use crate::source::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

/// So many keys of one file in another are a copied file; a room and what is in it are so few.
const FEWEST: usize = 3;
const FEWEST_WITH_ROOM: usize = 2;

/// What rules say of two appliances that are one and the same.
const OF_TWO: [&str; 5] = [
    super::cross_wiring::wired_as_another::RULE.card.name,
    super::cross_wiring::shared_command::RULE.card.name,
    super::cross_wiring::command_is_others_feedback::RULE.card.name,
    super::feedback::shared_feedback::RULE.card.name,
    super::naming::name_used_twice::RULE.card.name,
];

/// The keys that stand twice.
#[derive(Default)]
pub(super) struct Copies<'a> {
    appliances: FxHashSet<&'a str>,
    rooms: FxHashSet<&'a str>,
    /// The keys of a file that stand in another file before.
    shared: FxHashMap<(FileId, FileId), Shared>,
}

/// Keys that two files share.
#[derive(Default)]
struct Shared {
    count: usize,
    has_room: bool,
    is_told: bool,
}

impl<'a> Copies<'a> {
    pub(super) fn of(problems: &'a [Problem]) -> Self {
        let mut copies = Self::default();
        for problem in problems {
            let ProblemKind::KeyTwice { what, text, .. } = &problem.kind else { continue };
            match what {
                Keyed::Appliance => _ = copies.appliances.insert(text),
                Keyed::Room => _ = copies.rooms.insert(text),
                Keyed::House | Keyed::Bus | Keyed::Bridge => {}
            }
            if let Some(files) = files(problem) {
                let shared = copies.shared.entry(files).or_default();
                shared.count += 1;
                shared.has_room |= *what == Keyed::Room;
            }
        }
        copies
    }

    /// How many keys of the problem's file stand in another, the first time that this is asked; 0 where that was told.
    /// None for a key that is alone.
    pub(super) fn count(&mut self, problem: &Problem) -> Option<usize> {
        let shared = self.shared.get_mut(&files(problem)?)?;
        let fewest = if shared.has_room { FEWEST_WITH_ROOM } else { FEWEST };
        let told = std::mem::replace(&mut shared.is_told, true);
        (shared.count >= fewest).then_some(if told { 0 } else { shared.count })
    }

    /// Takes out what follows from a key that stands twice.
    pub(super) fn take_out(&self, found: &mut Vec<Finding>) {
        if self.appliances.is_empty() && self.rooms.is_empty() {
            return;
        }
        let is_twice = |finding: &Finding| {
            let room = finding.rule == super::naming::room_name_used_twice::RULE.card.name
                && finding.room.as_deref().is_some_and(|key| self.rooms.contains(key));
            let appliance = OF_TWO.contains(&finding.rule)
                && finding.appliance.as_deref().is_some_and(|key| self.appliances.contains(key));
            room || appliance
        };
        found.retain(|finding| !is_twice(finding));
    }
}

fn files(problem: &Problem) -> Option<(FileId, FileId)> {
    match &problem.kind {
        ProblemKind::KeyTwice { first, .. } if first.file != problem.place.file => {
            Some((problem.place.file, first.file))
        }
        _ => None,
    }
}
