//! Texts with marks: a line of `^` under a line shows where a finding must be.

/// A mark: the line (from 1) and the column (from 1) of the place above it, and what stands behind the mark.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Mark {
    /// House-relative path.
    pub(crate) path: String,
    /// Line, from 1.
    pub(crate) line: u32,
    /// Column, from 1, in characters.
    pub(crate) column: u32,
    /// How many characters are marked.
    pub(crate) width: u32,
    /// Text behind the mark: a rule's name, or nothing.
    pub(crate) rule: String,
}

impl Mark {
    /// Whether a place found is where a mark is. A place of no width, or of several lines, begins there.
    pub(crate) fn is_at(&self, mark: &Self) -> bool {
        let begins = (&self.path, self.line, self.column) == (&mark.path, mark.line, mark.column);
        begins && (self.width == 0 || self.width == mark.width)
    }
}

/// Takes the marks out of a text. `#^^^` marks from the `#` on, `#   ^^^` from the first `^`.
pub(crate) fn take(path: &str, text: &str) -> (String, Vec<Mark>) {
    let mut kept = String::new();
    let mut marks = Vec::new();
    let mut line = 0;
    for written in text.lines() {
        match mark(written) {
            Some((column, width, rule)) => {
                marks.push(Mark { path: path.to_owned(), line, column, width, rule: rule.to_owned() });
            }
            None => {
                kept.push_str(written);
                kept.push('\n');
                line += 1;
            }
        }
    }
    (kept, marks)
}

fn mark(line: &str) -> Option<(u32, u32, &str)> {
    let hash = line.find('#').filter(|&at| line[..at].trim().is_empty())?;
    let behind = &line[hash + 1..];
    let first = hash + 1 + behind.find('^').filter(|&at| behind[..at].trim().is_empty())?;
    let width = line[first..].chars().take_while(|&c| c == '^').count();
    let rule = line[first + width..].trim();
    let (start, width) = if first == hash + 1 { (hash, width + 1) } else { (first, width) };
    let column = line[..start].chars().count() + 1;
    Some((u32::try_from(column).ok()?, u32::try_from(width).ok()?, rule))
}
