//! Flags of group objects.

use std::fmt;
use std::str::FromStr;

/// The flags of a group object: what it does on the bus.
///
/// Read from `CRWTU`, `C R - T -`, `CR-T-`, `crt` and the like; written as six places, `CR-T--`.
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
#[error("`{found}` is no flag of a group object: the flags are C, R, W, T, U and I, like `CRT`")]
pub struct FlagsError {
    /// The first character that is none.
    pub found: char,
}

impl FromStr for Flags {
    type Err = FlagsError;

    fn from_str(text: &str) -> Result<Self, FlagsError> {
        let mut flags = Self::default();
        for letter in text.chars() {
            match letter.to_ascii_uppercase() {
                'C' => flags.communication = true,
                'R' => flags.read = true,
                'W' => flags.write = true,
                'T' => flags.transmit = true,
                'U' => flags.update = true,
                'I' => flags.read_at_start = true,
                '-' | '–' | '.' | ',' | ' ' | '\t' => {}
                _ => return Err(FlagsError { found: letter }),
            }
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
        check("K", "`K` is no flag of a group object: the flags are C, R, W, T, U and I, like `CRT`");
        check("crt", "CR-T--");
        check("", "------");
        check("CRWTUI", "CRWTUI");
    }
}
