//! Rows of the address table that cannot be read, or not as they stand.

use crate::findings::{Certainty, Severity, list, nearest};
use crate::resolve::Problem;
use crate::rules::cell_wording;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::{self, Place, RowFault};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unreadable-row",
        family: Family::Table,
        severity: Severity::Warning,
        summary: "rows or cells of the address table cannot be read, or not as they stand",
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

/// Says what cannot be read, and what was read otherwise than it stands.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let many = || cell_wording::of_many(problem, context.plan.house.notation);
    if let Some(said) = cell_wording::of_one(problem).or_else(many) {
        report.add(&RULE.card, said);
    }
}

/// The same for what was wrong with the writing of the table.
pub(in crate::rules) fn tell_of_source(problem: &source::Problem, report: &mut Report) {
    let (place, message, help) = match problem {
        source::Problem::BrokenRow { place, fault, count } => {
            let (message, help) = fault_words(*fault, *count);
            (*place, message, help)
        }
        source::Problem::RepeatedHeading { place, count: 1 } => (
            *place,
            "the heading of the address table stands here again".to_owned(),
            "take the line out; it was left out",
        ),
        source::Problem::RepeatedHeading { place, count } => (
            *place,
            format!("the heading of the address table stands in {count} more lines"),
            "take the lines out; they were left out",
        ),
        source::Problem::NoHeading { place, is_xml: true } => (
            *place,
            "the address table is XML, which is not read".to_owned(),
            "export the addresses as text: a line each, with semicolons, commas or tabs between its cells",
        ),
        source::Problem::NoHeading { place, .. } => (
            *place,
            "the address table has no column of group addresses that could be found".to_owned(),
            "name its heading: `columns: { address: the heading }`; or write the headings `Main`, `Middle` and `Sub` over \
             columns of their numbers",
        ),
        source::Problem::MissingHeading { place, heading, found } => {
            return report.add(&RULE.card, missing_heading(*place, heading, found));
        }
        _ => return,
    };
    let said = Said::new(message, place, "not read as a row").help(help);
    report.add(
        &RULE.card,
        if matches!(problem, source::Problem::NoHeading { .. }) {
            said.on_site("No check can compare the wiring with the table: every wrong address stays hidden.")
        } else {
            said
        },
    );
}

fn missing_heading(place: Place, heading: &str, found: &[String]) -> Said {
    let said = Said::new(format!("the address table has no heading `{heading}`"), place, "no such heading");
    match nearest(heading, found.iter().map(String::as_str)) {
        Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
        None if found.is_empty() => said.help("write the heading as the table has it"),
        None => said.help(format!("the table has {}", list(found.iter().map(String::as_str)))),
    }
}

fn fault_words(fault: RowFault, count: usize) -> (String, &'static str) {
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
        RowFault::TooManyCells => (
            "this row has more cells than the heading",
            "rows have more cells than the heading",
            "put a cell that holds the delimiter into quotes",
        ),
        RowFault::NoAddress => (
            "this row says something and has no group address",
            "rows say something and have no group address",
            "give the address, or take the row out",
        ),
    };
    (if count == 1 { one.to_owned() } else { format!("{count} {many}") }, help)
}
