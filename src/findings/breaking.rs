//! Texts in lines of so many columns, broken at spaces; a word that is longer than a line stays whole.

use unicode_width::UnicodeWidthStr as _;

/// Columns that a text takes at least that stands beside another.
pub(crate) const ROOM: usize = 20;

/// Where it begins below that one, if there is less.
pub(crate) const BELOW: usize = 6;

/// A line broken into lines: the first is `used` columns in, and those behind it begin with `indent` spaces. Runs of spaces
/// within a line are kept.
pub(crate) fn broken(line: &str, width: usize, used: usize, indent: usize) -> String {
    let (mut broken, mut column, mut has_begun) = (String::new(), used, false);
    for word in line.split(' ') {
        let length = word.width();
        if has_begun && column + 1 + length > width {
            broken.truncate(broken.trim_end_matches(' ').len());
            broken.push('\n');
            broken.extend(std::iter::repeat_n(' ', indent));
            column = indent;
        } else if has_begun {
            broken.push(' ');
            column += 1;
        }
        broken.push_str(word);
        (column, has_begun) = (column + length, true);
    }
    broken.truncate(broken.trim_end_matches(' ').len());
    broken
}

/// A text of several lines, each of them broken.
pub(crate) fn wrapped(text: &str, width: usize) -> String {
    text.lines().map(|line| broken(line, width, 0, 0)).collect::<Vec<_>>().join("\n")
}

/// What stands beside a word, broken into lines that begin at its column; below the word where little room is left.
pub(crate) fn beside(said: &str, column: usize, width: usize) -> String {
    let (column, before) = if width >= column + ROOM { (column, "") } else { (BELOW, "\n      ") };
    let lines = wrapped(said, width.saturating_sub(column)).replace('\n', &format!("\n{:column$}", ""));
    format!("{before}{lines}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_broken_at_spaces_and_begin_where_they_should() {
        assert_eq!(broken("one two three", 7, 0, 0), "one two\nthree");
        assert_eq!(broken("one two three", 7, 3, 2), "one\n  two\n  three");
        assert_eq!(broken("a  b   c", 6, 0, 1), "a  b\n c");
        assert_eq!(broken("unbreakable", 4, 0, 0), "unbreakable");
        assert_eq!(wrapped("one two\nthree", 4), "one\ntwo\nthree");
    }
}
