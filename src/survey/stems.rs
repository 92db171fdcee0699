//! Names of an address table: which words say what a row is for, and which say whose it is.
//!
//! Rows of one appliance share the words that say whose they are ("Kitchen pendant") and differ in those that say what
//! for ("switch", "status"). Which is which is counted: a word that stands in most rows of an appliance names it; one
//! that, in several appliances, stands in some of them only names a function. What is left of a row without its function
//! words is its stem; the function words together are its call.

use super::called::Called;
use super::numbers::{Lists, Numbered, PARTS};
use super::tokens::{PerWord, Tokens, Word, is_short_for};
use super::vocabulary::Vocabulary;
use super::wires::{Wires, narrow};
use crate::pieces;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Row};

/// A word that names a function does so in this many appliances, unless the trade knows it: one that stands in one row of
/// an appliance only may be there by mistake.
const FEWEST: u32 = 3;

/// A stem of more rows than this names no appliance: tables in which all rows are called alike.
const MOST_ROWS: usize = 64;

/// Rows that are sorted as one piece.
const PIECE: usize = 4096;

/// The words that say whose a row is, as one number: rows of one appliance have the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Stem(u32);

impl Stem {
    /// The one at a place among all stems.
    pub(super) fn numbered(place: usize) -> Self {
        Self(narrow(place))
    }

    /// Its place among all stems.
    pub(super) fn index(self) -> usize {
        self.0 as usize
    }
}

/// The words that say what a row is for, as one number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Call(u32);

impl Call {
    /// Its place among all calls.
    pub(super) fn index(self) -> usize {
        self.0 as usize
    }
}

/// What the names of the tables say. The rows of all buses stand one behind the other.
#[derive(Debug, Default)]
pub(super) struct Stems {
    /// Where the rows of each bus begin.
    first: Vec<u32>,
    rows: Lists<Word>,
    of_row: Vec<Split>,
    stems: Numbered<Vec<Word>>,
    calls: Numbered<Vec<Word>>,
    functions: PerWord<bool>,
    /// Function words that also name some appliances: the step of "step lights".
    both: PerWord<bool>,
    /// The rows of each stem, by bus.
    of_stem: Lists<(u32, u32)>,
}

/// Whose a row is and what for, as far as it has a name.
#[derive(Clone, Copy, Debug, Default)]
struct Split {
    stem: Option<Stem>,
    call: Option<Call>,
}

/// How often words stand in most rows of an appliance, and in some of them only.
#[derive(Debug)]
struct Counts {
    in_all: PerWord<u32>,
    in_some: PerWord<u32>,
}

impl Counts {
    fn new(words: usize) -> Self {
        Self { in_all: PerWord::new(words), in_some: PerWord::new(words) }
    }

