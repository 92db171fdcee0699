//! A table in which no column could be taken for the names.

use crate::findings::{Severity, list};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "nameless-table",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[(Severity::Note, "where no column of it could hold names, or few of the names differ")],
        summary: "the address table has no column of names that could be found",
        on_site: "No check can compare the wiring with the names of the rows: exchanged lamps and rooms stay hidden.",
        remedy: "Name the heading of the names under `columns:`.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,remark
#^^^^^^
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv, columns: { name: remark } } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,remark
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which columns it may be. A table of addresses alone is only worth knowing of.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::PoorNames { place, heading, better } = problem {
        let message =
            format!("few of the names below `{heading}` differ, and nearly all texts below `{better}` do");
        let said = Said::new(message, *place, "these are read as the names").weighing(Severity::Note);
        let help = format!("if `{better}` has the names, write `columns: {{ name: {better} }}` at the bus");
        report.add(&RULE.card, said.help(help));
    }
    let Problem::NoNames { place, candidates } = problem else { return };
    let said =
        Said::new("no column of names was found in the address table", *place, "in none beside this one");
    report.add(
        &RULE.card,
        match candidates.as_slice() {
            [] => said
                .help("if the table has one, name its heading: `columns: { name: the heading }`")
                .weighing(Severity::Note),
            [only] => said
                .help(format!("if `{only}` has the names, write `columns: {{ name: {only} }}` at the bus")),
            more => said.help(format!(
                "write `columns: {{ name: … }}` at the bus, with the heading that has them: {}",
                list(more.iter().map(String::as_str))
            )),
        },
    );
}
