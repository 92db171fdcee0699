//! Names of an address table: which words say what a row is for, and which say whose it is.
//!
//! Rows of one appliance share the words that say whose they are ("Kitchen pendant") and differ in those that say what
//! for ("switch", "status"). Which is which is counted: a word that stands in most rows of an appliance names it; one
//! that, in several appliances, stands in some of them only names a function. What is left of a row without its function
//! words is its stem; the function words together are its call.

use super::tokens::{Tokens, Word, is_short_for};
use super::vocabulary::Vocabulary;
use super::wires::{Wires, narrow};
use crate::resolve::Plan;
use crate::resolve::plan::Appliance;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

/// A word that names a function does so in this many appliances, unless the trade knows it: one that stands in one row of
/// an appliance only may be there by mistake.
const FEWEST: u32 = 3;

/// A stem of more rows than this names no appliance: tables in which all rows are called alike.
const MOST_ROWS: usize = 64;

/// The words that say whose a row is, as one number: rows of one appliance have the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Stem(u32);

/// The words that say what a row is for, as one number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Call(u32);

/// What the names of the tables say, by bus and row.
#[derive(Debug, Default)]
pub(super) struct Stems {
    rows: Vec<Vec<Vec<Word>>>,
    stems: Vec<Vec<Option<Stem>>>,
    calls: Vec<Vec<Option<Call>>>,
    stem_words: Vec<Vec<Word>>,
    call_words: Vec<Vec<Word>>,
    functions: FxHashSet<Word>,
    /// Function words that also name some appliances: the step of "step lights".
    both: FxHashSet<Word>,
    of_stem: FxHashMap<(u32, Stem), Vec<u32>>,
}

/// An appliance's own words: of its name, its key and its room.
struct Called {
    words: Vec<Word>,
}

impl Called {
    /// Those of every appliance of a plan.
    fn all(plan: &Plan, tokens: &mut Tokens) -> Vec<Self> {
        let names: Vec<String> = plan
            .appliances
            .par_iter()
            .map(|appliance| {
                let room = plan.rooms.get(appliance.room);
                let room = room.map_or(["", ""], |room| [room.name.value.as_str(), room.key.value.as_str()]);
                [appliance.name.value.as_str(), appliance.key.value.as_str(), room[0], room[1]].join(" ")
            })
            .collect();
        let words = tokens.of_each(names.par_iter().map(String::as_str));
        words.into_iter().map(|words| Self { words }).collect()
    }

    fn is(&self, word: Word) -> bool {
        self.words.binary_search(&word).is_ok()
    }

    /// Whether a word is one of them, or a short form of one.
    fn is_like(&self, word: Word, tokens: &Tokens) -> bool {
        let text = tokens.text(word);
        self.is(word) || self.words.iter().any(|own| is_short_for(text, tokens.text(*own)))
    }
}

/// Whether the trade knows a word for one of an appliance's points: the "on" of "Desk lamp on" and "Desk lamp on,
/// status" stands in all of its rows and still does not name it.
fn says_point(word: &str, appliance: &Appliance, vocabulary: &Vocabulary) -> bool {
    let known = vocabulary.of(word).map_or(&[][..], |meaning| meaning.points.as_slice());
    known.iter().any(|known| appliance.points.iter().any(|point| known == point.name(appliance)))
}

impl Stems {
    /// Reads the names of a plan's tables.
    pub(super) fn of(plan: &Plan, wires: &Wires, tokens: &mut Tokens, vocabulary: &Vocabulary) -> Self {
        let rows = plan
            .buses
            .iter()
            .map(|bus| {
                let rows = bus.table.as_ref().map_or(&[][..], |table| &table.rows);
                tokens.of_each(rows.par_iter().map(|row| &*row.name.value))
            })
            .collect();
        let mut stems = Self { rows, ..Self::default() };
        stems.count(plan, wires, tokens, vocabulary);
        stems.sort_rows();
        stems
    }

