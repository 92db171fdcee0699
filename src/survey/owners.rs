//! Whose a row is: the words of rows against the names of appliances and rooms.
//!
//! An appliance is known by the words of its name, its key and its room. A word of a row fits when it is one of them, a
//! short form of one, a word that the house's own rows use for that room, or one that the trade does.

use super::called::{Called, RoomWords, each_once, joined};
use super::numbers::{Lists, PARTS};
use super::places::Places;
use super::stems::{Stem, Stems};
use super::taught::{Said, taught};
use super::tokens::{PerWord, Tokens, Word, begins, is_short_for};
use super::vocabulary::Vocabulary;
use super::wires::{Wires, narrow};
use crate::pieces;

/// A word of so many appliances' rows that fits few of their names says nothing.
const NOISE: u32 = 6;

/// How well a short form fits.
const SHORT: f64 = 0.8;

/// How well the beginning of a word does.
const BEGINNING: f64 = 0.95;

/// A stem names one appliance better than another from this difference on.
pub(super) const TELLING: f64 = 0.05;

/// Owners looked at that have as many rows of a stem.
const MOST_OWNERS: usize = 8;

/// Stems looked at for an appliance whose own rows do not name it.
const MOST_STEMS: usize = 96;

/// The words of all appliances and rooms.
#[derive(Debug, Default)]
pub(super) struct Owners {
    /// Words of each appliance's name and room: what a row should have.
    core: Lists<Word>,
    /// Further words it is known by: of its key and its room's key.
    more: Lists<Word>,
    room: Vec<u32>,
    rooms: Vec<RoomWords>,
    /// Which room's name has a word.
    named: PerWord<Named>,
    /// Words that the house's rows use for one room.
    learned: PerWord<Option<u32>>,
    /// Words of rows all over the house that fit no name: floors, parts of the building, cabinets.
    noise: PerWord<bool>,
    /// What the words of the trade say of each word: rooms and floors, ours.
    places: Places,
    /// Which appliance most rows of a stem belong to, by stem and bus.
    owner: Lists<(u32, u32)>,
    /// Stems by each of their words, those of a bus side by side.
    index: Lists<(u32, Stem)>,
}

/// How many rooms are called by a word.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Named {
    #[default]
    None,
    One(u32),
    Several,
}

impl Named {
    fn one(self) -> Option<u32> {
        match self {
            Self::One(room) => Some(room),
            Self::None | Self::Several => None,
        }
    }
}

impl Owners {
    pub(super) fn of(
        called: Called,
        wires: &Wires,
        stems: &Stems,
        tokens: &Tokens,
        vocabulary: &Vocabulary,
    ) -> Self {
        let mut owners = Self { named: PerWord::new(tokens.len()), ..Self::default() };
        for (room, index) in called.rooms.iter().zip(0u32..) {
            for word in joined(&room.name, &room.short) {
                owners.named.change(word, |named| {
                    *named = if *named == Named::None { Named::One(index) } else { Named::Several };
                });
            }
        }
        let empty = RoomWords::default();
        let room = |index: usize| {
            called.room.get(index).and_then(|room| called.rooms.get(*room as usize)).unwrap_or(&empty)
        };
        let count = called.room.len();
        owners.core = Lists::made(count, Vec::new, |words, index, list| {
            words.extend_from_slice(called.names.of(index));
            words.extend_from_slice(&room(index).name);
            list.extend(each_once(words));
        });
        owners.more = Lists::made(count, Vec::new, |words, index, list| {
            // Keys are numbered to be unique in the house; tables are not.
            let key = called.keys.of(index).iter().copied();
            words.extend(key.filter(|word| !tokens.text(*word).contains('#')));
            words.extend_from_slice(&room(index).more);
            list.extend(each_once(words));
        });
        (owners.room, owners.rooms) = (called.room, called.rooms);
        let ((learned, index), (places, wired)) = rayon::join(
            || {
                rayon::join(
                    || {
                        let said = Said::of(&owners.rooms, tokens);
                        taught(&said, &owners.room, wires, stems, |word| owners.named.of(word).one())
                    },
                    || index(stems, tokens.len()),
                )
            },
            || rayon::join(|| Places::of(tokens, vocabulary), || wired(wires, stems)),
        );
        (owners.learned, owners.index, owners.places) = (learned, index, places);
        owners.hush(wires, stems, tokens);
        owners.owner = owners.find_owners(&wired, stems, tokens);
        owners
    }

