//! How a table is laid out: its delimiter, its heading, and which column says what.

use super::contents::Contents;
use super::headings::plain;
use super::parts::Parts;
use super::records::{IN_SOURCE, Record, Span};
use super::start::{Heading, Rank, Start, looks_like_address};
use super::{Column, Delimiter, OtherAddresses, RowSpans};
use crate::source::{FileId, Limits, NoTable, Place, Problem, Spanned};

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
    /// Where main, middle and sub group have columns of their own, these.
    pub(super) parts: Option<Parts>,
    /// The columns with the names of main and middle groups, where the names are those of sub groups.
    above: [Option<usize>; 2],
    /// The heading of the column that has the names, where the one that was taken for it has few.
    pub(super) better_names: Option<Box<str>>,
    /// Further columns with addresses, that are not read as such.
    pub(super) other_addresses: Vec<OtherAddresses>,
}

impl Layout {
    pub(super) fn find(
        source: &str,
        file: FileId,
        named: &[(Column, Spanned<String>)],
        limits: &Limits,
        problems: &mut Vec<Problem>,
    ) -> Self {
        let read = |delimiter| {
            let start = Start::read(source, delimiter, limits);
            let heading = start.heading(source, named);
            (start.rank(heading.as_ref(), source), start, heading)
        };
        let mut starts: Vec<(Rank, Start, Option<Heading>)> = Delimiter::ALL.map(read).into();
        // Of those that are as good the first wins.
        let best = starts.iter().enumerate().rev().max_by_key(|(_, (rank, ..))| *rank);
        let Some(best) = best.map(|(best, _)| best) else { return Self::empty(Delimiter::Semicolon) };
        let (_, mut start, heading) = starts.swap_remove(best);
        let Some(heading) = heading else { return start.without_heading(source, file, named, problems) };
        if start.lacks_addresses(source)
            && let Some(below) =
                starts.into_iter().find_map(|(_, other, _)| other.below((&start, &heading), source))
        {
            problems.extend(below.mixed(start.delimiter, &heading, file));
            start = below;
        }
        start.with_heading(&heading, source, file, named, problems)
    }

    fn empty(delimiter: Delimiter) -> Self {
        Self {
            delimiter,
            headings: [None; 6],
            first_row: 0,
            columns: usize::MAX,
            at: [None; 6],
            address_heading: String::new(),
            parts: None,
            above: [None; 2],
            better_names: None,
            other_addresses: Vec::new(),
        }
    }

    pub(super) fn has_address(&self) -> bool {
        self.at.first().is_some_and(Option::is_some)
    }

    /// Whether a row without an address is a comment, by its first cell.
    pub(super) fn is_comment(first: &str, address: &str) -> bool {
        first.starts_with('#') && !looks_like_address(address)
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
        RowSpans { start: record.start, end: record.end, is_range: false, is_broken: false, cells }
    }

    /// A row that names a range, with the name that stands in the column of main or middle groups.
    pub(super) fn named_range(&self, record: &Record, mut row: RowSpans) -> RowSpans {
        let [main, middle] = self.above.map(|at| at.and_then(|at| record.cells.get(at)).copied());
        let said = |span: &Span| span.start < span.end;
        if let Some(name) = row.cells.get_mut(Column::Name.index()).filter(|name| !said(name)) {
            *name = middle.filter(said).or(main).unwrap_or(*name);
        }
        row
    }
}