    fn row(&self, bus: u32, row: u32) -> &[Word] {
        self.rows.get(bus as usize).and_then(|rows| rows.get(row as usize)).map_or(&[], Vec::as_slice)
    }

    /// Counts which words name appliances and which name functions.
    fn count(&mut self, plan: &Plan, wires: &Wires, tokens: &mut Tokens, vocabulary: &Vocabulary) {
        let mut in_all: FxHashMap<Word, u32> = FxHashMap::default();
        let mut in_some: FxHashMap<Word, u32> = FxHashMap::default();
        let called = Called::all(plan, tokens);
        for ((appliance, called), index) in plan.appliances.iter().zip(&called).zip(0..) {
            let (_, own) = wires.of_appliance(index);
            let rows: Vec<&[Word]> = own
                .iter()
                .filter_map(|wired| Some(self.row(wired.bus, wired.row?)))
                .filter(|row| !row.is_empty())
                .collect();
            if rows.len() < 2 {
                continue;
            }
            let mut words: Vec<Word> = rows.iter().flat_map(|row| row.iter().copied()).collect();
            words.sort_unstable();
            for group in words.chunk_by(|a, b| a == b) {
                let Some(&word) = group.first() else { continue };
                let says_point = || !called.is(word) && says_point(tokens.text(word), appliance, vocabulary);
                if group.len() * 2 <= rows.len() || says_point() {
                    *in_some.entry(word).or_default() += 1;
                } else if rows.len() > 2 || called.is_like(word, tokens) {
                    // Two rows may well share a word for what they are for: "lamp on/off", "lamp on/off status".
                    *in_all.entry(word).or_default() += 1;
                }
            }
        }
        let trade = |word: Word| {
            let known = vocabulary.of(tokens.text(word));
            known.is_some_and(|meaning| meaning.status || !meaning.points.is_empty())
        };
        self.functions = in_some
            .iter()
            .filter(|(word, some)| **some > in_all.get(word).copied().unwrap_or(0))
            .filter(|(word, some)| **some >= FEWEST || trade(**word))
            .map(|(word, _)| *word)
            .collect();
        // What is too rare to be counted is what the trade says, unless something in the house is called so.
        let names: FxHashSet<Word> = called.iter().flat_map(|called| called.words.iter().copied()).collect();
        let unseen = tokens.words().map(|(word, _)| word).filter(|word| {
            !in_all.contains_key(word) && !in_some.contains_key(word) && !names.contains(word) && trade(*word)
        });
        self.functions.extend(unseen);
        self.both = self.functions.iter().copied().filter(|word| in_all.contains_key(word)).collect();
    }

    /// Function words of a row that name its appliance there: without them the row has a call that is far commoner, and
    /// all rows of that stem have them.
    fn naming(&self) -> FxHashMap<(u32, u32), Vec<Word>> {
        let mut naming = FxHashMap::default();
        if self.both.is_empty() {
            return naming;
        }
        let mut calls: FxHashMap<Vec<Word>, u32> = FxHashMap::default();
        #[allow(clippy::type_complexity, reason = "rows with their calls, by bus and stem")]
        let mut of_stem: FxHashMap<(u32, Vec<Word>), Vec<(u32, Vec<Word>)>> = FxHashMap::default();
        for (rows, bus) in self.rows.iter().zip(0u32..) {
            for (words, row) in rows.iter().zip(0u32..) {
                let (call, stem) = self.parted(words);
                *calls.entry(call.clone()).or_default() += 1;
                if call.iter().any(|word| self.both.contains(word)) {
                    of_stem.entry((bus, stem)).or_default().push((row, call));
                }
            }
        }
        let count = |call: &[Word]| calls.get(call).copied().unwrap_or(0);
        let names = |call: &[Word], word: Word| {
            let rest: Vec<Word> = call.iter().copied().filter(|other| *other != word).collect();
            !rest.is_empty() && count(&rest) >= 4 * count(call)
        };
        #[allow(clippy::iter_over_hash_type, reason = "each is settled by itself: the order does not show")]
        for ((bus, _), rows) in of_stem {
            let mut words: Vec<Word> = rows.iter().flat_map(|(_, call)| call.iter().copied()).collect();
            words.sort_unstable();
            words.dedup();
            for word in words.into_iter().filter(|word| self.both.contains(word)) {
                let has = || rows.iter().filter(|(_, call)| call.contains(&word));
                if has().all(|(_, call)| names(call, word)) {
                    for (row, _) in has() {
                        naming.entry((bus, *row)).or_insert_with(Vec::new).push(word);
                    }
                }
            }
        }
        naming
    }

