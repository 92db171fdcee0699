//! Address tables: delimited text into rows, whatever delimiter, heading and disorder it comes with.
//!
//! In: a table's text and what the house says of its headings. Out: a [`Table`] whose cells are text with places,
//! and a [`Problem`] for each thing that could not be read. What a cell means (addresses, datapoint types) is no
//! matter of this module.

mod columns;
mod contents;
mod disorder;
mod headings;
mod parts;
mod records;
mod start;

pub(crate) use headings::all as known_headings;
pub use records::RowFault;

use super::{Counted, FileId, Limits, Place, Problem, Spanned};
use columns::Layout;
use records::{IN_SOURCE, Record, Records, Span};

/// What a column of an address table says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Column {
    /// The group address.
    Address,
    /// The group's name.
    Name,
    /// The datapoint type.
    Dpt,
    /// Anything that was noted.
    Description,
    /// Communication object flags.
    Flags,
    /// The room.
    Room,
}

impl Column {
    /// All of them, in the order of a row's cells.
    pub const ALL: [Self; 6] =
        [Self::Address, Self::Name, Self::Dpt, Self::Description, Self::Flags, Self::Room];

    /// Its key under `columns:`.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Address => "address",
            Self::Name => "name",
            Self::Dpt => "dpt",
            Self::Description => "description",
            Self::Flags => "flags",
            Self::Room => "room",
        }
    }

    fn index(self) -> usize {
        self as usize
    }
}

/// What stands between two cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
    /// `|`
    Bar,
}

impl Delimiter {
    /// In the order in which they win when all are as good.
    const ALL: [Self; 4] = [Self::Semicolon, Self::Tab, Self::Comma, Self::Bar];

    /// It, as it is said: "`,`".
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Comma => "`,`",
            Self::Semicolon => "`;`",
            Self::Tab => "tabs",
            Self::Bar => "`|`",
        }
    }

    fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Bar => b'|',
        }
    }
}

/// An address table as it was written, without its text.
#[derive(Debug)]
pub struct Table {
    file: FileId,
    delimiter: Delimiter,
    /// The heading of each column that is there.
    headings: [Option<Place>; 6],
    better_names: Option<Box<str>>,
    other_addresses: Vec<OtherAddresses>,
    rows: Vec<RowSpans>,
    texts: Vec<Box<str>>,
}

/// A column with addresses that is not the one that is read.
#[derive(Clone, Debug)]
pub struct OtherAddresses {
    /// Its heading.
    pub heading: Box<str>,
    /// What stands in its first rows, which may be no addresses.
    pub first: Vec<Box<str>>,
}

/// Where the cells of a row stand.
#[derive(Debug)]
struct RowSpans {
    start: u32,
    end: u32,
    /// Whether the row names a range of addresses, such as a main group.
    is_range: bool,
    /// Whether it was told that its cells do not fit.
    is_broken: bool,
    cells: [Span; 6],
}

/// A row of a table.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    table: &'a Table,
    spans: &'a RowSpans,
    source: &'a str,
}

impl Table {
    /// Reads a table. `columns` are the headings that the house names, `None` of them needed when the table has
    /// well-known ones.
    ///
    /// Everything that can be read is; each thing that cannot is told: a heading that the table lacks, headings
    /// that come again, rows without an address, rows that are not written as rows.
    #[must_use]
    pub fn read(
        source: &str,
        file: FileId,
        columns: &[(Column, Spanned<String>)],
        limits: &Limits,
    ) -> (Self, Vec<Problem>) {
        let mut problems = Vec::new();
        let layout = Layout::find(source, file, columns, limits, &mut problems);
        let mut table = Self {
            file,
            delimiter: layout.delimiter,
            headings: layout.headings,
            better_names: layout.better_names.clone(),
            other_addresses: layout.other_addresses.clone(),
            // A list that grows is in memory twice at times.
            rows: Vec::with_capacity(
                memchr::memchr_iter(b'\n', source.as_bytes()).count().min(limits.table_rows) + 1,
            ),
            texts: Vec::new(),
        };
        table.read_rows(source, &layout, limits, &mut problems);
        (table, problems)
    }

    /// The file it was read from.
    #[must_use]
    pub fn file(&self) -> FileId {
        self.file
    }

    /// What stands between its cells.
    #[must_use]
    pub fn delimiter(&self) -> Delimiter {
        self.delimiter
    }

    /// The heading of a column, if the table has the column.
    #[must_use]
    pub fn heading(&self, column: Column) -> Option<Place> {
        self.headings.get(column.index()).copied().flatten()
    }

    /// The heading of the column that has the names, where the one that was taken for it has few.
    #[must_use]
    pub fn better_names(&self) -> Option<&str> {
        self.better_names.as_deref()
    }

    /// Further columns that have addresses: these are not read.
    #[must_use]
    pub fn other_addresses(&self) -> &[OtherAddresses] {
        &self.other_addresses
    }

