//! The ledger as text: `ledger.yaml` beside the root file of a house.
//!
//! ```yaml
//! housewright-ledger: 1
//! # Made by housewright. Commit it; never edit it. …
//! house: heron-wharf
//! appliances:
//!   island-pendant:
//!     light: wharf 17 0x0101 5f0c6a4d92be013c7781f0a2d44be96e
//! retired:
//!   hall-lamp:
//!   - light: wharf 4 0x0100 09d2e7b5a1c84f63b0e5d71c2a9f3b84
//! ```
//!
//! A part of an appliance is one line: bridge, endpoint number, device types, unique id. What belongs together stands
//! on one line, so that a git merge of lines can never make one identity of two halves. A key with `{}` is known but
//! was never shown to controllers.
//!
//! Everything is sorted by key, so that branches touch different places of the file; nothing is counted in it, since a
//! counter would be a line that every branch touches. The next number of a bridge is the one above all that stand in
//! the file, and because nothing is ever taken out of it, none is given twice.
//!
//! # History and rule for change
//!
//! | version | program | what is different |
//! | --- | --- | --- |
//! | 1 | 0.1 | the first |
//!
//! The first line carries the version. A program reads every version there ever was (`tests/it/ledger` keeps a
//! file of each) and writes the newest. A version that it does not know is refused, never guessed at: the
//! file is the only memory of what the controllers of a house know.

use super::entries::{Ledger, Parts};
use super::identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
use crate::pieces;
use serde::ser::{Serialize, SerializeMap, Serializer};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;
use std::sync::Arc;

/// The file's name, beside the root file of the house.
pub const FILE_NAME: &str = "ledger.yaml";

/// The version that this program writes.
pub const VERSION: u32 = 1;

/// Top-level keys of the file.
pub(super) const VERSION_KEY: &str = "housewright-ledger";
pub(super) const HOUSE_KEY: &str = "house";
pub(super) const LIVING_KEY: &str = "appliances";
pub(super) const RETIRED_KEY: &str = "retired";

const HEAD: &str = "\
# Made by housewright. Commit it; never edit it: endpoint numbers and unique ids are what the controllers know.
# Each part of an appliance: bridge, endpoint number, device types, unique id.
";

/// The text of a ledger. The same ledger gives the same bytes.
pub fn write(ledger: &Ledger) -> String {
    let mut text = format!("{VERSION_KEY}: {VERSION}\n{HEAD}{}", yaml(&Pair(HOUSE_KEY, &ledger.house)));
    section(&mut text, LIVING_KEY, &ledger.living, Value::Living);
    if !ledger.retired.is_empty() {
        section(&mut text, RETIRED_KEY, &ledger.retired, Value::Retired);
    }
    text
}

fn section<'a>(
    text: &mut String,
    name: &str,
    entries: &'a BTreeMap<String, Parts>,
    value: fn(&'a Parts) -> Value<'a>,
) {
    text.push_str(name);
    if entries.is_empty() {
        text.push_str(": {}\n");
        return;
    }
    text.push_str(":\n");
    let entries: Vec<(&str, &Parts)> = entries.iter().map(|(key, parts)| (key.as_str(), parts)).collect();
    text.extend(pieces::ranges(entries.len(), pieces::LIGHT, |range| {
        let mut piece = String::new();
        for (key, parts) in entries.get(range).unwrap_or_default() {
            let value = value(parts);
            if !value.write_plain(key, &mut piece) {
                for line in yaml(&Pair(key, value)).lines() {
                    piece.extend(["  ", line, "\n"]);
                }
            }
        }
        piece
    }));
}

/// Words that stand for something else than a text in one version of YAML or another.
const NO_TEXTS: [&str; 9] = ["true", "false", "null", "yes", "no", "on", "off", "y", "n"];

/// Whether a text is surely written as it is: nearly all keys are.
fn is_plain(text: &str) -> bool {
    let plain = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-';
    text.starts_with(|first: char| first.is_ascii_lowercase())
        && text.bytes().all(plain)
        && !NO_TEXTS.contains(&text)
}

fn yaml(value: &impl Serialize) -> String {
    serde_yaml::to_string(value).expect("texts and maps of texts have a YAML form, and memory takes it")
}

/// A mapping of one key.
struct Pair<'a, T>(&'a str, T);

impl<T: Serialize> Serialize for Pair<'_, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(1))?;
        map.serialize_entry(self.0, &self.1)?;
        map.end()
    }
}

