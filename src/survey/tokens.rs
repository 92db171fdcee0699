//! Words of names: of table rows, of appliances and of rooms, each as a number.
//!
//! A name is split where its writing changes (space, punctuation, capital after small letter, digit after letter);
//! umlauts are folded however they are written. A number goes with the word before it: the 2 of "Bedroom 2" is not the 2
//! of "Lamp 2".

use super::names::heard;
use super::wires::narrow;
use rayon::prelude::*;
use rustc_hash::FxHashMap;

/// A word of a house.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
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
    known: FxHashMap<String, Word>,
    texts: Vec<String>,
    /// The first letter of each.
    initials: Vec<Option<char>>,
}

impl Tokens {
    /// The words of a name, sorted, each once.
    pub(super) fn of(&mut self, name: &str) -> Vec<Word> {
        self.of_parted(&parted(name))
    }

    /// The words of each name, as [`Tokens::of`] gives them, taken apart in parallel.
    pub(super) fn of_each<'n>(&mut self, names: impl IntoParallelIterator<Item = &'n str>) -> Vec<Vec<Word>> {
        let parted: Vec<String> = names.into_par_iter().map(parted).collect();
        parted.iter().map(|parted| self.of_parted(parted)).collect()
    }

    fn of_parted(&mut self, parted: &str) -> Vec<Word> {
        let words = parted.split_terminator(' ');
        let mut words: Vec<Word> = words.map(|word| self.word(word)).collect();
        words.sort_unstable();
        words.dedup();
        words
    }

    fn word(&mut self, text: &str) -> Word {
        if let Some(known) = self.known.get(text) {
            return *known;
        }
        let word = Word(narrow(self.texts.len()));
        self.texts.push(text.to_owned());
        self.initials.push(text.chars().next());
        self.known.insert(text.to_owned(), word);
        word
    }

    /// How every word is written, in the order of their numbers.
    pub(super) fn texts(&self) -> impl Iterator<Item = &str> {
        self.texts.iter().map(String::as_str)
    }

    /// Every word with how it is written.
    pub(super) fn words(&self) -> impl Iterator<Item = (Word, &str)> {
        self.texts().zip(0u32..).map(|(text, index)| (Word(index), text))
    }

    /// Whether two words begin with the same letter.
    pub(super) fn begin_alike(&self, one: Word, other: Word) -> bool {
        self.initials.get(one.0 as usize) == self.initials.get(other.0 as usize)
    }

    /// How a word is written, folded.
    pub(super) fn text(&self, word: Word) -> &str {
        self.texts.get(word.0 as usize).map_or("", String::as_str)
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
    each_word(name, |word| words.push(word.to_owned()));
    words
}

/// The folded words of a name, in order, each with a space behind it.
fn parted(name: &str) -> String {
    let mut parted = String::with_capacity(name.len() + name.len() / 2);
    each_word(name, |word| parted.extend([word, " "]));
    parted
}

/// Gives the folded words of a name, in order.
fn each_word(name: &str, mut give: impl FnMut(&str)) {
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
    let heard = if spaced.contains('%') { heard(&spaced.replace('%', " percent ")) } else { heard(&spaced) };
    // The last word that is no number, a word with its number, and how many numbers come before the first word.
    let (mut last, mut numbered) = (String::new(), String::new());
    let mut leading: Option<&str> = None;
    let mut leading_count = 0;
    // The K of "K1" stands for nothing without its number: it waits for what comes next.
    let mut waits = false;
    for word in heard.split(' ').filter(|word| !word.is_empty()) {
        let number = word.chars().all(char::is_numeric);
        if number && last.is_empty() {
            leading = Some(word);
            leading_count += 1;
            continue;
        }
        numbered.clear();
        if number {
            numbered.extend([last.as_str(), "#", word]);
            give(&numbered);
            waits = false;
            continue;
        }
        if waits {
            give(&last);
        }
        let first = last.is_empty();
        last.clear();
        fold_into(word, &mut last);
        // The 1 of "1. OG"; several are an address or a running number.
        if let (true, 1, Some(number)) = (first, leading_count, leading) {
            numbered.extend([last.as_str(), "#", number]);
            give(&numbered);
        }
        waits = last.chars().nth(1).is_none();
        if !waits {
            give(&last);
        }
    }
    if waits {
        give(&last);
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