    fn merged(self, other: &Self) -> Self {
        let sum = |own: &mut u32, other: u32| *own += other;
        Self {
            in_all: self.in_all.merged(&other.in_all, sum),
            in_some: self.in_some.merged(&other.in_some, sum),
        }
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
    pub(super) fn of(
        plan: &Plan,
        wires: &Wires,
        called: &Called,
        tokens: &mut Tokens,
        vocabulary: &Vocabulary,
    ) -> Self {
        let tables = plan.buses.iter().map(|bus| bus.table.as_ref().map_or(&[][..], |table| &table.rows));
        let tables: Vec<&[Row]> = tables.collect();
        let mut stems = Self { rows: tokens.of_all(&tables, |row| &*row.name.value), ..Self::default() };
        let mut next = 0;
        for table in tables {
            stems.first.push(narrow(next));
            next += table.len();
        }
        stems.find_functions(plan, wires, called, tokens, vocabulary);
        stems.split_rows();
        stems.group_rows();
        stems
    }

    /// The place of a row among those of all buses.
    fn place(&self, bus: u32, row: u32) -> Option<usize> {
        Some(*self.first.get(bus as usize)? as usize + row as usize)
    }

    /// The words of a row, sorted.
    pub(super) fn row(&self, bus: u32, row: u32) -> &[Word] {
        self.place(bus, row).map_or(&[], |place| self.rows.of(place))
    }

    /// Counts which words name appliances and which name functions.
    fn count(&self, plan: &Plan, wires: &Wires, called: &Called, trade: &Trade<'_>) -> Counts {
        let (words, appliances) = (trade.tokens.len(), &plan.appliances);
        let counted = pieces::ranges(appliances.len(), appliances.len().div_ceil(PARTS), |range| {
            let (mut counts, mut own) = (Counts::new(words), Vec::new());
            for (index, appliance) in range.filter_map(|index| Some((index, appliances.get(index)?))) {
                self.count_one(index, appliance, wires, called, trade, (&mut counts, &mut own));
            }
            counts
        });
        counted.into_iter().reduce(|one, other| one.merged(&other)).unwrap_or_else(|| Counts::new(words))
    }

    fn count_one(
        &self,
        index: usize,
        appliance: &Appliance,
        wires: &Wires,
        called: &Called,
        trade: &Trade<'_>,
        (counts, words): (&mut Counts, &mut Vec<Word>),
    ) {
        let (_, own) = wires.of_appliance(index);
        let rows = own.iter().filter_map(|wired| Some(self.row(wired.bus, wired.row?)));
        let (mut count, own) = (0, called.words(index));
        words.clear();
        for row in rows.filter(|row| !row.is_empty()) {
            words.extend_from_slice(row);
            count += 1;
        }
        if count < 2 {
            return;
        }
        words.sort_unstable();
        for group in words.chunk_by(|a, b| a == b) {
            let Some(&word) = group.first() else { continue };
            let is_own = own.iter().any(|own| own.binary_search(&word).is_ok());
            // A key is often made of what the thing does: the "front-lock" that people call "Front door".
            let is_named = called.words_said(index).iter().any(|own| own.binary_search(&word).is_ok());
            let says_point = || !is_named && says_point(trade.tokens.text(word), appliance, trade.vocabulary);
            let is_like = || {
                let text = trade.tokens.text(word);
                let mut own = own.iter().copied().flatten();
                is_own || own.any(|own| is_short_for(text, trade.tokens.text(*own)))
            };
            if group.len() * 2 <= count || says_point() {
                counts.in_some.change(word, |count| *count += 1);
            } else if count > 2 || is_like() {
                // Two rows may well share a word for what they are for: "lamp on/off", "lamp on/off status".
                counts.in_all.change(word, |count| *count += 1);
            }
        }
    }

    fn find_functions(
        &mut self,
        plan: &Plan,
        wires: &Wires,
        called: &Called,
        tokens: &Tokens,
        vocabulary: &Vocabulary,
    ) {
        let trade = Trade { tokens, vocabulary };
        let Counts { in_all, in_some } = self.count(plan, wires, called, &trade);
        // What is too rare to be counted is what the trade says, unless something in the house is called so.
        let mut names: PerWord<bool> = PerWord::new(tokens.len());
        let rooms = called.rooms.iter().flat_map(|room| [&room.name, &room.more]).flatten();
        for word in called.names.iter().chain(called.keys.iter()).flatten().chain(rooms) {
            names.change(*word, |name| *name = true);
        }
        self.functions = PerWord::new(tokens.len());
        self.both = PerWord::new(tokens.len());
        for (word, _) in tokens.words() {
            let (all, some) = (in_all.of(word), in_some.of(word));
            let counted = some > all && (some >= FEWEST || trade.knows(word));
            let unseen = all == 0 && some == 0 && !names.of(word) && trade.knows(word);
            self.functions.change(word, |function| *function = counted || unseen);
            self.both.change(word, |both| *both = counted && all > 0);
        }
    }

    /// The function words of a row, and the others.
    fn part(&self, row: usize, naming: &[Word], [call, stem]: [&mut Vec<Word>; 2]) {
        call.clear();
        stem.clear();
        for &word in self.rows.of(row) {
            let is_function = self.functions.of(word) && !naming.contains(&word);
            if is_function { &mut *call } else { &mut *stem }.push(word);
        }
    }

    /// Finds whose each row is and what for.
    fn split_rows(&mut self) {
        let parted = pieces::ranges(self.rows.len(), PIECE, |range| {
            let (mut stems, mut calls) = (Numbered::<Vec<Word>>::default(), Numbered::<Vec<Word>>::default());
            let (mut call, mut stem) = (Vec::new(), Vec::new());
            let split = range.map(|row| {
                self.part(row, &[], [&mut call, &mut stem]);
                let number = (!stem.is_empty()).then(|| stems.number(stem.as_slice()));
                let named = !stem.is_empty() || !call.is_empty();
                (number, named.then(|| calls.number(call.as_slice())))
            });
            let split: Vec<(Option<u32>, Option<u32>)> = split.collect();
            (split, stems, calls)
        });
        let (mut all_split, mut all_stems, mut all_calls) = (Vec::new(), Vec::new(), Vec::new());
        for (split, stems, calls) in parted {
            all_split.push(split);
            all_stems.push(stems);
            all_calls.push(calls);
        }
        let (stems, calls) = rayon::join(|| self.stems.take_in(all_stems), || self.calls.take_in(all_calls));
        let here = |numbers: &[u32], own: Option<u32>| numbers.get(own? as usize).copied();
        self.of_row = pieces::flat(all_split.len(), 1, |range, rows| {
            for at in range {
                let (Some(split), Some(stems), Some(calls)) =
                    (all_split.get(at), stems.get(at), calls.get(at))
                else {
                    continue;
                };
                rows.extend(split.iter().map(|&(stem, call)| Split {
                    stem: here(stems, stem).map(Stem),
                    call: here(calls, call).map(Call),
                }));
            }
        });
        let (mut call, mut stem) = (Vec::new(), Vec::new());
        for (row, naming) in self.naming() {
            self.part(row, &naming, [&mut call, &mut stem]);
            let stem = (!stem.is_empty()).then(|| Stem(self.stems.number(stem.as_slice())));
            let call = Some(Call(self.calls.number(call.as_slice())));
            self.of_row.get_mut(row).into_iter().for_each(|split| *split = Split { stem, call });
        }
    }

    /// Rows with function words that name an appliance there: without them the row has a call that is far commoner, and
    /// all rows of that stem have them.
    fn naming(&self) -> Vec<(usize, Vec<Word>)> {
        let mut counts = vec![0_u32; self.calls.all().len()];
        let calls = self.of_row.iter().filter_map(|split| split.call);
        calls.for_each(|call| counts.get_mut(call.index()).into_iter().for_each(|count| *count += 1));
        let words = |call: Call| self.calls.thing(call.0).map_or(&[][..], Vec::as_slice);
        let has_both = |call: Call| words(call).iter().any(|word| self.both.of(*word));
        let names = |call: Call, word: Word| {
            let rest: Vec<Word> = words(call).iter().copied().filter(|other| *other != word).collect();
            let count = |call: u32| counts.get(call as usize).copied().unwrap_or(0);
            !rest.is_empty()
                && self.calls.known(rest.as_slice()).is_some_and(|rest| count(rest) >= 4 * count(call.0))
        };
        let bus = |row: usize| self.first.partition_point(|first| *first as usize <= row);
        let mut rows: Vec<(usize, Option<Stem>, usize, Call)> =
            pieces::some(self.of_row.len(), PIECE, |row| {
                let split = self.of_row.get(row)?;
                Some((bus(row), split.stem, row, split.call.filter(|call| has_both(*call))?))
            });
        rows.sort_unstable();
        let mut naming: Vec<(usize, Vec<Word>)> = Vec::new();
        for rows in rows.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let mut own: Vec<Word> =
                rows.iter().flat_map(|(.., call)| words(*call).iter().copied()).collect();
            own.sort_unstable();
            own.dedup();
            own.retain(|&word| {
                let has = |call: Call| words(call).contains(&word);
                self.both.of(word) && rows.iter().all(|(.., call)| !has(*call) || names(*call, word))
            });
            for &(_, _, row, call) in rows {
                let here: Vec<Word> = own.iter().copied().filter(|word| words(call).contains(word)).collect();
                if !here.is_empty() {
                    naming.push((row, here));
                }
            }
        }
        naming
    }

