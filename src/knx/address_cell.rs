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
    /// Characters that nobody sees, such as a byte-order mark or a space of no width.
    Unseen,
    /// A slash before it or behind it: `1/0/1/`.
    Slashes,
    /// Other marks for its slashes: `1.0.1`, `1-0-1`, `1∕0∕1`.
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
        } else if inner.contains(is_unseen) {
            Self::Unseen
        } else if inner.contains(|letter| letter != '/' && is_slash(letter)) {
            Self::Separators
        } else if inner.contains(blank) {
            Self::Blanks
        } else if inner.starts_with('/') || inner.ends_with('/') {
            Self::Slashes
        } else {
            Self::Zeros
        }
    }

    /// Whether it leaves no doubt about the address.
    #[must_use]
    pub fn is_sure(self) -> bool {
        match self {
            Self::Zeros | Self::Blanks | Self::Unseen | Self::Slashes | Self::Separators | Self::Marks => {
                true
            }
            Self::Letters | Self::Words => false,
        }
    }
}

/// What stands between the numbers of an address, or is taken for it: marks that people write, and the signs of Unicode that
/// look like a slash.
pub(super) fn is_slash(letter: char) -> bool {
    matches!(letter, '/' | '.' | '-' | '\\' | ',' | '_' | ':' | '\u{2044}' | '\u{2215}' | '\u{ff0f}')
}

