//! A key that is written together with its value: `{ command:1/2/10 }` and `{ command 1/2/10 }` are keys without a value.

use super::diagnose::may_be_key;
use super::tree::{IN_SOURCE, Kind, Node};
use crate::source::{Place, Problem, SyntaxFault};

/// Such a key, taken apart.
pub(super) struct Fused<'a> {
    pub(super) key: &'a str,
    /// What was meant to be its value.
    pub(super) value: Node<'a>,
    /// Where all of it stands.
    place: Place,
    has_colon: bool,
}

/// What people write between a key and its value, right or wrong.
const SEPARATORS: [char; 3] = [':', ' ', '='];

/// What stands behind a key, without a `=` that was meant for the colon.
pub(super) fn without_equals(behind: &str) -> &str {
    let rest = behind.trim_start_matches(' ');
    rest.strip_prefix("= ").unwrap_or(rest).trim_start_matches(' ')
}

/// Whether a text is one of some keys, or begins with one; where the keys are not known, whether a word and a number.
pub(super) fn begins_with_key(text: &str, keys: Option<&[&str]>) -> bool {
    let (name, behind) = text.split_once(SEPARATORS).unwrap_or((text, ""));
    match keys {
        Some(keys) => keys.contains(&name),
        None => may_be_key(name) && behind.starts_with(|first: char| first.is_ascii_digit()),
    }
}

/// Whether a key between braces has neither colon nor value.
pub(super) fn is_lone(key: Node<'_>, value: Node<'_>) -> bool {
    let behind = || key.source.get(key.place().end as usize..).unwrap_or("");
    value.slot().kind == Kind::Empty && behind().trim_start().starts_with([',', '}'])
}

/// Takes a key apart that has no value, and has a colon or a space within.
pub(super) fn split<'a>(key: Node<'a>, value: Node<'a>) -> Option<Fused<'a>> {
    let slot = key.slot();
    if value.slot().kind != Kind::Empty || slot.kind != Kind::Plain || slot.link != IN_SOURCE {
        return None;
    }
    let text = key.raw_text();
    let (name, behind) = text.split_once(SEPARATORS)?;
    let rest = without_equals(behind);
    let from = u32::try_from(text.len() - rest.len()).ok()?;
    let has_colon = text.as_bytes().get(name.len()) == Some(&b':');
    let is_whole = !name.is_empty() && !rest.is_empty();
    is_whole.then_some(Fused { key: name, value: Node { from, ..key }, place: key.place(), has_colon })
}

impl Fused<'_> {
    /// What is wrong with it.
    pub(super) fn problem(&self) -> Problem {
        let meant = Some(format!("{}: {}", self.key, self.value.raw_text()));
        let behind_key = self.place.start + u32::try_from(self.key.len()).unwrap_or(0);
        let (fault, start, end) = if self.has_colon {
            (SyntaxFault::ColonWithoutSpace { meant }, behind_key, behind_key + 1)
        } else {
            (SyntaxFault::KeyWithoutColon { meant }, self.place.start, behind_key)
        };
        Problem::Syntax { place: Place { start, end, ..self.place }, fault }
    }
}
