//! Buses and their address tables.

use super::cells::{Read, Reading, range};
use super::keys::Keys;
use super::plan::{AddressTable, Bus, RangeRow, Row, TableColumns};
use super::problem::{Problem, ProblemKind};
use crate::house::model;
use crate::knx::{AddressIndex, GroupAddress, Notation};
use crate::source::delimited::{Column, Table};
use crate::source::{self, Counted, FileId, Given, Limits, Sources, Spanned};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use std::sync::Arc;

/// The tables of the last look at a house.
#[derive(Debug)]
pub struct LastTables<'a> {
    /// The files as they were.
    pub sources: &'a Sources,
    /// What was read of them.
    pub tables: &'a [Arc<AddressTable>],
}

impl LastTables<'_> {
    /// The table of a file, if that has not changed and was sound.
    fn unchanged(&self, file: FileId, read_by: &ReadBy, sources: &Sources) -> Option<Arc<AddressTable>> {
        let is_same = self.sources.find(sources.path(file)) == Some(file)
            && self.sources.source(file) == sources.source(file);
        let mut tables = self.tables.iter().filter(|_| is_same);
        tables.find(|table| table.file == file && table.read_by.as_ref() == Some(read_by)).cloned()
    }
}

/// The buses, each with its table. A house that describes no bus has one all the same, without a table.
pub(super) fn buses(
    written: Vec<(Spanned<String>, model::Bus)>,
    notation: Notation,
    sources: &Sources,
    (limits, last): (&Limits, Option<&LastTables<'_>>),
) -> (Vec<Bus>, Vec<Problem>, Vec<source::Problem>) {
    let mut problems = Vec::new();
    let (files, mut source_problems) = files(&written, sources, limits);
    let read: Vec<_> = written
        .into_par_iter()
        .zip(files)
        .with_max_len(1)
        .map(|((key, bus), file)| {
            let columns = bus.columns.into_here().map(|columns| headings(columns.value)).unwrap_or_default();
            let table = file.map(|file| {
                let read_by = read_by(notation, &columns);
                let known = last.and_then(|last| last.unchanged(file, &read_by, sources));
                known.map_or_else(
                    || table(file, &columns, read_by, sources, limits),
                    |known| (known, Vec::new(), Vec::new()),
                )
            });
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
        buses.push(Bus { key: ONLY.to_owned(), table: None });
    }
    (buses, problems, source_problems)
}

/// The key of the bus of a house that describes none.
const ONLY: &str = "main";

/// The keys of the buses that [`buses`] will give.
pub(super) fn keys(written: &[(Spanned<String>, model::Bus)]) -> Keys {
    let only = written.is_empty().then_some(ONLY);
    Keys::of(written.iter().map(|(key, _)| key.value.as_str()).chain(only))
}

/// The file of each bus's table. A table that several buses name is read for each of them: what is read again is bounded,
/// and none of it beyond that.
fn files(
    written: &[(Spanned<String>, model::Bus)],
    sources: &Sources,
    limits: &Limits,
) -> (Vec<Option<FileId>>, Vec<source::Problem>) {
    let (mut seen, mut left, mut problems) = (FxHashSet::default(), limits.shared_table_bytes, Vec::new());
    let file = |(key, bus): &(Spanned<String>, model::Bus)| {
        let path = bus.table.here()?;
        let file = sources.beside(key.place.file, &path.value)?;
        let again = if seen.insert(file) { 0 } else { sources.source(file).len() as u64 };
        if let Some(rest) = left.checked_sub(again) {
            left = rest;
            return Some(file);
        }
        // Once is enough: for all the buses behind it the same is to be done.
        if problems.is_empty() {
            let (place, counted, limit) = (path.place, Counted::SharedTableBytes, limits.shared_table_bytes);
            problems.push(source::Problem::TooMany { place, counted, limit, path: None });
        }
        None
    };
    (written.iter().map(file).collect(), problems)
}

/// What a table says depends on its text and on this.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct ReadBy {
    notation: Notation,
    /// The headings that the house names.
    columns: Vec<(Column, String)>,
}

fn read_by(notation: Notation, columns: &[(Column, Spanned<String>)]) -> ReadBy {
    let columns = columns.iter().map(|(column, heading)| (*column, heading.value.clone()));
    ReadBy { notation, columns: columns.collect() }
}

fn table(
    file: FileId,
    columns: &[(Column, Spanned<String>)],
    read_by: ReadBy,
    sources: &Sources,
    limits: &Limits,
) -> (Arc<AddressTable>, Vec<Problem>, Vec<source::Problem>) {
    let (table, mut source_problems) = Table::read(sources.source(file), file, columns, limits);
    let notation = read_by.notation;
    let source = sources.source(file);
    let mut reading = Reading::new(&table, source, notation);
    let mut rows: Vec<Row> = Vec::with_capacity(table.len());
    let mut ranges: Vec<RangeRow> = table.ranges(source).filter_map(range).collect();
    for written in table.rows(source) {
        match reading.row(written) {
            Read::Row(row) if rows.len() >= limits.table_addresses => {
                let (place, limit) = (row.address.place, limits.table_addresses as u64);
                let counted = Counted::Addresses;
                source_problems.push(source::Problem::TooMany { place, counted, limit, path: None });
                break;
            }
            Read::Row(row) => rows.push(row),
            Read::Range(range) => ranges.push(range),
            Read::Nothing => {}
        }
    }
    ranges.sort_by_key(|range| range.place.start);
    if table.heading(Column::Name).is_none() && rows.iter().any(|row| !row.name.value.is_empty()) {
        // The names stand behind the addresses, which is told.
        source_problems.retain(|problem| !is_without_names(problem));
    }
    let mut problems = reading.problems();
    let by_address = index(&mut rows);
    let silent = problems.is_empty() && source_problems.is_empty();
    if let Some(place) = table.heading(Column::Address).filter(|_| rows.is_empty() && silent) {
        let kind = ProblemKind::TableWithoutAddress;
        problems.push(Problem { place, appliance: None, room: None, kind });
    }
    let has = |column| table.heading(column).is_some();
    let columns = TableColumns {
        name: table.heading(Column::Name),
        dpt: has(Column::Dpt),
        flags: has(Column::Flags),
        room: has(Column::Room),
    };
    let lost = reading.lost;
    let better_names = table.better_names().map(Box::from);
    let read_by = Some(read_by).filter(|_| problems.is_empty() && source_problems.is_empty());
    let other_addresses = other_addresses(&table, notation);
    let table = AddressTable {
        file,
        rows,
        ranges,
        by_address,
        lost,
        columns,
        better_names,
        other_addresses,
        read_by,
    };
    (Arc::new(table), problems, source_problems)
}

/// Whether a problem is that no column of a table could have names.
fn is_without_names(problem: &source::Problem) -> bool {
    matches!(problem, source::Problem::NoNames { candidates, .. } if candidates.is_empty())
}

/// The first row of each address, which takes the flags of the others over.
fn index(rows: &mut [Row]) -> AddressIndex {
    let mut by_address = AddressIndex::default();
    let mut again: Vec<(u32, u32)> = Vec::new();
    for (row, index) in rows.iter().zip(0u32..) {
        let first = by_address.get_or_insert(row.address.value, index);
        if first != index {
            again.push((first, index));
        }
    }
    again.into_iter().for_each(|(first, index)| unite_flags(rows, first as usize, index as usize));
    by_address
}

/// The columns with addresses that are not read, each with the first of its addresses.
fn other_addresses(table: &Table, notation: Notation) -> Vec<(Box<str>, Vec<GroupAddress>)> {
    let read = |text: &str| GroupAddress::parse(text, notation).ok();
    let first = |others: &[Box<str>]| others.iter().filter_map(|text| read(text)).collect();
    table.other_addresses().iter().map(|other| (other.heading.clone(), first(&other.first))).collect()
}

/// A table of objects has a row for each that takes part in a group, all of one name: what one of them does is done.
fn unite_flags(rows: &mut [Row], first: usize, again: usize) {
    let Ok([first, again]) = rows.get_disjoint_mut([first, again]) else { return };
    if let (Some(flags), Some(more)) = (&mut first.flags, again.flags)
        && first.name.value == again.name.value
    {
        flags.value = flags.value.and(more.value);
    }
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
