//! Whose a row is: the words of rows against the names of appliances and rooms.
//!
//! An appliance is known by the words of its name, its key and its room. A word of a row fits when it is one of them, a
//! short form of one, a word that the house's own rows use for that room, or one that the trade does.

use super::stems::{Stem, Stems};
use super::tokens::{Tokens, Word, begins, initials, is_short_for};
use super::vocabulary::Vocabulary;
use super::wires::{Wires, narrow};
use crate::resolve::Plan;
use crate::resolve::plan::Room;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

/// Rows of this many appliances teach a word for a room.
const FEWEST: usize = 3;

/// A word of so many appliances' rows that fits few of their names says nothing.
const NOISE: u32 = 6;

/// How well a short form fits.
const SHORT: f64 = 0.8;

/// How well the beginning of a word does.
const BEGINNING: f64 = 0.95;

/// A stem names one appliance better than another from this difference on.
const TELLING: f64 = 0.05;

/// Owners looked at that have as many rows of a stem.
const MOST_OWNERS: usize = 8;

/// Stems looked at for an appliance whose own rows do not name it.
const MOST_STEMS: usize = 96;

/// The words of a room.
#[derive(Debug, Default)]
struct RoomWords {
    /// Of its name.
    name: Vec<Word>,
    /// Of its key and its floor, and its short forms.
    more: Vec<Word>,
    /// Its initials.
    short: Vec<Word>,
    /// Of its floor.
    floor: Vec<Word>,
}

impl RoomWords {
    fn of(room: &Room, tokens: &mut Tokens) -> Self {
        let floor = room.floor.as_ref().map_or("", |floor| floor.value.as_str());
        let more = tokens.of(&format!("{} {floor}", room.key.value));
        let mut short = Vec::new();
        for form in initials(&room.name.value) {
            short.extend(tokens.of(&form));
        }
        let more = joined(more, &short);
        Self { name: tokens.of(&room.name.value), more, short, floor: tokens.of(floor) }
    }
}

/// The words of all appliances and rooms.
#[derive(Debug, Default)]
pub(super) struct Owners {
    /// Words of each appliance's name and room: what a row should have.
    core: Vec<Vec<Word>>,
    /// Further words it is known by: of its key and its room's key.
    more: Vec<Vec<Word>>,
    room: Vec<u32>,
    rooms: Vec<RoomWords>,
    /// Which room's name has a word, if only one has.
    named: FxHashMap<Word, Option<u32>>,
    /// Words that the house's rows use for one room.
    learned: FxHashMap<Word, u32>,
    /// Words of rows all over the house that fit no name: floors, parts of the building, cabinets.
    noise: FxHashSet<Word>,
    /// What the words of the trade say of each word: rooms and floors, ours.
    places: Vec<Vec<String>>,
    /// Which appliance most rows of a stem belong to.
    owner: FxHashMap<(u32, Stem), u32>,
    /// Stems by each of their words.
    index: FxHashMap<(u32, Word), Vec<Stem>>,
}

impl Owners {
    pub(super) fn of(
        plan: &Plan,
        wires: &Wires,
        stems: &Stems,
        tokens: &mut Tokens,
        vocabulary: &Vocabulary,
    ) -> Self {
        let rooms: Vec<RoomWords> = plan.rooms.iter().map(|room| RoomWords::of(room, tokens)).collect();
        let mut owners = Self { rooms, ..Self::default() };
        for (room, index) in owners.rooms.iter().zip(0u32..) {
            for word in joined(room.name.clone(), &room.short) {
                owners.named.entry(word).and_modify(|known| *known = None).or_insert(Some(index));
            }
        }
        let appliances = || plan.appliances.par_iter();
        let names = tokens.of_each(appliances().map(|appliance| appliance.name.value.as_str()));
        let keys = tokens.of_each(appliances().map(|appliance| appliance.key.value.as_str()));
        for ((appliance, name), mut key) in plan.appliances.iter().zip(names).zip(keys) {
            let empty = RoomWords::default();
            let room = owners.rooms.get(appliance.room).unwrap_or(&empty);
            owners.core.push(joined(name, &room.name));
            // Keys are numbered to be unique in the house; tables are not.
            key.retain(|word| !tokens.text(*word).contains('#'));
            owners.more.push(joined(key, &room.more));
            owners.room.push(narrow(appliance.room));
        }
        owners.learn(wires, stems);
        for (bus, stem) in stems.stems() {
            for &word in stems.words(stem) {
                owners.index.entry((bus, word)).or_default().push(stem);
            }
        }
        let places = |word| vocabulary.of(word).map_or_else(Vec::new, |meaning| meaning.places.clone());
        owners.places = tokens.texts().map(places).collect();
        owners.hush(wires, stems, tokens);
        owners.find_owners(plan, wires, stems, tokens);
        owners
    }

