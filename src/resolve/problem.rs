//! What could not be looked up. Facts only; `rules` puts them into words.

use super::plan::Role;
use crate::classes::{Class, End};
use crate::knx::{AddressError, DptIdError, Notation, Spelling};
use crate::source::Place;
use std::sync::Arc;

/// One thing that could not be looked up.
#[derive(Clone, Debug)]
pub struct Problem {
    /// Where.
    pub place: Place,
    /// Key of the appliance it is about.
    pub appliance: Option<String>,
    /// Key of the room it is about.
    pub room: Option<String>,
    /// What.
    pub kind: ProblemKind,
}

/// What is wrong with a cell of an address table, as far as cells have the same cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellFault {
    /// An address in another notation than the house's.
    Notation(Notation),
    /// An address that is spelt unusually.
    Spelling(Spelling),
    /// A date, which a spreadsheet made of an address; the row is left out.
    Date,
    /// An address with a part that is too large, or the one of broadcasts; the row is left out.
    NoGroup,
    /// No address; the row is left out.
    NoAddress,
    /// A datapoint type without its dot.
    WithoutDot,
    /// No datapoint type; the cell is left out.
    NoType,
    /// No flags; the cell is left out.
    NoFlags,
}

/// What could not be looked up.
#[derive(Clone, Debug)]
pub enum ProblemKind {
    /// Nearly all addresses are written in another notation than the house's, and were read in it.
    WrongNotation {
        /// What `notation` says, where it is there.
        written: Option<Notation>,
        /// What the addresses are written in.
        seen: Notation,
        /// So many of them.
        count: usize,
        /// Of so many.
        of: usize,
    },
    /// A device class that neither the program nor the house has.
    UnknownClass {
        /// As written.
        name: String,
    },
    /// A point that the class does not have.
    UnknownPoint {
        /// As written.
        name: String,
        /// The addresses that it is written with.
        ends: Vec<End>,
        /// The class.
        class: Arc<Class>,
    },
    /// A name in a word list of the house that is no point of any class.
    UnknownPointWords {
        /// As written.
        name: String,
    },
    /// A setting that the class does not have.
    UnknownSetting {
        /// As written.
        name: String,
        /// The settings of the class that stand beside it.
        beside: Arc<[String]>,
        /// The class.
        class: Arc<Class>,
    },
    /// A setting whose value the class does not take.
    UnfitSetting {
        /// The setting.
        name: String,
        /// As written.
        text: String,
        /// What it takes.
        expected: String,
        /// What was probably meant, where it can be told.
        meant: Option<String>,
        /// The unit that a number out of range may be in, and the value that it then is.
        other_unit: Option<(&'static str, String)>,
    },
    /// A group address that is none.
    Address {
        /// As written.
        text: String,
        /// Why.
        error: AddressError,
        /// For which end of which point of the class it was written.
        end: (u16, Role),
    },
    /// Something that is not written like a datapoint type.
    MalformedDpt {
        /// As written.
        text: String,
        /// Why.
        error: DptIdError,
    },
    /// A datapoint type that the table does not have, or a main type where one sub-type is needed.
    UnknownDpt {
        /// As written.
        text: String,
        /// The same main type's known sub-types.
        near: Vec<String>,
    },
    /// A bus that the house does not have.
    UnknownBus {
        /// As written.
        name: String,
        /// Those it has.
        known: Arc<[String]>,
    },
    /// A bridge that the house does not have.
    UnknownBridge {
        /// As written.
        name: String,
        /// Those it has.
        known: Arc<[String]>,
    },
    /// The house has several buses, and neither appliance nor room says which.
    BusNotNamed {
        /// Those it has.
        known: Arc<[String]>,
    },
    /// The house has several bridges, and neither appliance nor room says which.
    BridgeNotNamed {
        /// Those it has.
        known: Arc<[String]>,
    },
    /// The house describes no bridge at all.
    NoBridge,
    /// An address table in which no row has an address.
    TableWithoutAddress,
    /// A row of an address table without an address that can be read.
    TableAddress {
        /// As written.
        text: String,
        /// The address that was meant, in the house's notation; the row is read as if it stood there.
        meant: Option<String>,
        /// Why.
        error: AddressError,
    },
    /// A datapoint type in an address table that cannot be read.
    TableDpt {
        /// As written.
        text: String,
    },
    /// Flags in an address table that cannot be read.
    TableFlags {
        /// As written.
        text: String,
    },
    /// Cells of an address table that all have the same fault, the first of them at the problem's place.
    TableCells {
        /// What is wrong with them.
        fault: CellFault,
        /// How many they are.
        count: usize,
        /// Of so many rows.
        of: usize,
        /// A few that differ: as written, and as what they were read.
        examples: Vec<(String, Option<String>)>,
        /// Whether no row of the table has an address that can be read.
        nothing_read: bool,
    },
    /// A range whose ends are the wrong way round, or one value.
    Range {
        /// As written.
        range: [f64; 2],
    },
}
