//! Cells of address tables: texts become addresses, datapoint types and flags, and what is wrong with them is gathered by
//! its cause.

use super::plan::{RangeRow, Row};
use super::problem::{CellFault, Problem, ProblemKind};
use crate::knx::{
    AddressError, DateCell, DptCell, DptRef, Flags, GroupAddress, Notation, Spelling, says_nothing,
};
use crate::source::delimited::{Column, Row as Written, Table};
use crate::source::{Place, Spanned};
use rustc_hash::{FxHashMap, FxHashSet};
use std::cell::OnceCell;

/// So many cells with one fault are told one by one; more of them have one cause, and are told as one.
const TOLD_ALONE: usize = 3;
/// So many cells of those that are told as one are shown.
const EXAMPLES: usize = 3;
/// So many ways to write a type are kept in mind.
const KEPT_TYPES: usize = 256;

/// Reading the rows of one table, and what was wrong with them so far.
pub(super) struct Reading<'a> {
    notation: Notation,
    table: &'a Table,
    source: &'a str,
    /// How the addresses of the whole table are written; looked at when one of them is unusual.
    forms: OnceCell<Forms>,
    faults: Vec<Gathered>,
    rows: usize,
    /// Those of the rows that have an address.
    read: usize,
    /// What cells said of types, and what it means: a table has few that differ.
    types: FxHashMap<&'a str, Option<DptCell>>,
    /// Addresses that cells may have had which are dates now.
    pub(super) lost: FxHashSet<GroupAddress>,
}

/// What a row of a table is.
pub(super) enum Read {
    Row(Row),
    Range(RangeRow),
    Nothing,
}

/// The cells of one fault.
struct Gathered {
    fault: CellFault,
    place: Place,
    count: usize,
    /// The first of them, each as a problem of its own.
    alone: Vec<Problem>,
    examples: Vec<(String, Option<String>)>,
}

impl<'a> Reading<'a> {
    pub(super) fn new(table: &'a Table, source: &'a str, notation: Notation) -> Self {
        let (forms, lost) = (OnceCell::new(), FxHashSet::default());
        let (faults, types) = (Vec::new(), FxHashMap::default());
        Self { notation, table, source, forms, faults, rows: 0, read: 0, types, lost }
    }

    /// What was wrong, each cause once where it is that of many cells.
    pub(super) fn problems(&mut self) -> Vec<Problem> {
        let mut problems = Vec::new();
        let nothing_read = self.read == 0;
        for gathered in std::mem::take(&mut self.faults) {
            let Gathered { fault, place, count, alone, examples } = gathered;
            let all = is_sure(fault) && count == self.rows && count > 1;
            let is_one = matches!(fault, CellFault::Date | CellFault::WithoutDot) || nothing_read;
            if is_one || count > TOLD_ALONE || all {
                let of = self.rows;
                let kind = ProblemKind::TableCells { fault, count, of, examples, nothing_read };
                problems.push(Problem { place, appliance: None, room: None, kind });
            } else {
                problems.extend(alone);
            }
        }
        problems
    }

    fn tell(&mut self, fault: CellFault, cell: Spanned<&str>, read: Option<String>, kind: ProblemKind) {
        let found = self.faults.iter().position(|gathered| gathered.fault == fault);
        let index = found.unwrap_or(self.faults.len());
        if found.is_none() {
            let (alone, examples) = (Vec::new(), Vec::new());
            self.faults.push(Gathered { fault, place: cell.place, count: 0, alone, examples });
        }
        let Some(gathered) = self.faults.get_mut(index) else { return };
        gathered.count += 1;
        if gathered.alone.len() < TOLD_ALONE {
            gathered.alone.push(Problem { place: cell.place, appliance: None, room: None, kind });
        }
        if gathered.examples.len() < EXAMPLES && !gathered.examples.iter().any(|(text, _)| text == cell.value)
        {
            gathered.examples.push((cell.value.to_owned(), read));
        }
    }

    pub(super) fn row(&mut self, written: Written<'a>) -> Read {
        let Some(cell) = written.cell(Column::Address) else { return Read::Nothing };
        if let Some(range) = self.heading(written, cell) {
            return Read::Range(range);
        }
        self.rows += 1;
        // That a quotation mark has no partner was told.
        let is_told = written.is_broken() && cell.value.contains('"');
        let Some((address, spelling)) = self.address(cell, written.cell(Column::Name), is_told) else {
            return Read::Nothing;
        };
        self.read += 1;
        let bare = |name: Spanned<Box<str>>| {
            Read::Row(Row { address, name, dpt: None, flags: None, room: None, description: None })
        };
        let behind = spelling.filter(|spelling| *spelling == Spelling::Words).and_then(|_| name_behind(cell));
        if let Some(name) = behind.clone().filter(|_| self.table.heading(Column::Name).is_some()) {
            // Where the name stands in the cell of the address, and not in its own, no other cell is in its column.
            return bare(name);
        }
        if written.is_broken() {
            let name = written.cell(Column::Name).or_else(|| written.cell(Column::Dpt));
            let name = name.unwrap_or(Spanned::new("", cell.place));
            return bare(Spanned::new(Box::from(name.value), name.place));
        }
        let dpt = written.cell(Column::Dpt).map(|cell| self.dpt(cell));
        // One row is one mistake: where its type is none its cells may have slipped, and what are no flags is not told.
        let is_told = dpt == Some(Err(()));
        let flags = written.cell(Column::Flags).and_then(|cell| self.flags(cell, is_told));
        let text = |column| written.cell(column).map(|cell| Spanned::new(Box::from(cell.value), cell.place));
        let name = behind
            .or_else(|| text(Column::Name))
            .unwrap_or_else(|| Spanned::new(Box::from(""), address.place));
        Read::Row(Row {
            address,
            name,
            dpt: dpt.and_then(Result::ok).flatten(),
            flags,
            room: text(Column::Room),
            description: text(Column::Description),
        })
    }

