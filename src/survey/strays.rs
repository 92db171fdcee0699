//! Appliances that stand in another room than their addresses or rows say, where no other appliance of the room has rows
//! that name it.
//!
//! Three things may say so. The block: in a house that is numbered by rooms all of its addresses lie among those of
//! another room. The rows: nearly all of the house name their room, and these name another one. The floor: the rows have
//! the word of another floor than those of the room's other appliances.

use super::blocks::Blocks;
use super::marks::Judge;
use super::numbers::Lists;
use super::stems::Stem;
use super::tokens::Word;
use super::wires::{Wired, narrow};
use crate::pieces;
use rustc_hash::FxHashMap;

/// Fewer appliances than this are no habit of a house.
const HOUSE: u32 = 10;

/// Of this many one may be an exception.
pub(super) const OF_EACH: u32 = 10;

/// So many other appliances show where those of their room are.
pub(super) const OTHERS: u32 = 2;

/// A word is that of a floor from so many appliances on.
const FLOOR: u32 = 6;

/// Why an appliance seems to stand in the wrong room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Astray {
    /// Its addresses lie among those of so many appliances of another room.
    Block {
        /// The index of that room.
        room: u32,
        /// How many appliances of it lie there.
        there: u32,
        /// How many others of its own room lie among their own.
        here: u32,
    },
    /// Its rows name another room, as so many of so many name their own.
    Rows {
        /// The index of that room.
        room: u32,
        /// How many appliances of the house have rows that name their room.
        kept: u32,
        /// Of how many that name one.
        of: u32,
    },
    /// Its rows have the word of another floor.
    Floor {
        /// The index of a room of that floor.
        room: u32,
        /// How many others of its own room have the word of their floor.
        here: u32,
    },
}

/// An appliance in the wrong room.
#[derive(Clone, Copy, Debug)]
pub struct Stray {
    /// Its index in the plan.
    pub appliance: u32,
    /// Index of its first wire in [`Wires::all`](super::Wires::all).
    pub wire: u32,
    /// What says so, the strongest first.
    pub why: [Option<Astray>; 3],
}

/// Those of a plan, in its order, without appliances that something is `told` of. `said` is the room that all rows of
/// each appliance name.
pub(super) fn find(judge: Judge<'_>, said: &[Option<u32>], told: impl Fn(u32) -> bool + Sync) -> Vec<Stray> {
    let own = Own::of(judge);
    let rows = Rows::of(judge, said);
    let (blocks, floors) = rayon::join(|| Blocks::of(&own), || Floors::of(&own));
    let stray = |index: usize| {
        let appliance = narrow(index);
        let why = [blocks.astray(&own, index), rows.astray(&own, index), floors.astray(&own, index)];
        let (wire, _) = judge.wires.of_appliance(index);
        let some = why.iter().flatten().next().is_some();
        (some && !told(appliance)).then(|| Stray { appliance, wire: narrow(wire), why })
    };
    pieces::some(judge.plan.appliances.len(), pieces::LIGHT, stray)
}

/// The wires of each appliance that are nobody else's by nature.
pub(super) struct Own<'a> {
    pub(super) judge: Judge<'a>,
    /// By their index in [`Wires::all`](super::Wires::all).
    pub(super) wires: Lists<u32>,
}

impl<'a> Own<'a> {
    fn of(judge: Judge<'a>) -> Self {
        let is_own =
            |wired: &Wired| !wired.shared && !judge.uses.is_central(wired.bus as usize, wired.address);
        let wires = Lists::made(
            judge.plan.appliances.len(),
            || (),
            |(), appliance, list| {
                let (start, wires) = judge.wires.of_appliance(appliance);
                let own = wires.iter().zip(start..).filter(|(wired, _)| is_own(wired));
                list.extend(own.map(|(_, index)| narrow(index)));
            },
        );
        Self { judge, wires }
    }

    pub(super) fn count(&self) -> usize {
        self.judge.plan.appliances.len()
    }

    pub(super) fn room(&self, appliance: usize) -> Option<u32> {
        self.judge.plan.appliances.get(appliance).map(|appliance| narrow(appliance.room))
    }