    /// Learns which words stand for a room: those in rows of several of its appliances and hardly anywhere else.
    fn learn(&mut self, wires: &Wires, stems: &Stems) {
        let mut counts: FxHashMap<Word, FxHashMap<u32, (u32, u32, u32)>> = FxHashMap::default();
        for wired in &wires.all {
            let stem = wired.row.and_then(|row| stems.stem(wired.bus, row));
            let Some(room) = self.room.get(wired.appliance as usize).copied() else { continue };
            for &word in stem.map_or(&[][..], |stem| stems.words(stem)) {
                let of_room = counts.entry(word).or_default().entry(room).or_insert((0, 0, u32::MAX));
                of_room.0 += 1;
                if of_room.2 != wired.appliance {
                    of_room.1 += 1;
                    of_room.2 = wired.appliance;
                }
            }
        }
        #[allow(clippy::iter_over_hash_type, reason = "each is settled by itself: the order does not show")]
        for (word, rooms) in counts {
            let all: u32 = rooms.values().map(|(rows, ..)| rows).sum();
            let most = rooms.iter().max_by_key(|(room, (rows, ..))| (*rows, std::cmp::Reverse(**room)));
            if let Some((&room, &(rows, appliances, _))) = most
                && appliances as usize >= FEWEST
                && rows * 5 >= all * 4
            {
                self.learned.insert(word, room);
            }
        }
    }

    /// Finds the words that say nothing of whose a row is.
    fn hush(&mut self, wires: &Wires, stems: &Stems, tokens: &Tokens) {
        let owners = &*self;
        let told = (0..owners.core.len()).into_par_iter().flat_map_iter(|appliance| {
            let (_, own) = wires.of_appliance(appliance);
            let names =
                [&owners.core, &owners.more].map(|words| words.get(appliance).map_or(&[][..], Vec::as_slice));
            let mut words: Vec<Word> = own
                .iter()
                .filter_map(|wired| stems.stem(wired.bus, wired.row?))
                .flat_map(|stem| stems.words(stem).iter().copied())
                .collect();
            words.sort_unstable();
            words.dedup();
            words.into_iter().map(move |word| (word, owners.fits(word, appliance, &names, tokens) > 0.0))
        });
        let mut counts: FxHashMap<Word, (u32, u32)> = FxHashMap::default();
        for (word, fits) in told.collect::<Vec<_>>() {
            let count = counts.entry(word).or_default();
            count.0 += 1;
            count.1 += u32::from(fits);
        }
        let says_nothing = |(_, (all, fit)): &(&Word, &(u32, u32))| *all >= NOISE && fit * 5 <= *all;
        self.noise = counts.iter().filter(says_nothing).map(|(word, _)| *word).collect();
        let learned = &self.learned;
        self.noise.retain(|word| !learned.contains_key(word));
    }

