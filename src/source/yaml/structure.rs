//! The keys of a structure, and which of them a mapping has.

use super::tree::Node;

/// The keys that a structure knows.
pub(super) struct Structure {
    pub(super) name: &'static str,
    pub(super) fields: &'static [&'static str],
    /// A bit for each of the first 64 that was there.
    seen: u64,
    /// Those that are nowhere in the mapping, once somebody asked.
    missing: Option<Vec<&'static str>>,
}

impl Structure {
    pub(super) fn new(name: &'static str, fields: &'static [&'static str]) -> Self {
        Self { name, fields, seen: 0, missing: None }
    }

    /// Whether it knows a key, which counts as seen from now on.
    pub(super) fn see(&mut self, key: &str) -> bool {
        let position = self.fields.iter().position(|field| *field == key);
        self.seen |= position.map_or(0, bit);
        position.is_some()
    }

    /// Its keys that a mapping does not have; looked up once, since a mapping may have a million unknown ones.
    pub(super) fn missing(&mut self, node: Node<'_>) -> Vec<&'static str> {
        let fields = self.fields;
        let look = || {
            let mut there = vec![false; fields.len()];
            for (key, _) in node.entries() {
                let name = key.raw_text();
                let known = fields.iter().zip(&mut there).find(|(field, _)| **field == name);
                known.into_iter().for_each(|(_, there)| *there = true);
            }
            fields.iter().zip(there).filter(|(_, there)| !there).map(|(field, _)| *field).collect()
        };
        self.missing.get_or_insert_with(look).clone()
    }

    /// A key that is not in a mapping, by its name; it counts as seen from now on.
    pub(super) fn take(&mut self, key: &str, node: Node<'_>) -> Option<&'static str> {
        let position = self.fields.iter().position(|field| *field == key)?;
        let field = self.missing(node).into_iter().find(|field| *field == key);
        let field = field.filter(|_| self.seen & bit(position) == 0)?;
        self.seen |= bit(position);
        Some(field)
    }

    /// The first two keys are those that a structure hardly does without: which of them is missing where the other is
    /// there.
    pub(super) fn missing_beside(&self) -> Option<(&'static str, &'static str)> {
        let [first, second, ..] = self.fields else { return None };
        match (self.seen & bit(0) != 0, self.seen & bit(1) != 0) {
            (true, false) => Some((second, first)),
            (false, true) => Some((first, second)),
            (true, true) | (false, false) => None,
        }
    }

    /// A key that was not there; it counts as seen from now on.
    pub(super) fn unseen(&mut self) -> Option<&'static str> {
        let position = (0..self.fields.len().min(64)).find(|position| self.seen & bit(*position) == 0)?;
        self.seen |= bit(position);
        self.fields.get(position).copied()
    }
}

fn bit(position: usize) -> u64 {
    u32::try_from(position).ok().and_then(|position| 1_u64.checked_shl(position)).unwrap_or(0)
}
