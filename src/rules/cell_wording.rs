//! What is said of cells of an address table that cannot be read, or are read otherwise than they stand.

use super::table_wording::NO_CHECK;
use super::{Said, wording};
use crate::findings::Severity;
use crate::knx::{AddressError, Notation, Spelling};
use crate::resolve::{CellFault, Problem, ProblemKind};

/// One cell; none for what no cell of a table has.
pub(super) fn of_one(problem: &Problem) -> Option<Said> {
    let said = |message: String, label: &str| Said::new(message, problem.place, label);
    Some(match &problem.kind {
        ProblemKind::TableAddress { text, meant: Some(meant), error: AddressError::Malformed { .. } } => {
            let said = said(format!("in the address table: `{text}` is no group address"), "not an address");
            let help = match Spelling::of(text) {
                Spelling::Words => format!("write `{meant}`, and what stands behind it into the next cell"),
                _ => format!("write `{meant}`"),
            };
            said.on_site(read_as(meant)).help(help)
        }
        ProblemKind::TableAddress { meant: Some(meant), error, .. } => {
            said(format!("in the address table: {error}"), "another notation")
                .on_site(read_as(meant))
                .help(format!("write `{meant}`"))
        }
        ProblemKind::TableAddress { error, .. } => {
            said(format!("in the address table: {error}"), "row left out")
                .on_site("No check can use the row: a mistake at its address stays hidden.")
        }
        ProblemKind::TableDpt { text } => {
            said(format!("`{text}` in the address table is no datapoint type"), "datapoint type left out")
                .on_site("The row is used all the same; whether its type fits is not checked.")
                .help(WRITE_TYPES)
        }
        ProblemKind::TableFlags { text } => {
            said(format!("`{text}` in the address table are no flags"), "flags left out")
                .on_site("The row is used all the same; whether its flags fit is not checked.")
                .help(WRITE_FLAGS)
        }
        _ => return None,
    })
}

fn read_as(meant: &str) -> String {
    format!("The row is read as that of `{meant}`; if another address is meant, the checks do not know it.")
}

const TYPES_LEFT_OUT: &str = "The rows are used all the same; whether their types fit is not checked.";
const WRITE_TYPES: &str = "write a datapoint type as its number, like `1.001`, or leave the cell empty";
const FLAGS_LEFT_OUT: &str = "The rows are used all the same; whether their flags fit is not checked.";
const WRITE_FLAGS: &str = "write the flags by their letters, like `CRT`, or leave the cell empty";
const ROWS_LEFT_OUT: &str = "No check can use the rows: a mistake at their addresses stays hidden.";
const DATES_LEFT_OUT: &str = "The rows are left out: whether their addresses are there is not checked.";
const READ: &str = "Nothing, if this is what is meant: the rows are read all the same.";

/// Many cells of one fault.
pub(super) fn of_many(problem: &Problem, notation: Notation) -> Option<Said> {
    let ProblemKind::TableCells { fault, count, of, examples, nothing_read } = &problem.kind else {
        return None;
    };
    let many = Many { count: *count, of: *of, examples, nothing_read: *nothing_read };
    let (what, label, on_site, help) = match fault {
        CellFault::Notation(found) => (
            format!("{} written in {found} notation, the house uses {notation}", many.addresses()),
            "another notation",
            READ,
            many.read(),
        ),
        CellFault::Spelling(spelling) => {
            (format!("{} {}", many.addresses(), spelt(*spelling)), "the first of them", READ, many.read())
        }
        CellFault::Date => (
            format!("{} become {}", many.have(), if many.count == 1 { "a date" } else { "dates" }),
            "a date",
            if many.nothing_read { NO_CHECK } else { DATES_LEFT_OUT },
            format!(
                "a spreadsheet made dates of addresses, such as {}{}: export the table again, and let the spreadsheet open \
                 the column as text",
                many.texts(),
                if many.are_numbers() { ", the numbers that it keeps for days" } else { "" }
            ),
        ),
        CellFault::NoGroup => (
            format!("{} none that a group can have: {}", many.addresses(), many.texts()),
            "row left out",
            if many.nothing_read { NO_CHECK } else { ROWS_LEFT_OUT },
            format!("write {}", wording::example_address(notation)),
        ),
        CellFault::NoAddress => (
            format!("{} none: {}", many.addresses(), many.texts()),
            "row left out",
            if many.nothing_read { NO_CHECK } else { ROWS_LEFT_OUT },
            if many.nothing_read {
                "name the heading of the column that has the addresses: `columns: { address: the heading }`; or export the \
                 table again"
                    .to_owned()
            } else {
                format!("write {}; or take the rows out", wording::example_address(notation))
            },
        ),
        CellFault::WithoutDot => {
            (format!("{} lost the dot", many.types("has", "have")), "without its dot", READ, many.read())
        }
        CellFault::NoType => (
            format!("{} no datapoint type: {}", many.types("is", "are"), many.texts()),
            "datapoint type left out",
            TYPES_LEFT_OUT,
            WRITE_TYPES.to_owned(),
        ),
        CellFault::NoFlags => (
            format!("the flags of {} rows of the table are none: {}", many.count, many.texts()),
            "flags left out",
            FLAGS_LEFT_OUT,
            WRITE_FLAGS.to_owned(),
        ),
    };
    Some(Said::new(what, problem.place, label).on_site(on_site).help(help).weighing(many.severity(*fault)))
}

