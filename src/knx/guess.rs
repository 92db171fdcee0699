//! Which datapoint types a payload could be.

use super::codec::{self, DecodeError};
use super::dpt::{self, Dpt};
use super::payload::Payload;
use super::value::Value;

/// A datapoint type that a payload could be, and what it would say.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// The type.
    pub dpt: &'static Dpt,
    /// The value; none where the payload says that there is none, and in which words (`no data`).
    pub value: Result<Value, &'static str>,
}

impl Guess {
    /// What the payload would say, as a person writes it.
    pub fn text(&self) -> String {
        self.value.as_ref().map_or_else(|said| (*said).to_owned(), |value| value.text(self.dpt))
    }
}

/// All types that the payload is a valid value of, or says in that there is none: those that houses use often first, then by
/// number.
///
/// Sub-types never travel on the bus, so that form and length, reserved bits and ranges are all that can be told from.
pub fn guess(payload: &Payload) -> Vec<Guess> {
    let read = |dpt: &'static Dpt| {
        let value = match codec::decode(dpt, payload) {
            Ok(value) => Ok(value),
            Err(DecodeError::Special { field, raw, .. }) => {
                Err(field.special.iter().find(|special| special.raw == raw && special.is_sent())?.name)
            }
            Err(_) => return None,
        };
        Some(Guess { dpt, value })
    };
    let (mut guesses, rest): (Vec<_>, Vec<_>) =
        dpt::all().iter().filter_map(read).partition(|guess| guess.dpt.usual);
    guesses.extend(rest);
    guesses
}
