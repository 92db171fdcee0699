//! Addresses of the bus.

use super::address_cell::{is_slash, is_unseen, unmarked};
use std::fmt;
use std::num::NonZeroU16;

/// A KNX group address: 16 bits, written `1/2/3`, `1/515` or `2563`, never zero.
///
/// Shape: main 5 bits, middle 3, sub 8; equality and order are those of the number, not of the writing.
/// Source: KNX 3/3/2 and 3/5/1 (from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct GroupAddress(NonZeroU16);

/// How group addresses are written in a house. The forms name the same numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Notation {
    /// `main/middle/sub`: 0..31, 0..7, 0..255.
    #[default]
    ThreeLevel,
    /// `main/sub`: 0..31, 0..2047.
    TwoLevel,
    /// The number: 1..65535.
    Free,
}

impl Notation {
    /// Its parts, highest first: name and largest number.
    fn parts(self) -> &'static [(&'static str, u16)] {
        match self {
            Self::ThreeLevel => &[("main group", 31), ("middle group", 7), ("sub group", 255)],
            Self::TwoLevel => &[("main group", 31), ("sub group", 2047)],
            Self::Free => &[("group address", u16::MAX)],
        }
    }

    /// Name as a description writes it: `three-level`, `two-level`, `free`.
    pub fn name(self) -> &'static str {
        match self {
            Self::ThreeLevel => "three-level",
            Self::TwoLevel => "two-level",
            Self::Free => "free",
        }
    }

    /// The notation with this number of parts.
    fn of_parts(parts: usize) -> Option<Self> {
        match parts {
            3 => Some(Self::ThreeLevel),
            2 => Some(Self::TwoLevel),
            1 => Some(Self::Free),
            _ => None,
        }
    }

    fn example(self) -> &'static str {
        match self {
            Self::ThreeLevel => "1/2/3",
            Self::TwoLevel => "1/515",
            Self::Free => "2563",
        }
    }
}

impl fmt::Display for Notation {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

/// Why text is no address.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AddressError {
    /// Not the shape of an address: another character, an empty part, a leading zero.
    #[error("`{text}` is no {what}: write it like `{example}`, digits only and without leading zeros")]
    Malformed {
        /// What was written.
        text: String,
        /// Which kind of address.
        what: &'static str,
        /// How one is written.
        example: &'static str,
        /// Bytes of the text before the part that is wrong.
        at: usize,
    },
    /// A part is larger than its bits allow.
    #[error("`{text}` is no address: the {part} is 0 to {most}")]
    OutOfRange {
        /// What was written.
        text: String,
        /// Which part.
        part: &'static str,
        /// Its largest number.
        most: u16,
        /// Bytes of the text before that part.
        at: usize,
    },
    /// Zero: the address of broadcasts, never a group.
    #[error("`{text}` is reserved for broadcasts and never a group address")]
    Reserved {
        /// What was written.
        text: String,
    },
    /// A group address in another notation than the house's.
    #[error("`{text}` is written in {found} notation, the house uses {wanted}: {}", meant.map_or_else(|| format!("write it like `{}`", wanted.example()), |meant| format!("write `{}`", meant.display(*wanted))))]
    OtherNotation {
        /// What was written.
        text: String,
        /// Its notation.
        found: Notation,
        /// The house's.
        wanted: Notation,
        /// The address, if it is one in its own notation.
        meant: Option<GroupAddress>,
    },
}

impl GroupAddress {
    /// The address with this number; `None` for 0, which is reserved.
    pub fn new(number: u16) -> Option<Self> {
        NonZeroU16::new(number).map(Self)
    }

    /// The address that was meant by a text with zeros before its numbers, other separators, spaces, characters that nobody
    /// sees, letters that look like digits, a spreadsheet's marks around it, or words behind it.
    pub fn meant(text: &str, notation: Notation) -> Option<Self> {
        let seen: String;
        let text = if text.contains(is_unseen) {
            seen = text.chars().filter(|letter| !is_unseen(*letter)).collect();
            unmarked(&seen)
        } else {
            unmarked(text)
        };
        let read = |text: &str| {
            let between = |letter: char| is_slash(letter) || letter.is_whitespace();
            let parts = text.split(between).filter(|part| !part.is_empty());
            let digits = |part: &str| part.replace(['l', 'I', '|'], "1").replace(['o', 'O'], "0");
            let numbers = parts.map(|part| digits(part).parse::<u32>().ok().map(|number| number.to_string()));
            let joined = numbers.collect::<Option<Vec<String>>>()?.join("/");
            Self::parse(&joined, notation).ok()
        };
        let alone = || text.split_whitespace().next().filter(|first| first.contains('/')).and_then(read);
        read(text).or_else(alone)
    }

