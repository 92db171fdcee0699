//! A feedback address is never sent: its flag T is not set.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::flags;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "feedback-not-sent",
        family: Family::Feedback,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a feedback address is never sent: its flag T is not set",
        on_site: "The status stands still: what happens at the wall is never shown.",
        remedy: "Set the flag T on the actuator's status object.",
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
          #                                      ^^^^^
--- bus.csv
address,name,flags
1/1/1,Hall lamp switch,CWU
1/4/1,Hall lamp status,CR
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
    let asked = flags::where_asked(point, (Role::Feedback, 'T'), appliance, context);
    if let Some((wire, flags)) = asked.filter(|(_, flags)| !flags.value.transmit) {
        let why = ("is never sent", "flag T is not set");
        report.add(&RULE.card, flags::said((Role::Feedback, wire), flags, why, appliance, plan));
    }
}
