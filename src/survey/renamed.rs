//! Rooms that have each other's names: the rows of each speak of the other one, and its key does not say that the name is
//! right. Where it does, the addresses are wrong.

use super::marks::Judge;
use super::names::heard;
use super::suspects::Suspect;
use super::tokens::Word;
use super::wires::{Wired, narrow};
use crate::pieces;
use crate::resolve::plan::Row;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

/// So many appliances of one of the two rooms say what it is called.
const FEWEST: u32 = 3;

/// Of so many appliances of a room with rows that speak of a room, one may speak of a third.
const OF_EACH: u32 = 5;

/// A word of so many letters may be the beginning of a longer one.
const SHORTEST: usize = 3;

/// Pairs of rooms with each other's names, by their indices in the plan, the earlier one first. Of rooms with
/// suspects only those whose keys say the same as the rows.
pub(super) fn find(judge: Judge<'_>, suspects: &[Suspect]) -> Vec<(usize, usize)> {
    let mut of_room = vec![(0_u32, 0_u32); judge.plan.rooms.len()];
    let mut others: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    let names = Names::of(&judge);
    let mut by_beginning: FxHashSet<(u32, u32)> = FxHashSet::default();
    let said = pieces::flat(judge.plan.appliances.len(), pieces::LIGHT, |range, said| {
        let mut begun = FxHashMap::default();
        said.extend(range.map(|index| names.said(judge, index, &mut begun)));
    });
    for (appliance, (said, is_whole)) in judge.plan.appliances.iter().zip(said) {
        let Some((own, strange)) = of_room.get_mut(appliance.room) else { continue };
        let here = narrow(appliance.room);
        if said.contains(&here) {
            *own += 1;
        } else if !said.is_empty() {
            *strange += 1;
            for room in said {
                *others.entry((here, room)).or_default() += 1;
                if !is_whole {
                    by_beginning.insert((here.min(room), here.max(room)));
                }
            }
        }
    }
    let speaks_of = |here: u32, there: u32| {
        let (own, strange) = of_room.get(here as usize).copied().unwrap_or_default();
        let count = others.get(&(here, there)).copied().unwrap_or(0);
        (own == 0 && (strange - count) * OF_EACH <= strange).then_some(count)
    };
    let both = |(here, there): &(u32, u32)| {
        let counts = speaks_of(*here, *there).zip(speaks_of(*there, *here));
        here < there && counts.is_some_and(|(one, other)| one.min(other) > 0 && one.max(other) >= FEWEST)
    };
    let owners = &judge.learned.owners;
    let wires = suspects.iter().flat_map(Suspect::wires);
    let with_suspects: FxHashSet<usize> =
        wires.filter_map(|wire| judge.appliance(wire)).map(|one| one.room).collect();
    let told = |room: usize| with_suspects.contains(&room);
    let keys_agree =
        |here: usize, there: usize| match owners.key_says(here, there) + owners.key_says(there, here) {
            0 => !told(here) && !told(there) && !by_beginning.contains(&(narrow(here), narrow(there))),
            said => said > 0,
        };
    let pairs = others.keys().filter(|pair| both(pair));
    let pairs = pairs.map(|(here, there)| (*here as usize, *there as usize));
    let mut pairs: Vec<(usize, usize)> = pairs.filter(|(here, there)| keys_agree(*here, *there)).collect();
    pairs.sort_unstable();
    pairs
}

/// The rooms of these pairs.
pub(super) fn rooms(pairs: &[(usize, usize)]) -> FxHashSet<usize> {
    pairs.iter().flat_map(|(one, other)| [*one, *other]).collect()
}

/// The names of the rooms, to look up what rows say.
struct Names<'a> {
    /// Each room by its whole name as it is heard; none where several have it.
    whole: FxHashMap<String, Option<u32>>,
    /// The words of the names in order, each with its number and its room.
    words: Vec<(&'a str, &'a str, u32)>,
}

impl<'a> Names<'a> {
    fn of(judge: &'a Judge<'a>) -> Self {
        let rooms = || judge.plan.rooms.iter().zip(0u32..);
        let mut whole: FxHashMap<String, Option<u32>> = FxHashMap::default();
        for (room, index) in rooms() {
            let entry = whole.entry(heard(&room.name.value));
            entry.and_modify(|first| *first = None).or_insert(Some(index));
        }
        let of_room = |(words, index): (&'a [Word], u32)| {
            let texts = words.iter().map(|word| judge.learned.tokens.text(*word));
            let parted = texts.map(|text| text.split_once('#').unwrap_or((text, "")));
            parted.map(move |(text, number)| (number, text, index))
        };
        let mut words: Vec<_> = judge.learned.owners.room_names().flat_map(of_room).collect();
        words.par_sort_unstable();
        Self { whole, words }
    }

    /// The rooms that the first row of an appliance speaks of, each once: those whose names have a word of it that no other
    /// room is called by, or the one that the table has it in; and whether they do so with whole words. Where there is none, a
    /// word counts that one room's name begins with: the "Sov 2" of "Sovrum 2".
    ///
    /// `begun` holds what was found of words before.
    fn said(
        &self,
        judge: Judge<'_>,
        appliance: usize,
        begun: &mut FxHashMap<Word, Option<u32>>,
    ) -> (Vec<u32>, bool) {
        let learned = judge.learned;
        let (_, own) = judge.wires.of_appliance(appliance);
        let mut rows = own.iter().filter(|wired| !wired.shared);
        let Some((wired, row)) = rows.find_map(|wired| Some((wired, wired.row?))) else {
            return (Vec::new(), true);
        };
        let words = learned.stems.row(wired.bus, row);
        let named = words.iter().filter_map(|word| learned.owners.named_after(*word));
        let mut said: Vec<u32> = named.chain(self.listed(judge, wired, row)).collect();
        let is_whole = !said.is_empty();
        if !is_whole {
            let mut begun_with = |word: &Word| {
                *begun.entry(*word).or_insert_with(|| self.begun_with(learned.tokens.text(*word)))
            };
            said.extend(words.iter().filter_map(&mut begun_with));
        }
        said.sort_unstable();
        said.dedup();
        (said, is_whole)
    }

    /// The room that the table has a row in.
    fn listed(&self, judge: Judge<'_>, wired: &Wired, row: u32) -> Option<u32> {
        let row: &Row = judge.table(wired)?.rows.get(row as usize)?;
        let listed = &row.room.as_ref()?.value;
        let here = judge.plan.appliances.get(wired.appliance as usize)?.room;
        if judge.plan.rooms.get(here).is_some_and(|room| *room.name.value == **listed) {
            return Some(narrow(here));
        }
        self.whole.get(&heard(listed)).copied().flatten()
    }

    /// The one room with a name that a folded word begins a word of.
    fn begun_with(&self, word: &str) -> Option<u32> {
        let (text, number) = word.split_once('#').unwrap_or((word, ""));
        if text.len() < SHORTEST {
            return None;
        }
        let start = self.words.partition_point(|(own, begun, _)| (*own, *begun) < (number, text));
        let begun = self.words.iter().skip(start);
        let mut begun = begun.take_while(|(own, begun, _)| *own == number && begun.starts_with(text));
        let (.., room) = begun.next()?;
        begun.all(|(.., other)| other == room).then_some(*room)
    }
}
