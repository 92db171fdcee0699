//! Rows of the address table that cannot be read, or not as they stand.

use crate::findings::Severity;
use crate::resolve::Problem;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};
use crate::rules::{cell_wording, table_wording};
use crate::source;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unreadable-row",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[
            (Severity::Note, "where it is sure what was meant, and read so"),
            (Severity::Error, "where no row could be read"),
        ],
        summary: "rows or cells of the address table cannot be read, or not as they stand",
        on_site: "What was left out is compared with nothing: a mistake in it stays hidden.",
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
    if let Some(said) = table_wording::of_table(problem) {
        report.add(&RULE.card, said);
    }
}
