//! Words of names: of table rows, of appliances and of rooms, each as a number.
//!
//! A name is split where its writing changes (space, punctuation, capital after small letter, digit after letter);
//! umlauts are folded however they are written. A number goes with the word before it: the 2 of "Bedroom 2" is not the 2
//! of "Lamp 2".

use super::names::heard;
use super::numbers::{Lists, Numbered};
use crate::pieces;

/// Bytes of a name that are taken apart: as many as commissioning software gives a name (from memory). What comes behind them
/// in a longer one is prose, and each of its words would be kept for the whole house.
const LONGEST: usize = 255;

/// Names that are taken apart as one piece.
const PIECE: usize = 4096;

/// A word of a house.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Word(u32);

impl Word {
    /// Its place among [`Tokens::texts`].
    pub(super) fn index(self) -> usize {
        self.0 as usize
    }
}

/// All words of a house.
#[derive(Debug, Default)]
pub(super) struct Tokens {
    words: Numbered<String>,
    /// The first letter of each.
    initials: Vec<Option<char>>,
}

impl Tokens {
    /// The words of a name, sorted, each once.
    pub(super) fn of(&mut self, name: &str) -> Vec<Word> {
        let mut words = Vec::new();
        Parting::default().name(name, |word| words.push(Word(self.words.number(word))));
        self.add_initials();
        words.sort_unstable();
        words.dedup();
        words
    }

    /// The words of the name of each thing, as [`Tokens::of`] gives them, taken apart in parallel.
    pub(super) fn of_each<N: Sync>(&mut self, things: &[N], name: impl Fn(&N) -> &str + Sync) -> Lists<Word> {
        self.of_all(&[things], name)
    }

    /// The same for several runs of things, one behind the other.
    pub(super) fn of_all<N: Sync>(&mut self, runs: &[&[N]], name: impl Fn(&N) -> &str + Sync) -> Lists<Word> {
        let chunks: Vec<&[N]> = runs.iter().flat_map(|things| things.chunks(PIECE)).collect();
        let parted = pieces::each(chunks.len(), 1, |at| {
            let things = chunks.get(at).copied().unwrap_or_default();
            let (mut words, mut parting, mut own) = (Numbered::default(), Parting::default(), Vec::new());
            let mut lists = Lists::with_room(things.len(), things.len());
            for thing in things {
                parting.name(name(thing), |word| own.push(words.number(word)));
                lists.push(own.drain(..));
            }
            (words, lists)
        });
        let (numbered, parted): (Vec<Numbered<String>>, Vec<Lists<u32>>) = parted.into_iter().unzip();
        let numbers = self.words.take_in(numbered);
        self.add_initials();
        let lists = pieces::each(parted.len(), 1, |at| {
            let Some((parted, numbers)) = parted.get(at).zip(numbers.get(at)) else {
                return Lists::default();
            };
            let (mut lists, mut words) = (Lists::with_room(parted.len(), parted.items()), Vec::new());
            for own in parted.iter() {
                words.extend(own.iter().filter_map(|own| numbers.get(*own as usize)).map(|word| Word(*word)));
                words.sort_unstable();
                words.dedup();
                lists.push(words.drain(..));
            }
            lists
        });
        Lists::joined(lists)
    }

    fn add_initials(&mut self) {
        let new = self.words.all().skip(self.initials.len());
        self.initials.extend(new.map(|text| text.chars().next()));
    }

    /// How many words there are.
    pub(super) fn len(&self) -> usize {
        self.initials.len()
    }

    /// How every word is written, in the order of their numbers.
    pub(super) fn texts(&self) -> impl Iterator<Item = &str> {
        self.words.all().map(String::as_str)
    }

    /// Every word with how it is written.
    pub(super) fn words(&self) -> impl Iterator<Item = (Word, &str)> {
        self.texts().zip(0u32..).map(|(text, index)| (Word(index), text))
    }

    /// Whether two words begin with the same letter.
    pub(super) fn begin_alike(&self, one: Word, other: Word) -> bool {
        self.initials.get(one.index()) == self.initials.get(other.index())
    }

    /// How a word is written, folded.
    pub(super) fn text(&self, word: Word) -> &str {
        self.words.thing(word.0).map_or("", String::as_str)
    }
}

/// Something for each word of a house.
#[derive(Clone, Debug, Default)]
pub(super) struct PerWord<T>(Vec<T>);

impl<T: Copy + Default> PerWord<T> {
    /// The same for each of so many words.
    pub(super) fn new(count: usize) -> Self {
        Self(vec![T::default(); count])
    }

    /// What each word has, in the order of their numbers.
    pub(super) fn with(each: Vec<T>) -> Self {
        Self(each)
    }