/// What stands below a key.
enum Value<'a> {
    /// A mapping of parts.
    Living(&'a Parts),
    /// A list, since a part of an appliance may have been retired more than once.
    Retired(&'a Parts),
}

impl Value<'_> {
    /// Writes a key with its value, as [`yaml`] would, if there is nothing in them that needs a thought; else nothing.
    fn write_plain(&self, key: &str, text: &mut String) -> bool {
        let (parts, before) = match self {
            Self::Living(parts) => (parts, "    "),
            Self::Retired(parts) => (parts, "  - "),
        };
        let are_plain = parts.iter().all(|(part, it)| is_plain(part) && is_plain(&it.bridge));
        if parts.is_empty() || !is_plain(key) || !are_plain {
            return false;
        }
        text.extend(["  ", key, ":\n"]);
        for (part, identity) in *parts {
            text.extend([before, part, ": "]);
            write_line(identity, text);
            text.push('\n');
        }
        true
    }
}

impl Serialize for Value<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Living(parts) => serializer.collect_map(parts.iter().map(|(part, it)| (part, line(it)))),
            Self::Retired(parts) => {
                serializer.collect_seq(parts.iter().map(|(part, it)| Pair(part, line(it))))
            }
        }
    }
}

fn line(identity: &Identity) -> String {
    let mut line = String::new();
    write_line(identity, &mut line);
    line
}

fn write_line(identity: &Identity, text: &mut String) {
    let Identity { bridge, number, device_types, unique_id } = identity;
    // Writing into memory cannot fail.
    let _ = write!(text, "{bridge} {number} {device_types} {unique_id}");
}

/// Why a line is not an identity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum LineFault {
    Malformed,
    /// The number at these bytes of the line.
    OutOfRange(Range<usize>),
}

/// Reads a line; gives the bytes of the number in it, too. `last` is the bridge of the line before, used again
/// where it is the same.
pub(super) fn parse_line(
    text: &str,
    last: &mut Option<Arc<str>>,
) -> Result<(Identity, Range<usize>), LineFault> {
    let mut words = text.rsplitn(4, ' ');
    let mut word = || words.next().ok_or(LineFault::Malformed);
    let (unique_id, device_types, number, bridge) = (word()?, word()?, word()?, word()?);
    let unique_id = UniqueId::parse(unique_id).ok_or(LineFault::Malformed)?;
    let device_types = parse_types(device_types).ok_or(LineFault::Malformed)?;
    if bridge.is_empty() || number.is_empty() || !number.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(LineFault::Malformed);
    }
    let at = bridge.len() + 1..bridge.len() + 1 + number.len();
    let Some(number) = number.parse().ok().and_then(EndpointNumber::new) else {
        return Err(LineFault::OutOfRange(at));
    };
    let bridge = match last {
        Some(last) if **last == *bridge => Arc::clone(last),
        _ => Arc::clone(last.insert(Arc::from(bridge))),
    };
    Ok((Identity { bridge, number, device_types, unique_id }, at))
}

fn parse_types(text: &str) -> Option<DeviceTypes> {
    if text == "-" {
        return Some(DeviceTypes::new([]));
    }
    let id = |id: &str| {
        let digits = id.strip_prefix("0x").filter(|digits| (1..=8).contains(&digits.len()))?;
        u32::from_str_radix(digits, 16).ok()
    };
    text.split('+').map(id).collect::<Option<Vec<u32>>>().map(DeviceTypes::new)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_without_a_thought_is_written_alike() {
        let texts = [
            "island-pendant",
            "null",
            "yes",
            "no",
            "on",
            "off",
            "y",
            "n",
            "true",
            "false",
            "a",
            "e1",
            "x0",
            "o7",
            "b-1",
            "inf",
            "nan",
            "light",
            "x-",
            "true-north",
            "1e3",
            "-a",
            "Lamp",
            "hall lamp",
            "ü",
            "",
        ];
        let (mut plain, mut others) = (0, 0);
        for key in texts {
            for name in texts {
                let identity = Identity {
                    bridge: Arc::from(name),
                    number: EndpointNumber::FIRST,
                    device_types: DeviceTypes::new([0x100, 0x101]),
                    unique_id: UniqueId::derive("house", key, name, 0),
                };
                let parts = vec![(name.to_owned(), identity.clone()), ("light".to_owned(), identity)];
                for value in [Value::Living, Value::Retired] {
                    let mut text = String::new();
                    if value(&parts).write_plain(key, &mut text) {
                        let lines = yaml(&Pair(key, value(&parts)));
                        let expected: String = lines.lines().map(|line| format!("  {line}\n")).collect();
                        assert_eq!(text, expected);
                        plain += 1;
                    } else {
                        assert_eq!(text, "");
                        others += 1;
                    }
                }
            }
        }
        assert!(plain > 200 && others > 300, "{plain} {others}");
    }
}