    fn group_rows(&mut self) {
        let ends = self.first.iter().skip(1).map(|end| *end as usize).chain([self.of_row.len()]);
        let buses: Vec<(u32, std::ops::Range<usize>)> =
            (0u32..).zip(self.first.iter().zip(ends).map(|(first, end)| *first as usize..end)).collect();
        self.of_stem = Lists::grouped(self.stems.all().len(), || {
            buses.iter().flat_map(|(bus, range)| {
                let rows = self.of_row.get(range.clone()).unwrap_or_default();
                rows.iter().zip(0u32..).filter_map(|(split, row)| Some((split.stem?.0, (*bus, row))))
            })
        });
    }

    fn split(&self, bus: u32, row: u32) -> Split {
        self.place(bus, row).and_then(|place| self.of_row.get(place)).copied().unwrap_or_default()
    }

    /// Whose a row is.
    pub(super) fn stem(&self, bus: u32, row: u32) -> Option<Stem> {
        self.split(bus, row).stem
    }

    /// What a row is for; none where it has no name.
    pub(super) fn call(&self, bus: u32, row: u32) -> Option<Call> {
        self.split(bus, row).call
    }

    /// Whether a word says what rows are for.
    pub(super) fn is_function(&self, word: Word) -> bool {
        self.functions.of(word)
    }