    pub(super) fn of(&self, word: Word) -> T {
        self.0.get(word.index()).copied().unwrap_or_default()
    }

    pub(super) fn change(&mut self, word: Word, change: impl FnOnce(&mut T)) {
        self.0.get_mut(word.index()).map(change);
    }

    /// Puts two together, word by word.
    pub(super) fn merged(mut self, other: &Self, merge: impl Fn(&mut T, T)) -> Self {
        self.0.iter_mut().zip(&other.0).for_each(|(own, other)| merge(own, *other));
        self
    }
}

/// A heard word without its umlauts, whether they are written as dots or as an `e`.
pub(super) fn fold(heard: &str) -> String {
    let mut folded = String::with_capacity(heard.len());
    fold_into(heard, &mut folded);
    folded
}

fn fold_into(heard: &str, folded: &mut String) {
    let mut before = ' ';
    for letter in heard.chars() {
        // `aee` is `ae`: the second `e` is one of its own.
        if letter == 'e' && matches!(before, 'a' | 'o' | 'u') {
            before = ' ';
            continue;
        }
        folded.push(letter);
        before = letter;
    }
}

/// The folded words of a name, in order.
pub(super) fn split(name: &str) -> Vec<String> {
    let mut words = Vec::new();
    Parting::default().name(name, |word| words.push(word.to_owned()));
    words
}

/// Takes names apart, one after the other.
#[derive(Default)]
struct Parting {
    /// The last word that is no number, folded.
    last: String,
    /// Whether it waits for what comes next: the K of "K1" stands for nothing without its number.
    waits: bool,
    /// The number before the first word, and how many there are.
    leading: String,
    leading_count: u32,
    /// A word with its number.
    numbered: String,
    /// A word in small letters.
    small: String,
}

impl Parting {
    /// Gives the folded words of a name, in order.
    fn name(&mut self, name: &str, mut give: impl FnMut(&str)) {
        self.last.clear();
        self.leading_count = 0;
        self.waits = false;
        let name = name.get(..name.floor_char_boundary(LONGEST)).unwrap_or(name);
        if name.is_ascii() {
            self.plain_name(name.as_bytes(), &mut give);
        } else {
            self.any_name(name, &mut give);
        }
        if self.waits {
            give(&self.last);
        }
    }

    fn any_name(&mut self, name: &str, give: &mut impl FnMut(&str)) {
        let mut spaced = String::with_capacity(name.len() + 8);
        let mut before: Option<char> = None;
        for letter in name.chars() {
            let turn = before.is_some_and(|before| {
                (before.is_lowercase() && letter.is_uppercase())
                    || (before.is_alphabetic() && letter.is_numeric())
                    || (before.is_numeric() && letter.is_alphabetic())
            });
            if turn {
                spaced.push(' ');
            }
            spaced.push(letter);
            before = Some(letter);
        }
        // The sign says which of two values it is; punctuation says nothing.
        let heard =
            if spaced.contains('%') { heard(&spaced.replace('%', " percent ")) } else { heard(&spaced) };
        for word in heard.split(' ').filter(|word| !word.is_empty()) {
            self.word(word, give);
        }
    }

    /// [`Parting::any_name`] where nothing has to be looked up in tables of letters.
    fn plain_name(&mut self, name: &[u8], give: &mut impl FnMut(&str)) {
        let mut word = std::mem::take(&mut self.small);
        let mut before = b' ';
        for &letter in name {
            let turn = (before.is_ascii_lowercase() && letter.is_ascii_uppercase())
                || before.is_ascii_digit() != letter.is_ascii_digit();
            if !word.is_empty() && (turn || !letter.is_ascii_alphanumeric()) {
                self.word(&word, give);
                word.clear();
            }
            if letter.is_ascii_alphanumeric() {
                word.push(char::from(letter.to_ascii_lowercase()));
            } else if letter == b'%' {
                self.word("percent", give);
            }
            before = letter;
        }
        if !word.is_empty() {
            self.word(&word, give);
            word.clear();
        }
        self.small = word;
    }

    /// The next word of a name, as it is heard.
    fn word(&mut self, word: &str, give: &mut impl FnMut(&str)) {
        let is_number = word.chars().all(char::is_numeric);
        if is_number && self.last.is_empty() {
            self.leading.clear();
            self.leading.push_str(word);
            self.leading_count += 1;
            return;
        }
        if is_number {
            self.give_numbered(word, give);
            self.waits = false;
            return;
        }
        if self.waits {
            give(&self.last);
        }
        let first = self.last.is_empty();
        self.last.clear();
        fold_into(word, &mut self.last);
        // The 1 of "1. OG"; several are an address or a running number.
        if first && self.leading_count == 1 {
            let number = std::mem::take(&mut self.leading);
            self.give_numbered(&number, give);
            self.leading = number;
        }
        self.waits = self.last.chars().nth(1).is_none();
        if !self.waits {
            give(&self.last);
        }
    }