    /// Reads an address as the notation has it: digits only, no leading zeros, no spaces.
    ///
    /// # Errors
    /// [`AddressError`]: malformed, out of range, reserved (zero), or written in another notation.
    pub fn parse(text: &str, notation: Notation) -> Result<Self, AddressError> {
        if let Some(number) = plain_number(text, notation) {
            return Self::new(number).ok_or_else(|| AddressError::Reserved { text: text.to_owned() });
        }
        let found = Notation::of_parts(text.split('/').count());
        if let Some(found) = found.filter(|found| *found != notation) {
            let meant = match number(text, found) {
                Ok(number) => Self::new(number),
                Err(AddressError::Malformed { text, what, at, .. }) => {
                    return Err(AddressError::Malformed { text, what, at, example: notation.example() });
                }
                Err(_) => None,
            };
            return Err(AddressError::OtherNotation {
                text: text.to_owned(),
                found,
                wanted: notation,
                meant,
            });
        }
        Self::new(number(text, notation)?).ok_or_else(|| AddressError::Reserved { text: text.to_owned() })
    }

    /// The number, 1 to 65535.
    pub fn number(self) -> u16 {
        self.0.get()
    }

    /// Main group, 0 to 31, of two and three levels.
    pub fn main(self) -> u8 {
        u8::try_from(self.number() >> 11).unwrap_or(0)
    }

    /// Middle group, 0 to 7, of three levels.
    pub fn middle(self) -> u8 {
        u8::try_from((self.number() >> 8) & 7).unwrap_or(0)
    }

    /// Sub group, 0 to 255, of three levels.
    pub fn sub(self) -> u8 {
        let [_, low] = self.number().to_be_bytes();
        low
    }

    /// The address as it is written in a notation.
    pub fn display(self, notation: Notation) -> DisplayAddress {
        DisplayAddress { address: self, notation }
    }
}

/// A group address with the notation to write it in; made by [`GroupAddress::display`].
#[derive(Clone, Copy, Debug)]
pub struct DisplayAddress {
    address: GroupAddress,
    notation: Notation,
}

impl fmt::Display for DisplayAddress {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let address = self.address;
        match self.notation {
            Notation::ThreeLevel => write!(out, "{}/{}/{}", address.main(), address.middle(), address.sub()),
            Notation::TwoLevel => write!(out, "{}/{}", address.main(), address.number() & 0x7ff),
            Notation::Free => write!(out, "{}", address.number()),
        }
    }
}

/// The number of a group address that is written as the notation has it; may be 0. What [`number`] finds, sooner.
fn plain_number(text: &str, notation: Notation) -> Option<u16> {
    let mut parts = notation.parts().iter();
    let (mut whole, mut value, mut digits) = (0_u32, 0_u32, 0);
    for byte in text.bytes().chain([b'/']) {
        match byte {
            // A zero before others is none of the forms; a sixth digit is more than any part has.
            b'0'..=b'9' if (digits == 0 || value > 0) && digits < 5 => {
                value = value * 10 + u32::from(byte - b'0');
                digits += 1;
            }
            b'/' if digits > 0 => {
                let most = u32::from(parts.next()?.1);
                if value > most {
                    return None;
                }
                whole = whole * (most + 1) + value;
                (value, digits) = (0, 0);
            }
            _ => return None,
        }
    }
    if parts.next().is_none() { u16::try_from(whole).ok() } else { None }
}

/// The number of a group address; may be 0.
fn number(text: &str, notation: Notation) -> Result<u16, AddressError> {
    let parts = notation.parts();
    let malformed = |at| AddressError::Malformed {
        text: text.to_owned(),
        what: "group address",
        example: notation.example(),
        at,
    };
    if text.bytes().filter(|byte| *byte == b'/').count() + 1 != parts.len() {
        return Err(malformed(0));
    }
    let mut whole = 0;
    let mut at = 0;
    for (written, (part, most)) in text.as_bytes().split(|byte| *byte == b'/').zip(parts) {
        let value = part_number(written).ok_or_else(|| malformed(at))?;
        if value > u64::from(*most) {
            return Err(AddressError::OutOfRange { text: text.to_owned(), part, most: *most, at });
        }
        whole = whole * (u64::from(*most) + 1) + value;
        at += written.len() + 1;
    }
    u16::try_from(whole).map_err(|_| malformed(0))
}

