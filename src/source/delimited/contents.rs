//! Columns that are known by what stands in them, where no heading says what they are.

use super::Column;
use super::headings::{hints_at_type, known};
use rustc_hash::FxHashSet;

/// What the first rows with addresses have in one column.
pub(super) struct Contents<'a> {
    /// Its number.
    pub(super) number: usize,
    heading: &'a str,
    /// What its cells say that say something.
    texts: Vec<&'a str>,
    /// How many rows there are.
    rows: usize,
}

impl<'a> Contents<'a> {
    pub(super) fn new(number: usize, heading: &'a str, cells: &[&'a str]) -> Self {
        let texts = cells.iter().copied().filter(|text| !text.is_empty()).collect();
        Self { number, heading, texts, rows: cells.len() }
    }

    /// Whether it has no heading whose meaning is known.
    pub(super) fn is_unknown(&self) -> bool {
        known(self.heading).is_none()
    }

    /// Whether it may have the names: nearly every row has words in it, and nearly every row others.
    pub(super) fn looks_like_names(&self) -> bool {
        let filled = self.texts.len();
        let letters = |text: &&str| text.chars().filter(|letter| letter.is_alphabetic()).count();
        let words = self.texts.iter().filter(|text| letters(text) > 2).count();
        filled > 0
            && filled * 5 >= self.rows * 4
            && words * 5 >= filled * 4
            && self.different() * 5 >= filled * 4
    }

    /// Whether nearly every row has a text, and fewer than half of these differ.
    pub(super) fn repeats_names(&self) -> bool {
        self.texts.len() * 5 >= self.rows * 4
            && self.texts.len() > 9
            && self.different() * 2 < self.texts.len()
    }

    /// Whether it has the datapoint types: they are written as such, or its heading speaks of types.
    pub(super) fn looks_like_types(&self) -> bool {
        let types = |needs_prefix| self.texts.iter().filter(|text| is_type(text, needs_prefix)).count();
        let filled = self.texts.len();
        filled > 0 && types(!hints_at_type(self.heading)) * 5 >= filled * 4
    }

    /// Whether it has the flags of group objects, written as flags are: nearly all cells are of their letters in their order, and
    /// half of them begin with the first.
    pub(super) fn looks_like_flags(&self) -> bool {
        let flags: Vec<char> = self.texts.iter().filter_map(|text| first_flag(text)).collect();
        let first = flags.iter().filter(|letter| matches!(letter, 'C' | 'K')).count();
        flags.len() * 5 >= self.texts.len() * 4 && first > 0 && first * 2 >= flags.len()
    }

    /// Whether its heading is a known one of a column.
    pub(super) fn is_headed(&self, column: Column) -> bool {
        known(self.heading).is_some_and(|(known, _)| known == column)
    }

    /// Whether half of what it has may be numbers, dates or addresses in some other writing: a digit comes first.
    pub(super) fn may_be_numbers(&self) -> bool {
        let first = |text: &&&str| text.chars().find(|letter| letter.is_alphanumeric());
        let numbers =
            self.texts.iter().filter(|text| first(text).is_some_and(|letter| letter.is_ascii_digit()));
        numbers.count() * 2 >= self.texts.len().max(1)
    }

    /// Whether nearly all that it has are addresses of devices, `1.1.20`. Those of groups may be written so as well.
    pub(super) fn may_be_devices(&self) -> bool {
        let is_device = |text: &&str| {
            let parts = || text.split('.');
            parts().count() == 3 && parts().all(|part| part.parse::<u8>().is_ok())
        };
        let devices = self.texts.iter().copied().filter(is_device).count();
        devices > 0 && devices * 5 >= self.rows * 4
    }

    /// How many different texts it has.
    pub(super) fn different(&self) -> usize {
        self.texts.iter().copied().collect::<FxHashSet<&str>>().len()
    }

    /// Whether it has words and no digit.
    pub(super) fn are_words(&self) -> bool {
        let is_word = |text: &&str| !text.contains(|letter: char| letter.is_ascii_digit());
        self.has_texts() && self.texts.iter().all(is_word)
    }

    /// Whether nearly all that it has are numbers.
    pub(super) fn are_numbers(&self) -> bool {
        let is_number = |text: &&str| {
            matches!(*text, "-" | "*") || text.len() <= 4 && text.bytes().all(|byte| byte.is_ascii_digit())
        };
        let numbers = self.texts.iter().copied().filter(is_number).count();
        numbers > 0 && numbers * 5 >= self.texts.len() * 4
    }

    /// Whether there is a row to it.
    pub(super) fn has_rows(&self) -> bool {
        self.rows > 0
    }

    /// Whether something stands in it.
    pub(super) fn has_texts(&self) -> bool {
        !self.texts.is_empty()
    }

    /// Its heading.
    pub(super) fn heading(&self) -> &'a str {
        self.heading
    }
}

/// The letters of flags in their order, in English and in German, as `knx::Flags` reads them.
const FLAGS: [&str; 2] = ["CRWTUI", "KLSÜAI"];

/// The first flag of a cell that has two or more, in capitals and in their order, with nothing between them but dashes.
fn first_flag(text: &str) -> Option<char> {
    let letters = || text.chars().filter(|letter| !matches!(letter, '-' | '–' | '.' | ',' | ' '));
    let in_order = |flags: &&str| {
        let mut left = flags.chars();
        letters().all(|letter| left.any(|flag| flag == letter))
    };
    let is_some = letters().nth(1).is_some() && FLAGS.iter().any(in_order);
    letters().next().filter(|_| is_some)
}

/// Whether a cell is written like a datapoint type: `DPST-1-1`, `DPT 1.001`, or `1.001` where it needs no prefix.
fn is_type(text: &str, needs_prefix: bool) -> bool {
    let prefix = ["DPST-", "DPT-", "DPT ", "DPT"]
        .into_iter()
        .find(|prefix| text.get(..prefix.len()).is_some_and(|start| start.eq_ignore_ascii_case(prefix)));
    let rest = prefix.and_then(|prefix| text.get(prefix.len()..)).unwrap_or(text);
    let (main, sub) = rest.split_once(['.', '-', ',']).unwrap_or((rest, ""));
    let is_number = |text: &str, most: usize| {
        (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
    };
    let sub = sub.split(|letter: char| !letter.is_ascii_digit()).next().unwrap_or("");
    match prefix {
        Some(_) => is_number(main, 3),
        None => !needs_prefix && is_number(main, 3) && is_number(sub, 4) && sub.len() > 2,
    }
}
