//! How a table is laid out: its delimiter, its heading, and which column says what.

use super::headings::{known, plain};
use super::records::{IN_SOURCE, Record, Records, Span};
use super::{Column, Delimiter, RowSpans, text};
use crate::source::{FileId, Limits, Place, Problem, Spanned};

/// Rows at the start of a table among which its heading is looked for, and by which its delimiter is judged.
const ROWS_LOOKED_AT: usize = 60;

/// A cell that is not there.
const ABSENT: Span = Span { start: 0, end: 0, link: IN_SOURCE };

/// What was found out by reading the start of a table.
pub(super) struct Layout {
    pub(super) delimiter: Delimiter,
    pub(super) headings: [Option<Place>; 6],
    /// Where the first row behind the heading begins, at the earliest.
    pub(super) first_row: u32,
    /// How many columns the heading has; without a heading, no row has too many.
    pub(super) columns: usize,
    /// The number of each column in the text.
    at: [Option<usize>; 6],
    /// The heading of the addresses, as headings are compared.
    address_heading: String,
}

/// The start of a table, split by one of the delimiters.
struct Start {
    delimiter: Delimiter,
    records: Vec<Record>,
    texts: Vec<Box<str>>,
}

impl Layout {
    pub(super) fn find(
        source: &str,
        file: FileId,
        named: &[(Column, Spanned<String>)],
        limits: &Limits,
        problems: &mut Vec<Problem>,
    ) -> Self {
        let mut best: Option<(Rank, Start, Option<Heading>)> = None;
        for delimiter in Delimiter::ALL {
            let start = Start::read(source, delimiter, limits);
            let heading = start.heading(source, named);
            let rank = start.rank(heading.as_ref(), source);
            if best.as_ref().is_none_or(|(best, ..)| rank > *best) {
                best = Some((rank, start, heading));
            }
        }
        let Some((_, start, heading)) = best else { return Self::empty(Delimiter::Semicolon) };
        match heading {
            Some(heading) => start.with_heading(&heading, source, file, named, problems),
            None => start.without_heading(source, file, named, problems),
        }
    }

    fn empty(delimiter: Delimiter) -> Self {
        let (headings, at) = ([None; 6], [None; 6]);
        Self { delimiter, headings, first_row: 0, columns: usize::MAX, at, address_heading: String::new() }
    }

    pub(super) fn has_address(&self) -> bool {
        self.at.first().is_some_and(Option::is_some)
    }

    /// Whether the text of an address cell is the column's heading come again.
    pub(super) fn is_heading(&self, address: &str) -> bool {
        !self.address_heading.is_empty()
            && !looks_like_address(address)
            && plain(address) == self.address_heading
    }

    /// The cells of a row, in the order of [`Column::ALL`].
    pub(super) fn row(&self, record: &Record) -> RowSpans {
        let cells = self.at.map(|at| at.and_then(|at| record.cells.get(at)).copied().unwrap_or(ABSENT));
        RowSpans { start: record.start, end: record.end, is_range: false, cells }
    }
}

/// How well a delimiter fits; the greater, the better.
type Rank = (usize, usize, usize);

/// A row that was recognised as the heading.
struct Heading {
    /// Its number among the rows.
    row: usize,
    /// The number of each column in the row.
    at: [Option<usize>; 6],
}

impl Start {
    fn read(source: &str, delimiter: Delimiter, limits: &Limits) -> Self {
        let mut reader = Records::new(source, delimiter, limits.table_cells);
        let (mut records, mut texts) = (Vec::new(), Vec::new());
        while records.len() < ROWS_LOOKED_AT {
            let mut record = Record::default();
            if !reader.next(&mut record, &mut texts) {
                break;
            }
            records.push(record);
        }
        Self { delimiter, records, texts }
    }

    fn text<'a>(&'a self, cell: &Span, source: &'a str) -> &'a str {
        text(*cell, &self.texts, source)
    }

    /// The first row with a heading for the address, by the house's words or by well-known ones.
    fn heading(&self, source: &str, named: &[(Column, Spanned<String>)]) -> Option<Heading> {
        self.records.iter().enumerate().find_map(|(row, record)| {
            let at = self.columns(record, source, named);
            let has_address = at.first().is_some_and(Option::is_some);
            // One word alone on a line may be a title.
            let columns_found = at.iter().flatten().count();
            (has_address && (columns_found > 1 || record.cells.len() == 1)).then_some(Heading { row, at })
        })
    }

    /// Which columns a row has headings for. A heading that the house names comes before the well-known ones.
    fn columns(
        &self,
        record: &Record,
        source: &str,
        named: &[(Column, Spanned<String>)],
    ) -> [Option<usize>; 6] {
        let mut at = [None; 6];
        let mut ranks = [usize::MAX; 6];
        for (number, cell) in record.cells.iter().enumerate() {
            let heading = self.text(cell, source);
            let by_house = named.iter().find(|(_, word)| plain(&word.value) == plain(heading));
            let found = by_house
                .map(|(column, _)| (*column, 0))
                .or_else(|| known(heading).map(|(column, rank)| (column, rank + 1)));
            let Some((column, rank)) = found else { continue };
            if let (Some(slot), Some(best)) = (at.get_mut(column.index()), ranks.get_mut(column.index()))
                && rank < *best
            {
                *slot = Some(number);
                *best = rank;
            }
        }
        at
    }

