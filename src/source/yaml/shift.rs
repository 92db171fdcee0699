//! Lines that are read as if they began further left or right than they do, or below a key that is not there, and the
//! places in the file of what is read so.

use super::build::{HOLE_KEY, Hole, Range};
use super::diagnose::Line;
use crate::sort;
use crate::source::place::narrow;

/// A line that is read otherwise than it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Shift {
    /// Where its first character stands in the file.
    pub(super) start: usize,
    /// Spaces before it in the file.
    pub(super) from: usize,
    /// Spaces before it in the text that is read.
    pub(super) to: usize,
    /// Where, on a line above it, a key begins that is in the text alone.
    pub(super) key_above: Option<usize>,
}

impl Shift {
    pub(super) fn of(line: Line, to: usize) -> Self {
        Self { start: line.start, from: line.indent, to, key_above: None }
    }

    /// The line that is in the text alone.
    fn line_above(self) -> String {
        self.key_above.map(|column| format!("{}{HOLE_KEY}:\n", " ".repeat(column))).unwrap_or_default()
    }
}

/// The text of a file with its lines shifted; `shifts` are in the order of the lines.
pub(super) fn apply(source: &str, shifts: &[Shift]) -> String {
    let more: usize = shifts.iter().map(|shift| shift.to + shift.line_above().len()).sum();
    let mut text = String::with_capacity(source.len() + more);
    let mut done = 0;
    for shift in shifts {
        text.push_str(source.get(done..shift.start.saturating_sub(shift.from)).unwrap_or(""));
        text.push_str(&shift.line_above());
        text.extend(std::iter::repeat_n(' ', shift.to));
        done = shift.start;
    }
    text.push_str(source.get(done..).unwrap_or(""));
    text
}

/// Which place in the file belongs to a place in the text, and the other way.
#[derive(Debug)]
pub(super) struct Shifts {
    /// First characters of shifted lines, in the text and in the file, in order.
    marks: Vec<(u32, u32)>,
    /// The keys that are in the text alone.
    keys: Vec<Hole>,
}

impl Shifts {
    /// Of shifts in the order of their lines.
    pub(super) fn new(shifts: &[Shift]) -> Self {
        let (mut more, mut less) = (0, 0);
        let (mut marks, mut keys) = (Vec::with_capacity(shifts.len()), Vec::new());
        for shift in shifts {
            less += shift.from;
            let line_start = (shift.start + more).saturating_sub(less);
            keys.extend(shift.key_above.map(|column| narrow(line_start + column)));
            more += shift.line_above().len() + shift.to;
            marks.push((narrow((shift.start + more).saturating_sub(less)), narrow(shift.start)));
        }
        Self { marks, keys: keys.into_iter().map(|start| Hole { start, key_end: start }).collect() }
    }

    /// All holes of the text, given those of the file.
    pub(super) fn holes(&self, of_file: &[Hole]) -> Vec<Hole> {
        let mut holes: Vec<Hole> =
            of_file.iter().map(|hole| self.in_text(*hole)).chain(self.keys.iter().copied()).collect();
        sort::by_key(&mut holes, |hole| hole.start);
        holes
    }

    /// The range in the file of one in the text.
    pub(super) fn in_file(&self, range: Range) -> Range {
        let [start, end] = [range.start, range.end].map(|at| self.moved(at, |(text, file)| (text, file)));
        Range { start, end: end.max(start) }
    }

    /// The hole in the text of one in the file.
    fn in_text(&self, hole: Hole) -> Hole {
        let [start, key_end] =
            [hole.start, hole.key_end].map(|at| self.moved(at, |(text, file)| (file, text)));
        Hole { start, key_end }
    }

    /// A place in one, given in the other; `way` puts the marks so that they go from the one to the other. What stands
    /// before the first character of a shifted line stays before it.
    fn moved(&self, at: u32, way: impl Fn((u32, u32)) -> (u32, u32)) -> u32 {
        let behind = self.marks.partition_point(|mark| way(*mark).0 <= at);
        let (from, to) =
            behind.checked_sub(1).and_then(|last| self.marks.get(last)).map_or((0, 0), |mark| way(*mark));
        let place = (at - from).saturating_add(to);
        self.marks.get(behind).map_or(place, |next| place.min(way(*next).1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Shifts lines, and finds each word of the file again in the text and back.
    fn check(source: &str, shifts: &[Shift], expected: &str) {
        let text = apply(source, shifts);
        assert_eq!(text, expected);
        let places = Shifts::new(shifts);
        for (start, word) in source.split_whitespace().map(|word| (source.find(word).unwrap(), word)) {
            let hole = Hole { start: narrow(start), key_end: narrow(start + word.len()) };
            let found = places.in_text(hole);
            assert_eq!(&text[found.start as usize..found.key_end as usize], word);
            let back = places.in_file(Range { start: found.start, end: found.key_end });
            assert_eq!((back.start, back.end), (hole.start, hole.key_end), "{word}");
        }
    }

    fn shift(start: usize, from: usize, to: usize) -> Shift {
        Shift { start, from, to, key_above: None }
    }

    #[test]
    fn places_are_those_of_the_file() {
        check("a:\n   b: 1\n  c: 2\n", &[shift(6, 3, 2)], "a:\n  b: 1\n  c: 2\n");
        check("a:\n b: 1\n   c: 2\nd: 3\n", &[shift(4, 1, 2), shift(12, 3, 2)], "a:\n  b: 1\n  c: 2\nd: 3\n");
        check(
            "a:\n    b: 1\nc: 2\n",
            &[Shift { key_above: Some(2), ..shift(7, 4, 4) }],
            "a:\n  _:\n    b: 1\nc: 2\n",
        );
        check(" a: 1\nb: 2\n", &[shift(1, 1, 0)], "a: 1\nb: 2\n");
    }
}
