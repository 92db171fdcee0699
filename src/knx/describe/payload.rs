//! What a payload could be.

use super::super::guess::guess;
use super::super::payload::{Payload, PayloadError};
use super::columns;

/// The forms that written digits can have on the bus: one or two digits of at most 6 bits can be either.
fn forms(text: &str) -> Result<Vec<Payload>, PayloadError> {
    let small = Payload::parse_small(text).ok().filter(Payload::is_small);
    match (Payload::parse(text), small) {
        (Ok(bytes), small) => Ok(small.into_iter().chain([bytes]).collect()),
        (Err(_), Some(small)) => Ok(vec![small]),
        (Err(error), None) => Err(error),
    }
}

/// The types that a payload could be, one a line, with the values they would give.
///
/// # Errors
/// [`PayloadError`] if the text is not hexadecimal.
pub fn guesses(text: &str) -> Result<String, PayloadError> {
    let mut out = String::new();
    for payload in forms(text)? {
        let guesses = guess(&payload);
        let form = if payload.is_small() { ", inside the service octet" } else { "" };
        let count = match guesses.len() {
            0 => "no datapoint type that is known".to_owned(),
            1 => "1 datapoint type".to_owned(),
            count => format!("{count} datapoint types"),
        };
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&format!("{payload}{form}: {count}\n"));
        let rows: Vec<Vec<String>> = guesses
            .iter()
            .map(|guess| vec![guess.dpt.id.to_string(), guess.dpt.title.to_owned(), shortened(&guess.text())])
            .collect();
        out.push_str(&columns(&rows, 2));
    }
    Ok(out)
}

/// Long structures are cut off: decoding as that type shows all of them.
fn shortened(text: &str) -> String {
    const WIDEST: usize = 60;
    match text.char_indices().nth(WIDEST) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or(text)),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(input: &str, expected: &[&str]) {
        let found = guesses(input).unwrap_or_else(|error| error.to_string());
        for line in expected {
            assert!(found.lines().any(|found| found == *line), "{line:?} is not in\n{found}");
        }
    }

    #[test]
    fn lists_types_with_values() {
        check(
            "0C1A",
            &[
                "  7.600    colour temperature                                     3098 K",
                "  9.001    temperature                                            21 °C",
            ],
        );
    }

    /// A sensor that is broken sends it; what is reserved nobody sends.
    #[test]
    fn a_payload_may_say_that_there_is_no_value() {
        check(
            "7fff",
            &[
                "  9.001    temperature                                            no data",
                "  7.001    pulses                                                 32767",
            ],
        );
        assert!(!guesses("ff").unwrap_or_default().contains("reserved"));
    }

    #[test]
    fn a_short_payload_has_two_forms() {
        check("01", &["01, inside the service octet: 44 datapoint types", "01: 104 datapoint types"]);
        check("0g", &["`g` is no hexadecimal digit: write a payload like `0c 1a`"]);
        check(
            "000102030405060708090a0b0c0d0e",
            &["000102030405060708090a0b0c0d0e: no datapoint type that is known"],
        );
    }
}
