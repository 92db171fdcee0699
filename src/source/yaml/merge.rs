//! What a merge left in a text that it could not bring together: of two sides the first is read.

use super::region::Region;
use std::ops::Range;

/// How the lines begin that part the sides and, if git was told to leave it, what both came from.
const MARKS: [&str; 4] = ["<<<<<<<", "|||||||", "=======", ">>>>>>>"];
const BEGIN: usize = 0;
const END: usize = 3;

/// The first line that a merge left behind.
pub(super) fn first_mark(source: &str) -> Option<Range<usize>> {
    let is_possible = MARKS.iter().any(|mark| source.contains(mark));
    let mut lines = is_possible.then(|| marks(source)).into_iter().flatten();
    lines.next().map(|(_, line)| line)
}

/// All that is not read of such a text: the marks, and the sides behind the first.
pub(super) fn other_sides(source: &str) -> Vec<Region> {
    let mut regions = Vec::new();
    // Where a conflict is, and where that begins which is not read of it.
    let (mut is_open, mut other) = (false, None);
    for (mark, line) in marks(source) {
        match mark {
            BEGIN => (is_open, other) = (true, None),
            END => {
                regions.extend(other.take().map(|start| Region::blank(start, line.end)));
                is_open = false;
            }
            _ if is_open => other = other.or(Some(line.start)),
            _ => {}
        }
        regions.push(Region::blank(line.start, line.end));
    }
    regions
}

/// Each line that is a mark, and which.
fn marks(source: &str) -> impl Iterator<Item = (usize, Range<usize>)> {
    let mut start = 0;
    source.split_inclusive('\n').filter_map(move |line| {
        let range = start..start + line.trim_end().len();
        start += line.len();
        let rest = line.get(7..)?;
        let is_alone = rest.is_empty() || rest.starts_with([' ', '\n', '\r']);
        let mark = MARKS.iter().position(|mark| is_alone && line.starts_with(mark))?;
        Some((mark, range))
    })
}
