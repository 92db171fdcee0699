//! The start of a table, split by one of the delimiters: what its rows say of its columns.

use super::contents::Contents;
use super::headings::{known, level, plain};
use super::parts::Parts;
use super::records::{Record, Records, Span};
use super::{Column, Delimiter, text};
use crate::source::{Limits, Spanned};
use rustc_hash::FxHashSet;

/// Rows at the start of a table among which its heading is looked for, and by which its delimiter is judged.
const ROWS_LOOKED_AT: usize = 60;

/// The start of a table, split by one of the delimiters.
pub(super) struct Start {
    pub(super) delimiter: Delimiter,
    pub(super) records: Vec<Record>,
    pub(super) texts: Vec<Box<str>>,
}

/// How well a delimiter fits; the greater, the better.
pub(super) type Rank = (usize, usize, usize);

/// A row that was recognised as the heading.
pub(super) struct Heading {
    /// Its number among the rows.
    pub(super) row: usize,
    /// The number of each column in the row.
    pub(super) at: [Option<usize>; 6],
    /// The columns with the numbers of main, middle and sub group, where they make the addresses.
    pub(super) parts: Option<Parts>,
    /// The columns with the names of main, middle and sub group.
    pub(super) names: [Option<usize>; 3],
}

impl Start {
    pub(super) fn read(source: &str, delimiter: Delimiter, limits: &Limits) -> Self {
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

    pub(super) fn text<'a>(&'a self, cell: &Span, source: &'a str) -> &'a str {
        text(*cell, &self.texts, source)
    }

    /// The first row with a heading for the address, by the house's words or by well-known ones.
    pub(super) fn heading(&self, source: &str, named: &[(Column, Spanned<String>)]) -> Option<Heading> {
        self.records.iter().enumerate().find_map(|(row, record)| {
            let at = self.columns(record, source, named);
            let has_address = at.first().is_some_and(Option::is_some);
            // One word alone on a line may be a title.
            let columns_found = at.iter().flatten().count();
            let (numbers, names) = self.levels(row, record, source);
            if has_address
                && (columns_found > 1 || record.cells.len() == 1 || names.iter().any(Option::is_some))
            {
                return Some(Heading { row, at, parts: None, names });
            }
            let parts = Some(Parts::of(numbers).filter(|_| !has_address)?);
            Some(Heading { row, at, parts, names })
        })
    }

    /// The columns that a row heads as main, middle and sub group: with numbers below, and with names.
    fn levels(&self, row: usize, record: &Record, source: &str) -> ([Option<usize>; 3], [Option<usize>; 3]) {
        let (mut numbers, mut names) = ([None; 3], [None; 3]);
        for (number, cell) in record.cells.iter().enumerate() {
            let heading = self.text(cell, source);
            let Some(level) = level(heading) else { continue };
            let below = self.records.iter().skip(row + 1).map(|record| self.cell(record, number, source));
            let contents = Contents::new(number, heading, &below.collect::<Vec<_>>());
            let slots = if contents.are_numbers() { &mut numbers } else { &mut names };
            if let Some(slot) = slots.get_mut(level).filter(|_| contents.has_texts()) {
                slot.get_or_insert(number);
            }
        }
        (numbers, names)
    }

    pub(super) fn cell<'a>(&'a self, record: &Record, number: usize, source: &'a str) -> &'a str {
        record.cells.get(number).map_or("", |cell| self.text(cell, source))
    }

    /// Which columns a row has headings for. A heading that the house names comes before the well-known ones.
    pub(super) fn columns(
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

    pub(super) fn rank(&self, heading: Option<&Heading>, source: &str) -> Rank {
        let found = heading.map_or(0, |heading| {
            heading.at.iter().flatten().count() + heading.parts.as_ref().map_or(0, Parts::count)
        });
        let addresses = self.address_column(source).map_or(0, |(_, rows)| rows);
        let mut widths: Vec<usize> = self.records.iter().map(|record| record.cells.len()).collect();
        widths.sort_unstable();
        let width = widths.get(widths.len() / 2).copied().unwrap_or(0);
        (found, addresses, width)
    }

    /// The column that has the addresses, by their looks, and how many do look so: the one in which most of them differ.
    pub(super) fn address_column(&self, source: &str) -> Option<(usize, usize)> {
        let columns = self.address_columns(source);
        let most =
            columns.iter().enumerate().rev().max_by_key(|(_, looks)| (looks.different.len(), looks.count));
        most.filter(|(_, looks)| looks.count > 0).map(|(number, looks)| (number, looks.count))
    }

    /// What looks like an address, column by column.
    fn address_columns<'a>(&'a self, source: &'a str) -> Vec<Looks<'a>> {
        let mut columns: Vec<Looks<'_>> = Vec::new();
        for record in &self.records {
            for (number, cell) in record.cells.iter().enumerate() {
                if columns.len() <= number {
                    columns.push(Looks::default());
                }
                let text = self.text(cell, source);
                if let Some(looks) = columns.get_mut(number).filter(|_| looks_like_address(text)) {
                    looks.count += 1;
                    // A year has four digits, and is no sub group.
                    if !(text.matches('/').count() == 2 && text.split('/').any(|part| part.len() > 3)) {
                        looks.different.insert(text);
                    }
                }
            }
        }
        columns
    }

    /// The other columns than `address` that have addresses, a fifth of the rows or more.
    pub(super) fn other_addresses(&self, address: usize, source: &str) -> Vec<usize> {
        let columns = self.address_columns(source);
        let is_other = |(number, looks): &(usize, &Looks<'_>)| {
            *number != address && looks.different.len() > 2 && looks.count * 5 >= self.records.len()
        };
        columns.iter().enumerate().filter(is_other).map(|(number, _)| number).collect()
    }

    /// Whether a column has about as many different addresses as the one that was taken for them.
    pub(super) fn rivals(&self, address: usize, other: usize, source: &str) -> bool {
        let columns = self.address_columns(source);
        let different = |number: usize| columns.get(number).map_or(0, |looks| looks.different.len());
        different(other) * 5 >= different(address) * 4
    }

    /// The column with the most letters, of those that are not taken.
    pub(super) fn longest_column(&self, source: &str, taken: &[usize], first_row: usize) -> Option<usize> {
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

/// What of a column looks like addresses.
#[derive(Default)]
struct Looks<'a> {
    count: usize,
    different: FxHashSet<&'a str>,
}

/// Whether a cell is two or three numbers with slashes between.
pub(super) fn looks_like_address(cell: &str) -> bool {
    let mut parts = 0;
    let numbers = cell.split('/').all(|part| {
        parts += 1;
        !part.is_empty() && part.len() <= 4 && part.bytes().all(|byte| byte.is_ascii_digit())
    });
    numbers && (parts == 2 || parts == 3)
}