    pub(super) fn wires(&self, appliance: usize) -> impl Iterator<Item = &'a Wired> {
        let all = &self.judge.wires.all;
        self.wires.of(appliance).iter().filter_map(|wire| all.get(*wire as usize))
    }

    fn stems(&self, appliance: usize) -> impl Iterator<Item = Stem> {
        let stems = &self.judge.learned.stems;
        self.wires(appliance).filter_map(|wired| stems.stem(wired.bus, wired.row?))
    }

    /// Whether an appliance's rows may name its own room, or it is called after another.
    pub(super) fn may_be_here(&self, appliance: usize, other: u32) -> bool {
        let learned = self.judge.learned;
        let here = |stem| learned.owners.may_be_here(stem, appliance, other, &learned.stems, &learned.tokens);
        learned.owners.is_called_after(appliance, other) || self.stems(appliance).any(here)
    }

    /// The words that all rows of each appliance have.
    fn common(&self) -> Lists<Word> {
        let words = |stem: Stem| self.judge.learned.stems.words(stem);
        Lists::made(self.count(), Vec::new, |common: &mut Vec<Word>, appliance, list| {
            let mut stems = self.stems(appliance);
            let Some(first) = stems.next() else { return };
            common.clear();
            common.extend_from_slice(words(first));
            let others = stems.filter(|stem| *stem != first);
            others.for_each(|stem| common.retain(|word| words(stem).contains(word)));
            list.append(common);
        })
    }
}

/// Whether rows have a word of a room's own name: those that they were only seen to use for it may be of something else.
fn is_named(judge: Judge<'_>, stem: Stem, room: u32) -> bool {
    judge.learned.owners.is_plainly_named(stem, room, &judge.learned.stems, &judge.learned.tokens)
}

/// Whether so many of all are enough, and nearly all.
pub(super) fn nearly_all(count: u32, of: u32, fewest: u32) -> bool {
    count >= fewest && of - count <= (of / OF_EACH).max(1)
}

/// What nearly always comes with each word, and how often.
fn usual(pairs: impl Iterator<Item = (Word, u32)>, fewest: u32) -> FxHashMap<Word, (u32, u32)> {
    let mut counts: FxHashMap<(Word, u32), u32> = FxHashMap::default();
    let mut totals: FxHashMap<Word, u32> = FxHashMap::default();
    for (word, with) in pairs {
        *counts.entry((word, with)).or_default() += 1;
        *totals.entry(word).or_default() += 1;
    }
    let of = |word: &Word| totals.get(word).copied().unwrap_or(0);
    counts
        .into_iter()
        .filter(|((word, _), count)| nearly_all(*count, of(word), fewest))
        .map(|((word, with), count)| (word, (with, count)))
        .collect()
}

/// How many appliances have rows that name their room.
struct Rows<'a> {
    said: &'a [Option<u32>],
    counts: FxHashMap<(u32, u32), u32>,
    kept: u32,
    of: u32,
}

impl<'a> Rows<'a> {
    fn of(judge: Judge<'_>, said: &'a [Option<u32>]) -> Self {
        let mut rows = Self { said, counts: FxHashMap::default(), kept: 0, of: 0 };
        for (appliance, said) in judge.plan.appliances.iter().zip(said) {
            let Some(said) = *said else { continue };
            let here = narrow(appliance.room);
            *rows.counts.entry((here, said)).or_default() += 1;
            rows.of += 1;
            rows.kept += u32::from(here == said);
        }
        rows
    }

    fn astray(&self, own: &Own<'_>, appliance: usize) -> Option<Astray> {
        let (room, here) = (self.said.get(appliance).copied().flatten()?, own.room(appliance)?);
        let count = |here: u32, said: u32| self.counts.get(&(here, said)).copied().unwrap_or(0);
        let habit = self.kept >= HOUSE && self.of - self.kept <= self.of / OF_EACH;
        let lone = count(here, room) == 1 && count(here, here) == 0 && count(room, room) >= OTHERS;
        let named = || own.stems(appliance).all(|stem| is_named(own.judge, stem, room));
        let stray = room != here && habit && lone && named() && !own.may_be_here(appliance, room);
        stray.then_some(Astray::Rows { room, kept: self.kept, of: self.of })
    }
}

