//! An appliance that does not say which of several buses is its own.

use crate::findings::Severity;
use crate::findings::some;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unnamed-bus",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the house has several buses, and the appliance does not say which is its own",
        on_site: "Its addresses mean something else on each bus.",
        remedy: "Write `bus:` for the appliance or for its room.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
buses:
  cellar: {}
  attic: {}
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
      #^^^
        name: Lamp
        class: on-off-light
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
buses:
  cellar: {}
  attic: {}
rooms:
  hall:
    name: Hall
    bus: attic
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Names those it could be.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::BusNotNamed { known } = &problem.kind {
        let (who, here) = match (&problem.appliance, &problem.room) {
            (Some(key), _) => {
                (format!("`{key}` does not say which bus it is on"), "here or for the whole room")
            }
            (None, room) => {
                let room = room.as_deref().unwrap_or_default();
                (format!("appliances of `{room}` do not say which bus they are on"), "for the whole room")
            }
        };
        let said = Said::new(who, problem.place, "which bus?").keyed(problem);
        let known = some(known);
        report.add(&RULE.card, said.help(format!("write `bus:` with one of {known}, {here}")));
    }
}
