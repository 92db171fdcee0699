//! What was wrong with a file: facts with places, no prose. The rules put them into words.

use super::delimited::{Column, Delimiter, RowFault};
use super::{AliasFault, Counted, FileId, Limits, NoTable, Place, SyntaxFault, TextFault, Written};

/// What a value is, before it has a type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// No value: nothing after the colon, `~` or `null`.
    Nothing,
    /// A scalar of any style.
    Text,
    /// A list.
    Sequence,
    /// Keys with values.
    Mapping,
}

/// Something that is wrong with a file, where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// Not YAML.
    Syntax {
        /// Where the reader stopped.
        place: Place,
        /// Why.
        fault: SyntaxFault,
    },
    /// A tab where only spaces may indent.
    Tab {
        /// The tab.
        place: Place,
        /// How many spaces were meant before the line, where it was read as if they stood there.
        meant: Option<usize>,
    },
    /// A key that its mapping has already; the first one counts.
    DuplicateKey {
        /// The later key.
        place: Place,
        /// The key.
        key: String,
        /// The key that counts.
        first: Place,
    },
    /// A mapping or a sequence as a key.
    KeyShape {
        /// The key.
        place: Place,
        /// What it is.
        found: Shape,
    },
    /// Mappings and sequences within each other beyond the limit. The file was not read.
    TooDeep {
        /// Where it went too deep.
        place: Place,
        /// Levels allowed.
        limit: usize,
    },
    /// An alias that was not followed.
    Alias {
        /// The alias.
        place: Place,
        /// Why.
        fault: AliasFault,
    },
    /// A tag (`!name`) that means nothing here.
    Tag {
        /// The tag or, where it is not known, the value.
        place: Place,
    },
    /// A second document (`---`) in a file. It was not read.
    SecondDocument {
        /// Where it begins.
        place: Place,
    },
    /// An include that names no file.
    MissingInclude {
        /// The include.
        place: Place,
        /// What it says.
        pattern: String,
        /// Files beside it; of a pattern others like it, with names that are there.
        beside: Vec<String>,
    },
    /// An include pattern that cannot be one.
    BadPattern {
        /// The include.
        place: Place,
        /// What it says.
        pattern: String,
    },
    /// A file named by the house does not exist.
    MissingFile {
        /// Who names it.
        place: Place,
        /// The path as written.
        path: String,
        /// Files beside it.
        beside: Vec<String>,
    },
    /// A path that leaves the house's folder, itself or through a link.
    OutsideFolder {
        /// Who names it.
        place: Place,
        /// The path as written, or the file that matched.
        path: String,
        /// Whether it is a link that leads outside, and not the path itself.
        by_link: bool,
    },
    /// A folder, device, pipe or socket where a file should be.
    NotAFile {
        /// Who names it.
        place: Place,
        /// The path.
        path: String,
    },
    /// Files that read like parts of the description and that nothing includes. Told where all that is included was read.
    NotIncluded {
        /// The last include of the root file, or the start of that where it has none.
        place: Place,
        /// The files.
        paths: Vec<String>,
        /// Paths and patterns that include them and nothing else.
        includes: Vec<String>,
        /// Whether the root file includes anything.
        beside_others: bool,
    },
    /// A file includes itself, directly or through others.
    IncludeLoop {
        /// The include that closes the loop.
        place: Place,
        /// The file that is being read already.
        path: String,
    },
    /// Bytes that are not text. Of a description nothing was read.
    NotText {
        /// Where the first of them stands.
        place: Place,
        /// What they are.
        fault: TextFault,
    },
    /// More than a limit allows.
    TooMany {
        /// Where the limit was reached, or who names the file.
        place: Place,
        /// What there is too much of.
        counted: Counted,
        /// How much is allowed.
        limit: u64,
        /// The file, when it is not the one where this shows.
        path: Option<String>,
    },
    /// The system refused to read a file.
    Unreadable {
        /// Who names it; the start of the file itself when nobody does.
        place: Place,
        /// The path.
        path: String,
        /// The system's words.
        cause: String,
    },
    /// A heading that the house names and the table does not have, or that it has and another column is read by.
    MissingHeading {
        /// Where the house names it.
        place: Place,
        /// The heading.
        heading: String,
        /// The headings that the table has; none when no heading was found.
        found: Vec<String>,
        /// What the column is.
        column: Column,
        /// Whether another column was taken for it.
        is_read: bool,
    },
    /// A heading that is separated otherwise than the rows below it, which were read as they are separated.
    MixedDelimiters {
        /// The heading.
        place: Place,
        /// What separates it.
        heading: Delimiter,
        /// What separates the rows.
        rows: Delimiter,
    },
    /// Addresses that stand in another column than the heading says, and were read there.
    AddressesElsewhere {
        /// The heading above them.
        place: Place,
        /// That heading, which may be empty.
        heading: String,
        /// The heading that says to be theirs.
        said: String,
        /// Whether the names were read where the addresses were said to be.
        has_names: bool,
        /// Whether the two headings of the table are exchanged.
        is_exchange: bool,
    },
    /// Two columns that may have the addresses, and no heading that says which one does.
    AddressesTwice {
        /// Where the one begins that was read.
        place: Place,
        /// Its heading; empty where the table has none.
        heading: String,
        /// The heading of the other one.
        other: String,
    },
    /// A table in which no column could be taken for the addresses. Nothing of it was read.
    NoHeading {
        /// Its first row.
        place: Place,
        /// What stands there.
        found: NoTable,
    },
    /// A table in which no column could be taken for the names of its rows.
    NoNames {
        /// The heading of its addresses.
        place: Place,
        /// Headings of columns that may have the names.
        candidates: Vec<String>,
    },
    /// A column of names in which few differ, beside one in which nearly all do.
    PoorNames {
        /// Its heading.
        place: Place,
        /// Its heading.
        heading: String,
        /// The heading of the other one.
        better: String,
    },
    /// The heading of a table once more, among its rows.
    RepeatedHeading {
        /// The row, or the first of them.
        place: Place,
        /// How many of them this is about.
        count: usize,
    },
    /// A row of a table that could not be read, or not as it was meant.
    BrokenRow {
        /// The row, or the first of them.
        place: Place,
        /// Why. Where it has an address, that and its name were read, and nothing else of it.
        fault: RowFault,
        /// How many of them this is about.
        count: usize,
    },
    /// A key that means nothing here. It was left out.
    UnknownKey {
        /// The key.
        place: Place,
        /// The key.
        key: String,
        /// Its value, where that is a short text.
        value: Option<String>,
        /// The keys that mean something here.
        allowed: &'static [&'static str],
        /// Those of them that are not here.
        missing: Vec<&'static str>,
        /// The name of the structure.
        within: &'static str,
        /// The key that is here and below which its value would mean something.
        below: Option<&'static str>,
    },
    /// A key that was left out: what belongs below it stands where it belongs, and was read as if it were there.
    HeadingLeftOut {
        /// The first key that belongs below it.
        place: Place,
        /// The key that was left out.
        heading: &'static str,
        /// The first key that belongs below it.
        first: String,
        /// How many belong below it.
        count: usize,
        /// Whether they stand between braces.
        in_braces: bool,
    },
    /// A key that must be here and is not.
    MissingKey {
        /// The key of the structure that lacks it, or the structure's first line.
        place: Place,
        /// The key.
        key: &'static str,
        /// The name of the structure.
        within: &'static str,
    },
    /// A value of another shape than its key takes.
    WrongShape {
        /// The value or, when it is nothing or long, its key.
        place: Place,
        /// What its key takes.
        expected: Shape,
        /// What it is.
        found: Shape,
        /// How it is written.
        written: Option<Box<Written>>,
    },
    /// Text that is not one of the words its key takes.
    UnknownWord {
        /// The text.
        place: Place,
        /// The text.
        text: String,
        /// The words.
        allowed: &'static [&'static str],
    },
    /// Text that does not fit its key's type.
    Unfit {
        /// The text.
        place: Place,
        /// The text, shortened when it is long.
        text: String,
        /// What fits, as a noun: "a whole number from 0 to 255".
        expected: String,
    },
}