/// A part: digits without leading zeros. Numbers too long to be right are as good as the largest.
fn part_number(digits: &[u8]) -> Option<u64> {
    let is_plain = !digits.is_empty() && digits.iter().all(u8::is_ascii_digit);
    if !is_plain || (digits.len() > 1 && digits.starts_with(b"0")) {
        return None;
    }
    let add = |number: u64, digit: &u8| number.saturating_mul(10).saturating_add(u64::from(digit - b'0'));
    Some(digits.iter().fold(0, add))
}

#[cfg(test)]
mod tests {
    use super::*;
    use Notation::{Free, ThreeLevel, TwoLevel};

    fn check(input: (&str, Notation), expected: Result<u16, &str>) {
        let found = GroupAddress::parse(input.0, input.1).map_err(|error| error.to_string());
        assert_eq!(found.as_ref().map(|found| found.number()).map_err(String::as_str), expected, "{input:?}");
        if let Ok(address) = found {
            assert_eq!(address.display(input.1).to_string(), input.0);
        }
    }

    #[test]
    fn the_short_way_reads_what_the_long_one_reads() {
        for notation in [ThreeLevel, TwoLevel, Free] {
            for address in (1..=u16::MAX).filter_map(GroupAddress::new) {
                let text = address.display(notation).to_string();
                assert_eq!(plain_number(&text, notation), Some(address.number()), "{text}");
                assert_eq!(number(&text, notation), Ok(address.number()), "{text}");
            }
            for text in [
                "",
                "/",
                "0",
                "01/2/3",
                "1/02/3",
                "1/2/",
                "/1/2",
                "1/2/3/4",
                "32/0/1",
                "1/8/1",
                "1/1/256",
                "1/2048",
                "65536",
                "1/2/ 3",
                "1/2/3x",
                "99999999999",
            ] {
                assert_eq!(plain_number(text, notation), number(text, notation).ok(), "{text} {notation}");
            }
        }
    }

    #[test]
    fn the_forms_name_the_same_numbers() {
        for (text, notation) in [("1/2/3", ThreeLevel), ("1/515", TwoLevel), ("2563", Free)] {
            check((text, notation), Ok(2563));
        }
        check(("0/0/1", ThreeLevel), Ok(1));
        check(("1/0/0", ThreeLevel), Ok(2048));
        check(("31/7/255", ThreeLevel), Ok(65535));
        check(("31/2047", TwoLevel), Ok(65535));
        check(("65535", Free), Ok(65535));
    }

    #[test]
    fn says_which_part_is_out_of_range() {
        check(("32/0/0", ThreeLevel), Err("`32/0/0` is no address: the main group is 0 to 31"));
        check(("1/8/0", ThreeLevel), Err("`1/8/0` is no address: the middle group is 0 to 7"));
        check(("1/7/256", ThreeLevel), Err("`1/7/256` is no address: the sub group is 0 to 255"));
        check(("1/2048", TwoLevel), Err("`1/2048` is no address: the sub group is 0 to 2047"));
        check(("65536", Free), Err("`65536` is no address: the group address is 0 to 65535"));
        let long = "99999999999999999999999";
        check((long, Free), Err(&format!("`{long}` is no address: the group address is 0 to 65535")));
    }

    #[test]
    fn zero_is_reserved() {
        for (text, notation) in [("0/0/0", ThreeLevel), ("0/0", TwoLevel), ("0", Free)] {
            check(
                (text, notation),
                Err(&format!("`{text}` is reserved for broadcasts and never a group address")),
            );
        }
    }

    #[test]
    fn says_what_to_write_for_another_notation() {
        check(
            ("1/515", ThreeLevel),
            Err("`1/515` is written in two-level notation, the house uses three-level: write `1/2/3`"),
        );
        check(
            ("1/9/3", Free),
            Err("`1/9/3` is written in three-level notation, the house uses free: write it like `2563`"),
        );
    }

    #[test]
    fn refuses_what_looks_like_a_slip() {
        for text in ["1/02/3", "", "1//3", "1/2/3/4", "+1/2/3", " 1/2/3", "1/2/x", "1/2/-3", "1.2.3", "١/2/3"]
        {
            let wanted = format!(
                "`{text}` is no group address: write it like `1/2/3`, digits only and without leading zeros"
            );
            check((text, ThreeLevel), Err(&wanted));
        }
    }
}
