//! Reads a bridge JSON, and says exactly what is wrong with one that cannot be read.
//!
//! Versions: 1 is the first and the only one so far; it is read for ever. A newer one is refused, since a reader that
//! knows half of a definition would call half of the changes none.

use crate::bridge::definition::{
    BridgeDefinition, BridgeRef, Endpoint, FORMAT, HouseRef, MatterRef, VERSION,
};
use crate::findings::brief;
use rayon::prelude::*;
use serde::de::{Error as _, IgnoredAny, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::Value as Json;
use serde_json::value::RawValue;
use std::fmt;

/// Why a bridge JSON cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// No text at all.
    #[error("it is empty")]
    Empty,
    /// Bytes that are no UTF-8.
    #[error("it is not UTF-8 text: byte {at} fits into no character")]
    NotText {
        /// The first such byte, counted from 0.
        at: usize,
    },
    /// The text ends before the definition does.
    #[error("it ends in the middle, at line {line}, column {column}")]
    Truncated {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
    },
    /// No JSON.
    #[error("it is not JSON: {detail} at line {line}, column {column}")]
    NotJson {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What the parser stumbled over.
        detail: String,
    },
    /// JSON of something else.
    #[error("it is not a bridge definition: {}", match found {
        Some(found) => format!("its format is `{found}`, not `{FORMAT}`"),
        None => format!("it has no `format` of `{FORMAT}`"),
    })]
    OtherFormat {
        /// The `format` it names.
        found: Option<String>,
    },
    /// Made by a newer program.
    #[error("it is of format version {version}; this program reads version {VERSION}")]
    Newer {
        /// Its version.
        version: u64,
        /// The bridge it names.
        bridge: Option<String>,
    },
    /// A version that there never was.
    #[error("its format version is {found}, which there never was; version {VERSION} is the first")]
    OtherVersion {
        /// What stands there.
        found: String,
    },
    /// JSON of the right format and version that does not keep to it.
    #[error("it does not keep to the format: {detail} at line {line}, column {column}")]
    Unfit {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What is unfit.
        detail: String,
    },
    /// Something is there twice that can only be there once.
    #[error("{what} is there twice")]
    Twice {
        /// What: an endpoint number, a cluster of an endpoint …
        what: String,
    },
}

impl ReadError {
    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match self {
            Self::Newer { .. } => "review it with the version of housewright that made it",
            Self::Truncated { .. } | Self::Empty => "build the house again: the file was not written whole",
            Self::OtherFormat { .. } => "give a file named `BRIDGE.bridge.json` from a build folder",
            Self::NotText { .. }
            | Self::NotJson { .. }
            | Self::OtherVersion { .. }
            | Self::Unfit { .. }
            | Self::Twice { .. } => {
                "build the house again with this program: another version made the file, or it was changed after its build"
            }
        }
    }
}

/// Reads one bridge JSON.
///
/// # Errors
/// Each way in which the bytes are not a bridge definition of a known version.
pub fn read_bridge_json(bytes: &[u8]) -> Result<BridgeDefinition, ReadError> {
    let sheet = Sheet::read(bytes)?;
    let endpoints =
        sheet.endpoints.par_iter().map(|raw| sheet.part::<Endpoint>(raw)).collect::<Result<_, _>>()?;
    let bridge = BridgeDefinition { endpoints, ..sheet.head };
    super::build::check(&bridge)?;
    Ok(bridge)
}

/// A bridge JSON whose endpoints are known by their text only.
pub(super) struct Sheet<'a> {
    /// The definition without its endpoints.
    pub(super) head: BridgeDefinition,
    /// The text of each endpoint.
    pub(super) endpoints: Vec<&'a str>,
    text: &'a str,
}

impl<'a> Sheet<'a> {
    /// Checks format, version and head, and cuts the endpoints apart.
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, ReadError> {
        let text =
            std::str::from_utf8(bytes).map_err(|error| ReadError::NotText { at: error.valid_up_to() })?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        match Self::by_lines(text) {
            Some(sheet) => Ok(sheet),
            None => Self::whole(text),
        }
    }

    /// A file as a build writes it, an endpoint a line: cut at the line ends, many times faster than by reading it.
    ///
    /// Its endpoints are not known to be sound JSON. If each of them is, the file is, and is these.
    fn by_lines(text: &'a str) -> Option<Self> {
        let (head, rest) = text.split_once('\n')?;
        let lines = rest.trim_end().strip_suffix("\n]}")?;
        let closed = format!("{head}]}}");
        let head = serde_json::from_str::<Head>(&closed).ok()?;
        let of_this_version = head.format == FORMAT && head.version == VERSION && head.endpoints.is_empty();
        let head = of_this_version.then(|| head.definition())?;
        let mut endpoints = Vec::with_capacity(lines.len() / 2048);
        for line in lines.split_inclusive('\n') {
            let endpoint = match line.strip_suffix('\n') {
                Some(line) => line.strip_suffix(',')?,
                None => line,
            };
            endpoints.push(endpoint);
            if endpoints.len() > MOST {
                return None;
            }
        }
        Some(Self { head, endpoints, text })
    }

