//! Which datapoint types a payload could be.

use super::codec;
use super::dpt::{self, Dpt};
use super::payload::Payload;
use super::value::Value;

/// A datapoint type that a payload could be, and the value it would have.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// The type.
    pub dpt: &'static Dpt,
    /// The value.
    pub value: Value,
}

/// All types that the payload is a valid value of: those that houses use often first, then by number.
///
/// Sub-types never travel on the bus, so that form and length, reserved bits and ranges are all that can be told from.
pub fn guess(payload: &Payload) -> Vec<Guess> {
    let read = |dpt: &'static Dpt| codec::decode(dpt, payload).ok().map(|value| Guess { dpt, value });
    let (mut guesses, rest): (Vec<_>, Vec<_>) =
        dpt::all().iter().filter_map(read).partition(|guess| guess.dpt.usual);
    guesses.extend(rest);
    guesses
}
