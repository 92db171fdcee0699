//! The keys of buses or bridges, which rooms and appliances name: looked up at once, however many there are.

use crate::source::Given;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// Keys in the order written, with their positions.
pub(super) struct Keys {
    /// All of them; what could not be looked up shares them, so that many mistakes and many keys cost no more than both.
    pub(super) all: Arc<[String]>,
    at: FxHashMap<String, usize>,
}

impl Keys {
    pub(super) fn of<'a>(keys: impl Iterator<Item = &'a str>) -> Self {
        let all: Arc<[String]> = keys.map(str::to_owned).collect();
        let mut at = FxHashMap::default();
        for (position, key) in all.iter().enumerate() {
            at.entry(key.clone()).or_insert(position);
        }
        Self { all, at }
    }

    pub(super) fn position(&self, key: &str) -> Option<usize> {
        self.at.get(key).copied()
    }

    pub(super) fn are_several(&self) -> bool {
        self.all.len() > 1
    }

    /// Whether one of several was to be named, and what stands there cannot be read: that has been told.
    pub(super) fn is_unread(&self, name: &Given<String>) -> bool {
        matches!(name, Given::Broken(_)) && self.are_several()
    }
}