    /// The function words of a row, and the others.
    fn parted(&self, words: &[Word]) -> (Vec<Word>, Vec<Word>) {
        words.iter().copied().partition(|word| self.functions.contains(word))
    }

    fn sort_rows(&mut self) {
        let naming = self.naming();
        let mut stems: FxHashMap<Vec<Word>, Stem> = FxHashMap::default();
        let mut calls: FxHashMap<Vec<Word>, Call> = FxHashMap::default();
        let (mut call, mut stem) = (Vec::new(), Vec::new());
        for (rows, bus) in self.rows.iter().zip(0u32..) {
            let (mut own_stems, mut own_calls) =
                (Vec::with_capacity(rows.len()), Vec::with_capacity(rows.len()));
            for (words, row) in rows.iter().zip(0u32..) {
                let own = naming.get(&(bus, row)).map_or(&[][..], Vec::as_slice);
                call.clear();
                stem.clear();
                for &word in words {
                    let is_function = self.functions.contains(&word) && !own.contains(&word);
                    if is_function { &mut call } else { &mut stem }.push(word);
                }
                let known = stems.get(stem.as_slice()).copied();
                let stem = (!stem.is_empty()).then(|| {
                    known.unwrap_or_else(|| {
                        let next = Stem(narrow(self.stem_words.len()));
                        self.stem_words.push(stem.clone());
                        stems.insert(stem.clone(), next);
                        next
                    })
                });
                if let Some(stem) = stem {
                    self.of_stem.entry((bus, stem)).or_default().push(row);
                }
                own_stems.push(stem);
                let known = calls.get(call.as_slice()).copied();
                own_calls.push((!words.is_empty()).then(|| {
                    known.unwrap_or_else(|| {
                        let next = Call(narrow(self.call_words.len()));
                        self.call_words.push(call.clone());
                        calls.insert(call.clone(), next);
                        next
                    })
                }));
            }
            self.stems.push(own_stems);
            self.calls.push(own_calls);
        }
    }

    /// Whose a row is.
    pub(super) fn stem(&self, bus: u32, row: u32) -> Option<Stem> {
        self.stems.get(bus as usize)?.get(row as usize).copied().flatten()
    }

    /// What a row is for; none where it has no name.
    pub(super) fn call(&self, bus: u32, row: u32) -> Option<Call> {
        self.calls.get(bus as usize)?.get(row as usize).copied().flatten()
    }

    /// The words of a stem.
    pub(super) fn words(&self, stem: Stem) -> &[Word] {
        self.stem_words.get(stem.0 as usize).map_or(&[], Vec::as_slice)
    }

    /// Every call with its words.
    pub(super) fn calls(&self) -> impl Iterator<Item = (Call, &[Word])> {
        self.call_words.iter().zip(0u32..).map(|(words, call)| (Call(call), words.as_slice()))
    }

    /// The rows of one stem; none where it has so many that it names no appliance.
    pub(super) fn rows_of(&self, bus: u32, stem: Stem) -> &[u32] {
        let rows = self.of_stem.get(&(bus, stem)).filter(|rows| rows.len() <= MOST_ROWS);
        rows.map_or(&[], Vec::as_slice)
    }

    /// Every stem of a bus.
    pub(super) fn stems(&self) -> impl Iterator<Item = (u32, Stem)> {
        let mut all: Vec<(u32, Stem)> = self.of_stem.keys().copied().collect();
        all.sort_unstable();
        all.into_iter()
    }
}
