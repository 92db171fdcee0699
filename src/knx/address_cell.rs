//! How the cells of an address table spell what is no address as the notation has it: an address all the same, or a
//! date that a spreadsheet made of one.
//!
//! How tables look that have been through a spreadsheet is common practice.

use super::{GroupAddress, Notation};

/// What is unusual about a text in which [`GroupAddress::meant`] finds an address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Spelling {
    /// Zeros before its numbers: `01/0/001`.
    Zeros,
    /// White space around its slashes: `1 / 0 / 1`.
    Blanks,
    /// Other marks for its slashes: `1.0.1`, `1-0-1`.
    Separators,
    /// What tells a spreadsheet that it is text: `="1/0/1"`, `'1/0/1`.
    Marks,
    /// Letters for digits: `1/0/l`.
    Letters,
    /// Words behind it: `1/0/1 Hall lamp`.
    Words,
}

impl Spelling {
    /// What is unusual about a text that means an address.
    #[must_use]
    pub fn of(text: &str) -> Self {
        let inner = unmarked(text);
        let blank = |letter: char| letter.is_whitespace();
        let slashes = || inner.split('/').map(str::trim);
        if inner.len() < text.len() {
            Self::Marks
        } else if slashes().any(|part| part.contains(blank)) {
            Self::Words
        } else if inner.contains(char::is_alphabetic) || inner.contains('|') {
            Self::Letters
        } else if inner.contains(['.', '-', '\\', ',']) {
            Self::Separators
        } else if inner.contains(blank) {
            Self::Blanks
        } else {
            Self::Zeros
        }
    }

    /// Whether it leaves no doubt about the address.
    #[must_use]
    pub fn is_sure(self) -> bool {
        match self {
            Self::Zeros | Self::Blanks | Self::Separators | Self::Marks => true,
            Self::Letters | Self::Words => false,
        }
    }
}

/// A text without what tells a spreadsheet that it is text.
pub(super) fn unmarked(text: &str) -> &str {
    text.trim_start_matches(['=', '"', '\'', '’']).trim_end_matches(['"', '\'', '’'])
}

/// The names of months and their short forms, in English and German, in order.
const MONTHS: [&[&str]; 12] = [
    &["jan", "january", "januar", "jän", "jänner"],
    &["feb", "february", "februar"],
    &["mar", "march", "mrz", "mär", "märz"],
    &["apr", "april"],
    &["may", "mai"],
    &["jun", "june", "juni"],
    &["jul", "july", "juli"],
    &["aug", "august"],
    &["sep", "sept", "september"],
    &["oct", "october", "okt", "oktober"],
    &["nov", "november"],
    &["dec", "december", "dez", "dezember"],
];

/// A date: what spreadsheets make of `1/4/2`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DateCell {
    /// Whether it can be nothing else. `1.4.20` may also be an address with points in it.
    pub is_sure: bool,
    /// The addresses that it may have been.
    pub was: Vec<GroupAddress>,
}

impl DateCell {
    /// Reads a date: `01.04.2002`, `1/4/2002`, `2002-04-01`, `01.04.02`, `1. Apr 02`, `Apr 02`, a time behind it or none.
    #[must_use]
    pub fn read(text: &str, notation: Notation) -> Option<Self> {
        let text = text.trim();
        let day = text.split(['T', ' ']).next().unwrap_or(text);
        let (is_sure, numbers) = of_numbers(day).or_else(|| Some((true, of_words(text)?)))?;
        let orders: &[&[usize]] =
            if numbers.len() == 3 { &[&[0, 1, 2], &[1, 0, 2], &[2, 1, 0]] } else { &[&[0, 1], &[1, 0]] };
        let mut was: Vec<GroupAddress> = Vec::new();
        for order in orders {
            let parts = order.iter().filter_map(|at| numbers.get(*at)).map(ToString::to_string);
            let address = GroupAddress::parse(&parts.collect::<Vec<_>>().join("/"), notation).ok();
            was.extend(address.filter(|address| !was.contains(address)));
        }
        Some(Self { is_sure, was })
    }
}

