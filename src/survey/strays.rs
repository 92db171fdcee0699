//! Appliances that stand in another room than their addresses or rows say, where no other appliance of the room has rows
//! that name it.
//!
//! Three things may say so. The block: in a house that is numbered by rooms all of its addresses lie among those of
//! another room. The rows: nearly all of the house name their room, and these name another one. The floor: the rows have
//! the word of another floor than those of the room's other appliances.

use super::marks::Judge;
use super::stems::Stem;
use super::tokens::Word;
use super::wires::{Wired, narrow};
use crate::knx::GroupAddress;
use rustc_hash::FxHashMap;
use std::hash::Hash;

/// Fewer appliances than this are no habit of a house.
const HOUSE: u32 = 10;

/// Of this many one may be an exception.
const OF_EACH: u32 = 10;

/// A room has a block from so many appliances on.
const BLOCK: u32 = 3;

/// So many other appliances show where those of their room are.
const OTHERS: u32 = 2;

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

/// Those of a plan, in its order, without appliances that something is `told` of.
pub(super) fn find(judge: Judge<'_>, told: impl Fn(u32) -> bool) -> Vec<Stray> {
    let (blocks, rows, floors) = (Blocks::of(judge), Rows::of(judge), Floors::of(judge));
    let each = (0..judge.plan.appliances.len()).map(narrow).filter(|appliance| !told(*appliance));
    let stray = |appliance: u32| {
        let index = appliance as usize;
        let why = [blocks.astray(judge, index), rows.astray(judge, index), floors.astray(judge, index)];
        let (wire, _) = judge.wires.of_appliance(index);
        let some = why.iter().flatten().next().is_some();
        some.then(|| Stray { appliance, wire: narrow(wire), why })
    };
    each.filter_map(stray).collect()
}

fn room(judge: Judge<'_>, appliance: usize) -> Option<u32> {
    judge.plan.appliances.get(appliance).map(|appliance| narrow(appliance.room))
}

/// An appliance's wires that are nobody else's by nature.
fn own<'a>(judge: Judge<'a>, appliance: usize) -> impl Iterator<Item = &'a Wired> {
    let (_, own) = judge.wires.of_appliance(appliance);
    own.iter().filter(move |wired| !wired.shared && !judge.uses.is_central(wired.bus as usize, wired.address))
}

fn stems<'a>(judge: Judge<'a>, appliance: usize) -> impl Iterator<Item = Stem> + 'a {
    own(judge, appliance).filter_map(move |wired| judge.learned.stems.stem(wired.bus, wired.row?))
}

/// Whether an appliance's rows may name its own room, or it is called after another.
fn may_be_here(judge: Judge<'_>, appliance: usize, other: u32) -> bool {
    let learned = judge.learned;
    let here = |stem| learned.owners.may_be_here(stem, appliance, other, &learned.stems, &learned.tokens);
    learned.owners.is_called_after(appliance, other) || stems(judge, appliance).any(here)
}

/// Whether rows have a word of a room's own name: those that they were only seen to use for it may be of something else.
fn is_named(judge: Judge<'_>, stem: Stem, room: u32) -> bool {
    judge.learned.owners.is_plainly_named(stem, room, &judge.learned.stems, &judge.learned.tokens)
}

/// How often each of several things comes with each of others, and the others that nearly always come with one.
fn usual<K: Copy + Eq + Hash>(
    pairs: impl Iterator<Item = (K, u32)>,
    fewest: u32,
) -> FxHashMap<K, (u32, u32)> {
    let mut counts: FxHashMap<(K, u32), u32> = FxHashMap::default();
    let mut totals: FxHashMap<K, u32> = FxHashMap::default();
    for (key, with) in pairs {
        *counts.entry((key, with)).or_default() += 1;
        *totals.entry(key).or_default() += 1;
    }
    let nearly_all = |key: &K, count: u32| {
        let of = totals.get(key).copied().unwrap_or(0);
        count >= fewest && of - count <= (of / OF_EACH).max(1)
    };
    counts
        .into_iter()
        .filter(|((key, _), count)| nearly_all(key, *count))
        .map(|((key, with), count)| (key, (with, count)))
        .collect()
}

/// A main group of a bus, or a middle group of it.
type Block = (u32, u8, Option<u8>);

fn blocks_of(bus: u32, address: GroupAddress) -> [Block; 2] {
    [(bus, address.main(), Some(address.middle())), (bus, address.main(), None)]
}

