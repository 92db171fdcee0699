//! What is said of how an address table is written: its headings, its separators, and rows that are none.

use super::Said;
use crate::findings::{Certainty, Severity, list, nearest};
use crate::knx::Notation;
use crate::resolve::plan::Row;
use crate::source::delimited::Column;
use crate::source::{NoTable, Place, Problem, RowFault};

/// A table's heading or row; none for what no table has.
pub(super) fn of_table(problem: &Problem) -> Option<Said> {
    Some(match problem {
        Problem::BrokenRow { place, fault: RowFault::NoAddress, count } => without_address(*place, *count),
        Problem::BrokenRow { place, fault, count } => broken(*place, *fault, *count),
        Problem::RepeatedHeading { place, count: 1 } => {
            Said::new("the heading of the address table stands here again", *place, "line left out")
                .on_site(NOTHING_LOST)
                .help("take the line out")
        }
        Problem::RepeatedHeading { place, count } => {
            let message = format!("the heading of the address table stands in {count} more lines");
            Said::new(message, *place, "the first of them").on_site(NOTHING_LOST).help("take the lines out")
        }
        Problem::NoHeading { place, found: NoTable::Xml } => {
            Said::new("the address table is XML, which is not read", *place, "not read")
                .on_site(NO_CHECK)
                .help(
                    "export the addresses as text: a line each, with semicolons, commas or tabs between its \
                     cells",
                )
                .weighing(Severity::Error)
        }
        Problem::NoHeading { place, found: NoTable::Nothing } => {
            Said::new("the file of the address table is empty", *place, "nothing here")
                .on_site(NO_CHECK)
                .help("export the table again, or leave `table:` out")
                .weighing(Severity::Error)
        }
        Problem::NoHeading { place, found: NoTable::Other } => {
            let message = "the address table has no column of group addresses that could be found";
            Said::new(message, *place, "no heading of addresses")
                .on_site(NO_CHECK)
                .help(
                    "name its heading: `columns: { address: the heading }`; or write the headings `Main`, `Middle` and \
                     `Sub` over columns of their numbers",
                )
                .weighing(Severity::Error)
        }
        Problem::MissingHeading { .. } => missing_heading(problem)?,
        Problem::MixedDelimiters { place, heading, rows } => {
            let message =
                format!("the heading is separated by {}, the rows by {}", heading.word(), rows.word());
            Said::new(message, *place, format!("separated by {}", heading.word()))
                .on_site("Nothing, if this is what is meant: both are read as they are separated.")
                .help(format!("write {} between the headings as well", rows.word()))
        }
        Problem::AddressesElsewhere { .. } => addresses_elsewhere(problem)?,
        Problem::AddressesTwice { place, heading, other } => addresses_twice(*place, heading, other),
        _ => return None,
    })
}

const NOTHING_LOST: &str = "Nothing: no address is left out.";
/// What comes of a table without a row.
pub(super) const NO_CHECK: &str =
    "No check can compare the wiring with the table: every wrong address stays hidden.";

fn without_address(place: Place, count: usize) -> Said {
    let (message, label, on_site) = if count == 1 {
        (
            "this row says something and has no group address".to_owned(),
            "row left out",
            "If it is the row of an address, no check knows that address.",
        )
    } else {
        (
            format!("{count} rows say something and have no group address"),
            "the first of them",
            "If they are the rows of addresses, no check knows these.",
        )
    };
    Said::new(message, place, label).on_site(on_site).help("give the address, or take the row out")
}