    /// Finds the words that say nothing of whose a row is.
    fn hush(&mut self, wires: &Wires, stems: &Stems, tokens: &Tokens) {
        let owners = &*self;
        let count = owners.core.len();
        let counted = pieces::ranges(count, count.div_ceil(PARTS), |range| {
            let (mut counts, mut words) = (PerWord::<(u32, u32)>::new(tokens.len()), Vec::new());
            for appliance in range {
                let (_, own) = wires.of_appliance(appliance);
                let names = [owners.core.of(appliance), owners.more.of(appliance)];
                words.clear();
                let own = own.iter().filter(|wired| !wired.shared);
                for stem in own.filter_map(|wired| stems.stem(wired.bus, wired.row?)) {
                    words.extend_from_slice(stems.words(stem));
                }
                words.sort_unstable();
                words.dedup();
                for &word in &words {
                    let fits = owners.fits(word, appliance, &names, tokens) > 0.0;
                    counts.change(word, |(all, fit)| {
                        *all += 1;
                        *fit += u32::from(fits);
                    });
                }
            }
            counts
        });
        let sum = |own: &mut (u32, u32), other: (u32, u32)| *own = (own.0 + other.0, own.1 + other.1);
        let counts = counted.into_iter().reduce(|one, other| one.merged(&other, sum)).unwrap_or_default();
        let says_nothing = |(word, _): (Word, &str)| {
            let (all, fit) = counts.of(word);
            all >= NOISE && fit * 5 <= all && owners.learned.of(word).is_none()
        };
        self.noise = PerWord::with(tokens.words().map(says_nothing).collect());
    }

    /// Whose each stem is, by bus.
    fn find_owners(&self, wired: &Lists<(u32, u32)>, stems: &Stems, tokens: &Tokens) -> Lists<(u32, u32)> {
        // Of several that have as many, the one that the stem names best.
        let most = |stem: Stem, owners: &[(u32, u32)]| {
            let owners = || owners.chunk_by(|a, b| a == b);
            let best = owners().map(<[_]>::len).max()?;
            let mut best = owners().filter(|own| own.len() == best).filter_map(|own| Some(own.first()?.1));
            let (first, second) = (best.next()?, best.next());
            let Some(second) = second else { return Some(first) };
            let mut likest = (f64::MIN, None);
            for owner in [first, second].into_iter().chain(best).take(MOST_OWNERS) {
                let likeness = self.likeness(stem, owner as usize, stems, tokens);
                if likeness > likest.0 + TELLING {
                    likest = (likeness, Some(owner));
                } else if likeness > likest.0 - TELLING {
                    likest = (likeness.max(likest.0), None);
                }
            }
            likest.1
        };
        Lists::made(
            stems.len(),
            || (),
            |(), number, list| {
                let of_bus = wired.of(number).chunk_by(|a, b| a.0 == b.0);
                let stem = Stem::numbered(number);
                list.extend(of_bus.filter_map(|own| Some((own.first()?.0, most(stem, own)?))));
            },
        )
    }

    /// The appliance that most rows of a stem belong to.
    pub(super) fn owner(&self, bus: u32, stem: Stem) -> Option<u32> {
        self.owner.of(stem.index()).iter().find(|(own, _)| *own == bus).map(|(_, owner)| *owner)
    }