impl Problem {
    /// Where it shows.
    #[must_use]
    pub fn place(&self) -> Place {
        let mut copy = self.places();
        copy.next().unwrap_or(Place { file: FileId(0), start: 0, end: 0 })
    }

    /// Every place it names, the one where it shows first.
    pub fn places(&self) -> impl Iterator<Item = Place> + use<> {
        let mut all = [None, None];
        let mut copy = self.clone();
        let mut next = 0;
        copy.each_place(|place| {
            if let Some(slot) = all.get_mut(next) {
                *slot = Some(*place);
                next += 1;
            }
        });
        all.into_iter().flatten()
    }

    /// Calls `change` with every place in it.
    pub(super) fn each_place(&mut self, mut change: impl FnMut(&mut Place)) {
        match self {
            Self::DuplicateKey { place, first, .. } => {
                change(place);
                change(first);
            }
            Self::Syntax { place, .. }
            | Self::Tab { place, .. }
            | Self::KeyShape { place, .. }
            | Self::TooDeep { place, .. }
            | Self::Alias { place, .. }
            | Self::Tag { place }
            | Self::SecondDocument { place }
            | Self::MissingInclude { place, .. }
            | Self::BadPattern { place, .. }
            | Self::MissingFile { place, .. }
            | Self::OutsideFolder { place, .. }
            | Self::NotAFile { place, .. }
            | Self::NotIncluded { place, .. }
            | Self::IncludeLoop { place, .. }
            | Self::NotText { place, .. }
            | Self::TooMany { place, .. }
            | Self::Unreadable { place, .. }
            | Self::MissingHeading { place, .. }
            | Self::MixedDelimiters { place, .. }
            | Self::AddressesElsewhere { place, .. }
            | Self::AddressesTwice { place, .. }
            | Self::NoHeading { place, .. }
            | Self::NoNames { place, .. }
            | Self::PoorNames { place, .. }
            | Self::RepeatedHeading { place, .. }
            | Self::BrokenRow { place, .. }
            | Self::UnknownKey { place, .. }
            | Self::HeadingLeftOut { place, .. }
            | Self::MissingKey { place, .. }
            | Self::WrongShape { place, .. }
            | Self::UnknownWord { place, .. }
            | Self::Unfit { place, .. } => change(place),
        }
    }
}

/// Adds a problem, up to the number that is told of one file.
pub(crate) fn tell(problems: &mut Vec<Problem>, problem: Problem) {
    match problems.len().cmp(&Limits::PROBLEMS_PER_FILE) {
        std::cmp::Ordering::Less => problems.push(problem),
        std::cmp::Ordering::Equal => problems.push(Problem::TooMany {
            place: problem.place(),
            counted: Counted::Problems,
            limit: Limits::PROBLEMS_PER_FILE as u64,
            path: None,
        }),
        std::cmp::Ordering::Greater => {}
    }
}
