//! Address tables: delimited text into rows, whatever delimiter, heading and disorder it comes with.
//!
//! In: a table's text and what the house says of its headings. Out: a [`Table`] whose cells are text with places,
//! and a [`Problem`] for each thing that could not be read. What a cell means (addresses, datapoint types) is no
//! matter of this module.

mod columns;
mod headings;
mod records;

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

    /// The column of a key under `columns:`.
    #[must_use]
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|column| column.key() == key)
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
}

impl Delimiter {
    /// In the order in which they win when all are as good.
    const ALL: [Self; 3] = [Self::Semicolon, Self::Tab, Self::Comma];

    fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
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
    rows: Vec<RowSpans>,
    texts: Vec<Box<str>>,
}

/// Where the cells of a row stand.
#[derive(Debug)]
struct RowSpans {
    start: u32,
    end: u32,
    /// Whether the row names a range of addresses, such as a main group.
    is_range: bool,
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
            // A list that grows is in memory twice at times.
            rows: Vec::with_capacity(
                source.bytes().filter(|byte| *byte == b'\n').count().min(limits.table_rows) + 1,
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
        let mut rows = 0;
        while records.next(&mut record, &mut self.texts) {
            let place = Place { file: self.file, start: record.start, end: record.end };
            rows += 1;
            if rows > limits.table_rows {
                let limit = limits.table_rows as u64;
                tell(problems, Problem::TooMany { place, counted: Counted::Rows, limit, path: None });
                break;
            }
            if record.start < layout.first_row || record.is_empty() {
                continue;
            }
            let row = layout.row(&record);
            let text = |span: Span| text(span, &self.texts, source);
            let address = row.cells.first().map_or("", |span| text(*span));
            if layout.is_heading(address) {
                tell(problems, Problem::RepeatedHeading { place });
                continue;
            }
            let beyond = record.cells.iter().skip(layout.columns).any(|cell| cell.start < cell.end);
            let fault = record.fault.or(beyond.then_some(RowFault::TooManyCells));
            if let Some(fault) = fault {
                tell(problems, Problem::BrokenRow { place, fault });
            }
            if !address.is_empty() {
                let is_range = names_range(address);
                self.rows.push(RowSpans { is_range, ..row });
            } else if fault.is_none() && layout.has_address() {
                tell(problems, Problem::BrokenRow { place, fault: RowFault::NoAddress });
            }
        }
        self.rows.shrink_to_fit();
    }
}