    /// Any other file, read from end to end.
    fn whole(text: &'a str) -> Result<Self, ReadError> {
        if text.trim().is_empty() {
            return Err(ReadError::Empty);
        }
        let mut head: Head<'a> = serde_json::from_str(text).map_err(|error| diagnose(text, &error))?;
        probe(&Probe {
            format: Some(head.format.clone().into()),
            version: Some(head.version.into()),
            bridge: None,
        })?;
        let endpoints = std::mem::take(&mut head.endpoints).into_iter().map(RawValue::get).collect();
        Ok(Self { head: head.definition(), endpoints, text })
    }

    /// Reads an endpoint or a part of one, or what of it the type asks for. An error names the place in the whole file.
    pub(super) fn part<T: Deserialize<'a>>(&self, raw: &'a str) -> Result<T, ReadError> {
        serde_json::from_str(raw).map_err(|error| self.explain(raw, &error))
    }

    /// Why an endpoint cannot be read. Where the whole file is broken, that is why.
    fn explain(&self, raw: &str, error: &serde_json::Error) -> ReadError {
        if let Err(broken) = Self::whole(self.text) {
            return broken;
        }
        let start = (raw.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize);
        let before = self.text.get(..start).unwrap_or("");
        let lines = before.matches('\n').count();
        let last = before.rsplit('\n').next().unwrap_or("").len();
        let column = if error.line() == 1 { error.column() + last } else { error.column() };
        ReadError::Unfit { line: error.line() + lines, column, detail: detail(error) }
    }
}

/// The head of a bridge JSON, typed, and its endpoints as text.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Head<'a> {
    format: String,
    version: u32,
    house: HouseRef,
    bridge: BridgeRef,
    matter: MatterRef,
    #[serde(borrow, deserialize_with = "endpoints")]
    endpoints: Vec<&'a RawValue>,
}

/// Endpoints of a bridge at most: so many numbers there are.
const MOST: usize = 65_535;

/// The text of each endpoint. Of more than there can be no more is read, so that they do not fill the memory.
fn endpoints<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<&'de RawValue>, D::Error> {
    struct Endpoints;
    impl<'de> Visitor<'de> for Endpoints {
        type Value = Vec<&'de RawValue>;

        fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
            write!(out, "a sequence of at most {MOST} endpoints")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Self::Value, A::Error> {
            let mut endpoints = Vec::new();
            while let Some(endpoint) = from.next_element()? {
                if endpoints.len() == MOST {
                    return Err(A::Error::invalid_length(MOST + 1, &self));
                }
                endpoints.push(endpoint);
            }
            Ok(endpoints)
        }
    }
    from.deserialize_seq(Endpoints)
}

impl Head<'_> {
    /// The definition without its endpoints.
    fn definition(self) -> BridgeDefinition {
        BridgeDefinition {
            format: self.format,
            version: self.version,
            house: self.house,
            bridge: self.bridge,
            matter: self.matter,
            endpoints: Vec::new(),
        }
    }
}

/// What tells one format from another.
#[derive(Deserialize)]
struct Probe {
    format: Option<Json>,
    version: Option<Json>,
    bridge: Option<Json>,
}

/// Says why a text is no bridge JSON of this version: the format first, then the version, then the place.
fn diagnose(text: &str, error: &serde_json::Error) -> ReadError {
    let (line, column) = (error.line(), error.column());
    // Neither reading keeps what it does not ask for.
    match serde_json::from_str::<IgnoredAny>(text) {
        Err(broken) if broken.is_eof() => {
            ReadError::Truncated { line: broken.line(), column: broken.column() }
        }
        Err(broken) => {
            // The typed reading says more, if that is what it stumbled over.
            let told = if error.is_syntax() { error } else { &broken };
            ReadError::NotJson { line: told.line(), column: told.column(), detail: detail(told) }
        }
        Ok(IgnoredAny) => {
            let is_object = text.trim_start().starts_with('{');
            let probed = serde_json::from_str::<Probe>(text);
            match probed.ok().filter(|_| is_object).map(|found| probe(&found)) {
                Some(Err(reason)) => reason,
                None if !is_object => ReadError::OtherFormat { found: None },
                // A key that is there twice.
                None | Some(Ok(())) => ReadError::Unfit { line, column, detail: detail(error) },
            }
        }
    }
}

