//! Words that the house's own rows use for a room: "Kit" for the kitchen, "WZ" for the living room.

use super::called::RoomWords;
use super::numbers::Lists;
use super::stems::Stems;
use super::tokens::{PerWord, Tokens, Word, is_short_for};
use super::wires::{Wires, narrow};
use crate::pieces;
use rustc_hash::FxHashMap;

/// Rows of this many appliances teach a word for a room.
const FEWEST: usize = 3;

/// A number that so many words of room names have says nothing.
const MOST_NUMBERED: usize = 64;

/// What the names of the rooms say beforehand.
pub(super) struct Said<'a> {
    rooms: &'a [RoomWords],
    tokens: &'a Tokens,
    /// The words of room names that have a number, by the number, each with its rooms.
    numbered: FxHashMap<&'a str, Vec<(Word, u32)>>,
}

impl<'a> Said<'a> {
    pub(super) fn of(rooms: &'a [RoomWords], tokens: &'a Tokens) -> Self {
        let mut numbered: FxHashMap<&str, Vec<(Word, u32)>> = FxHashMap::default();
        for (room, index) in rooms.iter().zip(0u32..) {
            for &word in &room.name {
                let Some((_, number)) = tokens.text(word).split_once('#') else { continue };
                numbered.entry(number).or_default().push((word, index));
            }
        }
        Self { rooms, tokens, numbered }
    }

    /// Whether a word is the name of another room than this one: "Noah" teaches nothing for Lea's room, nor "Zi 102" for
    /// "Zimmer 101", whatever rows its appliances are wired to.
    fn is_another(&self, word: Word, room: u32, named: Option<u32>) -> bool {
        let Some(own) = self.rooms.get(room as usize) else { return false };
        if own.name.contains(&word) || own.more.contains(&word) || own.short.contains(&word) {
            return false;
        }
        let text = self.tokens.text(word);
        let like = |other: &Word| *other == word || is_short_for(text, self.tokens.text(*other));
        let numbered = text.split_once('#').and_then(|(_, number)| self.numbered.get(number));
        let numbered = numbered.map_or(&[][..], Vec::as_slice);
        named.is_some_and(|named| named != room)
            || (numbered.len() <= MOST_NUMBERED
                && numbered.iter().any(|(other, its)| *its != room && like(other))
                && !own.name.iter().any(like))
    }
}

/// Which words stand for a room: those in rows of several of its appliances and hardly anywhere else. `named` is the one
/// room whose name has a word.
pub(super) fn taught(
    said: &Said<'_>,
    room: &[u32],
    wires: &Wires,
    stems: &Stems,
    named: impl Fn(Word) -> Option<u32> + Sync,
) -> PerWord<Option<u32>> {
    let count = said.tokens.len();
    let of_words = Lists::grouped(count, || {
        wires.all.iter().filter(|wired| !wired.shared).flat_map(|wired| {
            let stem = wired.row.and_then(|row| stems.stem(wired.bus, row));
            let words = stem.map_or(&[][..], |stem| stems.words(stem));
            let room = room.get(wired.appliance as usize).copied().unwrap_or_default();
            words.iter().map(move |word| (narrow(word.index()), (room, wired.appliance)))
        })
    });
    let words: Vec<Word> = said.tokens.words().map(|(word, _)| word).collect();
    let taught = |at: usize| {
        let &word = words.get(at)?;
        let room = room_of(of_words.of(word.index()).to_vec())?;
        (!said.is_another(word, room, named(word))).then_some(room)
    };
    PerWord::with(pieces::each(words.len(), pieces::LIGHT, taught))
}

/// The room that a word stands for, by the rooms and appliances in whose rows it is.
fn room_of(mut rows: Vec<(u32, u32)>) -> Option<u32> {
    rows.sort_unstable();
    let rooms = rows.chunk_by(|a, b| a.0 == b.0);
    let most = rooms.rev().max_by_key(|rows| rows.len())?;
    let appliances = most.chunk_by(|a, b| a == b).count();
    (appliances >= FEWEST && most.len() * 5 >= rows.len() * 4).then(|| most.first().map(|(room, _)| *room))?
}