    /// How well a stem names an appliance, from 0 to 1.
    pub(super) fn likeness(&self, stem: Stem, appliance: usize, stems: &Stems, tokens: &Tokens) -> f64 {
        let words = stems.words(stem);
        let (core, more) = (self.core.of(appliance), self.more.of(appliance));
        let telling = words.iter().filter(|word| !self.noise.of(**word));
        let hit: f64 = telling.map(|word| self.fits(*word, appliance, &[core, more], tokens)).sum();
        let covered: f64 = core.iter().map(|own| self.covered(*own, appliance, words, tokens)).sum();
        #[allow(clippy::cast_precision_loss, reason = "names have a few words")]
        let all = (words.iter().filter(|word| !self.noise.of(**word)).count() + core.len()) as f64;
        if all == 0.0 { 0.0 } else { (hit + covered) / all }
    }

    /// How well a row's word fits one of an appliance's.
    fn fits(&self, word: Word, appliance: usize, own: &[&[Word]], tokens: &Tokens) -> f64 {
        if own.iter().any(|own| own.binary_search(&word).is_ok()) {
            return 1.0;
        }
        if let (Some(learned), Some(room)) = (self.learned.of(word), self.room.get(appliance)) {
            return if learned == *room { 1.0 } else { 0.0 };
        }
        let all = own.iter().copied().flatten();
        all.map(|other| self.alike(word, *other, tokens)).fold(0.0, f64::max)
    }