    /// A row that is the heading of a group, in a table that lists each group above its addresses: `1`, `1/0`.
    fn heading(&self, written: Written<'_>, cell: Spanned<&str>) -> Option<RangeRow> {
        let levels = match self.notation {
            Notation::ThreeLevel => 3,
            Notation::TwoLevel => 2,
            Notation::Free => 1,
        };
        let parts = cell.value.bytes().filter(|byte| *byte == b'/').count() + 1;
        if parts >= levels || written.cell(Column::Dpt).is_some() {
            return None;
        }
        let forms = self.forms();
        let lists = if parts == 1 { forms.lists_main } else { forms.lists_middle };
        let range = range(written).filter(|_| lists)?;
        let fits = range.main <= 31 && range.middle.unwrap_or(0) <= 7;
        (fits && range.middle.is_some() == (parts == 2)).then_some(range)
    }

    /// An address that can be guessed is told and read all the same; a bare number without a name may be a sum.
    fn address(
        &mut self,
        cell: Spanned<&str>,
        name: Option<Spanned<&str>>,
        is_told: bool,
    ) -> Option<(Spanned<GroupAddress>, Option<Spelling>)> {
        if cell.value.contains(char::REPLACEMENT_CHARACTER) {
            // That it is no text was told when the file was read.
            return None;
        }
        let error = match GroupAddress::parse(cell.value, self.notation) {
            Ok(address) => return Some((Spanned::new(address, cell.place), None)),
            Err(error) => error,
        };
        let is_number = matches!(error, AddressError::OtherNotation { found: Notation::Free, .. });
        let date = DateCell::read(cell.value, self.notation)
            .filter(|date| date.is_sure || self.forms().has_dates || self.forms().has_slashes)
            .or_else(|| {
                DateCell::of_serial(cell.value, self.notation)
                    .filter(|_| is_number && self.forms().has_serials())
            });
        let (fault, meant) = match (&error, &date) {
            (_, Some(_)) => (CellFault::Date, None),
            (AddressError::OtherNotation { found: Notation::Free, .. }, _) if name.is_none() => {
                (CellFault::NoAddress, None)
            }
            (AddressError::OtherNotation { found, meant: Some(meant), .. }, _) => {
                (CellFault::Notation(*found), Some(*meant))
            }
            (AddressError::Malformed { .. }, _) => match GroupAddress::meant(cell.value, self.notation) {
                Some(meant) => (CellFault::Spelling(Spelling::of(cell.value)), Some(meant)),
                None => (CellFault::NoAddress, None),
            },
            (AddressError::OtherNotation { .. }, _)
            | (AddressError::OutOfRange { .. } | AddressError::Reserved { .. }, _) => {
                (CellFault::NoGroup, None)
            }
        };
        self.lost.extend(date.into_iter().flat_map(|date| date.was));
        let read = meant.map(|meant| meant.display(self.notation).to_string());
        let kind = ProblemKind::TableAddress { text: cell.value.to_owned(), meant: read.clone(), error };
        if !is_told {
            self.tell(fault, cell, read, kind);
        }
        let spelling = if let CellFault::Spelling(spelling) = fault { Some(spelling) } else { None };
        meant.map(|address| (Spanned::new(address, cell.place), spelling))
    }

    /// The type of a cell, if it says one; an error if it says something that is none.
    fn dpt(&mut self, cell: Spanned<&'a str>) -> Result<Option<Spanned<DptRef>>, ()> {
        let kind = || ProblemKind::TableDpt { text: cell.value.to_owned() };
        let known = self.types.get(cell.value).copied();
        let read = known.unwrap_or_else(|| DptCell::read(cell.value).ok());
        if known.is_none() && self.types.len() < KEPT_TYPES {
            self.types.insert(cell.value, read);
        }
        match read {
            Some(DptCell::Nothing) => Ok(None),
            Some(DptCell::Type(found)) => Ok(Some(Spanned::new(found, cell.place))),
            Some(DptCell::WithoutDot(id)) => {
                self.tell(CellFault::WithoutDot, cell, Some(id.to_string()), kind());
                Ok(Some(Spanned::new(DptRef::Exact(id), cell.place)))
            }
            None => {
                self.tell(CellFault::NoType, cell, None, kind());
                Err(())
            }
        }
    }

