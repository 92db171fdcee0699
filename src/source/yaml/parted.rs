//! Values that a comma parts in two: in `{ on: Mondays, Tuesdays }` the second is a key without a value.

use super::fused;
use super::read::Reader;
use super::tree::{IN_SOURCE, Kind, Node};
use crate::source::problem::tell;
use crate::source::{Place, Problem, SyntaxFault};

/// Parts of a text that people write.
const MOST_PARTS: usize = 20;

/// Bytes of such a text.
const LONGEST: usize = 400;

/// How far the entries of a mapping have been looked at.
#[derive(Default)]
pub(super) struct Parts {
    /// The value of the entry before.
    value_before: u32,
    /// Where the parts end that have been told.
    told_to: u32,
}

impl Parts {
    /// Whether the next entry is no key but a part of the value in front of it. That is told once, with all parts, in
    /// place of what is wrong with the first alone. `fields` are the keys of the mapping, where they are known.
    pub(super) fn take<'a>(
        &mut self,
        key: Node<'a>,
        value: Node<'a>,
        reader: Reader<'a, '_>,
        fields: Option<&'static [&'static str]>,
    ) -> bool {
        let value_before = std::mem::replace(&mut self.value_before, value.at);
        if value.slot().kind != Kind::Empty || value_before == 0 {
            return false;
        }
        if key.place().start < self.told_to {
            return true;
        }
        let Some((place, fault)) = joined(reader.node, value_before, key, fields) else { return false };
        self.told_to = place.end;
        let mut told = reader.told.borrow_mut();
        told.pop_if(|last| last.place().start == place.start);
        tell(&mut told, Problem::Syntax { place, fault });
        true
    }
}

/// A value with its parts, given the first that may be one.
fn joined(
    mapping: Node<'_>,
    value_before: u32,
    first: Node<'_>,
    fields: Option<&'static [&'static str]>,
) -> Option<(Place, SyntaxFault)> {
    let value = Node { at: value_before, from: 0, ..mapping };
    let key = Node { at: value_before.checked_sub(1)?, from: 0, ..mapping };
    let is_plain = |node: Node| node.slot().kind == Kind::Plain && node.slot().link == IN_SOURCE;
    if !is_plain(key) || !is_plain(value) {
        return None;
    }
    let after = mapping.tree.after(mapping.at);
    let parts = std::iter::successors(Some(first), |part| {
        let next = mapping.tree.after(part.at + 1);
        (next < after).then_some(Node { at: next, from: 0, ..mapping })
    });
    let is_lone = |part: Node<'_>| fused::is_lone(part, Node { at: part.at + 1, ..part });
    let is_part =
        |part: &Node| is_plain(*part) && is_lone(*part) && !fused::begins_with_key(part.raw_text(), fields);
    let parts: Vec<Node<'_>> = parts.take_while(is_part).take(MOST_PARTS + 1).collect();
    let last = parts.last().filter(|_| parts.len() <= MOST_PARTS)?;
    let place = Place { end: last.place().end, ..value.place() };
    let text = mapping.source.get(place.start as usize..place.end as usize)?;
    // Within a line, commas alone stand between the parts.
    let is_text = text.len() <= LONGEST && !text.contains(['\n', '\r']);
    is_text.then(|| {
        let left_out = left_out(mapping, key.raw_text(), fields).filter(|_| parts.len() == 1);
        let (key, text) = (key.raw_text().to_owned(), text.to_owned());
        (place, SyntaxFault::Parted { key, text, left_out })
    })
}

/// The second key of a structure, where it has the first alone: those are what it hardly does without.
fn left_out(mapping: Node<'_>, key: &str, fields: Option<&'static [&'static str]>) -> Option<&'static str> {
    let [first, second, ..] = fields? else { return None };
    let is_left_out = *first == key && mapping.get(second).is_none();
    is_left_out.then_some(*second)
}
