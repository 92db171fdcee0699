//! Many values or payloads at once, one a line.
//!
//! Lines to encode are `DPT VALUE`, and give `DPT VALUE PAYLOAD`; lines to decode are `DPT PAYLOAD`, and give
//! `DPT PAYLOAD VALUE`: `9.001 21.5` gives `9.001 21.5 0c33`, `9.001 0c33` gives `9.001 0c33 21.5 °C`. Empty lines
//! and lines that begin with `#` are passed over. A faulty line does not hinder the others.

use super::codec::{self, DecodeError, EncodeError};
use super::dpt::{self, Dpt, DptError, Size};
use super::parse::{ValueError, parse_value};
use super::payload::{Payload, PayloadError};

/// What a payload could be, as text.
pub use super::describe::guesses as guess;

/// Why a line has no result.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LineError {
    /// Nothing after the datapoint type.
    #[error("`{line}` has no {what} after the datapoint type")]
    Half {
        /// The line.
        line: String,
        /// What is missing.
        what: &'static str,
    },
    /// The datapoint type.
    #[error(transparent)]
    Dpt(#[from] DptError),
    /// The payload's digits.
    #[error(transparent)]
    Payload(#[from] PayloadError),
    /// The payload is no value of the type.
    #[error(transparent)]
    Decode(#[from] DecodeError),
    /// The text is no value of the type.
    #[error(transparent)]
    Value(#[from] ValueError),
    /// The value has no payload.
    #[error(transparent)]
    Encode(#[from] EncodeError),
}

/// Reads a payload in the form that the type has: `1` and `01` are 6-bit payloads for types of 1 to 6 bits.
///
/// # Errors
/// [`PayloadError`] if the text is not hexadecimal.
pub fn read_payload(dpt: &Dpt, text: &str) -> Result<Payload, PayloadError> {
    match dpt.size {
        Size::Bits(_) => Payload::parse_small(text),
        Size::Bytes(_) | Size::Variable => Payload::parse(text),
    }
}

/// The result for one line `DPT VALUE`.
///
/// # Errors
/// [`LineError`], which says what is allowed.
pub fn encode_line(line: &str) -> Result<String, LineError> {
    let (dpt, text) = split(line, "value")?;
    let payload = codec::encode(dpt, &parse_value(dpt, text)?)?;
    Ok(format!("{} {text} {payload}", dpt.id))
}

/// The result for one line `DPT PAYLOAD`.
///
/// # Errors
/// [`LineError`], which says what is allowed.
pub fn decode_line(line: &str) -> Result<String, LineError> {
    let (dpt, text) = split(line, "payload")?;
    let payload = read_payload(dpt, text)?;
    let value = codec::decode(dpt, &payload)?;
    Ok(format!("{} {payload} {}", dpt.id, value.text(dpt)))
}

/// The results of many lines, each with its line number from 1.
pub fn lines<T: AsRef<str>>(
    lines: impl IntoIterator<Item = T>,
    one: impl Fn(&str) -> Result<String, LineError>,
) -> impl Iterator<Item = (usize, Result<String, LineError>)> {
    lines.into_iter().zip(1..).filter_map(move |(line, number)| {
        let line = line.as_ref().trim();
        let skipped = line.is_empty() || line.starts_with('#');
        (!skipped).then(|| (number, one(line)))
    })
}

/// The datapoint type and the rest of a line. A type written with a space, `DPT 9.001`, is one word here.
fn split<'a>(line: &'a str, what: &'static str) -> Result<(&'static Dpt, &'a str), LineError> {
    let line = line.trim();
    let bare = line.strip_prefix("DPT ").unwrap_or(line);
    let (dpt, rest) = bare.split_once([' ', '\t']).unwrap_or((bare, ""));
    let dpt = dpt::lookup(dpt)?;
    let rest = rest.trim();
    let empty_is_fine = what == "payload" && dpt.size == Size::Variable;
    if rest.is_empty() && !empty_is_fine {
        return Err(LineError::Half { line: line.to_owned(), what });
    }
    Ok((dpt, rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(one: impl Fn(&str) -> Result<String, LineError>, input: &str, expected: &str) {
        let found: Vec<String> = lines(input.lines(), one)
            .map(|(number, result)| format!("{number}: {}", result.unwrap_or_else(|error| error.to_string())))
            .collect();
        assert_eq!(found.join("\n"), expected);
    }

    #[test]
    fn faulty_lines_do_not_hinder_others() {
        check(
            encode_line,
            "9.001 21.5\n\n# half of it\n5.001 101\n  DPT 1.001 on\n9.001\n99.001 1\n4.050 1",
            "1: 9.001 21.5 0c33\n\
             4: 101 % is out of range of 5.001: 0 to 100 %\n\
             5: 1.001 on 01\n\
             6: `9.001` has no value after the datapoint type\n\
             7: there is no datapoint type `99.001`: main type 99 is not known\n\
             8: there is no datapoint type `4.050`; main type 4 has 4.001, 4.002",
        );
    }

    #[test]
    fn payloads_take_the_form_of_their_type() {
        check(
            decode_line,
            "9.001 0C 1A\n1.001 1\n1.001 02\n1.001 0001\n5.001 80\n5.001 0x\n9.001 7fff\n10.001 4d172a\n11.001 1e021a\n11.001 00021a",
            "1: 9.001 0c1a 21 °C\n\
             2: 1.001 01 on\n\
             3: 1.001 has reserved bits that must be 0, and one of them is 1\n\
             4: 1.001 has a payload of 1 bit, this one has 2 bytes\n\
             5: 5.001 80 50.2 %\n\
             6: 5.001 has a payload of 1 byte, this one has 0 bytes\n\
             7: the payload means `no data`, which is no value of 9.001\n\
             8: 10.001 4d172a tuesday 13:23:42\n\
             9: 11.001 cannot hold this: month 2 of 2026 has 28 days, so there is no day 30\n\
             10: `day`: 0 is out of range of 11.001: 1 to 31",
        );
    }
}
