//! Names of an address table: which words say what a row is for, and which say whose it is.
//!
//! Rows of one appliance share the words that say whose they are ("Kitchen pendant") and differ in those that say what
//! for ("switch", "status"). Which is which is counted: a word that stands in most rows of an appliance names it; one
//! that, in several appliances, stands in some of them only names a function. What is left of a row without its function words is its stem.

use super::names::heard;
use super::wires::{Kind, Wires, narrow};
use crate::resolve::Plan;
use rustc_hash::{FxHashMap, FxHashSet};

/// A word of the house's tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Word(u32);

/// The words that say whose a row is, as one number: rows of one appliance have the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Stem(u32);

/// What the names of the tables say, by bus and row.
#[derive(Debug, Default)]
pub struct Stems {
    known: FxHashMap<String, Word>,
    words: Vec<Vec<Vec<Word>>>,
    stems: Vec<Vec<Option<Stem>>>,
    functions: FxHashSet<Word>,
    rows: FxHashMap<(u32, Stem), Vec<u32>>,
    usual: FxHashMap<Kind, FxHashMap<Word, u32>>,
    of_kind: FxHashMap<Kind, u32>,
}

impl Stems {
    /// Reads the names of a plan's tables.
    pub fn of(plan: &Plan, wires: &Wires) -> Self {
        let mut interner: FxHashMap<String, Word> = FxHashMap::default();
        let words: Vec<Vec<Vec<Word>>> = plan
            .buses
            .iter()
            .map(|bus| {
                let rows = bus.table.iter().flat_map(|table| &table.rows);
                rows.map(|row| words_of(&row.name.value, &mut interner)).collect()
            })
            .collect();
        let mut stems = Self { words, known: interner, ..Self::default() };
        stems.count(plan, wires);
        stems.sort_rows();
        stems
    }

    fn row(&self, bus: u32, row: u32) -> &[Word] {
        self.words.get(bus as usize).and_then(|rows| rows.get(row as usize)).map_or(&[], Vec::as_slice)
    }

    /// Counts which words name appliances and which name functions.
    fn count(&mut self, plan: &Plan, wires: &Wires) {
        let mut in_all: FxHashMap<Word, u32> = FxHashMap::default();
        let mut in_some: FxHashMap<Word, u32> = FxHashMap::default();
        for appliance in 0..plan.appliances.len() {
            let (_, own) = wires.of_appliance(appliance);
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
                let counter = if group.len() * 2 > rows.len() { &mut in_all } else { &mut in_some };
                *counter.entry(word).or_default() += 1;
            }
        }
        self.functions = in_some
            .iter()
            .filter(|(word, some)| **some > in_all.get(word).copied().unwrap_or(0))
            .map(|(word, _)| *word)
            .collect();
        for wired in &wires.all {
            let Some(row) = wired.row else { continue };
            *self.of_kind.entry(wired.kind).or_default() += 1;
            let usual = self.usual.entry(wired.kind).or_default();
            let words = self.words.get(wired.bus as usize).and_then(|rows| rows.get(row as usize));
            for word in words.into_iter().flatten().filter(|word| self.functions.contains(word)) {
                *usual.entry(*word).or_default() += 1;
            }
        }
    }

    fn sort_rows(&mut self) {
        let mut known: FxHashMap<Vec<Word>, Stem> = FxHashMap::default();
        for (rows, bus) in self.words.iter().zip(0u32..) {
            let mut of_bus = Vec::with_capacity(rows.len());
            for (words, row) in rows.iter().zip(0u32..) {
                let mut own: Vec<Word> =
                    words.iter().copied().filter(|word| !self.functions.contains(word)).collect();
                own.sort_unstable();
                let next = Stem(narrow(known.len()));
                let stem = (!own.is_empty()).then(|| *known.entry(own).or_insert(next));
                if let Some(stem) = stem {
                    self.rows.entry((bus, stem)).or_default().push(row);
                }
                of_bus.push(stem);
            }
            self.stems.push(of_bus);
        }
    }

    /// How much of a row's words that say whose it is stand in a text, from 0 to 1; 0 where it has none.
    pub fn named_in(&self, bus: u32, row: u32, heard: &str) -> f64 {
        let spoken: Vec<Word> = heard.split(' ').filter_map(|word| self.known.get(word).copied()).collect();
        let own = self.row(bus, row).iter().filter(|word| !self.functions.contains(word));
        let (all, hit) =
            own.fold((0u32, 0u32), |(all, hit), word| (all + 1, hit + u32::from(spoken.contains(word))));
        if all == 0 { 0.0 } else { f64::from(hit) / f64::from(all) }
    }

    /// Whose a row is.
    pub fn stem(&self, bus: u32, row: u32) -> Option<Stem> {
        self.stems.get(bus as usize)?.get(row as usize).copied().flatten()
    }

    /// The rows of one stem.
    pub fn rows_of(&self, bus: u32, stem: Stem) -> &[u32] {
        self.rows.get(&(bus, stem)).map_or(&[], Vec::as_slice)
    }

    /// How well a row's function words fit a kind of wire, from 0 (such wires never have these words, or never go
    /// without others) to 1 (they always have just these).
    pub fn fit(&self, bus: u32, row: u32, kind: Kind) -> f64 {
        let all = f64::from(self.of_kind.get(&kind).copied().unwrap_or(0)).max(1.0);
        let Some(usual) = self.usual.get(&kind) else { return 0.0 };
        let share = |word: &Word| usual.get(word).map_or(0.0, |&count| f64::from(count) / all);
        let has = self.row(bus, row);
        let present = has.iter().filter(|word| self.functions.contains(word)).map(share).fold(1.0, f64::min);
        let mut missing: Vec<Word> = usual.keys().filter(|word| !has.contains(word)).copied().collect();
        missing.sort_unstable();
        present * missing.iter().map(|word| 1.0 - share(word)).fold(1.0, f64::min)
    }
}

fn words_of(name: &str, interner: &mut FxHashMap<String, Word>) -> Vec<Word> {
    let heard = heard(name);
    let mut words: Vec<Word> = heard
        .split(' ')
        .filter(|word| !word.is_empty())
        .map(|word| {
            let next = Word(narrow(interner.len()));
            *interner.entry(word.to_owned()).or_insert(next)
        })
        .collect();
    words.sort_unstable();
    words.dedup();
    words
}