    fn find_owners(&mut self, plan: &Plan, wires: &Wires, stems: &Stems, tokens: &Tokens) {
        let mut counts: FxHashMap<(u32, Stem), Vec<(u32, u32)>> = FxHashMap::default();
        for appliance in 0..plan.appliances.len() {
            for wired in wires.of_appliance(appliance).1 {
                let Some(stem) = wired.row.and_then(|row| stems.stem(wired.bus, row)) else { continue };
                let of_stem = counts.entry((wired.bus, stem)).or_default();
                match of_stem.last_mut().filter(|(owner, _)| *owner == wired.appliance) {
                    Some((_, count)) => *count += 1,
                    None => of_stem.push((wired.appliance, 1)),
                }
            }
        }
        // Of several that have as many, the one that the stem names best.
        let most = |stem: Stem, owners: &[(u32, u32)]| {
            let best = owners.iter().map(|(_, count)| *count).max()?;
            let best = owners.iter().filter(|(_, count)| *count == best).map(|(owner, _)| *owner);
            let mut likest = (f64::MIN, None);
            for owner in best.take(MOST_OWNERS) {
                let likeness = self.likeness(stem, owner as usize, stems, tokens);
                if likeness > likest.0 + TELLING {
                    likest = (likeness, Some(owner));
                } else if likeness > likest.0 - TELLING {
                    likest = (likeness.max(likest.0), None);
                }
            }
            likest.1
        };
        self.owner = counts.iter().filter_map(|(&key, owners)| Some((key, most(key.1, owners)?))).collect();
    }

    /// The appliance that most rows of a stem belong to.
    pub(super) fn owner(&self, bus: u32, stem: Stem) -> Option<u32> {
        self.owner.get(&(bus, stem)).copied()
    }

    /// How well a stem names an appliance, from 0 to 1.
    pub(super) fn likeness(&self, stem: Stem, appliance: usize, stems: &Stems, tokens: &Tokens) -> f64 {
        let words = stems.words(stem);
        let core = self.core.get(appliance).map_or(&[][..], Vec::as_slice);
        let more = self.more.get(appliance).map_or(&[][..], Vec::as_slice);
        let telling = words.iter().filter(|word| !self.noise.contains(word));
        let hit: f64 = telling.map(|word| self.fits(*word, appliance, &[core, more], tokens)).sum();
        let covered: f64 = core.iter().map(|own| self.covered(*own, appliance, words, tokens)).sum();
        #[allow(clippy::cast_precision_loss, reason = "names have a few words")]
        let all = (words.iter().filter(|word| !self.noise.contains(word)).count() + core.len()) as f64;
        if all == 0.0 { 0.0 } else { (hit + covered) / all }
    }

    /// How well a row's word fits one of an appliance's.
    fn fits(&self, word: Word, appliance: usize, own: &[&[Word]], tokens: &Tokens) -> f64 {
        if own.iter().any(|own| own.binary_search(&word).is_ok()) {
            return 1.0;
        }
        if let (Some(learned), Some(room)) = (self.learned.get(&word), self.room.get(appliance)) {
            return if learned == room { 1.0 } else { 0.0 };
        }
        let all = own.iter().copied().flatten();
        all.map(|other| self.alike(word, *other, tokens)).fold(0.0, f64::max)
    }

    /// How well one of an appliance's words is found in a row.
    fn covered(&self, own: Word, appliance: usize, words: &[Word], tokens: &Tokens) -> f64 {
        if words.binary_search(&own).is_ok() {
            return 1.0;
        }
        let room = self.room.get(appliance).and_then(|room| self.rooms.get(*room as usize));
        let by_initials = |room: &RoomWords| {
            room.name.contains(&own) && room.short.iter().any(|short| words.contains(short))
        };
        if room.is_some_and(by_initials) {
            return BEGINNING;
        }
        let here = |word: &&Word| {
            self.learned.get(word).zip(self.room.get(appliance)).is_none_or(|(learned, room)| learned == room)
        };
        words.iter().filter(here).map(|word| self.alike(own, *word, tokens)).fold(0.0, f64::max)
    }

