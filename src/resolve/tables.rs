//! Buses and their address tables: cells become addresses, datapoint types and flags.

use super::plan::{AddressTable, Bus, RangeRow, Row, TableColumns};
use super::problem::{Problem, ProblemKind};
use crate::house::model;
use crate::knx::{AddressError, AddressIndex, DptRef, Flags, GroupAddress, Notation};
use crate::source::delimited::{Column, Row as Written, Table};
use crate::source::{self, Counted, FileId, Given, Limits, Place, Sources, Spanned};
use rayon::prelude::*;
use rustc_hash::FxHashSet;

/// The buses, each with its table. A house that describes no bus has one all the same, without a table.
pub(super) fn buses(
    written: Vec<(Spanned<String>, model::Bus)>,
    notation: Notation,
    sources: &Sources,
    limits: &Limits,
    problems: &mut Vec<Problem>,
) -> (Vec<Bus>, Vec<source::Problem>) {
    let mut source_problems = Vec::new();
    let read: Vec<_> = written
        .into_par_iter()
        .map(|(key, bus)| {
            let table = table(key.place.file, bus, notation, sources, limits);
            (key, table)
        })
        .collect();
    let mut buses = Vec::with_capacity(read.len().max(1));
    for (key, table) in read {
        let table = table.and_then(|(table, mut told, mut source_told)| {
            problems.append(&mut told);
            source_problems.append(&mut source_told);
            // What has no row that could be read is told, and says nothing against any address.
            Some(table).filter(|table| !table.rows.is_empty())
        });
        buses.push(Bus { key: key.value, table });
    }
    if buses.is_empty() {
        buses.push(Bus { key: "main".to_owned(), table: None });
    }
    (buses, source_problems)
}

fn table(
    file: FileId,
    bus: model::Bus,
    notation: Notation,
    sources: &Sources,
    limits: &Limits,
) -> Option<(AddressTable, Vec<Problem>, Vec<source::Problem>)> {
    let path = bus.table.into_here()?;
    let file = sources.beside(file, &path.value)?;
    let columns = bus.columns.into_here().map(|columns| headings(columns.value)).unwrap_or_default();
    let (table, mut source_problems) = Table::read(sources.source(file), file, &columns, limits);
    let broken =
        source_problems.iter().filter(|problem| matches!(problem, source::Problem::BrokenRow { .. }));
    let broken = broken.map(|problem| problem.place().start).collect();
    let mut reading = Reading { notation, broken, problems: Vec::new(), too_many: None };
    let mut rows: Vec<Row> = Vec::with_capacity(table.len());
    for written in table.rows(sources.source(file)) {
        rows.extend(reading.row(written));
    }
    let ranges = table.ranges(sources.source(file)).filter_map(range).collect();
    source_problems.extend(reading.too_many.map(|place| source::Problem::TooMany {
        place,
        counted: Counted::Problems,
        limit: Limits::PROBLEMS_PER_FILE as u64,
        path: None,
    }));
    let mut by_address = AddressIndex::default();
    for (row, index) in rows.iter().zip(0u32..) {
        by_address.get_or_insert(row.address.value, index);
    }
    let silent = reading.problems.is_empty() && source_problems.is_empty();
    if let Some(place) = table.heading(Column::Address).filter(|_| rows.is_empty() && silent) {
        let kind = ProblemKind::TableWithoutAddress;
        reading.problems.push(Problem { place, appliance: None, room: None, kind });
    }
    let has = |column| table.heading(column).is_some();
    let columns = TableColumns {
        name: has(Column::Name),
        dpt: has(Column::Dpt),
        flags: has(Column::Flags),
        room: has(Column::Room),
    };
    Some((AddressTable { file, rows, ranges, by_address, columns }, reading.problems, source_problems))
}

/// A row that names a main or middle group.
fn range(written: Written<'_>) -> Option<RangeRow> {
    let address = written.cell(Column::Address)?;
    let mut numbers = address.value.split('/').map_while(|part| part.trim().parse::<u8>().ok());
    let main = numbers.next()?;
    let name = written.cell(Column::Name).map(|cell| Spanned::new(Box::from(cell.value), cell.place));
    let name = name.unwrap_or_else(|| Spanned::new(Box::from(""), address.place));
    Some(RangeRow { main, middle: numbers.next(), name, place: address.place })
}