/// Which room has which block, on the buses that are numbered by rooms.
struct Blocks {
    owner: FxHashMap<Block, (u32, u32)>,
    /// For each appliance the room among whose addresses all of its own lie, with how many are there.
    home: Vec<Option<(u32, u32)>>,
    /// For each room how many appliances lie among its own.
    kept: FxHashMap<u32, u32>,
}

impl Blocks {
    fn of(judge: Judge<'_>) -> Self {
        let count = judge.plan.appliances.len();
        let pairs = (0..count).flat_map(|appliance| {
            let mut all: Vec<Block> =
                own(judge, appliance).flat_map(|wired| blocks_of(wired.bus, wired.address)).collect();
            all.sort_unstable();
            all.dedup();
            let room = room(judge, appliance);
            all.into_iter().filter_map(move |block| Some((block, room?)))
        });
        let owner = usual(pairs, BLOCK);
        let mut blocks = Self { owner, home: Vec::new(), kept: FxHashMap::default() };
        blocks.home = (0..count).map(|appliance| blocks.home_of(judge, appliance)).collect();
        blocks.forget_other_schemes(judge);
        for (appliance, home) in blocks.home.iter().enumerate() {
            if let (Some((home, _)), Some(room)) = (home, room(judge, appliance))
                && *home == room
            {
                *blocks.kept.entry(room).or_default() += 1;
            }
        }
        blocks
    }

    fn home_of(&self, judge: Judge<'_>, appliance: usize) -> Option<(u32, u32)> {
        let owner = |wired: &Wired| {
            blocks_of(wired.bus, wired.address).iter().find_map(|block| self.owner.get(block)).copied()
        };
        let mut owners = own(judge, appliance).map(owner);
        let first = owners.next()??;
        owners.all(|owner| owner.is_some_and(|(room, _)| room == first.0)).then_some(first)
    }

    /// On a bus that is numbered by something else than rooms a block says nothing.
    fn forget_other_schemes(&mut self, judge: Judge<'_>) {
        let mut counts = vec![(0_u32, 0_u32, 0_u32); judge.plan.buses.len()];
        for ((home, appliance), index) in self.home.iter().zip(&judge.plan.appliances).zip(0..) {
            let Some((all, kept, other)) = counts.get_mut(appliance.bus) else { continue };
            *all += u32::from(own(judge, index).next().is_some());
            let is_own = home.map(|(room, _)| room == narrow(appliance.room));
            *kept += u32::from(is_own == Some(true));
            *other += u32::from(is_own == Some(false));
        }
        let by_rooms = |(all, kept, other): &(u32, u32, u32)| {
            *kept >= HOUSE && kept * 3 >= all * 2 && *other <= kept / OF_EACH
        };
        for (home, appliance) in self.home.iter_mut().zip(&judge.plan.appliances) {
            if !counts.get(appliance.bus).is_some_and(by_rooms) {
                *home = None;
            }
        }
    }

    fn astray(&self, judge: Judge<'_>, appliance: usize) -> Option<Astray> {
        let (home, there) = self.home.get(appliance).copied().flatten()?;
        let here = self.kept.get(&room(judge, appliance)?).copied().unwrap_or(0);
        let stray = home != room(judge, appliance)? && here >= OTHERS && !may_be_here(judge, appliance, home);
        stray.then_some(Astray::Block { room: home, there, here })
    }
}

/// How many appliances have rows that name their room.
struct Rows {
    said: Vec<Option<u32>>,
    counts: FxHashMap<(u32, u32), u32>,
    kept: u32,
    of: u32,
}

impl Rows {
    fn of(judge: Judge<'_>) -> Self {
        let said: Vec<Option<u32>> = (0..judge.plan.appliances.len())
            .map(|appliance| super::elsewhere::room_said(judge, appliance))
            .collect();
        let mut rows = Self { said, counts: FxHashMap::default(), kept: 0, of: 0 };
        for (appliance, said) in judge.plan.appliances.iter().zip(&rows.said) {
            let Some(said) = *said else { continue };
            let here = narrow(appliance.room);
            *rows.counts.entry((here, said)).or_default() += 1;
            rows.of += 1;
            rows.kept += u32::from(here == said);
        }
        rows
    }

