//! Lines that the parser takes for something else than what they are: what a merge left behind, comments of other
//! languages, no-break spaces for indentation. Looked for only where something is wrong, since they are the cause.

use super::diagnose::{Line, Span, content_before};
use super::merge;
use super::region::Region;
use crate::source::SyntaxFault;

/// Lines that are looked at once, and before each of them.
const MOST_LINES: usize = 2000;
const MOST_LINES_BACK: usize = 100;

const SLASHES: &str = "//";
pub(super) const NO_BREAK_SPACE: char = '\u{a0}';

/// The first of them; `is_known` says of a line's first character that the line is read otherwise already.
pub(super) fn first(source: &str, is_known: impl Fn(usize) -> bool) -> Option<(SyntaxFault, Span)> {
    if let Some(mark) = merge::first_mark(source) {
        return Some((SyntaxFault::Unmerged, mark));
    }
    let is_possible = source.contains(SLASHES) || source.contains(NO_BREAK_SPACE);
    let all = std::iter::successors(is_possible.then(|| Line::at(source, 0)), |line| line.after(source));
    all.filter_map(|line| {
        let text = line.text.trim_start_matches([NO_BREAK_SPACE, ' ', '\t']);
        let start = line.start + line.text.len() - text.len();
        if text.starts_with(SLASHES) {
            Some((line, SyntaxFault::Slashes, start..line.span().end))
        } else if line.text.starts_with(NO_BREAK_SPACE) && text.contains(':') && !is_known(start) {
            Some((line, SyntaxFault::NoBreakSpace { meant: None }, line.start - line.indent..start))
        } else {
            None
        }
    })
    .take(MOST_LINES)
    .find(|(line, ..)| !is_in_block(*line, source))
    .map(|(_, fault, span)| (fault, span))
}

/// The comments of another language from the line with a byte on.
pub(super) fn comments(source: &str, byte: usize) -> impl Iterator<Item = Region> {
    let lines = std::iter::successors(Some(Line::at(source, byte)), |line| line.after(source));
    let lines = lines.take_while(|line| line.text.trim_start_matches(NO_BREAK_SPACE).starts_with(SLASHES));
    lines.map(|line| Region::blank(line.start, line.span().end))
}

/// Whether a line belongs to a block of text.
fn is_in_block(line: Line, source: &str) -> bool {
    let above = std::iter::successors(content_before(line, source), |line| content_before(*line, source));
    let outer = above.take(MOST_LINES_BACK).find(|above| above.indent < line.indent);
    let header = outer.and_then(|outer| outer.without_comment().rsplit(' ').next());
    header.is_some_and(|header| header.starts_with(['|', '>']))
}
