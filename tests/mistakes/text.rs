//! Cutting and adding entries of a mapping, in either way of writing one.

use super::plant::Change;
use super::reading::Spot;
use super::tree::{Flow, Kind, Node};

/// Takes an entry out of a mapping, with its comma or its lines; none where it is not there.
pub(crate) fn without(file: usize, text: &str, mapping: &Node, key: &str) -> Option<Change> {
    let Kind::Mapping(entries, flow) = &mapping.kind else { return None };
    let at = entries.iter().position(|entry| entry.key.text() == Some(key))?;
    let entry = entries.get(at)?;
    let bytes = match flow {
        Flow::Lines => {
            let start = text.get(..entry.key.bytes.start)?.rfind('\n').map_or(0, |end| end + 1);
            let end =
                text.get(entry.value.bytes.end..)?.find('\n').map(|end| entry.value.bytes.end + end + 1);
            start..end.unwrap_or(text.len())
        }
        Flow::Braces => match (at.checked_sub(1).and_then(|before| entries.get(before)), entries.get(at + 1))
        {
            (Some(before), _) => before.value.bytes.end..entry.value.bytes.end,
            (None, Some(after)) => entry.key.bytes.start..after.key.bytes.start,
            (None, None) => return None,
        },
    };
    Some(Change { spot: Spot { file, bytes }, text: String::new() })
}

/// Puts an entry at the end of a mapping.
pub(crate) fn with(file: usize, text: &str, mapping: &Node, entry: &str) -> Option<Change> {
    let Kind::Mapping(entries, flow) = &mapping.kind else { return None };
    let (first, last) = (entries.first()?, entries.last()?);
    let end = last.value.bytes.end;
    let (at, text) = match flow {
        Flow::Braces => (end, format!(", {entry}")),
        Flow::Lines => {
            let line = text.get(..first.key.bytes.start)?.rfind('\n').map_or(0, |end| end + 1);
            let indent = " ".repeat(first.key.bytes.start - line);
            let at = text.get(end..)?.find('\n').map_or(text.len(), |more| end + more);
            (at, format!("\n{indent}{entry}"))
        }
    };
    Some(Change { spot: Spot { file, bytes: at..at }, text })
}

/// The ways to mistype a word: a letter lost, doubled, or exchanged with the next one.
pub(crate) fn mistyped(word: &str) -> Vec<String> {
    let letters: Vec<char> = word.chars().collect();
    let mut variants = Vec::new();
    for at in 1..letters.len() {
        let mut lost = letters.clone();
        lost.remove(at);
        let mut doubled = letters.clone();
        if let Some(letter) = letters.get(at).filter(|letter| letter.is_alphabetic()) {
            doubled.insert(at, *letter);
        }
        let mut exchanged = letters.clone();
        if at + 1 < letters.len() {
            exchanged.swap(at, at + 1);
        }
        variants.extend([lost, doubled, exchanged].map(|letters| letters.into_iter().collect::<String>()));
    }
    variants.retain(|variant| {
        variant != word && variant.len() > 1 && !variant.starts_with('-') && !variant.ends_with('-')
    });
    variants
}