impl<'a> Row<'a> {
    /// The whole row, without its line end.
    #[must_use]
    pub fn place(self) -> Place {
        Place { file: self.table.file, start: self.spans.start, end: self.spans.end }
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
    address.split('/').next_back().is_some_and(|part| matches!(part.trim(), "-" | "*"))
}

fn tell(problems: &mut Vec<Problem>, problem: Problem) {
    super::problem::tell(problems, problem);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reads `source` and compares what was found, a line for each row and problem: cells as `column=text`, ranges
    /// with `…`, problems with `!` and the text of their place.
    fn check(source: &str, columns: &[(Column, &str)], expected: &str) {
        let place = Place { file: FileId(9), start: 0, end: 0 };
        let columns: Vec<_> =
            columns.iter().map(|(column, word)| (*column, Spanned::new((*word).to_owned(), place))).collect();
        let (table, problems) = Table::read(source, FileId(1), &columns, &Limits::default());
        let mut found = String::new();
        for row in table.all(source) {
            found += if row.spans.is_range { "… " } else { "" };
            for column in Column::ALL {
                let Some(cell) = row.cell(column) else { continue };
                let slice = &source[cell.place.start as usize..cell.place.end as usize];
                assert!(slice == cell.value || slice.contains("\"\""), "{slice} is not {}", cell.value);
                found += &format!("{}={} ", column.key(), cell.value.replace('\n', "⏎"));
            }
            found = found.trim_end().to_owned() + "\n";
        }
        for problem in problems {
            let place = problem.place();
            let slice =
                if place.file == FileId(9) { "" } else { &source[place.start as usize..place.end as usize] };
            let what = format!("{problem:?}");
            let what = what.split([' ', '{', '(']).next().unwrap_or("").to_owned();
            let fault = if let Problem::BrokenRow { fault, .. } = problem {
                format!(" {fault:?}")
            } else {
                String::new()
            };
            let slice: String = slice.replace('\n', "⏎").chars().take(40).collect();
            found += &(format!("! {what}{fault} {slice}").trim_end().to_owned() + "\n");
        }
        let expected: String = expected
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .map(|line| format!("{line}\n"))
            .collect();
        assert_eq!(found, expected, "from\n{source}");
    }

    #[test]
    fn delimiters_are_found_out() {
        for mark in [',', ';', '\t'] {
            let text =
                "Address|Name|Datapoint type\r\n1/2/3|Lamp, left; \\t|DPST-1-1\r\n1/2/4|\"Lamp\"|1.001\r\n";
            let text = text.replace("Lamp, left; \\t", "Lamp").replace('|', &mark.to_string());
            check(&text, &[], "address=1/2/3 name=Lamp dpt=DPST-1-1\naddress=1/2/4 name=Lamp dpt=1.001");
        }
        // The other marks within cells do not mislead.
        check(
            "Name;Adresse;Beschreibung\na,b,c,d,e;1/2/3;f,g,h,i\na,b,c,d,e;1/2/4;f,g,h,i\n",
            &[],
            "address=1/2/3 name=a,b,c,d,e description=f,g,h,i\naddress=1/2/4 name=a,b,c,d,e description=f,g,h,i",
        );
    }

    #[test]
    fn headings_in_both_languages_and_of_the_house() {
        check(
            "Gruppenadresse;Bezeichnung;Datenpunkttyp;Raum;Flags;Bemerkung\n0/0/1;Licht;1.001;Küche;CRT;x\n",
            &[],
            "address=0/0/1 name=Licht dpt=1.001 description=x flags=CRT room=Küche",
        );
        check(
            "No,Wire,What it does\n1,0/0/1,Lamp\n",
            &[(Column::Address, "wire"), (Column::Name, "What it does")],
            "address=0/0/1 name=Lamp",
        );
        // Where the words do not help, the looks do.
        check("No,Wire,Comment\n1,0/0/1,x\n", &[], "address=0/0/1 description=x");
        check("No,Wire\nx,0/0/1\n", &[(Column::Address, "Cable")], "address=0/0/1 name=x\n! MissingHeading");
    }

    #[test]
    fn disorder_is_read_around() {
        check(
            "Heron Wharf, addresses of the bus\n\nAddress,Name\n1/-/-,Lights\n1/1/-,Switching\n1/1/1,Hall\n\n\
             ,Ground floor\nAddress,Name\n1/1/2,\n1/1/3,Lamp,left\nTotal:,3\n,,\n",
            &[],
            "… address=1/-/- name=Lights
             … address=1/1/- name=Switching
             address=1/1/1 name=Hall
             address=1/1/2
             address=1/1/3 name=Lamp
             address=Total: name=3
             ! BrokenRow NoAddress ,Ground floor
             ! RepeatedHeading Address,Name
             ! BrokenRow TooManyCells 1/1/3,Lamp,left",
        );
    }

    #[test]
    fn quotation_marks() {
        check(
            "Address;Name\n1/1/1;\"a \"\"b\"\" c\"\n1/1/2;\" two; lines\nhere \"\n1/1/3;12\" pipe\n1/1/4;\"open\n1/1/5;\"x\"\n",
            &[],
            "address=1/1/1 name=a \"b\" c
             address=1/1/2 name=two; lines⏎here
             address=1/1/3 name=12\" pipe
             address=1/1/4 name=\"open
             address=1/1/5 name=x
             ! BrokenRow UnclosedQuote 1/1/4;\"open",
        );
    }

    #[test]
    fn without_a_heading_the_looks_decide() {
        check(
            "\u{feff}Lamp,1/1/1,x\nOther lamp,1/1/2,y\n",
            &[],
            "address=1/1/1 name=Lamp\naddress=1/1/2 name=Other lamp",
        );
        check("a,b\nc,d\n", &[], "! NoHeading a,b");
        check("", &[], "! NoHeading");
    }

    #[test]
    fn long_rows_cost_only_themselves() {
        let text = format!(
            "Address,Name\n1/1/1,{}\n1/1/2,\"{}\"\n1/1/3,x\n",
            "y".repeat(40_000),
            "z".repeat(40_000)
        );
        let (table, problems) = Table::read(&text, FileId(0), &[], &Limits::default());
        let rows: Vec<_> = table.rows(&text).map(|row| row.cell(Column::Address).unwrap().value).collect();
        assert_eq!(rows, ["1/1/1", "1/1/2", "1/1/3"]);
        assert_eq!(problems.len(), 2, "{problems:?}");
    }
}
