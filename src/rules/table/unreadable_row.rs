//! A row of the address table that cannot be read.

use crate::findings::{Certainty, Severity, list, nearest};
use crate::knx::AddressError;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::{self, RowFault};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unreadable-row",
        family: Family::Table,
        severity: Severity::Warning,
        summary: "a row or cell of the address table cannot be read",
        on_site: "No check can use the row: a mistake at its address stays hidden.",
        remedy: "Correct the row in the table, or take it out.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
--- bus.csv
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/9/1,Hall lamp status,1.001
#^^^^
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
--- bus.csv
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/4/1,Hall lamp status,1.001
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what cannot be read.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let (message, label) = match &problem.kind {
        ProblemKind::TableAddress { text, meant: Some(meant), error: AddressError::Malformed { .. } } => {
            let message = format!("in the address table: `{text}` is no group address");
            let said = Said::new(message, problem.place, "not an address");
            report.add(
                &RULE.card,
                if text.contains(' ') {
                    said.help(format!("write `{meant}`, and what stands behind it into the next cell"))
                } else {
                    said.help(format!("write `{meant}`"))
                },
            );
            return;
        }
        ProblemKind::TableAddress { error, .. } => {
            let is_other = matches!(error, AddressError::OtherNotation { meant: Some(_), .. });
            let label = if is_other { "another notation" } else { "row left out" };
            (format!("in the address table: {error}"), label)
        }
        ProblemKind::TableDpt { text } => {
            (format!("`{text}` in the address table is no datapoint type"), "datapoint type left out")
        }
        ProblemKind::TableFlags { text } => {
            (format!("`{text}` in the address table are no flags"), "flags left out")
        }
        _ => return,
    };
    report.add(&RULE.card, Said::new(message, problem.place, label));
}

/// The same for what was wrong with the writing of the table.
pub(in crate::rules) fn tell_of_source(problem: &source::Problem, report: &mut Report) {
    let (place, message, help) = match problem {
        source::Problem::BrokenRow { place, fault } => {
            let (message, help) = fault_words(*fault);
            (*place, message.to_owned(), help)
        }
        source::Problem::RepeatedHeading { place } => (
            *place,
            "the heading of the address table stands here again".to_owned(),
            "take the line out; it was left out",
        ),
        source::Problem::NoHeading { place } => (
            *place,
            "the address table has no column of group addresses that could be found".to_owned(),
            "name its heading: `columns: { address: the heading }`",
        ),
        source::Problem::MissingHeading { place, heading, found } => {
            let message = format!("the address table has no heading `{heading}`");
            let said = Said::new(message, *place, "no such heading");
            let said = match nearest(heading, found.iter().map(String::as_str)) {
                Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
                None if found.is_empty() => said.help("write the heading as the table has it"),
                None => said.help(format!("the table has {}", list(found.iter().map(String::as_str)))),
            };
            return report.add(&RULE.card, said);
        }
        _ => return,
    };
    report.add(&RULE.card, Said::new(message, place, "not read as a row").help(help));
}

fn fault_words(fault: RowFault) -> (&'static str, &'static str) {
    match fault {
        RowFault::UnclosedQuote => {
            ("a quotation mark in this row has no partner", "close the quotation, or double the mark")
        }
        RowFault::TooLong => {
            ("this row is longer than a row may be", "is it one row? The rest of it was left out")
        }
        RowFault::TooManyCells => {
            ("this row has more cells than the heading", "put a cell that holds the delimiter into quotes")
        }
        RowFault::NoAddress => {
            ("this row says something and has no group address", "give the address, or take the row out")
        }
    }
}