fn spelt(spelling: Spelling) -> &'static str {
    match spelling {
        Spelling::Zeros => "written with zeros before their numbers",
        Spelling::Blanks => "written with spaces around their slashes",
        Spelling::Unseen => "written with characters that nobody sees",
        Spelling::Slashes => "written with a slash too many",
        Spelling::Separators => "written with other marks instead of slashes",
        Spelling::Marks => "written with the marks that a spreadsheet has for text",
        Spelling::Letters => "written with letters that look like digits",
        Spelling::Words => "written with words behind them",
    }
}

/// How many cells they are, and a few of them.
struct Many<'a> {
    count: usize,
    of: usize,
    examples: &'a [(String, Option<String>)],
    nothing_read: bool,
}

impl Many<'_> {
    /// What leaves no doubt is only worth knowing; a table without a row checks nothing.
    fn severity(&self, fault: CellFault) -> Severity {
        if self.nothing_read {
            return Severity::Error;
        }
        let is_sure = match fault {
            CellFault::WithoutDot => true,
            CellFault::Spelling(spelling) => spelling.is_sure(),
            CellFault::Notation(_) => self.count == self.of,
            CellFault::Date
            | CellFault::NoGroup
            | CellFault::NoAddress
            | CellFault::NoType
            | CellFault::NoFlags => false,
        };
        if is_sure { Severity::Note } else { Severity::Warning }
    }

    /// "12 of 40 addresses in the table are".
    fn addresses(&self) -> String {
        self.counted(if self.count == 1 { "is" } else { "are" })
    }

    /// "12 of 40 addresses in the table have".
    fn have(&self) -> String {
        self.counted(if self.count == 1 { "has" } else { "have" })
    }

    fn counted(&self, verb: &str) -> String {
        if self.count == self.of && self.count > 1 {
            format!("all {} addresses in the table {verb}", self.count)
        } else {
            format!("{} of {} addresses in the table {verb}", self.count, self.of)
        }
    }

    /// "12 cells for a datapoint type in the table have".
    fn types(&self, has: &str, have: &str) -> String {
        let (cells, verb) = if self.count == 1 { ("cell", has) } else { ("cells", have) };
        format!("{} {cells} for datapoint types in the table {verb}", self.count)
    }

    /// "`1 bit`, `4 bit` …".
    fn texts(&self) -> String {
        let texts: Vec<String> = self.examples.iter().map(|(text, _)| format!("`{}`", text.trim())).collect();
        format!("{}{}", texts.join(", "), self.more())
    }

    /// Whether the cells are numbers and nothing else.
    fn are_numbers(&self) -> bool {
        self.examples.iter().all(|(text, _)| text.bytes().all(|byte| byte.is_ascii_digit()))
    }

    /// "`1/1` is read as `1/0/1`, `1/2` as `1/0/2` …".
    fn read(&self) -> String {
        let read = self.examples.iter().filter_map(|(text, read)| Some((text.trim(), read.as_deref()?)));
        let words: Vec<String> = read
            .zip(["is read as", "as", "as"])
            .map(|((text, read), verb)| format!("`{text}` {verb} `{read}`"))
            .collect();
        format!("{}{}", words.join(", "), self.more())
    }

    fn more(&self) -> &'static str {
        if self.count > self.examples.len() { " …" } else { "" }
    }
}