/// A row whose address and name are read, and nothing else of it.
fn broken(place: Place, fault: RowFault, count: usize) -> Said {
    let (one, many, help) = match fault {
        RowFault::UnclosedQuote => (
            "a quotation mark in this row has no partner",
            "rows have a quotation mark without a partner",
            "close the quotation, or double the mark",
        ),
        RowFault::TooLong => (
            "this row is longer than a row may be",
            "rows are longer than a row may be",
            "is it one row? The rest of it was left out",
        ),
        RowFault::TooManyCells | RowFault::NoAddress => (
            "this row has more cells than the heading",
            "rows have more cells than the heading",
            "put a cell that holds the delimiter into quotes",
        ),
    };
    let (message, label, on_site) = if count == 1 {
        (
            one.to_owned(),
            "read in part",
            "Of this row its address and its name count, as they stand; its other cells are left out, and whether its \
             type and its flags fit is not checked.",
        )
    } else {
        (
            format!("{count} {many}"),
            "the first of them, read in part",
            "Of these rows their addresses and their names count, as they stand; their other cells are left out, and \
             whether their types and their flags fit is not checked.",
        )
    };
    Said::new(message, place, label).on_site(on_site).help(help)
}

fn addresses_elsewhere(problem: &Problem) -> Option<Said> {
    let Problem::AddressesElsewhere { place, heading, said, has_names, is_exchange } = problem else {
        return None;
    };
    let column = match heading.as_str() {
        "" => "a column without a heading".to_owned(),
        heading => format!("the column `{heading}`"),
    };
    let message = format!("the addresses stand in {column}, and not in the column `{said}`");
    let help = match (heading.as_str(), is_exchange, has_names) {
        ("", ..) => format!("write `{said}` above the addresses, and another heading above that column"),
        (heading, true, _) => format!("exchange the headings `{said}` and `{heading}`"),
        (heading, false, true) => {
            format!("write `columns: {{ address: {heading}, name: {said} }}` at the bus")
        }
        (heading, false, false) => format!("write `columns: {{ address: {heading} }}` at the bus"),
    };
    let on_site = "Nothing, if this is what is meant: the addresses are read where they stand.";
    Some(Said::new(message, *place, "the addresses stand below").on_site(on_site).help(help))
}

fn addresses_twice(place: Place, heading: &str, other: &str) -> Said {
    let said = if heading.is_empty() || other.is_empty() {
        let message = "two columns of the address table have addresses, and no heading says which one counts";
        Said::new(message, place, "these are read")
            .help("write headings above the columns, `Address` above the addresses that count")
    } else {
        let message = format!(
            "the columns `{heading}` and `{other}` of the address table both have addresses, and no heading says which one counts"
        );
        Said::new(message, place, "these are read").help(format!(
            "write `columns: {{ address: {other} }}` at the bus, or `columns: {{ address: {heading} }}` if these are the \
             ones"
        ))
    };
    said.on_site("If the other ones are meant, the checks believe the wrong ones.")
}

fn missing_heading(problem: &Problem) -> Option<Said> {
    let Problem::MissingHeading { place, heading, found, column, is_read } = problem else { return None };
    let is_there = found.contains(heading);
    let said = if is_there {
        Said::new(format!("the heading `{heading}` is named for two columns"), *place, "taken by the other")
    } else {
        Said::new(format!("the address table has no heading `{heading}`"), *place, "no such heading")
    };
    let said = match (is_read, column) {
        (true, _) => said.on_site(
            "The column that looks like it is read in its place; if another one is meant, the checks believe the wrong one.",
        ),
        (false, Column::Address) => said.on_site(NO_CHECK).weighing(Severity::Error),
        (false, _) => said.on_site("No check can use what the column says."),
    };
    Some(match nearest(heading, found.iter().map(String::as_str)) {
        Some(right) if !is_there => {
            said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt)
        }
        None if found.is_empty() => said.help("write the heading as the table has it"),
        _ => said.help(format!("the table has {}", list(found.iter().map(String::as_str)))),
    })
}

/// A row as it is named in a sentence.
pub(super) fn named_row(row: &Row, notation: Notation) -> String {
    let (written, name) = (row.address.value.display(notation), row.name.value.trim());
    if name.is_empty() { format!("`{written}`") } else { format!("`{written}` \"{name}\"") }
}