fn probe(found: &Probe) -> Result<(), ReadError> {
    match &found.format {
        Some(Json::String(format)) if format == FORMAT => {}
        Some(Json::String(format)) => return Err(ReadError::OtherFormat { found: Some(short(format)) }),
        _ => return Err(ReadError::OtherFormat { found: None }),
    }
    let version = found.version.as_ref().unwrap_or(&Json::Null);
    match version.as_u64() {
        Some(version) if version == u64::from(VERSION) => Ok(()),
        Some(version) if version > u64::from(VERSION) => {
            let bridge = found.bridge.as_ref().and_then(|bridge| bridge.get("key"));
            Err(ReadError::Newer { version, bridge: bridge.and_then(Json::as_str).map(short) })
        }
        _ => Err(ReadError::OtherVersion { found: short(&version.to_string()) }),
    }
}

/// The parser's words without its own "at line …".
fn detail(error: &serde_json::Error) -> String {
    let text = error.to_string();
    short(text.rsplit_once(" at line ").map_or(text.as_str(), |(words, _)| words))
}

/// Text from a file, cut to what a message can show.
fn short(text: &str) -> String {
    brief::value(text, brief::VALUE).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = r#"{"format":"housewright-bridge","version":1,"house":{"id":"h","name":"H"},"bridge":{"key":"b","name":"B"},"matter":{"specification":"1.6.0","dataModelRevision":21},"endpoints":["#;
    const ENDPOINT: &str = r#"{"number":2,"parent":1,"key":"k","uniqueId":"u","nodeLabel":"L","room":"R","deviceTypes":[],"clusters":[],"links":[]}"#;

    fn check(text: &str, expected: &str) {
        let error = read_bridge_json(text.as_bytes()).map(|_| ()).unwrap_err();
        assert_eq!(error.to_string(), expected, "{text}");
        assert!(!error.help().is_empty());
    }

    #[test]
    fn a_definition_is_read_in_any_layout() {
        for text in [
            format!("{HEAD}]}}"),
            format!("{HEAD}\n{ENDPOINT}\n]}}\n"),
            format!("\u{feff}{HEAD}{ENDPOINT}] }}"),
        ] {
            assert!(read_bridge_json(text.as_bytes()).is_ok(), "{text}");
        }
    }

    #[test]
    fn each_way_of_being_unreadable_is_named_with_its_place() {
        check("", "it is empty");
        check(" \n", "it is empty");
        check("{", "it ends in the middle, at line 1, column 1");
        check(&format!("{HEAD}\n{ENDPOINT}"), "it ends in the middle, at line 2, column 117");
        check("nonsense", "it is not JSON: expected ident at line 1, column 2");
        check("[1]", "it is not a bridge definition: it has no `format` of `housewright-bridge`");
        check(
            r#"{"format":"housewright-review"}"#,
            "it is not a bridge definition: its format is `housewright-review`, not `housewright-bridge`",
        );
        check(
            &HEAD.replace(r#""version":1"#, r#""version":7,"new":1"#).replace("[", "[]}"),
            "it is of format version 7; this program reads version 1",
        );
        check(
            &HEAD.replace(r#""version":1"#, r#""version":0"#).replace("[", "[]}"),
            "its format version is 0, which there never was; version 1 is the first",
        );
        check(
            &format!("{HEAD}\n{ENDPOINT},\n{}\n]}}\n", ENDPOINT.replace("\"parent\":1", "\"parent\":-1")),
            "it does not keep to the format: invalid value: integer `-1`, expected u16 at line 3, column 23",
        );
        check(&format!("{HEAD}\n{ENDPOINT},\n{ENDPOINT}\n]}}\n"), "endpoint number 2 is there twice");
        check(
            &format!("{HEAD}\n{ENDPOINT},\n{ENDPOINT},\n]}}\n"),
            "it is not JSON: trailing comma at line 4, column 1",
        );
    }

    #[test]
    fn more_endpoints_than_there_are_numbers_are_not_read() {
        let expected = "it does not keep to the format: invalid length 65536, expected a sequence of at most 65535 endpoints";
        for (from, separator, to) in [("", ",", "]}"), ("\n", ",\n", "\n]}\n")] {
            let text = format!("{HEAD}{from}{}{to}", vec!["{}"; MOST + 1].join(separator));
            let error = read_bridge_json(text.as_bytes()).map(|_| ()).unwrap_err().to_string();
            assert!(error.starts_with(expected), "{error}");
        }
    }

    #[test]
    fn bytes_that_are_no_text_are_named() {
        let error = read_bridge_json(b"{\xff").map(|_| ()).unwrap_err();
        assert_eq!(error, ReadError::NotText { at: 1 });
    }
}