/// A character without width that is no white space: what copying from pages and between programs leaves in a cell.
pub(super) fn is_unseen(letter: char) -> bool {
    matches!(letter, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// A text without what tells a spreadsheet that it is text.
pub(super) fn unmarked(text: &str) -> &str {
    text.trim_start_matches(['=', '"', '\'', '’']).trim_end_matches(['"', '\'', '’'])
}

/// The names of months and their short forms, in the languages that the trade's words are known in, in order.
const MONTHS: [&[&str]; 12] = [
    &[
        "jan", "january", "januar", "januari", "jän", "jänner", "janv", "janvier", "gen", "gennaio", "ene",
        "enero", "janeiro", "sty", "led",
    ],
    &[
        "feb",
        "february",
        "februar",
        "februari",
        "févr",
        "février",
        "febbraio",
        "febrero",
        "fev",
        "fevereiro",
        "lut",
        "úno",
    ],
    &["mar", "march", "mrz", "mär", "märz", "mars", "marzo", "março", "mrt", "maart", "bře"],
    &["apr", "april", "avr", "avril", "aprile", "abr", "abril", "kwi", "dub"],
    &["may", "mai", "maj", "mei", "mag", "maggio", "mayo", "maio", "kvě"],
    &["jun", "june", "juni", "juin", "giu", "giugno", "junio", "junho", "cze", "čvn"],
    &["jul", "july", "juli", "juil", "juillet", "lug", "luglio", "julio", "julho", "lip", "čvc"],
    &["aug", "august", "augustus", "augusti", "août", "ago", "agosto", "sie", "srp"],
    &["sep", "sept", "september", "septembre", "set", "settembre", "septiembre", "setembro", "wrz", "zář"],
    &[
        "oct", "october", "okt", "oktober", "octobre", "ott", "ottobre", "octubre", "out", "outubro", "paź",
        "říj",
    ],
    &["nov", "november", "novembre", "noviembre", "novembro", "lis"],
    &[
        "dec",
        "december",
        "dez",
        "dezember",
        "déc",
        "décembre",
        "dic",
        "dicembre",
        "diciembre",
        "dezembro",
        "des",
        "desember",
        "gru",
        "pro",
    ],
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
        Some(Self::of(is_sure, &numbers, notation))
    }

    /// Reads the number that a spreadsheet keeps for a day, which shows where a column of dates is made one of text: `37347`
    /// for `01.04.2002`. It may as well be an address in free notation.
    #[must_use]
    pub fn of_serial(text: &str, notation: Notation) -> Option<Self> {
        let serial: u32 = text.parse().ok().filter(|_| text.len() == 5)?;
        let [year, month, day] = day_of(serial)?;
        let is_known = (YEARS.0..=YEARS.1).contains(&year);
        let numbers =
            if notation == Notation::TwoLevel { vec![day, month] } else { vec![day, month, year % 100] };
        is_known.then(|| Self::of(false, &numbers, notation))
    }

    fn of(is_sure: bool, numbers: &[u32], notation: Notation) -> Self {
        let orders: &[&[usize]] =
            if numbers.len() == 3 { &[&[0, 1, 2], &[1, 0, 2], &[2, 1, 0]] } else { &[&[0, 1], &[1, 0]] };
        let mut was: Vec<GroupAddress> = Vec::new();
        for order in orders {
            let parts = order.iter().filter_map(|at| numbers.get(*at)).map(ToString::to_string);
            let address = GroupAddress::parse(&parts.collect::<Vec<_>>().join("/"), notation).ok();
            was.extend(address.filter(|address| !was.contains(address)));
        }
        Self { is_sure, was }
    }
}

/// The years that spreadsheets take two digits for, `30` to `29`, and some more that are the present one.
const YEARS: (u32, u32) = (1930, 2049);

/// Year, month and day of a spreadsheet's number for a day, 1 being the first of 1900 and 60 a day that was none.
fn day_of(serial: u32) -> Option<[u32; 3]> {
    let mut left = serial.checked_sub(61)?;
    // From the first of March 1900 on, every fourth year is a leap year up to 2100: a year that begins with March ends with it.
    let era = left / 1461;
    left %= 1461;
    let year = (left / 365).min(3);
    left -= year * 365;
    let months = [31, 30, 31, 30, 31, 31, 30, 31, 30, 31, 31, 29];
    for (month, days) in (3..).zip(months) {
        if left < days {
            let next = u32::from(month > 12);
            return Some([1900 + era * 4 + year + next, month - 12 * next, left + 1]);
        }
        left -= days;
    }
    None
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
            ("1\u{a0}/\u{a0}0\u{a0}/\u{a0}1", Spelling::Blanks),
            ("1/\u{2009}0/1", Spelling::Blanks),
            ("\u{feff}1/0/1", Spelling::Unseen),
            ("1/0/\u{200b}1", Spelling::Unseen),
            ("1/0/1/", Spelling::Slashes),
            ("1∕0∕1", Spelling::Separators),
            ("1_0_1", Spelling::Separators),
            ("1:0:1", Spelling::Separators),
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
    fn dates_are_known_by_the_months_of_many_languages() {
        for text in
            ["1 févr. 2003", "1-feb-03", "1 fev 03", "1. feb. 2003", "1 lut 03", "1. úno 03", "1-feb.-2003"]
        {
            check(text, Some((true, &["1/2/3", "2/1/3", "3/2/1"])));
        }
    }

    #[test]
    fn numbers_of_days_say_what_they_may_have_been() {
        let was = |text: &str, notation| {
            let date = DateCell::of_serial(text, notation);
            date.map(|date| {
                date.was.iter().map(|address| address.display(notation).to_string()).collect::<Vec<_>>()
            })
        };
        let three = |text: &str| was(text, Notation::ThreeLevel).map(|all| all.join(" "));
        assert_eq!(three("37347").as_deref(), Some("1/4/2 4/1/2 2/4/1"));
        assert_eq!(three("36526").as_deref(), Some("1/1/0 0/1/1"));
        assert_eq!(three("36585").as_deref(), Some("29/2/0 0/2/29"));
        assert_eq!(three("36586").as_deref(), Some("1/3/0 3/1/0 0/3/1"));
        assert_eq!(three("36525").as_deref(), Some(""));
        assert_eq!(three("47483").as_deref(), Some(""));
        assert_eq!(three("36161").as_deref(), Some("1/1/99"));
        assert_eq!(was("46113", Notation::TwoLevel), Some(vec!["1/4".to_owned(), "4/1".to_owned()]));
        for text in ["2049", "10958", "54789", "65535", "", "3734x"] {
            assert_eq!(three(text), None, "{text}");
        }
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
