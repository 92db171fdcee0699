//! What the words of the trade say of each word of a house: rooms and floors.

use super::numbers::{Lists, Numbered};
use super::tokens::{PerWord, Tokens, Word};
use super::vocabulary::Vocabulary;

/// Rooms and floors that words stand for.
#[derive(Debug, Default)]
pub(super) struct Places {
    /// A bit for each place of a word; places may share one.
    bits: PerWord<u64>,
    of_word: Lists<u32>,
    /// Words that may stand for a floor, whether or not for a room too: the cellar.
    floors: PerWord<bool>,
}

impl Places {
    /// What the words of the trade say of each word.
    pub(super) fn of(tokens: &Tokens, vocabulary: &Vocabulary) -> Self {
        let (mut numbers, mut of_word): (Numbered<String>, _) = (Numbered::default(), Lists::default());
        let mut bits = Vec::with_capacity(tokens.len());
        let mut floors = Vec::with_capacity(tokens.len());
        for text in tokens.texts() {
            let known = vocabulary.of(text).map_or(&[][..], |meaning| meaning.places.as_slice());
            floors.push(known.iter().any(|place| place.starts_with("floor ")));
            of_word.push(known.iter().map(|place| numbers.number(place.as_str())));
            let own = of_word.of(bits.len());
            bits.push(own.iter().fold(0, |bits, place| bits | 1 << (place % u64::BITS)));
        }
        Self { bits: PerWord::with(bits), of_word, floors: PerWord::with(floors) }
    }

    /// Whether two words may stand for the same place. Nearly all pairs share no bit.
    pub(super) fn are_shared(&self, one: Word, other: Word) -> bool {
        let of = |word: Word| self.of_word.of(word.index());
        self.bits.of(one) & self.bits.of(other) != 0 && of(one).iter().any(|place| of(other).contains(place))
    }

    /// Whether a word may stand for a floor.
    pub(super) fn is_floor(&self, word: Word) -> bool {
        self.floors.of(word)
    }
}