    /// Whether a row's word may be one of an appliance's.
    pub(super) fn is_own(&self, word: Word, appliance: usize, tokens: &Tokens) -> bool {
        self.fits(word, appliance, &[self.core.of(appliance), self.more.of(appliance)], tokens) > 0.0
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
            self.learned
                .of(**word)
                .zip(self.room.get(appliance))
                .is_none_or(|(learned, room)| learned == *room)
        };
        words.iter().filter(here).map(|word| self.alike(own, *word, tokens)).fold(0.0, f64::max)
    }

    /// How well two words that are not the same stand for each other.
    fn alike(&self, one: Word, other: Word, tokens: &Tokens) -> f64 {
        // Nearly all words begin differently, and a word is no short form of one that does.
        if !tokens.begin_alike(one, other) {
            return if self.places.are_shared(one, other) { SHORT } else { 0.0 };
        }
        let (a, b) = (tokens.text(one), tokens.text(other));
        if begins(a, b) || begins(b, a) {
            BEGINNING
        } else if self.places.are_shared(one, other) || is_short_for(a, b) || is_short_for(b, a) {
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
            a == b || self.places.are_shared(*a, *b) || is_short_for(short, long) || is_short_for(long, short)
        };
        one.iter().all(|a| other.iter().any(|b| like(a, b)))
            && other.iter().all(|b| one.iter().any(|a| like(a, b)))
    }

    /// The one room of the house that a stem speaks of; none where it speaks of none, or of several.
    pub(super) fn room_said(&self, stem: Stem, stems: &Stems) -> Option<u32> {
        let said = |word: &Word| self.learned.of(*word).or_else(|| self.named.of(*word).one());
        let mut rooms = stems.words(stem).iter().filter_map(said);
        let first = rooms.next()?;
        rooms.all(|room| room == first).then_some(first)
    }

    /// The words of a row but those that say a room.
    pub(super) fn besides(&self, words: &[Word], room: u32) -> Vec<Word> {
        let said = |word: &Word| self.learned.of(*word).or_else(|| self.named.of(*word).one());
        words.iter().filter(|word| said(word) != Some(room)).copied().collect()
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
        let is_said = |room: &u32| stems.words(stem).iter().any(|word| self.says_room(*word, *room, tokens));
        self.room.get(appliance).is_none_or(is_said) || self.is_called_after(appliance, other)
    }

    /// The words of the name of each room.
    pub(super) fn room_names(&self) -> impl Iterator<Item = (&[Word], u32)> {
        self.rooms.iter().map(|room| room.name.as_slice()).zip(0u32..)
    }

    /// The one room that is called by a word.
    pub(super) fn named_after(&self, word: Word) -> Option<u32> {
        self.named.of(word).one()
    }

    /// What the key of a room says: -1 where it has a word of the room's own name, 1 where it has one of another room's.
    pub(super) fn key_says(&self, room: usize, other: usize) -> i32 {
        let (Some(own), Some(other)) = (self.rooms.get(room), self.rooms.get(other)) else { return 0 };
        let has = |name: &[Word]| i32::from(own.more.iter().any(|word| name.contains(word)));
        has(&other.name) - has(&own.name)
    }

    /// Whether words speak of an appliance's own room.
    pub(super) fn say_own_room(&self, words: &[Word], appliance: usize, tokens: &Tokens) -> bool {
        let room = self.room.get(appliance);
        room.is_some_and(|room| words.iter().any(|word| self.says_room(*word, *room, tokens)))
    }

    /// Whether a stem has a word that may be one of a room's name or key, and of no floor.
    pub(super) fn is_plainly_named(&self, stem: Stem, room: u32, stems: &Stems, tokens: &Tokens) -> bool {
        let mut telling = stems.words(stem).iter().filter(|word| !self.places.is_floor(**word));
        telling.any(|word| self.says_room(*word, room, tokens))
    }

    /// Whether a word may be one of a room's name or key.
    fn says_room(&self, word: Word, room: u32, tokens: &Tokens) -> bool {
        let Some(room) = self.rooms.get(room as usize) else { return true };
        // The "room" of "Dining room" says nothing where there is a "Games room" too.
        let telling = |own: &&Word| !room.floor.contains(own) && self.named.of(**own) != Named::Several;
        let mut own = room.name.iter().chain(&room.more).filter(telling);
        own.any(|own| *own == word || self.alike(word, *own, tokens) > 0.0)
    }

    /// Whether an appliance has a word of another room in its name that its own room has not.
    pub(super) fn is_called_after(&self, appliance: usize, other: u32) -> bool {
        let name = |room: u32| self.rooms.get(room as usize).map_or(&[][..], |room| room.name.as_slice());
        let own = self.room.get(appliance).map_or(&[][..], |room| name(*room));
        let core = self.core.of(appliance);
        name(other).iter().any(|word| core.contains(word) && !own.contains(word))
    }

    /// Stems that have a word of an appliance's own, those of its rarest words first.
    pub(super) fn stems_like(&self, bus: u32, appliance: usize) -> Vec<Stem> {
        let own = [self.core.of(appliance), self.more.of(appliance)].into_iter().flatten();
        let of_bus = |word: &Word| {
            let all = self.index.of(word.index());
            let (start, end) =
                (all.partition_point(|entry| entry.0 < bus), all.partition_point(|entry| entry.0 <= bus));
            all.get(start..end).unwrap_or_default()
        };
        let mut lists: Vec<&[(u32, Stem)]> = own.map(of_bus).filter(|list| !list.is_empty()).collect();
        lists.sort_by_key(|list| list.len());
        let mut stems = Vec::new();
        for list in lists {
            if stems.len() + list.len() > MOST_STEMS {
                break;
            }
            stems.extend(list.iter().map(|(_, stem)| *stem));
        }
        stems.sort_unstable();
        stems.dedup();
        stems
    }
}

/// Stems by each of their words, those of a bus side by side.
fn index(stems: &Stems, words: usize) -> Lists<(u32, Stem)> {
    let mut index = Lists::grouped(words, || {
        let stems = stems.stems().map(|(stem, bus)| (stem, bus, stems.words(stem)));
        stems.flat_map(|(stem, bus, words)| words.iter().map(move |word| (narrow(word.index()), (bus, stem))))
    });
    index.sort_each();
    index
}

/// The bus and the appliance of each wire whose row has a stem, those of one bus and appliance side by side.
fn wired(wires: &Wires, stems: &Stems) -> Lists<(u32, u32)> {
    let mut wired = Lists::grouped(stems.len(), || {
        let wires = wires.all.iter().filter(|wired| !wired.shared);
        wires.filter_map(|wired| {
            Some((narrow(stems.stem(wired.bus, wired.row?)?.index()), (wired.bus, wired.appliance)))
        })
    });
    wired.sort_each();
    wired
}