    /// How well two words that are not the same stand for each other.
    fn alike(&self, one: Word, other: Word, tokens: &Tokens) -> f64 {
        // Nearly all words begin differently, and a word is no short form of one that does.
        if !tokens.begin_alike(one, other) {
            return if self.same_place(one, other) { SHORT } else { 0.0 };
        }
        let (a, b) = (tokens.text(one), tokens.text(other));
        if begins(a, b) || begins(b, a) {
            BEGINNING
        } else if self.same_place(one, other) || is_short_for(a, b) || is_short_for(b, a) {
            SHORT
        } else {
            0.0
        }
    }

    /// Whether two stems are one in other spellings: each word of one has its like, or a short form of it, in the other.
    pub(super) fn is_kin(&self, one: Stem, other: Stem, stems: &Stems, tokens: &Tokens) -> bool {
        let (one, other) = (stems.words(one), stems.words(other));
        let like = |a: &Word, b: &Word| {
            let (short, long) = (tokens.text(*a), tokens.text(*b));
            a == b || self.same_place(*a, *b) || is_short_for(short, long) || is_short_for(long, short)
        };
        one.iter().all(|a| other.iter().any(|b| like(a, b)))
            && other.iter().all(|b| one.iter().any(|a| like(a, b)))
    }

    /// The one room of the house that a stem speaks of; none where it speaks of none, or of several.
    pub(super) fn room_said(&self, stem: Stem, stems: &Stems) -> Option<u32> {
        let said = |word: &Word| self.learned.get(word).copied().or_else(|| *self.named.get(word)?);
        let mut rooms = stems.words(stem).iter().filter_map(said);
        let first = rooms.next()?;
        rooms.all(|room| room == first).then_some(first)
    }

    /// Whether a stem may speak of an appliance's room, or the appliance is called after the other one.
    pub(super) fn may_be_here(
        &self,
        stem: Stem,
        appliance: usize,
        other: u32,
        stems: &Stems,
        tokens: &Tokens,
    ) -> bool {
        let room = self.room.get(appliance).and_then(|room| self.rooms.get(*room as usize));
        let Some(room) = room else { return true };
        // The "room" of "Dining room" says nothing where there is a "Games room" too.
        let telling = |word: &&Word| !room.floor.contains(word) && self.named.get(word) != Some(&None);
        let own: Vec<Word> = room.name.iter().chain(&room.more).filter(telling).copied().collect();
        let here = |word: &Word| own.iter().any(|own| own == word || self.alike(*word, *own, tokens) > 0.0);
        let core = self.core.get(appliance).map_or(&[][..], Vec::as_slice);
        let theirs = self.rooms.get(other as usize).map_or(&[][..], |other| other.name.as_slice());
        stems.words(stem).iter().any(here)
            || theirs.iter().any(|word| core.contains(word) && !room.name.contains(word))
    }

    fn same_place(&self, one: Word, other: Word) -> bool {
        let [one, other] =
            [one, other].map(|word| self.places.get(word.index()).map_or(&[][..], Vec::as_slice));
        one.iter().any(|place| other.contains(place))
    }

    /// Stems that have a word of an appliance's own, those of its rarest words first.
    pub(super) fn stems_like(&self, bus: u32, appliance: usize) -> Vec<Stem> {
        let own = [&self.core, &self.more].into_iter().filter_map(|words| words.get(appliance)).flatten();
        let mut lists: Vec<&Vec<Stem>> = own.filter_map(|word| self.index.get(&(bus, *word))).collect();
        lists.sort_by_key(|list| list.len());
        let mut stems = Vec::new();
        for list in lists {
            if stems.len() + list.len() > MOST_STEMS {
                break;
            }
            stems.extend(list.iter().copied());
        }
        stems.sort_unstable();
        stems.dedup();
        stems
    }
}

fn joined(mut words: Vec<Word>, more: &[Word]) -> Vec<Word> {
    words.extend_from_slice(more);
    words.sort_unstable();
    words.dedup();
    words
}
