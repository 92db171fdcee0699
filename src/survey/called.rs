//! How appliances and rooms are called: the words of their names and keys.

use super::numbers::Lists;
use super::tokens::{Tokens, Word, initials};
use super::wires::narrow;
use crate::resolve::Plan;
use crate::resolve::plan::Room;

/// The words of a room.
#[derive(Debug, Default)]
pub(super) struct RoomWords {
    /// Of its name.
    pub(super) name: Vec<Word>,
    /// Of its key and its floor, and its short forms.
    pub(super) more: Vec<Word>,
    /// Its initials.
    pub(super) short: Vec<Word>,
    /// Of its floor.
    pub(super) floor: Vec<Word>,
}

impl RoomWords {
    fn of(room: &Room, tokens: &mut Tokens) -> Self {
        let floor = room.floor.as_ref().map_or("", |floor| floor.value.as_str());
        let more = tokens.of(&format!("{} {floor}", room.key.value));
        let mut short = Vec::new();
        for form in initials(&room.name.value) {
            short.extend(tokens.of(&form));
        }
        let more = joined(&more, &short);
        Self { name: tokens.of(&room.name.value), more, short, floor: tokens.of(floor) }
    }
}

/// The words of all appliances and rooms of a plan.
#[derive(Debug, Default)]
pub(super) struct Called {
    /// Of each appliance's name.
    pub(super) names: Lists<Word>,
    /// Of each appliance's key.
    pub(super) keys: Lists<Word>,
    /// The room of each appliance.
    pub(super) room: Vec<u32>,
    pub(super) rooms: Vec<RoomWords>,
}

impl Called {
    pub(super) fn of(plan: &Plan, tokens: &mut Tokens) -> Self {
        Self {
            rooms: plan.rooms.iter().map(|room| RoomWords::of(room, tokens)).collect(),
            names: tokens.of_each(&plan.appliances, |appliance| &appliance.name.value),
            keys: tokens.of_each(&plan.appliances, |appliance| &appliance.key.value),
            room: plan.appliances.iter().map(|appliance| narrow(appliance.room)).collect(),
        }
    }

    /// The words of an appliance and of its room, in lists that are sorted.
    pub(super) fn words(&self, appliance: usize) -> [&[Word]; 4] {
        let [name, room, more] = self.words_said(appliance);
        [name, self.keys.of(appliance), room, more]
    }

    /// The same without those of its key.
    pub(super) fn words_said(&self, appliance: usize) -> [&[Word]; 3] {
        let room = self.room.get(appliance).and_then(|room| self.rooms.get(*room as usize));
        let [name, more] = room.map_or([&[][..]; 2], |room| [&room.name, &room.more]);
        [self.names.of(appliance), name, more]
    }
}

/// The words of two lists, sorted, each once.
pub(super) fn joined(words: &[Word], more: &[Word]) -> Vec<Word> {
    each_once(&mut [words, more].concat()).collect()
}

/// The words of a list, sorted, each once. Takes them out of it.
pub(super) fn each_once(words: &mut Vec<Word>) -> impl Iterator<Item = Word> {
    words.sort_unstable();
    words.dedup();
    words.drain(..)
}
