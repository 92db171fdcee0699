//! An address table without an address.

use crate::findings::Severity;
use crate::resolve::Problem;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "empty-table",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "the address table holds no address",
        on_site: "No check can compare the wiring with the table: every wrong address stays hidden.",
        remedy: "Export the table again, with its group addresses, or leave `table:` out.",
        source: Source::CommonPractice,
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
address,name
#^^^^^^
",
        good: "\
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
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says that the table holds no address.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let message = "the address table holds no group address";
    report.add(&RULE.card, Said::new(message, problem.place, "no row below"));
}