/// Words of rows that stand for a floor.
struct Floors {
    /// The floor of each room, by a number.
    of_room: Vec<Option<u32>>,
    /// The words that all rows of each appliance have.
    common: Lists<Word>,
    of_word: FxHashMap<Word, (u32, u32)>,
    /// For each room how many appliances have the word of their floor in all rows.
    kept: FxHashMap<u32, u32>,
    /// A room of each floor that says it.
    room: FxHashMap<u32, u32>,
}

impl Floors {
    fn of(own: &Own<'_>) -> Self {
        let mut known: FxHashMap<&str, u32> = FxHashMap::default();
        let of_room = own.judge.plan.rooms.iter().map(|room| {
            let floor = room.floor.as_ref()?.value.trim();
            let next = narrow(known.len());
            Some(*known.entry(floor).or_insert(next))
        });
        let mut floors = Self {
            of_room: of_room.collect(),
            common: Lists::default(),
            of_word: FxHashMap::default(),
            kept: FxHashMap::default(),
            room: FxHashMap::default(),
        };
        if known.len() < 2 {
            return floors;
        }
        floors.common = own.common();
        floors.of_word = floors.words(own);
        for appliance in 0..own.count() {
            let said = floors.said(appliance);
            if let (Some(room), Some(said)) = (own.room(appliance), said)
                && floors.floor(room) == Some(said)
            {
                *floors.kept.entry(room).or_default() += 1;
                floors.room.entry(said).or_insert(room);
            }
        }
        floors
    }

    /// The words that come on one floor only, but those of one room, whatever floor it is on.
    fn words(&self, own: &Own<'_>) -> FxHashMap<Word, (u32, u32)> {
        let rooms = || (0..own.count()).filter_map(|appliance| Some((appliance, own.room(appliance)?)));
        let words = |appliance: usize| self.common.of(appliance).iter().copied();
        let floors = rooms().filter_map(|(appliance, room)| Some((appliance, self.floor(room)?)));
        let mut found = usual(
            floors.flat_map(|(appliance, floor)| words(appliance).map(move |word| (word, floor))),
            FLOOR,
        );
        let found_here = |appliance: usize| words(appliance).filter(|word| found.contains_key(word));
        let of_rooms =
            rooms().flat_map(|(appliance, room)| found_here(appliance).map(move |word| (word, room)));
        let of_one_room = usual(of_rooms, 1);
        found.retain(|word, _| !of_one_room.contains_key(word));
        found
    }

    fn floor(&self, room: u32) -> Option<u32> {
        self.of_room.get(room as usize).copied().flatten()
    }

    /// The one floor whose word stands in all rows of an appliance.
    fn said(&self, appliance: usize) -> Option<u32> {
        let words = self.common.of(appliance);
        let mut floors = words.iter().filter_map(|word| self.of_word.get(word)).map(|(floor, _)| *floor);
        let first = floors.next()?;
        floors.all(|floor| floor == first).then_some(first)
    }

    /// Whether an appliance has the word of a floor in its own name: the upper light of a stair.
    fn is_called_so(&self, judge: Judge<'_>, appliance: usize) -> bool {
        let learned = judge.learned;
        let says = |word: &Word| self.of_word.contains_key(word);
        let mut words = self.common.of(appliance).iter().filter(|word| says(word));
        words.any(|word| learned.owners.is_own(*word, appliance, &learned.tokens))
    }

    fn astray(&self, own: &Own<'_>, appliance: usize) -> Option<Astray> {
        let (said, here) = (self.said(appliance)?, own.room(appliance)?);
        let kept = self.kept.get(&here).copied().unwrap_or(0);
        let room = self.room.get(&said).copied()?;
        let stray = said != self.floor(here)?
            && kept >= OTHERS
            && !own.may_be_here(appliance, room)
            && !self.is_called_so(own.judge, appliance);
        stray.then_some(Astray::Floor { room, here: kept })
    }
}