impl Start {
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
        let mut at = heading.at;
        problems.extend(self.find_addresses(heading, &mut at, source, file, named));
        let word = |number: Option<usize>| number.map_or("", |number| self.cell(record, number, source));
        let address_heading = match &heading.parts {
            Some(parts) => parts.columns().map(|number| plain(word(number))).concat(),
            None => plain(word(at.first().copied().flatten())),
        };
        if let (Some(parts), Some(address)) = (&heading.parts, at.first_mut()) {
            *address = parts.first();
        }
        let [main, middle, sub] = heading.names;
        let mut above = [None; 2];
        if let Some(name) = at.get_mut(Column::Name.index())
            && (name.is_none() || *name == sub)
        {
            (*name, above) = (sub, [main, middle]);
        }
        problems.extend(self.headed_twice(record, at, file, source));
        let candidates = self.find_by_contents(heading.row, &mut at, source, named);
        self.tell_missing(Some(record), &at, source, named, problems);
        let headings = at.map(|at| at.and_then(|at| record.cells.get(at)).map(place));
        let better_names = self.better_names(heading.row, &at, source);
        problems.extend(self.poor_names(heading.row, &at, source, named).zip(better_names.as_deref()).map(
            |((cell, heading), better)| Problem::PoorNames {
                place: place(&cell),
                heading,
                better: better.to_owned(),
            },
        ));
        if let (Some(candidates), Some(place)) = (candidates, headings.first().copied().flatten()) {
            problems.push(Problem::NoNames { place, candidates });
        }
        Layout {
            headings,
            first_row: record.end,
            columns: record.cells.len(),
            at,
            address_heading,
            parts: heading.parts.clone(),
            above,
            better_names,
            other_addresses: self.other_columns(record, at, source),
            ..Layout::empty(self.delimiter)
        }
    }

    /// Finds the columns of types, flags and names by what stands in them, where no heading says so. Where that leaves the
    /// names in doubt, the headings of the columns that may have them; none where no row is there to be named.
    fn find_by_contents(
        &self,
        heading: usize,
        at: &mut [Option<usize>; 6],
        source: &str,
        named: &[(Column, Spanned<String>)],
    ) -> Option<Vec<String>> {
        let columns = self.contents(Some(heading), at, source)?;
        let is_empty = columns.iter().all(|column| !column.has_rows());
        if let Some(slot) =
            at.get_mut(Column::Dpt.index()).filter(|_| !named.iter().any(|(named, _)| *named == Column::Dpt))
            && slot.and_then(|types| columns.get(types)).is_some_and(Contents::are_words)
        {
            // What kind of row it is may be called its type as well.
            let types = columns.iter().find(|column| column.is_unknown() && column.looks_like_types());
            *slot = types.map(|types| types.number).or(*slot);
        }
        let known = *at;
        let by_contents = find_types_and_flags(&columns, at, named);
        let is_free = |column: &&Contents<'_>| column.is_unknown() && !known.contains(&Some(column.number));
        let is_other = |column: &&Contents<'_>| !by_contents.contains(&Some(column.number));
        let free = || columns.iter().filter(is_free).filter(is_other);
        let by_house = |wanted: Column| named.iter().any(|(column, _)| *column == wanted);
        let slot = at.get_mut(Column::Name.index()).filter(|_| !by_house(Column::Name))?;
        if let Some(name) = *slot {
            // A column without a text has no names, and another one may say that it has them.
            let has_texts = |column: &&Contents<'_>| column.has_texts();
            let is_void = !columns.get(name).as_ref().is_some_and(has_texts);
            let mut headed = columns.iter().filter(|column| column.is_headed(Column::Name)).filter(has_texts);
            *slot = headed.next().filter(|_| is_void).map(|column| column.number).or(*slot);
            return None;
        }
        let names = || free().filter(|column| column.looks_like_names());
        if let (Some(only), None) = (names().next(), names().nth(1)) {
            *slot = Some(only.number);
            return None;
        }
        let mut candidates: Vec<String> = names().map(|column| column.heading().to_owned()).collect();
        if candidates.is_empty() {
            let description = at.get(Column::Description.index()).copied().flatten();
            let words =
                columns.iter().filter(|column| Some(column.number) == description && column.has_texts());
            candidates = words.map(|column| column.heading().to_owned()).collect();
        }
        (!is_empty).then_some(candidates)
    }

    /// The columns below a heading, or of a table that has none, by their rows with addresses.
    fn contents<'a>(
        &'a self,
        heading: Option<usize>,
        at: &[Option<usize>; 6],
        source: &'a str,
    ) -> Option<Vec<Contents<'a>>> {
        let first = self.records.get(heading.unwrap_or(0))?;
        let address = at.first().copied().flatten()?;
        let has_address = |record: &&Record| {
            let text = self.cell(record, address, source);
            text.contains(|letter: char| letter.is_ascii_digit()) && !text.ends_with(['-', '*'])
        };
        let rows: Vec<&Record> =
            self.records.iter().skip(heading.map_or(0, |row| row + 1)).filter(has_address).collect();
        let of_column = |number: usize| {
            let cells: Vec<&str> = rows.iter().map(|record| self.cell(record, number, source)).collect();
            let heading = heading.map_or("", |_| self.cell(first, number, source));
            Contents::new(number, heading, &cells)
        };
        Some((0..first.cells.len()).map(of_column).collect())
    }

    /// The heading of the one column that looks like names, where the one that was taken for them does not.
    fn better_names(&self, heading: usize, at: &[Option<usize>; 6], source: &str) -> Option<Box<str>> {
        let name = at.get(Column::Name.index()).copied().flatten()?;
        let columns = self.contents(Some(heading), at, source)?;
        let is_other = |column: &&Contents<'_>| {
            let is_free = column.is_unknown() && !at.contains(&Some(column.number));
            (column.is_headed(Column::Name) || is_free) && column.looks_like_names()
        };
        let mut others = columns.iter().filter(is_other);
        let only = others.next().filter(|_| others.next().is_none())?;
        let is_poor = !columns.get(name)?.looks_like_names();
        (is_poor && !only.heading().is_empty()).then(|| only.heading().into())
    }

    /// The heading of the names, if nearly every row has one and fewer than half of them differ.
    fn poor_names(
        &self,
        heading: usize,
        at: &[Option<usize>; 6],
        source: &str,
        named: &[(Column, Spanned<String>)],
    ) -> Option<(Span, String)> {
        let name = at.get(Column::Name.index()).copied().flatten()?;
        let columns = self.contents(Some(heading), at, source)?;
        let by_house = named.iter().any(|(column, _)| *column == Column::Name);
        let is_poor = columns.get(name).is_some_and(Contents::repeats_names) && !by_house;
        let cell = *self.records.get(heading)?.cells.get(name)?;
        is_poor.then(|| (cell, self.text(&cell, source).to_owned()))
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
        let Some((address, _)) = address else {
            let is_named = |(column, _): &&(Column, _)| *column == Column::Address;
            let told = problems.len();
            let named: Vec<_> = named.iter().filter(is_named).cloned().collect();
            self.tell_missing(words, &[None; 6], source, &named, problems);
            if problems.len() == told {
                let (start, end) = first.map_or((0, 0), |record| (record.start, record.end));
                let found = NoTable::of(source);
                problems.push(Problem::NoHeading { place: Place { file, start, end }, found });
            }
            return Layout::empty(self.delimiter);
        };
        let mut at = words.map_or([None; 6], |words| self.columns(words, source, named));
        let [first_column, ..] = &mut at;
        *first_column = Some(address);
        let candidates = words.and_then(|_| self.find_by_contents(0, &mut at, source, named));
        if let Some(columns) = self.contents(None, &at, source).filter(|_| words.is_none()) {
            find_types_and_flags(&columns, &mut at, named);
        }
        let taken: Vec<usize> = at.iter().flatten().copied().collect();
        let [_, second, ..] = &mut at;
        let is_doubtful = candidates.as_ref().is_some_and(|candidates| candidates.len() > 1);
        if second.is_none() && !is_doubtful {
            *second = self.longest_column(source, &taken, usize::from(words.is_some()));
        }
        let is_nameless = second.is_none();
        self.tell_missing(words, &at, source, named, problems);
        let headings = at.map(|at| {
            let cell = words.and_then(|words| words.cells.get(at?));
            cell.map(|cell| Place { file, start: cell.start, end: cell.end })
        });
        let [place, ..] = headings;
        if let (Some(candidates), Some(place), true) = (candidates, place, is_nameless) {
            problems.push(Problem::NoNames { place, candidates });
        }
        problems.extend(self.rival(address, words, file, source));
        let first_row = words.map_or(0, |words| words.end);
        let other_addresses = words.map(|words| self.other_columns(words, at, source)).unwrap_or_default();
        Layout { headings, at, first_row, other_addresses, ..Layout::empty(self.delimiter) }
    }

    /// Tells the headings that the house names and the table does not have, and those that it names for two columns.
    fn tell_missing(
        &self,
        heading: Option<&Record>,
        at: &[Option<usize>; 6],
        source: &str,
        named: &[(Column, Spanned<String>)],
        problems: &mut Vec<Problem>,
    ) {
        let cells = heading.map_or(&[][..], |record| &record.cells);
        let words: Vec<&str> = cells.iter().map(|cell| self.text(cell, source)).collect();
        for (column, word) in named {
            let column = *column;
            let is_read = at.get(column.index()).copied().flatten().is_some();
            let is_word = |other: &str| plain(other) == plain(&word.value);
            let is_taken = || named.iter().any(|(other, same)| *other != column && is_word(&same.value));
            let heading = words.iter().find(|heading| is_word(heading));
            if heading.is_none() || !is_read && is_taken() {
                let found =
                    words.iter().filter(|word| !word.is_empty()).map(|word| (*word).to_owned()).collect();
                let heading = heading.map_or_else(|| word.value.clone(), |heading| (*heading).to_owned());
                problems.push(Problem::MissingHeading { place: word.place, heading, found, column, is_read });
            }
        }
    }
}

/// Finds the columns of types and of flags by what stands in them, where neither a heading nor the house says which they are.
fn find_types_and_flags(
    columns: &[Contents<'_>],
    at: &mut [Option<usize>; 6],
    named: &[(Column, Spanned<String>)],
) -> [Option<usize>; 2] {
    let taken: Vec<usize> = at.iter().flatten().copied().collect();
    let free = || columns.iter().filter(|column| column.is_unknown() && !taken.contains(&column.number));
    let types = free().find(|column| column.looks_like_types()).map(|column| column.number);
    let flags = free().find(|column| column.looks_like_flags()).map(|column| column.number);
    for (column, found) in [(Column::Dpt, types), (Column::Flags, flags)] {
        let by_house = named.iter().any(|(named, _)| *named == column);
        if let Some(slot) = at.get_mut(column.index()).filter(|slot| slot.is_none() && !by_house) {
            *slot = found;
        }
    }
    [types, flags]
}