    fn rank(&self, heading: Option<&Heading>, source: &str) -> Rank {
        let found = heading.map_or(0, |heading| heading.at.iter().flatten().count());
        let addresses = self.address_column(source).map_or(0, |(_, rows)| rows);
        let mut widths: Vec<usize> = self.records.iter().map(|record| record.cells.len()).collect();
        widths.sort_unstable();
        let width = widths.get(widths.len() / 2).copied().unwrap_or(0);
        (found, addresses, width)
    }

    /// The column in which most cells look like addresses, and how many do.
    fn address_column(&self, source: &str) -> Option<(usize, usize)> {
        let mut counts: Vec<usize> = Vec::new();
        for record in &self.records {
            for (number, cell) in record.cells.iter().enumerate() {
                if counts.len() <= number {
                    counts.push(0);
                }
                if let Some(count) =
                    counts.get_mut(number).filter(|_| looks_like_address(self.text(cell, source)))
                {
                    *count += 1;
                }
            }
        }
        let most = counts.iter().copied().max().filter(|most| *most > 0)?;
        counts.iter().position(|count| *count == most).map(|number| (number, most))
    }

    fn with_heading(
        &self,
        heading: &Heading,
        source: &str,
        file: FileId,
        named: &[(Column, Spanned<String>)],
        problems: &mut Vec<Problem>,
    ) -> Layout {
        let Some(record) = self.records.get(heading.row) else { return Layout::empty(self.delimiter) };
        let place = |cell: &Span| Place { file, start: cell.start, end: cell.end };
        let headings = heading.at.map(|at| at.and_then(|at| record.cells.get(at)).map(place));
        self.tell_missing(Some(record), source, named, problems);
        let address = heading.at.first().copied().flatten().and_then(|at| record.cells.get(at));
        let address_heading = address.map_or(String::new(), |cell| plain(self.text(cell, source)));
        Layout {
            delimiter: self.delimiter,
            headings,
            first_row: record.end,
            columns: record.cells.len(),
            at: heading.at,
            address_heading,
        }
    }

    /// A table whose heading does not say where the addresses are, or that has none: the addresses are known by
    /// their looks, and where nothing says which column has the names, the one with the longest texts is taken.
    fn without_heading(
        &self,
        source: &str,
        file: FileId,
        named: &[(Column, Spanned<String>)],
        problems: &mut Vec<Problem>,
    ) -> Layout {
        let address = self.address_column(source).filter(|(_, rows)| *rows * 2 >= self.records.len());
        let first = self.records.first();
        let words = first.filter(|record| {
            let cell = address.and_then(|(address, _)| record.cells.get(address));
            !cell.is_some_and(|cell| looks_like_address(self.text(cell, source)))
        });
        self.tell_missing(words, source, named, problems);
        let Some((address, _)) = address else {
            if named.is_empty() {
                let (start, end) = first.map_or((0, 0), |record| (record.start, record.end));
                problems.push(Problem::NoHeading { place: Place { file, start, end } });
            }
            return Layout::empty(self.delimiter);
        };
        let mut at = words.map_or([None; 6], |words| self.columns(words, source, named));
        let taken: Vec<usize> = at.iter().flatten().copied().chain([address]).collect();
        let [first_column, second, ..] = &mut at;
        *first_column = Some(address);
        if second.is_none() {
            *second = self.longest_column(source, &taken, usize::from(words.is_some()));
        }
        let headings = at.map(|at| {
            let cell = words.and_then(|words| words.cells.get(at?));
            cell.map(|cell| Place { file, start: cell.start, end: cell.end })
        });
        let first_row = words.map_or(0, |words| words.end);
        Layout { headings, at, first_row, ..Layout::empty(self.delimiter) }
    }

    /// Tells the headings that the house names and the table does not have.
    fn tell_missing(
        &self,
        heading: Option<&Record>,
        source: &str,
        named: &[(Column, Spanned<String>)],
        problems: &mut Vec<Problem>,
    ) {
        let cells = heading.map_or(&[][..], |record| &record.cells);
        let words: Vec<&str> = cells.iter().map(|cell| self.text(cell, source)).collect();
        for (_, word) in named {
            if !words.iter().any(|heading| plain(heading) == plain(&word.value)) {
                let found =
                    words.iter().filter(|word| !word.is_empty()).map(|word| (*word).to_owned()).collect();
                let heading = word.value.clone();
                problems.push(Problem::MissingHeading { place: word.place, heading, found });
            }
        }
    }

    /// The column with the most letters, of those that are not taken.
    fn longest_column(&self, source: &str, taken: &[usize], first_row: usize) -> Option<usize> {
        let mut letters: Vec<usize> = Vec::new();
        for record in self.records.iter().skip(first_row) {
            for (number, cell) in record.cells.iter().enumerate() {
                if letters.len() <= number {
                    letters.push(0);
                }
                if let Some(count) = letters.get_mut(number) {
                    *count += self.text(cell, source).chars().filter(|letter| letter.is_alphabetic()).count();
                }
            }
        }
        let most = letters.iter().enumerate().filter(|(number, _)| !taken.contains(number));
        let (number, count) = most.rev().max_by_key(|(_, count)| **count)?;
        (*count > 0).then_some(number)
    }
}

/// Whether a cell is two or three numbers with slashes between.
fn looks_like_address(cell: &str) -> bool {
    let mut parts = 0;
    let numbers = cell.split('/').all(|part| {
        parts += 1;
        !part.is_empty() && part.len() <= 4 && part.bytes().all(|byte| byte.is_ascii_digit())
    });
    numbers && (parts == 2 || parts == 3)
}