    /// A number goes with the word before it.
    fn give_numbered(&mut self, number: &str, give: &mut impl FnMut(&str)) {
        self.numbered.clear();
        self.numbered.extend([self.last.as_str(), "#", number]);
        give(&self.numbered);
    }
}

/// Whether one folded word is the beginning of the other, of three letters at least.
pub(super) fn begins(short: &str, long: &str) -> bool {
    let (Some((short, one)), Some((long, other))) = (short.split_once('#'), long.split_once('#')) else {
        return short.len() >= 3 && long.starts_with(short) && !long.contains('#');
    };
    one == other && short.len() >= 3 && long.starts_with(short)
}

/// The short forms of a name of several words: its initials, with words of up to three letters whole or not. "GWC" and
/// "GW" for "Gäste-WC", "MB" for "main bedroom".
pub(super) fn initials(name: &str) -> Vec<String> {
    let heard = heard(name);
    let words: Vec<String> = heard.split(' ').filter(|word| !word.is_empty()).map(fold).collect();
    if !(2..=5).contains(&words.len()) || words.iter().any(|word| word.chars().all(char::is_numeric)) {
        return Vec::new();
    }
    let mut forms = vec![String::new()];
    for word in &words {
        let initial: String = word.chars().take(1).collect();
        let short = word.chars().count() <= 3;
        forms = forms
            .iter()
            .flat_map(|form| [Some(format!("{form}{initial}")), short.then(|| format!("{form}{word}"))])
            .flatten()
            .collect();
    }
    forms.sort_unstable();
    forms.dedup();
    forms
}

/// Whether one folded word is a short form of the other: its beginning, or some of its letters in order from the
/// first on.
pub(super) fn is_short_for(short: &str, long: &str) -> bool {
    if short.contains('#') || long.contains('#') {
        // "bed#2" and "b#2" are short for "bedroom#2".
        return match (short.split_once('#'), long.split_once('#')) {
            (Some((short, one)), Some((long, other))) => {
                let initial = short.len() == 1 && long.starts_with(short);
                one == other && (short == long || initial || is_short_for(short, long))
            }
            (Some(_) | None, _) => false,
        };
    }
    if short.len() < 2 || short.len() >= long.len() || short.chars().next() != long.chars().next() {
        return false;
    }
    if long.starts_with(short) {
        return true;
    }
    let mut rest = long.chars();
    short.chars().all(|letter| rest.any(|other| other == letter))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(name: &str, expected: &[&str]) {
        assert_eq!(split(name), expected, "{name}");
    }

    #[test]
    fn names_are_split_where_their_writing_changes() {
        check("Gästebad Decke_schalten", &["gastebad", "decke", "schalten"]);
        check("Gaestebad DeckeSchalten", &["gastebad", "decke", "schalten"]);
        check("Bedroom 2 - lamp 3", &["bedroom", "bedroom#2", "lamp", "lamp#3"]);
        check("1.OG Bad", &["og#1", "og", "bad"]);
        check("1/1/10 Lamp", &["lamp"]);
        check("WZ1 RM", &["wz", "wz#1", "rm"]);
        check("K1 Decke 50 %", &["k#1", "decke", "decke#50", "percent"]);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// What is read quickly is read like all the rest.
        #[test]
        fn plain_names_are_taken_apart_like_others(name in "[ -~]{0,24}|[A-Za-e 0-9%/.-]{0,24}") {
            let (mut plain, mut any) = (Vec::new(), Vec::new());
            let mut parting = Parting::default();
            parting.name(&name, |word| plain.push(word.to_owned()));
            let mut parting = Parting::default();
            parting.any_name(&name, &mut |word: &str| any.push(word.to_owned()));
            any.extend(parting.waits.then_some(parting.last));
            prop_assert_eq!(plain, any);
        }
    }

    #[test]
    fn short_forms() {
        assert!(is_short_for("bed", "bedroom"));
        assert!(is_short_for("sz", "schlafzimmer"));
        assert!(is_short_for("bedrm#2", "bedroom#2"));
        assert!(is_short_for("k#1", "kind#1"));
        assert_eq!(initials("Gäste-WC"), ["gw", "gwc"]);
        assert_eq!(initials("Main bedroom"), ["mb"]);
        assert_eq!(initials("Kitchen"), [""; 0]);
        assert!(!is_short_for("bed#1", "bedroom#2"));
        assert!(!is_short_for("sz", "wohnzimmer"));
    }
}