    /// The rows with an address, in the order of the text. `source` is the text it was read from.
    pub fn rows<'a>(&'a self, source: &'a str) -> impl Iterator<Item = Row<'a>> + use<'a> {
        self.all(source).filter(|row| !row.spans.is_range)
    }

    /// The rows that name a range of addresses (`1/-/-`, `1/2/-`), in the order of the text.
    pub fn ranges<'a>(&'a self, source: &'a str) -> impl Iterator<Item = Row<'a>> + use<'a> {
        self.all(source).filter(|row| row.spans.is_range)
    }

    /// How many rows it has, ranges among them.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether it has no row.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    fn all<'a>(&'a self, source: &'a str) -> impl Iterator<Item = Row<'a>> + use<'a> {
        self.rows.iter().map(move |spans| Row { table: self, spans, source })
    }

    fn read_rows(&mut self, source: &str, layout: &Layout, limits: &Limits, problems: &mut Vec<Problem>) {
        let mut records = Records::new(source, layout.delimiter, limits.table_cells);
        let mut record = Record::default();
        let mut parts = layout.parts.clone();
        let (mut faults, mut rows) = (Faults::default(), 0);
        while records.next(&mut record, &mut self.texts) {
            let place = Place { file: self.file, start: record.start, end: record.end };
            rows += 1;
            if rows > limits.table_rows {
                let limit = limits.table_rows as u64;
                problems.push(Problem::TooMany { place, counted: Counted::Rows, limit, path: None });
                break;
            }
            if record.start < layout.first_row || record.is_empty() || !layout.has_address() {
                continue;
            }
            let mut row = layout.row(&record);
            if let (Some(parts), Some(address)) = (&mut parts, row.cells.first_mut()) {
                *address = parts.address(&record, source, &mut self.texts);
            }
            let text = |span: Span| text(span, &self.texts, source);
            let address = row.cells.first().map_or("", |span| text(*span));
            if layout.is_heading(address) {
                faults.add(None, place);
                continue;
            }
            if Layout::is_comment(record.cells.first().map_or("", |span| text(*span)), address) {
                continue;
            }
            let beyond = record.cells.iter().skip(layout.columns).any(|cell| cell.start < cell.end);
            if address.is_empty() {
                faults.add(Some(RowFault::NoAddress), place);
                continue;
            }
            let fault = record.fault.or(beyond.then_some(RowFault::TooManyCells));
            if fault.is_some() {
                faults.add(fault, place);
            }
            let is_range = names_range(address);
            let row = if is_range { layout.named_range(&record, row) } else { row };
            self.rows.push(RowSpans { is_range, is_broken: fault.is_some(), ..row });
        }
        faults.tell(problems);
        self.rows.shrink_to_fit();
    }
}

impl<'a> Row<'a> {
    /// The whole row, without its line end.
    #[must_use]
    pub fn place(self) -> Place {
        Place { file: self.table.file, start: self.spans.start, end: self.spans.end }
    }

    /// Whether it was told that its cells do not fit: too many of them, or quotation marks without a partner.
    #[must_use]
    pub fn is_broken(self) -> bool {
        self.spans.is_broken
    }

    /// A cell's text with its place; none when the table has no such column or the cell is empty.
    #[must_use]
    pub fn cell(self, column: Column) -> Option<Spanned<&'a str>> {
        let span = *self.spans.cells.get(column.index())?;
        let text = text(span, &self.table.texts, self.source);
        let place = Place { file: self.table.file, start: span.start, end: span.end };
        (!text.is_empty()).then_some(Spanned { value: text, place })
    }
}

/// The text of a cell.
fn text<'a>(span: Span, texts: &'a [Box<str>], source: &'a str) -> &'a str {
    if span.link == IN_SOURCE {
        source.get(span.start as usize..span.end as usize).unwrap_or("")
    } else {
        texts.get(span.link as usize).map_or("", AsRef::as_ref)
    }
}

/// Whether an address stands for all below it: `1/-/-`, `1/2/-`, `1/2/*`.
fn names_range(address: &str) -> bool {
    let last = || address.rsplit('/').next().unwrap_or("").trim();
    !address.ends_with(|last: char| last.is_ascii_digit()) && matches!(last(), "-" | "*")
}

/// Rows with one fault that are told one by one; more of them have one cause, and are told as one.
const TOLD_ALONE: usize = 3;

/// What is wrong with rows, by the fault; none stands for the heading come again.
#[derive(Default)]
struct Faults {
    found: Vec<(Option<RowFault>, usize, Vec<Place>)>,
}

impl Faults {
    fn add(&mut self, fault: Option<RowFault>, place: Place) {
        let known = self.found.iter().position(|(known, ..)| *known == fault);
        if known.is_none() {
            self.found.push((fault, 0, Vec::new()));
        }
        let index = known.unwrap_or(self.found.len() - 1);
        let Some((_, count, places)) = self.found.get_mut(index) else { return };
        *count += 1;
        if places.len() < TOLD_ALONE {
            places.push(place);
        }
    }

    fn tell(self, problems: &mut Vec<Problem>) {
        for (fault, count, places) in self.found {
            let (told, each) = if count > TOLD_ALONE { (1, count) } else { (count, 1) };
            problems.extend(places.into_iter().take(told).map(|place| match fault {
                Some(fault) => Problem::BrokenRow { place, fault, count: each },
                None => Problem::RepeatedHeading { place, count: each },
            }));
        }
    }
}

#[cfg(test)]
mod tests;