fn headings(columns: model::Columns) -> Vec<(Column, Spanned<String>)> {
    let all: [(Column, Given<String>); 6] = [
        (Column::Address, columns.address),
        (Column::Name, columns.name),
        (Column::Dpt, columns.dpt),
        (Column::Description, columns.description),
        (Column::Flags, columns.flags),
        (Column::Room, columns.room),
    ];
    all.into_iter().filter_map(|(column, heading)| Some((column, heading.into_here()?))).collect()
}

/// Reading the rows of one table, and the problems so far.
struct Reading {
    notation: Notation,
    /// Where rows begin of which it is told that their cells do not fit.
    broken: FxHashSet<u32>,
    problems: Vec<Problem>,
    /// Where the first problem was that is not told.
    too_many: Option<Place>,
}

impl Reading {
    fn tell(&mut self, cell: Spanned<&str>, kind: impl FnOnce(String) -> ProblemKind) {
        if self.problems.len() >= Limits::PROBLEMS_PER_FILE {
            self.too_many = self.too_many.or(Some(cell.place));
            return;
        }
        let kind = kind(cell.value.to_owned());
        self.problems.push(Problem { place: cell.place, appliance: None, room: None, kind });
    }

    fn row(&mut self, written: Written<'_>) -> Option<Row> {
        let cell = written.cell(Column::Address)?;
        let address = self.address(cell, written.cell(Column::Name))?;
        let has_space = cell.value.bytes().any(|byte| byte == b' ');
        let parted = has_space.then(|| cell.value.trim().split_once(' ')).flatten();
        if let Some((_, name)) = parted.filter(|(first, _)| first.contains('/')) {
            // Where the name stands in the cell of the address no other cell is in its column.
            let name = Spanned::new(Box::from(name.trim()), cell.place);
            return Some(Row { address, name, dpt: None, flags: None, room: None, description: None });
        }
        if self.broken.contains(&cell.place.start) {
            let name = written.cell(Column::Name).or_else(|| written.cell(Column::Dpt));
            let name = name.unwrap_or(Spanned::new("", cell.place));
            let name = Spanned::new(Box::from(name.value), name.place);
            return Some(Row { address, name, dpt: None, flags: None, room: None, description: None });
        }
        let told = self.problems.len();
        let dpt = written.cell(Column::Dpt).and_then(|cell| self.dpt(cell));
        // One row is one mistake: very probably its cells have slipped.
        let sound = self.problems.len() == told;
        let flags = written.cell(Column::Flags).filter(|_| sound).and_then(|cell| self.flags(cell));
        let text = |column| written.cell(column).map(|cell| Spanned::new(Box::from(cell.value), cell.place));
        let name = text(Column::Name).unwrap_or_else(|| Spanned::new(Box::from(""), address.place));
        Some(Row {
            address,
            name,
            dpt,
            flags,
            room: text(Column::Room),
            description: text(Column::Description),
        })
    }

    /// An address that can be guessed is told and read all the same; a bare number without a name may be a sum.
    fn address(&mut self, cell: Spanned<&str>, name: Option<Spanned<&str>>) -> Option<Spanned<GroupAddress>> {
        if cell.value.contains(char::REPLACEMENT_CHARACTER) {
            // That it is no text was told when the file was read.
            return None;
        }
        match GroupAddress::parse(cell.value, self.notation) {
            Ok(address) => Some(Spanned::new(address, cell.place)),
            Err(error) => {
                let meant = match &error {
                    AddressError::OtherNotation { found: Notation::Free, .. } if name.is_none() => None,
                    AddressError::OtherNotation { meant, .. } => *meant,
                    AddressError::Malformed { .. } => GroupAddress::meant(cell.value, self.notation),
                    AddressError::OutOfRange { .. } | AddressError::Reserved { .. } => None,
                };
                let written = meant.map(|meant| meant.display(self.notation).to_string());
                self.tell(cell, |text| ProblemKind::TableAddress { text, meant: written, error });
                meant.map(|address| Spanned::new(address, cell.place))
            }
        }
    }

    /// Of several types in one cell the most exact one counts.
    fn dpt(&mut self, cell: Spanned<&str>) -> Option<Spanned<DptRef>> {
        match DptRef::parse_most_exact(cell.value) {
            Ok(listed) => Some(Spanned::new(listed, cell.place)),
            Err(_) => {
                self.tell(cell, |text| ProblemKind::TableDpt { text });
                None
            }
        }
    }

    fn flags(&mut self, cell: Spanned<&str>) -> Option<Spanned<Flags>> {
        match cell.value.parse::<Flags>() {
            Ok(flags) => Some(Spanned::new(flags, cell.place)),
            Err(_) => {
                self.tell(cell, |text| ProblemKind::TableFlags { text });
                None
            }
        }
    }
}