    /// The flags of a cell; none where it says that there are none to say.
    fn flags(&mut self, cell: Spanned<&str>, is_told: bool) -> Option<Spanned<Flags>> {
        if says_nothing(cell.value) {
            return None;
        }
        match cell.value.parse::<Flags>() {
            Ok(flags) => Some(Spanned::new(flags, cell.place)),
            Err(_) if is_told => None,
            Err(_) => {
                let kind = ProblemKind::TableFlags { text: cell.value.to_owned() };
                self.tell(CellFault::NoFlags, cell, None, kind);
                None
            }
        }
    }

    fn forms(&self) -> &Forms {
        self.forms.get_or_init(|| Forms::of(self.table, self.source, self.notation))
    }
}

/// Whether a fault leaves no doubt about what was meant where all rows have it.
fn is_sure(fault: CellFault) -> bool {
    match fault {
        CellFault::Notation(_) | CellFault::WithoutDot => true,
        CellFault::Spelling(spelling) => spelling.is_sure(),
        CellFault::Date
        | CellFault::NoGroup
        | CellFault::NoAddress
        | CellFault::NoType
        | CellFault::NoFlags => false,
    }
}

/// How the addresses of a table are written.
#[derive(Default)]
struct Forms {
    /// Some are dates beyond doubt.
    has_dates: bool,
    /// Some are numbers with slashes between.
    has_slashes: bool,
    /// A row with a main group stands above one of its addresses.
    lists_main: bool,
    /// A row with a main and a middle group stands above one of its addresses.
    lists_middle: bool,
    /// How many are numbers of five digits, and how many of these may be a spreadsheet's numbers of days.
    numbers: usize,
    serials: usize,
    /// Some are written with slashes, and a spreadsheet would have made dates of them.
    spares_dates: bool,
}

impl Forms {
    /// Whether its numbers are a spreadsheet's for days: what is left with slashes are the addresses that can be no date.
    fn has_serials(&self) -> bool {
        self.has_slashes && !self.spares_dates && self.serials > 1 && self.serials == self.numbers
    }

    fn of(table: &Table, source: &str, notation: Notation) -> Self {
        let mut forms = Self::default();
        let mut above: Option<&str> = None;
        for row in table.rows(source) {
            let Some(cell) = row.cell(Column::Address) else { continue };
            let text = cell.value;
            let parts = text.split('/').count();
            let below =
                above.and_then(|above| text.strip_prefix(above)).is_some_and(|rest| rest.starts_with('/'));
            match (below, above.map(|above| above.split('/').count())) {
                (true, Some(1)) => forms.lists_main = true,
                (true, Some(2)) if parts == 3 => forms.lists_middle = true,
                _ => {}
            }
            above = row.cell(Column::Dpt).is_none().then_some(text).filter(|_| parts < 3);
            if !forms.has_dates && GroupAddress::parse(text, notation).is_err() {
                forms.has_dates = DateCell::read(text, notation).is_some_and(|date| date.is_sure);
            }
            let numbers = || text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'/');
            forms.has_slashes |= parts > 1 && numbers() && DateCell::read(text, notation).is_none();
            forms.spares_dates |= parts > 1 && may_be_day(text);
            if text.len() == 5 && parts == 1 && numbers() {
                forms.numbers += 1;
                forms.serials += usize::from(DateCell::of_serial(text, notation).is_some());
            }
        }
        forms
    }
}

/// The name that stands behind the address in its cell.
fn name_behind(cell: Spanned<&str>) -> Option<Spanned<Box<str>>> {
    let (address, name) = cell.value.trim().split_once(char::is_whitespace)?;
    let name = name.trim_start_matches(['-', '–', '—', ':', ' ']).trim();
    address.contains('/').then(|| Spanned::new(Box::from(name), cell.place))
}

/// Whether a spreadsheet would make a date of an address: its first two numbers are a day and a month, or the other way
/// round, in any country, and the third one is two digits at most.
fn may_be_day(address: &str) -> bool {
    let mut parts = address.split('/').map(|part| part.parse::<u8>().unwrap_or(u8::MAX));
    let mut is_within = |most: u8| parts.next().map(|part| (1..=most).contains(&part));
    is_within(12) == Some(true) && is_within(12) == Some(true) && parts.next().is_none_or(|sub| sub <= 99)
}

/// A row that names a main or middle group.
pub(super) fn range(written: Written<'_>) -> Option<RangeRow> {
    let address = written.cell(Column::Address)?;
    let mut numbers = address.value.split('/').map_while(|part| part.trim().parse::<u8>().ok());
    let main = numbers.next()?;
    let name = written.cell(Column::Name).map(|cell| Spanned::new(Box::from(cell.value), cell.place));
    let name = name.unwrap_or_else(|| Spanned::new(Box::from(""), address.place));
    Some(RangeRow { main, middle: numbers.next(), name, place: address.place })
}
