//! The keys of a mapping that has ended: those that are no text, and those that stand twice, are told and passed over.

use super::build::{Builder, Range};
use super::tree::{IN_SOURCE, Kind};
use crate::source::{Problem, Shape};

/// So many keys are compared each with each, which is quicker than to sort them.
const FEW: usize = 8;

impl Builder<'_> {
    /// Finds keys that are no text, and keys that the mapping has already; in a time that grows with the number of
    /// keys and not with its square, whatever the keys are.
    pub(super) fn look_at_keys(&mut self, mapping: u32) {
        let (mut key, end) = (mapping + 1, self.tree.after(mapping));
        let mut keys = Vec::new();
        while key < end {
            if self.is_collection(key) {
                self.refuse_key(key);
            } else if self.tree.slot(key).kind != Kind::Broken {
                keys.push(key);
            }
            key = self.tree.after(self.tree.after(key));
        }
        let text = |key: u32| self.tree.text(self.tree.slot(key), self.source);
        let is_new =
            |(nth, key): (usize, &u32)| keys.iter().take(nth).all(|other| text(*other) != text(*key));
        if keys.len() <= FEW && keys.iter().enumerate().all(is_new) {
            return;
        }
        keys.sort_by(|a, b| text(*a).cmp(text(*b)).then(a.cmp(b)));
        let mut first = 0;
        let mut doubles = Vec::new();
        for (nth, key) in keys.iter().enumerate() {
            match keys.get(first) {
                Some(earlier) if nth > first && text(*earlier) == text(*key) => {
                    doubles.push((*key, *earlier))
                }
                _ => first = nth,
            }
        }
        doubles.sort_unstable();
        for (key, first) in doubles {
            self.refuse_double(key, first);
            self.tree.slots.get_mut(mapping as usize).into_iter().for_each(|mapping| mapping.has_hole = true);
        }
    }

    fn refuse_key(&mut self, key: u32) {
        let slot = self.tree.slot(key);
        let found = if slot.kind == Kind::Sequence { Shape::Sequence } else { Shape::Mapping };
        let place = self.place(Range { start: slot.start, end: slot.end });
        self.tell(Problem::KeyShape { place, found });
        self.pass_over(key);
    }

    fn refuse_double(&mut self, key: u32, first: u32) {
        let (slot, earlier) = (self.tree.slot(key), self.tree.slot(first));
        let place = self.place(Range { start: slot.start, end: slot.end });
        let first = self.place(Range { start: earlier.start, end: earlier.end });
        let name = self.tree.text(slot, self.source).to_owned();
        // What a hole was to be called is only guessed.
        if self.hole_at(slot.start).or(self.hole_at(earlier.start)).is_none() {
            self.tell(Problem::DuplicateKey { place, key: name, first });
        }
        self.pass_over(key);
        self.break_value(key);
    }

    /// Leaves out what stands behind a key.
    fn break_value(&mut self, key: u32) {
        let value = self.tree.after(key);
        if let Some(slot) = self.tree.slots.get_mut(value as usize) {
            slot.link = if slot.has_members() { slot.link } else { IN_SOURCE };
            slot.kind = Kind::Broken;
        }
    }

    fn pass_over(&mut self, key: u32) {
        if let Some(slot) = self.tree.slots.get_mut(key as usize) {
            slot.passed_over = true;
        }
    }
}
