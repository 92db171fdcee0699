//! Our codec against values and payloads made by another implementation: `tests/outside/knx`.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    clippy::float_cmp,
    clippy::disallowed_methods,
    reason = "a test may panic"
)]

use housewright::knx::dpt::{self, Dpt, Shape, Source};
use housewright::knx::{DptId, DptRef, Value, batch, codec, parse_value};
use serde::Deserialize;
use serde_json::value::RawValue;
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

const VECTORS: &str = include_str!("../outside/knx/vectors.json");
const KNOWN: &str = include_str!("../outside/knx/known-differences.yaml");

#[derive(Deserialize)]
struct Vectors {
    vectors: Vec<Vector>,
    rejected_values: Vec<Vector>,
    rejected_raw: Vec<Vector>,
    decode: Vec<Vector>,
}

/// Numbers stay as they are written: some have more digits than a double holds.
#[derive(Deserialize)]
struct Vector {
    dpt: String,
    #[serde(default)]
    value: Option<Box<RawValue>>,
    #[serde(default)]
    decoded: Option<Box<RawValue>>,
    #[serde(default)]
    raw: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Known {
    dpt: String,
    #[serde(default)]
    absent: bool,
    #[serde(default)]
    value: Option<String>,
    #[serde(default)]
    payload: Option<String>,
    #[serde(default)]
    decimals: Option<i32>,
    #[serde(default)]
    digits: Option<usize>,
    #[serde(default)]
    field: Option<String>,
    #[serde(default)]
    counted_from: Option<i64>,
    #[serde(default)]
    names: BTreeMap<String, String>,
    reason: String,
    #[serde(skip)]
    used: Cell<bool>,
    #[serde(skip)]
    names_used: Cell<usize>,
}

impl Known {
    fn is_for(&self, id: DptId) -> bool {
        self.dpt.parse::<DptRef>().is_ok_and(|dpt| dpt.covers(id))
    }

    fn label(&self) -> String {
        format!("{} ({})", self.dpt, self.reason)
    }
}

/// The vectors, the known differences, and the complaints so far.
struct Judge {
    known: Vec<Known>,
    complaints: Vec<String>,
}

impl Judge {
    /// The type, if our table has it; a type that it lacks must be known for that.
    fn dpt(&mut self, text: &str) -> Option<&'static Dpt> {
        let found = dpt::lookup(text).ok();
        if found.is_none() {
            match self.known.iter().find(|known| known.absent && known.dpt == text) {
                Some(known) => known.used.set(true),
                None => self.complaints.push(format!("{text} is not in the table")),
            }
        }
        found
    }

    fn of<'a>(&'a self, dpt: &'a Dpt) -> impl Iterator<Item = &'a Known> {
        self.known.iter().filter(|known| known.is_for(dpt.id))
    }

    fn name(&self, dpt: &Dpt, theirs: &str) -> String {
        for known in self.of(dpt) {
            if let Some(ours) = known.names.get(theirs) {
                known.names_used.set(known.names_used.get() + 1);
                return ours.clone();
            }
        }
        theirs.replace('_', "-")
    }

    /// Numbers of scenes are counted from 1 there.
    fn number(&self, dpt: &Dpt, field: &str, written: &str) -> String {
        for known in self.of(dpt).filter(|known| known.field.as_deref() == Some(field)) {
            if let (Some(from), Ok(number)) = (known.counted_from, written.parse::<i64>()) {
                known.used.set(true);
                return (number - from).to_string();
            }
        }
        written.to_owned()
    }

    /// A JSON value as our text. Nulls are fields that hold nothing.
    fn text(&self, dpt: &Dpt, value: &RawValue) -> String {
        let json = value.get();
        if let Ok(fields) = serde_json::from_str::<BTreeMap<String, Box<RawValue>>>(json) {
            let pairs: Vec<String> = fields
                .iter()
                .filter(|(_, value)| value.get() != "null")
                .map(|(name, value)| {
                    let name = self.name(dpt, name);
                    let scalar = self.scalar(dpt, value);
                    format!("{name}={}", self.number(dpt, &name, &scalar))
                })
                .collect();
            return if pairs.is_empty() { "nothing".to_owned() } else { pairs.join(" ") };
        }
        let scalar = self.scalar(dpt, value);
        if dpt.shape == Shape::Text { format!("{scalar:?}") } else { self.number(dpt, "value", &scalar) }
    }

    fn scalar(&self, dpt: &Dpt, value: &RawValue) -> String {
        match serde_json::from_str::<String>(value.get()) {
            Ok(text) if dpt.shape == Shape::Text => text,
            Ok(text) => self.name(dpt, &text),
            Err(_) => value.get().to_owned(),
        }
    }

    fn check_encode(&mut self, dpt: &'static Dpt, vector: &Vector) {
        let Some(value) = &vector.value else { return };
        let text = self.text(dpt, value);
        let payload = encode(dpt, &text);
        let expected = Ok(vector.raw.clone());
        if payload == expected {
            return;
        }
        let known = self.of(dpt).find(|known| known.value.as_deref() == Some(&text));
        match known {
            Some(known) if known.payload.clone() == payload.clone().ok() => known.used.set(true),
            _ => self.complaints.push(format!("{} {text}: {payload:?}, not {expected:?}", dpt.id)),
        }
    }

    fn check_decode(&mut self, dpt: &'static Dpt, raw: &str, expected: &RawValue) {
        let text = self.text(dpt, expected);
        let expected = parse_value(dpt, &text).map_err(|error| error.to_string());
        let found = decode(dpt, raw);
        match (&found, &expected) {
            (Ok(found), Ok(expected)) if self.same(dpt, found, expected) => {}
            _ => self.complaints.push(format!("{} {raw}: {found:?}, not {expected:?}", dpt.id)),
        }
    }