    /// The words of a stem.
    pub(super) fn words(&self, stem: Stem) -> &[Word] {
        self.stems.thing(stem.0).map_or(&[], Vec::as_slice)
    }

    /// The words of every call, in the order of the numbers.
    pub(super) fn calls(&self) -> impl ExactSizeIterator<Item = &[Word]> {
        self.calls.all().map(Vec::as_slice)
    }

    /// The rows of one stem; none where it has so many that it names no appliance.
    pub(super) fn rows_of(&self, bus: u32, stem: Stem) -> impl ExactSizeIterator<Item = u32> {
        let all = self.of_stem.of(stem.index());
        let (start, end) = (all.partition_point(|row| row.0 < bus), all.partition_point(|row| row.0 <= bus));
        let rows = all.get(start..end).filter(|rows| rows.len() <= MOST_ROWS).unwrap_or_default();
        rows.iter().map(|(_, row)| *row)
    }

    /// Every stem with the buses whose tables have it.
    pub(super) fn stems(&self) -> impl Iterator<Item = (Stem, u32)> {
        self.of_stem.iter().zip(0u32..).flat_map(|(rows, stem)| {
            rows.chunk_by(|a, b| a.0 == b.0).filter_map(move |rows| Some((Stem(stem), rows.first()?.0)))
        })
    }

    /// How many stems there are.
    pub(super) fn len(&self) -> usize {
        self.stems.all().len()
    }
}

/// The words that the trade has for functions.
struct Trade<'a> {
    tokens: &'a Tokens,
    vocabulary: &'a Vocabulary,
}

impl Trade<'_> {
    fn knows(&self, word: Word) -> bool {
        let text = self.tokens.text(word);
        let known = self.vocabulary.of(text);
        // A word with a number tells two points of one appliance apart; elsewhere it numbers appliances: "PM 2".
        known.is_some_and(|meaning| meaning.status || (!meaning.points.is_empty() && !text.contains('#')))
    }
}
