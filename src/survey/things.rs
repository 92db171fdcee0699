//! Appliances that are called another thing than the one they are described as: a pump that is described as a light.
//!
//! The two are wired alike, so that no address and no datapoint type says so. All rows of the appliance must have the
//! word, in the place where it says what the thing is, and neither they nor its own name one of its own class.

use super::marks::Judge;
use super::tokens::{PerWord, Tokens, Word, split};
use super::wires::{Function, Wired, narrow};
use crate::classes::{Thing, things};
use crate::pieces;
use crate::resolve::plan::{Appliance, Role};
use rustc_hash::FxHashMap;
use std::sync::OnceLock;

/// Longer words count at the end of others too.
const SHORTEST: usize = 5;

/// An appliance that is called another thing.
#[derive(Clone, Copy, Debug)]
pub struct OtherThing {
    /// Index of the appliance in the plan.
    pub appliance: u32,
    /// Index of its first wire with a row in [`Wires::all`](super::Wires::all).
    pub wire: u32,
    /// What it is called.
    pub thing: &'static Thing,
    /// The word of the row that says so.
    pub word: &'static str,
    /// Whether its own name says so too.
    pub is_named: bool,
}

/// The words of a thing, folded as the words of a house are, each with how it is written in the table.
struct Folded {
    thing: &'static Thing,
    last: Vec<(String, &'static str)>,
    first: Vec<(String, &'static str)>,
    anywhere: Vec<(String, &'static str)>,
    none: Vec<(String, &'static str)>,
}

impl Folded {
    fn of(thing: &'static Thing) -> Self {
        let folded = |words: &'static [String]| {
            let folded = |word: &'static String| Some((split(word).into_iter().next()?, word.as_str()));
            words.iter().filter_map(folded).collect()
        };
        let (last, first, anywhere) = (folded(&thing.last), folded(&thing.first), folded(&thing.anywhere));
        Self { thing, last, first, anywhere, none: folded(&thing.none) }
    }

    fn all() -> &'static [Self] {
        static ALL: OnceLock<Vec<Folded>> = OnceLock::new();
        ALL.get_or_init(|| things().iter().map(Self::of).collect())
    }

    /// Whether a word is one of the thing's, wherever it stands.
    fn has(&self, word: &str) -> bool {
        self.words().any(|(own, _)| is_said(own, word))
    }

    fn words(&self) -> impl Iterator<Item = &(String, &'static str)> {
        [&self.last, &self.first, &self.anywhere].into_iter().flatten()
    }

    /// The word that says, in its place among these, that it is the thing; the last of them may only say what a row is for.
    fn said(&self, words: &[String], functions: usize) -> Option<&'static str> {
        if words.iter().any(|word| find_word(&self.none, word).is_some()) {
            return None;
        }
        let placed = |own: &[(String, &'static str)], word: Option<&String>| find_word(own, word?);
        let anywhere = words.iter().find_map(|word| find_word(&self.anywhere, word));
        let last = words.get(words.len().wrapping_sub(functions + 1));
        anywhere.or_else(|| placed(&self.last, last)).or_else(|| placed(&self.first, words.first()))
    }
}

fn find_word(own: &[(String, &'static str)], word: &str) -> Option<&'static str> {
    own.iter().find(|(own, _)| is_said(own, word)).map(|(_, written)| *written)
}

fn is_said(own: &str, word: &str) -> bool {
    own == word || (own.len() >= SHORTEST && word.ends_with(own))
}

/// Those of a plan, in its order, without appliances that something is `told` of.
pub(super) fn find(judge: Judge<'_>, told: impl Fn(u32) -> bool) -> Vec<OtherThing> {
    let mut of_class: FxHashMap<&str, (u32, u32)> = FxHashMap::default();
    for (thing, index) in Folded::all().iter().zip(0u32..) {
        let bit = 1_u32.checked_shl(index).unwrap_or(0);
        thing.thing.classes.iter().for_each(|class| of_class.entry(class).or_default().0 |= bit);
        thing.thing.taken_for.iter().for_each(|class| of_class.entry(class).or_default().1 |= bit);
    }
    let bits = bits(&judge.learned.tokens);
    let fault = judge.wires.function_named("fault", Role::Feedback);
    let found = pieces::some(judge.plan.appliances.len(), pieces::LIGHT, |index| {
        let appliance = judge.plan.appliances.get(index)?;
        let (own, others) = *of_class.get(appliance.class.value.name.as_str())?;
        other_thing(judge, index, appliance, (&bits, fault), (own, others))
    });
    found.into_iter().filter(|other| !told(other.appliance)).collect()
}

/// The things that each word of a house may be one of, a bit for each.
fn bits(tokens: &Tokens) -> PerWord<u32> {
    PerWord::with(tokens.texts().map(bits_of).collect())
}

/// The things that a word may be one of, a bit for each.
fn bits_of(word: &str) -> u32 {
    static KNOWN: OnceLock<FxHashMap<&str, u32>> = OnceLock::new();
    let known = KNOWN.get_or_init(|| {
        let mut known: FxHashMap<&str, u32> = FxHashMap::default();
        for (thing, index) in Folded::all().iter().zip(0u32..) {
            let bit = 1_u32.checked_shl(index).unwrap_or(0);
            thing.words().for_each(|(own, _)| *known.entry(own).or_default() |= bit);
        }
        known
    });
    let of = |word: &str| known.get(word).copied().unwrap_or(0);
    // Each ending is looked up, which takes less than to hold the word against all of them.
    let last = word.len().saturating_sub(SHORTEST);
    let endings = (1..=last).filter_map(|start| word.get(start..));
    endings.fold(of(word), |bits, ending| bits | of(ending))
}

/// The classes of the things that a name says, wherever in it.
pub fn classes_called(name: &str) -> Vec<&'static str> {
    let said = split(name).iter().fold(0, |said, word| said | bits_of(word));
    let things = things().iter().zip(0u32..);
    let said = things.filter(|(_, index)| said & 1_u32.checked_shl(*index).unwrap_or(0) != 0);
    said.flat_map(|(thing, _)| thing.classes.iter().map(String::as_str)).collect()
}

fn other_thing(
    judge: Judge<'_>,
    index: usize,
    appliance: &Appliance,
    (bits, fault): (&PerWord<u32>, Function),
    (own, others): (u32, u32),
) -> Option<OtherThing> {
    let (start, wires) = judge.wires.of_appliance(index);
    // What reports a fault need not say what else the thing is for.
    let has_row = |wired: &Wired| wired.row.is_some() && !wired.shared;
    let rows = || wires.iter().zip(start..).filter(|(wired, _)| has_row(wired) && wired.function != fault);
    let said = |wired: &Wired| {
        let words = judge.learned.stems.row(wired.bus, wired.row.unwrap_or(u32::MAX));
        words.iter().fold(0, |all, word| all | bits.of(*word))
    };
    // Nearly all rows say nothing, or their own thing.
    let mut common = rows().map(|(wired, _)| said(wired));
    let first = common.next().filter(|first| first & others != 0)?;
    let all = common.fold(first, |all, said| all & said);
    let any = wires.iter().filter(|wired| has_row(wired)).fold(0, |any, wired| any | said(wired));
    if all & others == 0 || any & own != 0 {
        return None;
    }
    let names = split(&appliance.name.value);
    let room = judge.plan.rooms.get(appliance.room).map(|room| split(&room.name.value)).unwrap_or_default();
    let has_own = |thing: &Folded| names.iter().any(|word| thing.has(word));
    let here = |bit: u32| all & others & 1_u32.checked_shl(bit).unwrap_or(0) != 0;
    let is_own = |bit: u32| own & 1_u32.checked_shl(bit).unwrap_or(0) != 0;
    let things = || Folded::all().iter().zip(0u32..);
    if things().any(|(thing, bit)| is_own(bit) && has_own(thing)) {
        return None;
    }
    let (_, wire) = rows().next()?;
    let mut found = things().filter(|(_, bit)| here(*bit)).filter_map(|(thing, _)| {
        let says = |(wired, _): (&Wired, usize)| {
            let (words, functions) = row_words(judge, wired);
            thing.said(&words, functions)
        };
        let word = says(rows().next()?)?;
        let is_room = room.iter().any(|word| thing.has(word));
        let plain = !is_room && rows().all(|row| says(row).is_some());
        let is_named = thing.said(&plain_words(&names), 0).is_some();
        let (appliance, wire, thing) = (narrow(index), narrow(wire), thing.thing);
        plain.then_some(OtherThing { appliance, wire, thing, word, is_named })
    });
    let first = found.next()?;
    found.all(|other| other.thing.classes == first.thing.classes).then_some(first)
}

/// The words of a row in order without numbers, and how many at its end say what it is for.
fn row_words(judge: Judge<'_>, wired: &Wired) -> (Vec<String>, usize) {
    let learned = judge.learned;
    let Some(row) = wired.row else { return (Vec::new(), 0) };
    let functions: Vec<&str> = learned
        .stems
        .row(wired.bus, row)
        .iter()
        .filter(|word: &&Word| learned.stems.is_function(**word))
        .map(|word| learned.tokens.text(*word))
        .collect();
    let name = judge.table(wired).and_then(|table| table.rows.get(row as usize));
    let words = split(name.map_or("", |row| &row.name.value));
    let words = plain_words(&words);
    let behind = words.iter().rev().take_while(|word| functions.contains(&word.as_str())).count();
    (words, behind)
}

fn plain_words(words: &[String]) -> Vec<String> {
    words.iter().filter(|word| !word.contains('#') && word.chars().nth(1).is_some()).cloned().collect()
}
