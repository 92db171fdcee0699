//! Headings that do not fit the rows below them: separated otherwise, or above another column.

use super::contents::Contents;
use super::headings::{known, plain};
use super::records::{IN_SOURCE, Record};
use super::start::{Heading, Start};
use super::{Column, Delimiter, OtherAddresses};
use crate::source::{FileId, Place, Problem, Spanned};

impl Start {
    /// The rows below a heading that is separated otherwise than they are, with that heading as they would have it.
    pub(super) fn below(mut self, (other, heading): (&Self, &Heading), source: &str) -> Option<Self> {
        let above = other.records.get(heading.row)?;
        let row = self.records.iter().position(|record| record.start == above.start)?;
        let (_, rows) = self.address_column(source)?;
        let is_plain = above.cells.iter().all(|cell| cell.link == IN_SOURCE);
        if rows * 2 < self.records.len() - row || !is_plain || row != heading.row {
            return None;
        }
        self.records.get_mut(row)?.cells.clone_from(&above.cells);
        Some(self)
    }

    /// Whether fewer than half of its rows have an address in a cell of its own.
    pub(super) fn lacks_addresses(&self, source: &str) -> bool {
        self.address_column(source).is_none_or(|(_, rows)| rows * 2 < self.records.len())
    }

    /// The problem of a heading that is separated by `by`.
    pub(super) fn mixed(&self, by: Delimiter, heading: &Heading, file: FileId) -> Option<Problem> {
        let record = self.records.get(heading.row)?;
        let place = Place { file, start: record.start, end: record.end };
        Some(Problem::MixedDelimiters { place, heading: by, rows: self.delimiter })
    }

    /// Takes the addresses from the column that has them, where the heading says another one that has words. That one then
    /// has the names, where the headings are exchanged, or where no other has names.
    pub(super) fn find_addresses(
        &self,
        heading: &Heading,
        at: &mut [Option<usize>; 6],
        source: &str,
        file: FileId,
        named: &[(Column, Spanned<String>)],
    ) -> Option<Problem> {
        let said = at.first().copied().flatten().filter(|_| heading.parts.is_none())?;
        let record = self.records.get(heading.row)?;
        let rows = || self.records.iter().skip(heading.row + 1);
        let (found, count) = self.address_column(source)?;
        let cells: Vec<&str> = rows().map(|record| self.cell(record, said, source)).collect();
        let of_said = Contents::new(said, self.cell(record, said, source), &cells);
        if found == said || count * 2 < rows().count() {
            return None;
        }
        let by_house = named.iter().any(|(column, _)| *column == Column::Address);
        let of_devices = !by_house && of_said.may_be_devices();
        let is_headed =
            known(self.cell(record, found, source)).is_some_and(|(column, _)| column == Column::Address);
        if of_devices && is_headed {
            // Two columns have such a heading, one of devices and one of groups.
            *at.first_mut()? = Some(found);
            return None;
        }
        let of_found: Vec<&str> = rows().map(|record| self.cell(record, found, source)).collect();
        let of_found = Contents::new(found, "", &of_found);
        // A device has several groups.
        let is_less = of_devices && of_said.different() * 2 <= of_found.different();
        if of_said.may_be_numbers() && !is_less {
            return None;
        }
        let names = at.get(Column::Name.index()).copied().flatten();
        let is_exchange = names == Some(found);
        let has_names = of_said.has_texts() && (is_exchange || names.is_none() && of_said.looks_like_names());
        at.iter_mut().filter(|other| **other == Some(found)).for_each(|other| *other = None);
        *at.first_mut()? = Some(found);
        if let Some(names) = at.get_mut(Column::Name.index()).filter(|_| has_names) {
            *names = Some(said);
        }
        let cell = record.cells.get(found)?;
        Some(Problem::AddressesElsewhere {
            place: Place { file, start: cell.start, end: cell.end },
            heading: self.cell(record, found, source).to_owned(),
            said: of_said.heading().to_owned(),
            has_names,
            is_exchange: is_exchange && !by_house,
        })
    }

    /// The columns with addresses beside those that are read.
    pub(super) fn other_columns(
        &self,
        words: &Record,
        at: [Option<usize>; 6],
        source: &str,
    ) -> Vec<OtherAddresses> {
        let [address, ..] = at;
        let others = address.map(|address| self.other_addresses(address, source)).unwrap_or_default();
        let headed = others.into_iter().filter(|other| !at.contains(&Some(*other)));
        let column = |other: usize| OtherAddresses {
            heading: self.cell(words, other, source).into(),
            first: self.records.iter().map(|record| Box::from(self.cell(record, other, source))).collect(),
        };
        headed.map(column).filter(|column| !column.heading.is_empty()).collect()
    }

    /// Where the heading of the addresses stands twice, above columns that may both have them.
    pub(super) fn headed_twice(
        &self,
        words: &Record,
        at: [Option<usize>; 6],
        file: FileId,
        source: &str,
    ) -> Option<Problem> {
        let [address, ..] = at;
        let address = address?;
        let heading = plain(self.cell(words, address, source));
        let is_same = |other: &usize| plain(self.cell(words, *other, source)) == heading;
        let mut others = self.other_addresses(address, source).into_iter().filter(is_same);
        others.find(|other| self.rivals(address, *other, source))?;
        let cell = words.cells.get(address)?;
        let place = Place { file, start: cell.start, end: cell.end };
        Some(Problem::AddressesTwice { place, heading: String::new(), other: String::new() })
    }

    /// Where no heading says which column has the addresses, another one than was taken that may as well have them.
    pub(super) fn rival(
        &self,
        address: usize,
        words: Option<&Record>,
        file: FileId,
        source: &str,
    ) -> Option<Problem> {
        let others = self.other_addresses(address, source);
        let other = others.into_iter().find(|other| self.rivals(address, *other, source))?;
        let first = self.records.first()?;
        let cell = first.cells.get(address)?;
        let heading =
            |number| words.map_or(String::new(), |words| self.cell(words, number, source).to_owned());
        Some(Problem::AddressesTwice {
            place: Place { file, start: cell.start, end: cell.end },
            heading: heading(address),
            other: heading(other),
        })
    }
}