    /// Whether two values are the same, as far as the known differences let them.
    fn same(&self, dpt: &Dpt, ours: &Value, theirs: &Value) -> bool {
        match (ours.number(), theirs.number(), ours.fields(), theirs.fields()) {
            (Some(ours), Some(theirs), ..) => self.same_number(dpt, ours, theirs),
            (_, _, Some(ours), Some(theirs)) => {
                // Fields with a default may be left out there.
                theirs.iter().all(|(name, theirs)| {
                    let ours = ours.iter().find(|(other, _)| other == name);
                    ours.is_some_and(|(_, ours)| self.same(dpt, ours, theirs))
                }) && ours.iter().all(|(name, _)| {
                    let default =
                        dpt.value_fields().any(|field| field.name == *name && field.default.is_some());
                    default || theirs.iter().any(|(other, _)| other == name)
                })
            }
            _ => ours == theirs,
        }
    }

    fn same_number(&self, dpt: &Dpt, ours: f64, theirs: f64) -> bool {
        if ours.total_cmp(&theirs).is_eq() || ours == theirs {
            return true;
        }
        self.of(dpt).any(|known| {
            let same = match (known.decimals, known.digits) {
                (Some(decimals), _) => {
                    let unit = 10_f64.powi(decimals);
                    (ours * unit).round_ties_even() == (theirs * unit).round_ties_even()
                }
                (_, Some(digits)) => format!("{ours:.*e}", digits - 1) == format!("{theirs:.*e}", digits - 1),
                _ => false,
            };
            if same {
                known.used.set(true);
            }
            same
        })
    }

    /// Differences that no vector needed.
    fn stale(&self) -> Vec<String> {
        let stale = |known: &&Known| !known.used.get() && known.names_used.get() < known.names.len().max(1);
        self.known.iter().filter(stale).map(|known| format!("no vector needs: {}", known.label())).collect()
    }
}

fn encode(dpt: &'static Dpt, text: &str) -> Result<String, String> {
    let value = parse_value(dpt, text).map_err(|error| error.to_string())?;
    codec::encode(dpt, &value).map(|payload| payload.to_string()).map_err(|error| error.to_string())
}

fn decode(dpt: &'static Dpt, raw: &str) -> Result<Value, String> {
    let payload = batch::read_payload(dpt, raw).map_err(|error| error.to_string())?;
    codec::decode(dpt, &payload).map_err(|error| error.to_string())
}

#[test]
fn all_vectors_pass_but_for_known_differences() {
    let vectors: Vectors = serde_json::from_str(VECTORS).unwrap();
    let mut judge = Judge { known: serde_yaml::from_str(KNOWN).unwrap(), complaints: Vec::new() };
    for vector in &vectors.vectors {
        let Some(dpt) = judge.dpt(&vector.dpt) else { continue };
        judge.check_encode(dpt, vector);
        if let Some(expected) = vector.decoded.as_ref().or(vector.value.as_ref()) {
            let differs = judge
                .of(dpt)
                .any(|known| known.payload.is_some() && known.value.as_deref() == Some(expected.get()));
            if !differs {
                judge.check_decode(dpt, &vector.raw, expected);
            }
        }
    }
    for vector in &vectors.decode {
        let Some(dpt) = judge.dpt(&vector.dpt) else { continue };
        if let Some(expected) = &vector.value {
            judge.check_decode(dpt, &vector.raw, expected);
        }
    }
    for vector in &vectors.rejected_values {
        let Some(dpt) = judge.dpt(&vector.dpt) else { continue };
        let text = vector.value.as_ref().map(|value| judge.text(dpt, value)).unwrap_or_default();
        if let Ok(payload) = encode(dpt, &text) {
            judge.complaints.push(format!("{} {text} was encoded as {payload}", dpt.id));
        }
    }
    for vector in &vectors.rejected_raw {
        let Some(dpt) = judge.dpt(&vector.dpt) else { continue };
        if let Ok(value) = decode(dpt, &vector.raw) {
            judge.complaints.push(format!("{} {} was decoded as {value:?}", dpt.id, vector.raw));
        }
    }
    judge.complaints.extend(judge.stale());
    assert!(judge.complaints.is_empty(), "{}", judge.complaints.join("\n"));
    let counts = [&vectors.vectors, &vectors.rejected_values, &vectors.rejected_raw, &vectors.decode];
    assert_eq!(
        counts.map(Vec::len),
        [1429, 181, 206, 593],
        "as many as vectors.json holds; more are written here too"
    );
}

/// What the table says was compared is what the vectors hold, and nothing else.
#[test]
fn what_is_marked_as_compared_has_vectors() {
    let vectors: Vectors = serde_json::from_str(VECTORS).unwrap();
    let held: BTreeSet<DptId> = vectors.vectors.iter().filter_map(|vector| vector.dpt.parse().ok()).collect();
    for dpt in dpt::all() {
        // Its values' names were taken from memory against the implementation's.
        let differs = dpt.id == (DptId { main: 2, sub: 9 });
        let expected = held.contains(&dpt.id) && !differs;
        assert!(
            (dpt.source == Source::Compared) == expected,
            "{}: write `source: {}` in its row, or values from outside into tests/outside/knx/vectors.json",
            dpt.id,
            if expected { "compared" } else { "memory" },
        );
    }
}