/// A date in numbers, the year in two digits, and whether it can be nothing else.
fn of_numbers(text: &str) -> Option<(bool, Vec<u32>)> {
    let mark = text.chars().find(|letter| matches!(letter, '.' | '-' | '/'))?;
    let parts: Vec<&str> = text.split(mark).collect();
    let numbers: Vec<u32> = parts.iter().map(|part| digits(part)).collect::<Option<_>>()?;
    let (&[first, second, third], &[one, two, three]) = (parts.as_slice(), numbers.as_slice()) else {
        return None;
    };
    let is_day = |one: u32, two: u32| one.min(two) > 0 && one.max(two) <= 31 && one.min(two) <= 12;
    let is_year = |part: &str, year: u32| part.len() == 4 && (1900..=2100).contains(&year);
    if is_year(third, three) && is_day(one, two) {
        return Some((true, vec![one, two, three % 100]));
    }
    if is_year(first, one) && is_day(two, three) {
        return Some((true, vec![one % 100, two, three]));
    }
    let is_short = third.len() == 2 && first.len() <= 2 && second.len() <= 2;
    let has_zero = parts.iter().any(|part| part.starts_with('0'));
    (mark != '/' && is_short && is_day(one, two)).then_some((has_zero, numbers))
}

/// A date with the name of its month, and one or two numbers with it.
fn of_words(text: &str) -> Option<Vec<u32>> {
    let parts = text.split([' ', '.', '-', '/', ',']).filter(|part| !part.is_empty());
    let mut months = 0;
    let mut numbers = Vec::new();
    for part in parts.take(4) {
        let lower = part.to_lowercase();
        let month = MONTHS.iter().zip(1..).find(|(names, _)| names.contains(&lower.as_str()));
        months += u32::from(month.is_some());
        let number = month.map(|(_, month)| month).or_else(|| digits(part))?;
        numbers.push(if number >= 1900 { number % 100 } else { number });
    }
    (months == 1 && (2..=3).contains(&numbers.len())).then_some(numbers)
}

/// One to four digits.
fn digits(part: &str) -> Option<u32> {
    let digits = (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
    digits.then(|| part.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_is_unusual() {
        for (text, expected) in [
            ("01/0/001", Spelling::Zeros),
            ("1 / 0 / 1", Spelling::Blanks),
            ("1/ 0/1", Spelling::Blanks),
            ("1.0.1", Spelling::Separators),
            ("1-0-1", Spelling::Separators),
            ("=\"1/0/1\"", Spelling::Marks),
            ("'1/0/1", Spelling::Marks),
            ("1/0/l", Spelling::Letters),
            ("1/0/1 Hall lamp", Spelling::Words),
            ("1/0/1 2", Spelling::Words),
        ] {
            let meant = GroupAddress::meant(text, Notation::ThreeLevel).map(GroupAddress::number);
            assert_eq!((Spelling::of(text), meant), (expected, Some(0x0801)), "{text}");
        }
    }

    fn check(text: &str, expected: Option<(bool, &[&str])>) {
        let found = DateCell::read(text, Notation::ThreeLevel);
        let found = found.map(|date| {
            let was = date.was.iter().map(|address| address.display(Notation::ThreeLevel).to_string());
            (date.is_sure, was.collect::<Vec<_>>())
        });
        let found =
            found.as_ref().map(|(sure, was)| (*sure, was.iter().map(String::as_str).collect::<Vec<_>>()));
        assert_eq!(found, expected.map(|(sure, was)| (sure, was.to_vec())), "{text}");
    }

    #[test]
    fn dates_say_what_they_may_have_been() {
        check("01.04.2002", Some((true, &["1/4/2", "4/1/2", "2/4/1"])));
        check("1/4/2002", Some((true, &["1/4/2", "4/1/2", "2/4/1"])));
        check("2002-01-01", Some((true, &["2/1/1", "1/2/1", "1/1/2"])));
        check("2002-01-01 00:00:00", Some((true, &["2/1/1", "1/2/1", "1/1/2"])));
        check("01.04.02", Some((true, &["1/4/2", "4/1/2", "2/4/1"])));
        check("1. Jan 02", Some((true, &["1/1/2", "2/1/1"])));
        check("01-Mär-2011", Some((true, &["1/3/11", "3/1/11", "11/3/1"])));
        check("1.4.20", Some((false, &["1/4/20", "4/1/20", "20/4/1"])));
        check("Apr 02", Some((true, &[])));
    }

    #[test]
    fn addresses_are_no_dates() {
        for text in [
            "1/4/20",
            "01/04/02",
            "1.0.1",
            "1.4.2",
            "1-0-12",
            "01.00.01",
            "1.4.200",
            "2049",
            "Marquise 2",
            "1 Mai lamp",
            "1/4/2003/1",
            "",
            "32.13.2001",
        ] {
            check(text, None);
        }
    }
}