    fn astray(&self, judge: Judge<'_>, appliance: usize) -> Option<Astray> {
        let (room, here) = (self.said.get(appliance).copied().flatten()?, room(judge, appliance)?);
        let count = |here: u32, said: u32| self.counts.get(&(here, said)).copied().unwrap_or(0);
        let habit = self.kept >= HOUSE && self.of - self.kept <= self.of / OF_EACH;
        let lone = count(here, room) == 1 && count(here, here) == 0 && count(room, room) >= OTHERS;
        let named = || stems(judge, appliance).all(|stem| is_named(judge, stem, room));
        let stray = room != here && habit && lone && named() && !may_be_here(judge, appliance, room);
        stray.then_some(Astray::Rows { room, kept: self.kept, of: self.of })
    }
}

/// Words of rows that stand for a floor.
struct Floors {
    /// The floor of each room, by a number.
    of_room: Vec<Option<u32>>,
    of_word: FxHashMap<Word, (u32, u32)>,
    /// For each room how many appliances have the word of their floor in all rows.
    kept: FxHashMap<u32, u32>,
    /// A room of each floor that says it.
    room: FxHashMap<u32, u32>,
}

impl Floors {
    fn of(judge: Judge<'_>) -> Self {
        let mut known: FxHashMap<&str, u32> = FxHashMap::default();
        let of_room = judge.plan.rooms.iter().map(|room| {
            let floor = room.floor.as_ref()?.value.trim();
            let next = narrow(known.len());
            Some(*known.entry(floor).or_insert(next))
        });
        let mut floors = Self {
            of_room: of_room.collect(),
            of_word: FxHashMap::default(),
            kept: FxHashMap::default(),
            room: FxHashMap::default(),
        };
        if known.len() < 2 {
            return floors;
        }
        let count = judge.plan.appliances.len();
        let pairs = (0..count).flat_map(|appliance| {
            let floor = floors.floor(judge, appliance);
            common(judge, appliance).into_iter().filter_map(move |word| Some((word, floor?)))
        });
        // A word of one room is that room's, whatever floor it is on.
        let of_rooms = (0..count).flat_map(|appliance| {
            let room = room(judge, appliance);
            common(judge, appliance).into_iter().filter_map(move |word| Some((word, room?)))
        });
        let of_one_room = usual(of_rooms, 1);
        floors.of_word = usual(pairs, FLOOR);
        floors.of_word.retain(|word, _| !of_one_room.contains_key(word));
        for appliance in 0..count {
            let said = floors.said(judge, appliance);
            if let (Some(room), Some(said)) = (room(judge, appliance), said)
                && floors.floor(judge, appliance) == Some(said)
            {
                *floors.kept.entry(room).or_default() += 1;
                floors.room.entry(said).or_insert(room);
            }
        }
        floors
    }

    fn floor(&self, judge: Judge<'_>, appliance: usize) -> Option<u32> {
        self.of_room.get(room(judge, appliance)? as usize).copied().flatten()
    }

    /// The one floor whose word stands in all rows of an appliance.
    fn said(&self, judge: Judge<'_>, appliance: usize) -> Option<u32> {
        let words = common(judge, appliance);
        let mut floors = words.iter().filter_map(|word| self.of_word.get(word)).map(|(floor, _)| *floor);
        let first = floors.next()?;
        floors.all(|floor| floor == first).then_some(first)
    }

    /// Whether an appliance has the word of a floor in its own name: the upper light of a stair.
    fn is_called_so(&self, judge: Judge<'_>, appliance: usize) -> bool {
        let learned = judge.learned;
        let says = |word: &Word| self.of_word.contains_key(word);
        let words = common(judge, appliance);
        words
            .iter()
            .filter(|word| says(word))
            .any(|word| learned.owners.is_own(*word, appliance, &learned.tokens))
    }

    fn astray(&self, judge: Judge<'_>, appliance: usize) -> Option<Astray> {
        let (said, own) = (self.said(judge, appliance)?, self.floor(judge, appliance)?);
        let here = self.kept.get(&room(judge, appliance)?).copied().unwrap_or(0);
        let room = self.room.get(&said).copied()?;
        let stray = said != own
            && here >= OTHERS
            && !may_be_here(judge, appliance, room)
            && !self.is_called_so(judge, appliance);
        stray.then_some(Astray::Floor { room, here })
    }
}

/// The words that all rows of an appliance have.
fn common(judge: Judge<'_>, appliance: usize) -> Vec<Word> {
    let words = |stem: Stem| judge.learned.stems.words(stem);
    let mut stems = stems(judge, appliance);
    let Some(first) = stems.next() else { return Vec::new() };
    let mut common = words(first).to_vec();
    stems.for_each(|stem| common.retain(|word| words(stem).contains(word)));
    common
}
