//! Parts of a text that are left out: which, and the text without them.

use super::build::Hole;
use super::diagnose::{Line, content_before};
use crate::sort;
use crate::source::place::narrow;
use std::cmp::Reverse;

/// The [`HOLE_KEY`](super::build::HOLE_KEY) with its colon.
const PLACEHOLDER: &str = "_:";

/// What stands in place of an entry.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Filling {
    /// A key or a dash without a value.
    Placeholder,
    /// Nothing.
    Blank,
    /// A bracket, for one of the other kind.
    Bracket(char),
}

/// A part of the text that is not parsed.
#[derive(Clone, Copy)]
pub(super) struct Region {
    pub(super) start: usize,
    pub(super) end: usize,
    indent: usize,
    filling: Filling,
}

impl Region {
    /// A part of which nothing is read.
    pub(super) fn blank(start: usize, end: usize) -> Self {
        Self { start, end, indent: usize::MAX, filling: Filling::Blank }
    }

    /// A bracket that is read as another one.
    pub(super) fn bracket(start: usize, meant: char) -> Self {
        Self { start, end: start + 1, indent: usize::MAX, filling: Filling::Bracket(meant) }
    }
}

/// The text with spaces, or a placeholder, where nothing is to be read, and where the placeholders are.
pub(super) fn without(source: &str, regions: &[Region]) -> (String, Vec<Hole>) {
    let mut sorted = regions.to_vec();
    sort::by_key(&mut sorted, |region| (region.start, Reverse(region.end)));
    let mut text = String::with_capacity(source.len());
    let mut holes = Vec::new();
    for region in sorted {
        // Regions may lie within each other when an outer one was taken later.
        if region.start < text.len() {
            continue;
        }
        text.push_str(source.get(text.len()..region.start).unwrap_or(""));
        if let Filling::Bracket(meant) = region.filling {
            text.push(meant);
            continue;
        }
        let skipped = source.get(region.start..region.end).unwrap_or("");
        let line = Line::at(source, region.start);
        let is_item = skipped.starts_with('-');
        let filled = region.filling == Filling::Placeholder && (is_item || line.text.len() > 1);
        let placeholder = match (filled, is_item) {
            (true, true) => "-",
            (true, false) => PLACEHOLDER,
            (false, _) => "",
        };
        text.push_str(placeholder);
        let rest = skipped.get(placeholder.len()..);
        // The rest byte by byte: a placeholder may end within a character.
        let rest = rest.map_or(skipped.as_bytes().get(placeholder.len()..).unwrap_or(&[]), str::as_bytes);
        text.extend(
            rest.iter().map(|byte| if matches!(byte, b'\n' | b'\r') { char::from(*byte) } else { ' ' }),
        );
        if filled {
            holes.push(Hole { start: narrow(region.start), key_end: narrow(line.key().end) });
        }
    }
    text.push_str(source.get(text.len()..).unwrap_or(""));
    (text, holes)
}

/// The entry that has a byte: its line, and the lines behind it that are further in.
/// Lines with a tab in front have no indentation that counts; they are left out alone.
pub(super) fn entry_at(source: &str, byte: usize) -> Region {
    let line = Line::at(source, byte);
    if !line.text.starts_with('\t') {
        return block(source, line, Filling::Placeholder);
    }
    let tabbed = std::iter::successors(Some(line), |line| line.after(source))
        .take_while(|line| line.text.starts_with('\t'));
    let end = tabbed.last().map_or(line.span().end, |line| line.span().end);
    Region::blank(line.start, end)
}

pub(super) fn block(source: &str, line: Line, filling: Filling) -> Region {
    let mut end = line.span().end;
    for next in std::iter::successors(line.after(source), |line| line.after(source)) {
        if next.has_content() {
            if next.indent <= line.indent {
                break;
            }
            end = next.span().end;
        }
    }
    Region { start: line.start, end, indent: line.indent, filling }
}

/// What to try when leaving out a region did not help: the region without anything in its place, then the entry
/// around it.
pub(super) fn outwards(source: &str, region: Region) -> Option<Region> {
    if region.filling == Filling::Placeholder {
        return Some(Region { filling: Filling::Blank, ..region });
    }
    let line = Line::at(source, region.start);
    let outer = std::iter::successors(content_before(line, source), |line| content_before(*line, source))
        .find(|line| line.indent < region.indent)?;
    Some(block(source, outer, Filling::Placeholder))
}

#[cfg(test)]
mod tests {
    use super::super::events::parse_around;
    use super::super::tree::Node;
    use crate::source::{FileId, Limits, Place, Problem};

    #[test]
    fn no_place_parts_a_character() {
        for source in [">1\n\u{fffd}", "a: >1\n  \u{e4}\u{e4}\n", "a: |1\n   \u{1f511}\n \u{1f511}\n"] {
            let (tree, problems) = parse_around(source, FileId(0), &Limits::default());
            let mut places: Vec<Place> = problems.iter().map(Problem::place).collect();
            let mut open: Vec<Node<'_>> = tree.iter().map(|tree| tree.root(FileId(0), source)).collect();
            while let Some(node) = open.pop() {
                places.push(node.place());
                open.extend(node.entries().flat_map(|(key, value)| [key, value]).chain(node.items()));
            }
            for place in places {
                assert!(
                    source.get(place.start as usize..place.end as usize).is_some(),
                    "{place:?} {source:?}"
                );
            }
        }
    }
}
