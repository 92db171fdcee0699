//! Which of the rows that nothing uses are worth a look first.

use super::Survey;
use super::vocabulary::{Meaning, Vocabulary};
use super::wires::narrow;
use crate::resolve::Plan;

impl Survey {
    /// So many of these rows of a bus's table: those that speak of a room of the house and are no central ones
    /// first, spare ones last.
    pub fn worth_a_look(
        &self,
        plan: &Plan,
        bus: usize,
        rows: impl Iterator<Item = u32>,
        count: usize,
    ) -> Vec<u32> {
        let vocabulary = Vocabulary::with(&plan.words);
        let (bus, learned) = (narrow(bus), &self.learned);
        // "Spare 2" is written with its number.
        let plain = |word: &'_ str| word.split_once('#').map_or(word, |(word, _)| word).to_owned();
        let says = |row: u32, what: fn(&Meaning) -> bool| {
            let mut words = learned.stems.row(bus, row).iter().map(|word| learned.tokens.text(*word));
            words.any(|word| vocabulary.of(&plain(word)).is_some_and(what))
        };
        let says_room = |row: u32| {
            let stem = learned.stems.stem(bus, row);
            stem.and_then(|stem| learned.owners.room_said(stem, &learned.stems)).is_some()
        };
        let [mut first, mut others, mut spare]: [Vec<u32>; 3] = Default::default();
        for row in rows {
            let kind = match row {
                row if says(row, |word| word.spare) => &mut spare,
                row if says_room(row) && !says(row, |word| word.central) => &mut first,
                _ => &mut others,
            };
            if kind.len() < count {
                kind.push(row);
            }
            if first.len() >= count {
                break;
            }
        }
        first.into_iter().chain(others).chain(spare).take(count).collect()
    }
}
