//! A command address cannot be written: its flag W is not set.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::flags;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "command-not-writable",
        family: Family::Feedback,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a command address cannot be written: its flag W is not set",
        on_site: "The actuator ignores every command.",
        remedy: "Set the flag W on the actuator's object, or give the address that has it.",
        source: Source::Standard("KNX 3/4/1, group object flags (from memory)"),
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
          #                     ^^^^^
--- bus.csv
address,name,flags
1/1/1,Hall lamp switch,CR
1/4/1,Hall lamp status,CRT
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
address,name,flags
1/1/1,Hall lamp switch,CWU
1/4/1,Hall lamp status,CRT
",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let asked = flags::where_asked(point, (Role::Command, 'W'), appliance, context);
    if let Some((wire, flags)) = asked.filter(|(_, flags)| !flags.value.write) {
        let why = ("cannot be written", "flag W is not set");
        report.add(&RULE.card, flags::said((Role::Command, wire), flags, why, appliance, plan));
    }
}
