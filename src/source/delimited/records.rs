//! Rows and cells of delimited text, with the place of each cell.
//!
//! The csv crate's state machine does the splitting. What is added here: the range of each cell in the text, and
//! that one unclosed quotation mark costs one row instead of everything behind it.

use csv_core::{ReadFieldResult, Reader, ReaderBuilder};

use super::Delimiter;
use crate::source::place::narrow;

/// `link` of a cell whose text is a slice of the source.
pub(super) const IN_SOURCE: u32 = u32::MAX;

/// Where a cell's text stands, without quotation marks and white space around it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) start: u32,
    pub(super) end: u32,
    /// The text's number among the owned ones, when it has doubled quotation marks; else [`IN_SOURCE`].
    pub(super) link: u32,
}

/// What is wrong with how a row is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFault {
    /// A quotation mark has no partner. Quotation marks of the row were read as text.
    UnclosedQuote,
    /// It is longer than a row may be; the rest of it was left out.
    TooLong,
    /// It has more cells with something in them than the heading has.
    TooManyCells,
    /// It says something and has no address: a total, a merged cell, a line between.
    NoAddress,
}

/// One row.
#[derive(Debug, Default)]
pub(super) struct Record {
    /// The row's range, without its line end.
    pub(super) start: u32,
    pub(super) end: u32,
    pub(super) cells: Vec<Span>,
    pub(super) fault: Option<RowFault>,
}

impl Record {
    /// Whether no cell has anything in it.
    pub(super) fn is_empty(&self) -> bool {
        self.cells.iter().all(|cell| cell.start == cell.end)
    }
}

/// Bytes of one row. A longer one is no row of a table of addresses.
const MOST_ROW_BYTES: usize = 16 << 10;

/// Reads one row after the other.
pub(super) struct Records<'t> {
    text: &'t str,
    at: usize,
    delimiter: Delimiter,
    /// Splits rows with quotation marks.
    reader: Reader,
    /// Rows may still be read twice, to mend an unclosed quotation mark: after so many a cell ends with its line at the latest.
    /// Bounds the work on hostile text.
    mends_left: usize,
    most_cells: usize,
    output: Vec<u8>,
}

impl<'t> Records<'t> {
    pub(super) fn new(text: &'t str, delimiter: Delimiter, most_cells: usize) -> Self {
        let at = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
        Self {
            text,
            at,
            delimiter,
            reader: ReaderBuilder::new().delimiter(delimiter.byte()).build(),
            mends_left: 10_000,
            most_cells,
            output: vec![0; MOST_ROW_BYTES + 4],
        }
    }

    /// The next row that is not an empty line, into `record`; false at the end. Texts that are no slices of the
    /// source are added to `owned`.
    pub(super) fn next(&mut self, record: &mut Record, owned: &mut Vec<Box<str>>) -> bool {
        let rest = self.text.get(self.at..).unwrap_or("");
        self.at += rest.len() - rest.trim_start_matches(['\r', '\n']).len();
        if self.at >= self.text.len() {
            return false;
        }
        let kept = owned.len();
        let first_line = line(self.text.get(self.at..).unwrap_or(""));
        let quotes = memchr::memchr(b'"', first_line.as_bytes()).is_some();
        let next = if quotes {
            let window = match self.mends_left {
                0 => window(first_line, 0, MOST_ROW_BYTES),
                _ => window(self.text, self.at, MOST_ROW_BYTES),
            };
            match self.split(window, record, owned) {
                Some(length) if length == window.len() && self.is_cut(length) => {
                    record.fault = Some(RowFault::TooLong);
                    self.at + length + line(self.text.get(self.at + length..).unwrap_or("")).len()
                }
                Some(length) => self.at + length,
                None => {
                    owned.truncate(kept);
                    self.mends_left = self.mends_left.saturating_sub(1);
                    self.split_line(first_line, record);
                    record.fault = Some(RowFault::UnclosedQuote);
                    self.at + first_line.len()
                }
            }
        } else {
            self.split_line(first_line, record);
            self.at + first_line.len()
        };
        record.start = narrow(self.at);
        let written = self.text.get(self.at..next).unwrap_or("").trim_end_matches(['\r', '\n']);
        record.end = narrow(self.at + written.len());
        self.at = next.max(self.at + 1);
        true
    }

    /// Whether a row of so many bytes ends neither with a line nor with the text.
    fn is_cut(&self, length: usize) -> bool {
        let (row, rest) =
            self.text.get(self.at..).and_then(|row| row.split_at_checked(length)).unwrap_or(("", ""));
        !rest.is_empty() && !row.ends_with(['\r', '\n']) && !rest.starts_with(['\r', '\n'])
    }

    /// Splits one line, quotation marks being text.
    fn split_line(&self, line: &'t str, record: &mut Record) {
        let shown = window(line, 0, MOST_ROW_BYTES);
        record.cells.clear();
        record.fault = (shown.len() < line.len()).then_some(RowFault::TooLong);
        let ends = memchr::memchr_iter(self.delimiter.byte(), shown.as_bytes()).chain([shown.len()]);
        let mut start = 0;
        for end in ends {
            if record.cells.len() == self.most_cells {
                record.fault = record.fault.or(Some(RowFault::TooManyCells));
                break;
            }
            record.cells.push(trimmed(self.at + start, shown.get(start..end).unwrap_or("")));
            start = end + 1;
        }
    }

