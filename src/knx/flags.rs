//! Flags of group objects.

use std::fmt;
use std::str::FromStr;

/// The flags of a group object: what it does on the bus.
///
/// Read from `CRWTU`, `C R - T -`, `CR-T-`, `crt` and the like, and from the German `KLSÜA`; written as six places,
/// `CR-T--`.
/// Source: KNX 3/4/1, group objects (from memory).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Flags {
    /// C: takes part at all.
    pub communication: bool,
    /// R: answers reads.
    pub read: bool,
    /// W: takes writes.
    pub write: bool,
    /// T: sends its value when it changes.
    pub transmit: bool,
    /// U: takes answers to others' reads as a new value.
    pub update: bool,
    /// I: reads its address after power-up.
    pub read_at_start: bool,
}

/// Why text is no list of flags.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{found}` is no flag of a group object: the flags are C, R, W, T, U and I, like `CRT`, or K, L, S, Ü, A and I"
)]
pub struct FlagsError {
    /// The first character that is none.
    pub found: char,
}

impl Flags {
    /// What one of two objects does.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            communication: self.communication || other.communication,
            read: self.read || other.read,
            write: self.write || other.write,
            transmit: self.transmit || other.transmit,
            update: self.update || other.update,
            read_at_start: self.read_at_start || other.read_at_start,
        }
    }

    /// The flag of an English letter.
    fn english(&mut self, letter: char) -> Option<&mut bool> {
        match letter {
            'C' => Some(&mut self.communication),
            'R' => Some(&mut self.read),
            'W' => Some(&mut self.write),
            'T' => Some(&mut self.transmit),
            'U' => Some(&mut self.update),
            'I' => Some(&mut self.read_at_start),
            _ => None,
        }
    }

    /// The flag of a German letter: Kommunikation, Lesen, Schreiben, Übertragen, Aktualisieren, Initialisieren (common
    /// practice). A plain U would be T here and U there, so it is none.
    fn german(&mut self, letter: char) -> Option<&mut bool> {
        let letter = match letter {
            'K' => 'C',
            'L' => 'R',
            'S' => 'W',
            'Ü' | 'ü' => 'T',
            'A' => 'U',
            'I' => 'I',
            _ => return None,
        };
        self.english(letter)
    }
}

impl FromStr for Flags {
    type Err = FlagsError;

    fn from_str(text: &str) -> Result<Self, FlagsError> {
        let mut flags = Self::default();
        let is_letter = |letter: &char| !matches!(letter, '-' | '–' | '.' | ',' | ' ' | '\t');
        let letters = || text.chars().filter(is_letter);
        let is_german =
            letters().any(|letter| matches!(letter.to_ascii_uppercase(), 'K' | 'L' | 'S' | 'A' | 'Ü' | 'ü'));
        for letter in letters() {
            let upper = letter.to_ascii_uppercase();
            let flag = if is_german { flags.german(upper) } else { flags.english(upper) };
            *flag.ok_or(FlagsError { found: letter })? = true;
        }
        Ok(flags)
    }
}

impl fmt::Display for Flags {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all = [
            (self.communication, 'C'),
            (self.read, 'R'),
            (self.write, 'W'),
            (self.transmit, 'T'),
            (self.update, 'U'),
            (self.read_at_start, 'I'),
        ];
        all.into_iter().try_for_each(|(set, letter)| write!(out, "{}", if set { letter } else { '-' }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(input: &str, expected: &str) {
        let found = input.parse::<Flags>().map_or_else(|error| error.to_string(), |flags| flags.to_string());
        assert_eq!(found, expected, "{input}");
    }

    #[test]
    fn reads_all_forms() {
        check("CRWTU", "CRWTU-");
        check("C R - T -", "CR-T--");
        check("CR-T-", "CR-T--");
        check("crt", "CR-T--");
        check("", "------");
        check("CRWTUI", "CRWTUI");
    }

    #[test]
    fn reads_german_letters_by_themselves() {
        check("KLSÜA", "CRWTU-");
        check("KL-Ü-", "CR-T--");
        check("k-s--", "C-W---");
        check("ü", "---T--");
        check("KLSÜAI", "CRWTUI");
        let wrong = |letter: char| {
            format!(
                "`{letter}` is no flag of a group object: the flags are C, R, W, T, U and I, like `CRT`, or K, L, S, Ü, A and I"
            )
        };
        check("KLU", &wrong('U'));
        check("CRTÜ", &wrong('C'));
        check("X", &wrong('X'));
    }
}
