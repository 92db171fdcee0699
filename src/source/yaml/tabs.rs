//! Lines that begin with tabs or no-break spaces, which indent nothing, and where they were meant to begin.

use super::diagnose::Line;
use super::disguised::NO_BREAK_SPACE;
use super::realign::{self, Columns};
use super::shift::Shift;

/// Lines that are looked at once.
const MOST_LINES: usize = 2000;

/// White space that indents nothing.
const OTHER_SPACE: [char; 2] = ['\t', NO_BREAK_SPACE];

/// The lines from the one with a byte on that have such white space before their first character; white space counts as the
/// indentation of each. None where the byte is no such.
pub(super) fn lines(source: &str, byte: usize) -> Vec<Line<'_>> {
    let first = Line::at(source, byte);
    let all = std::iter::successors(Some(first), |line| line.after(source)).take(MOST_LINES);
    let is_tabbed = |line: &Line| line.text.starts_with(OTHER_SPACE);
    let together = all.take_while(|line| is_tabbed(line) || !line.has_content());
    let tabbed: Vec<Line> = together.filter(is_tabbed).map(behind_tabs).collect();
    if tabbed.first().is_some_and(|line| byte < line.start) { tabbed } else { Vec::new() }
}

fn behind_tabs(line: Line<'_>) -> Line<'_> {
    let text = line.text.trim_start_matches([' ', '\t', NO_BREAK_SPACE]);
    let further = line.text.len() - text.len();
    Line { start: line.start + further, indent: line.indent + further, text }
}

/// Ways of moving them, the likeliest first: the first of them to where it may begin, the others with it. A tab counts as
/// a level.
pub(super) fn attempts<'s>(lines: &[Line<'s>], source: &'s str, columns: &Columns<'s>) -> Vec<Vec<Shift>> {
    let Some(first) = lines.first() else { return Vec::new() };
    let width = |line: &Line| {
        let space = source.get(line.start - line.indent..line.start).unwrap_or("");
        space.chars().map(|space| if space == '\t' { columns.step } else { 1 }).sum::<usize>()
    };
    let left = width(first);
    let moved = |to: usize| {
        let shifts = lines.iter().map(|line| {
            let to = (to + width(line)).checked_sub(left)?;
            Some(Shift { start: line.start, from: line.indent, to, key_above: None })
        });
        shifts.collect::<Option<Vec<Shift>>>()
    };
    realign::columns_of(*first, source, columns).into_iter().filter_map(moved).collect()
}