    /// Splits a row with quotation marks at the start of `window` and gives its length. None when a quotation mark is not closed.
    fn split(&mut self, window: &'t str, record: &mut Record, owned: &mut Vec<Box<str>>) -> Option<usize> {
        record.cells.clear();
        record.fault = None;
        let base = self.at;
        let reader = &mut self.reader;
        reader.reset();
        let mut used = 0;
        loop {
            let input = window.as_bytes().get(used..).unwrap_or(&[]);
            let (result, taken, filled) = reader.read_field(input, &mut self.output);
            let raw = window.get(used..used + taken).unwrap_or("");
            let (at_end, record_end, filled) = match result {
                ReadFieldResult::Field { record_end } => (false, record_end, filled),
                ReadFieldResult::InputEmpty => {
                    let rest = self.output.get_mut(filled..).unwrap_or(&mut []);
                    reader.read_field(&[], rest);
                    (true, true, filled)
                }
                ReadFieldResult::OutputFull | ReadFieldResult::End => return Some(window.len()),
            };
            let raw = if at_end { raw } else { raw.strip_suffix(is_separator).unwrap_or(raw) };
            if is_unclosed(raw, at_end) {
                return None;
            }
            if record.cells.len() < self.most_cells {
                let text = self.output.get(..filled).unwrap_or(&[]);
                record.cells.push(cell(base + used, raw, text, owned));
            } else {
                record.fault = Some(RowFault::TooManyCells);
            }
            used += taken;
            if record_end {
                return Some(used);
            }
        }
    }
}

/// A delimiter or line end: what the state machine takes along with a cell.
fn is_separator(character: char) -> bool {
    matches!(character, ',' | ';' | '\t' | '|' | '\r' | '\n')
}

/// Whether a cell begins with a quotation mark that no other one closes. The state machine takes text behind the
/// closing mark for a part of the cell; with a line end in it that is the sign of a mark too few.
fn is_unclosed(raw: &str, at_end: bool) -> bool {
    let Some(inner) = raw.strip_prefix('"') else { return false };
    if !at_end && !inner.contains(['\n', '\r']) {
        return false;
    }
    let closed = inner.strip_suffix('"').is_some_and(|inner| !inner.replace("\"\"", "").contains('"'));
    !closed
}

/// A cell as a slice of the source where it is one.
fn cell(start: usize, raw: &str, text: &[u8], owned: &mut Vec<Box<str>>) -> Span {
    let text = String::from_utf8_lossy(text);
    if let Some((blanks, inner)) = quoted_behind_blanks(raw) {
        return trimmed(start + blanks + 1, inner);
    }
    let (inner, shift) = match raw.strip_prefix('"').and_then(|raw| raw.strip_suffix('"')) {
        Some(inner) if inner == text => (inner, 1),
        _ => (raw, 0),
    };
    let span = trimmed(start + shift, inner);
    if inner.trim() == text.trim() {
        return span;
    }
    owned.push(text.trim().into());
    Span { link: narrow(owned.len() - 1), ..span }
}

/// What a cell has between quotation marks behind white space, as in `1/0/1, "Hall lamp"`, and how much of that there is.
fn quoted_behind_blanks(raw: &str) -> Option<(usize, &str)> {
    let cell = raw.trim_start();
    let blanks = raw.len() - cell.len();
    let inner = cell.trim_end().strip_prefix('"')?.strip_suffix('"')?;
    (blanks > 0 && !inner.contains('"')).then_some((blanks, inner))
}

/// A slice of the source, without white space around it.
fn trimmed(start: usize, text: &str) -> Span {
    let inner = text.trim_start();
    let from = start + text.len() - inner.len();
    Span { start: narrow(from), end: narrow(from + inner.trim_end().len()), link: IN_SOURCE }
}

/// A text up to the end of its first line.
fn line(text: &str) -> &str {
    memchr::memchr2(b'\r', b'\n', text.as_bytes()).and_then(|end| text.get(..end)).unwrap_or(text)
}

/// At most `most` bytes of a text, from `at` on, cut between characters.
fn window(text: &str, at: usize, most: usize) -> &str {
    let mut end = (at + most).min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    text.get(at..end).unwrap_or("")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotation_marks_are_read_and_told_however_many_were_not_closed() {
        let text = "1,\"open\n2,\"a, b\"\n3,\"two\nlines\"\n4,c\n";
        let rows = |mends_left| {
            let mut records = Records { mends_left, ..Records::new(text, Delimiter::Comma, 9) };
            let (mut record, mut owned, mut rows) = (Record::default(), Vec::new(), Vec::new());
            while records.next(&mut record, &mut owned) {
                rows.push((record.cells.len(), record.fault));
            }
            rows
        };
        let open = Some(RowFault::UnclosedQuote);
        assert_eq!(rows(9), [(2, open), (2, None), (2, None), (2, None)]);
        // A cell of two lines is then two rows, and told.
        assert_eq!(rows(0), [(2, open), (2, None), (2, open), (1, None), (2, None)]);
    }
}
