//! Proofs that are known already, by content.
//!
//! A proof of a colour runs a million values through a dozen steps, seconds that a check of a house has not. So the
//! proofs of the built-in classes are a made file, `schema/proofs.json`, which a test compares with proofs made anew;
//! what a house overrides (Kelvin limits, a range) has another key and is proven when it is first asked for, once for
//! all appliances that override the same.

use super::subject::{Input, Subject};
use super::walk::{Proof, prove, shows_loss};
use rustc_hash::{FxHashMap, FxHashSet};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Says which rules a proof was made by. Raised when a figure of [`Proof`] changes its meaning.
const EDITION: u32 = 1;

/// What a proof is a proof of: a digest of the datapoint type, the attributes, the chains and what is around.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key(String);

impl Key {
    /// The key of a subject. Equal subjects have equal keys on every machine and in every later version that proves
    /// alike.
    #[must_use]
    pub fn of(subject: &Subject<'_>) -> Self {
        let mut text =
            format!("{EDITION}\n{} {} {}\n", subject.bus.name(), subject.bus.bits(), subject.bus.unit(None));
        for shown in subject.shown {
            let side = shown.side;
            let person = &side.person;
            text += &format!("{} {:?} {} {:?} ", side.name, side.values, person.unit, person.sense);
            text += &json(&person.steps);
            text += &format!(" {}\n", shown.from_bus.map(json).unwrap_or_default());
        }
        if let Some(way) = subject.to_bus {
            text += &match way.input {
                Input::Attribute(index) => format!("{index} "),
                Input::Fields(fields) => format!("{fields:?} "),
            };
            text += &json(way.chain);
        }
        text += &format!("\n{:?}\n", subject.bus_range);
        for (name, value) in subject.around.iter() {
            text += &format!("{name} {}\n", value.to_json());
        }
        // Half of the digest: enough to tell a few thousand subjects apart for ever.
        Self(Sha256::digest(text.as_bytes()).iter().take(16).map(|byte| format!("{byte:02x}")).collect())
    }

    /// The key as it stands in the file.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

fn json(chain: &super::super::Chain) -> String {
    serde_json::to_string(chain).unwrap_or_default()
}

/// Proofs that were made in this run or stand in a made file.
#[derive(Debug, Default)]
pub struct ProofCache {
    known: &'static str,
    /// Where each proof of the file stands; it is read when it is asked for.
    lines: OnceLock<FxHashMap<&'static str, &'static str>>,
    made: Mutex<FxHashMap<Key, Arc<Proof>>>,
    /// Subjects of which a glance showed no loss: houses of one firm override the same.
    clean: Mutex<FxHashSet<Key>>,
}

impl ProofCache {
    /// A cache that knows the proofs of a made file; the text is read when the first proof is asked for. A text that
    /// is no such file knows nothing.
    #[must_use]
    pub fn knowing(known: &'static str) -> Self {
        Self { known, ..Self::default() }
    }

    /// Whether the proof of a subject is in the made file. What else was proven in this run says nothing of a house.
    pub fn knows(&self, key: &Key) -> bool {
        self.lines().contains_key(key.as_str())
    }

    /// How many proofs are in the made file.
    pub fn known(&self) -> usize {
        self.lines().len()
    }

    /// Whether a glance at a subject shows a loss; what shows none is not looked at a second time.
    pub fn shows_loss(&self, subject: &Subject<'_>) -> bool {
        let key = Key::of(subject);
        // A thread that panicked left it whole: it only ever inserts.
        let clean = || self.clean.lock().unwrap_or_else(PoisonError::into_inner);
        if clean().contains(&key) {
            return false;
        }
        let shows = shows_loss(subject);
        if !shows {
            clean().insert(key);
        }
        shows
    }

    /// The proof of a subject: a known one, or made now.
    ///
    /// Nobody waits for another who proves the same: a proof is made by several threads, and one that waits may be one of
    /// them.
    pub fn prove(&self, subject: &Subject<'_>) -> Arc<Proof> {
        let key = Key::of(subject);
        // A thread that panicked while it held the lock left the map whole: it only ever inserts.
        let made = || self.made.lock().unwrap_or_else(PoisonError::into_inner);
        let there = made().get(&key).map(Arc::clone);
        there.unwrap_or_else(|| {
            let known = self.lines().get(key.as_str()).and_then(|line| serde_json::from_str(line).ok());
            let proof = Arc::new(known.unwrap_or_else(|| prove(subject)));
            Arc::clone(made().entry(key).or_insert(proof))
        })
    }

    /// The proofs of the made file by key, each a line of JSON.
    fn lines(&self) -> &FxHashMap<&'static str, &'static str> {
        self.lines.get_or_init(|| {
            let entries =
                self.known.lines().filter_map(|line| line.trim_start().strip_prefix('"')?.split_once("\": "));
            let proofs = entries.filter(|(_, proof)| proof.starts_with("{\""));
            proofs.map(|(key, proof)| (key, proof.trim_end_matches(','))).collect()
        })
    }
}

/// The text of a made file of proofs: sorted by key, one proof a line. `made_by` is the command that makes it.
#[must_use]
pub fn known_text(proofs: impl IntoIterator<Item = (Key, Proof)>, made_by: &str) -> String {
    let proofs: BTreeMap<String, Proof> = proofs.into_iter().map(|(Key(key), proof)| (key, proof)).collect();
    let lines: Vec<String> = proofs
        .iter()
        .map(|(key, proof)| format!("    \"{key}\": {}", serde_json::to_string(proof).unwrap_or_default()))
        .collect();
    let about = serde_json::json!([
        "What the conversions of the built-in classes lose, by the digest of what is proven.",
        format!("Made by `{made_by}`, do not edit."),
    ]);
    format!("{{\n  \"about\": {about},\n  \"proofs\": {{\n{}\n  }}\n}}\n", lines.join(",\n"))
}
