//! A group object that takes no part in the bus: its flag C is not set.

use crate::findings::Severity;
use crate::resolve::plan::{AddressTable, Appliance, Role, Wire};
use crate::rules::flags;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

/// Of so many rows with flags one may be without C; where it is more, the table does not list C.
const OF_EACH: usize = 5;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "communication-off",
        family: Family::Feedback,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a group object takes no part in the bus: its flag C is not set",
        on_site: "No telegram arrives at the object, and none leaves it.",
        remedy: "Set the flag C on the actuator's object, or give the address that has it.",
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
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
      lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
      #                                                                              ^^^^^
--- bus.csv
address,name,flags
1/1/1,Hall lamp switch,CWU
1/4/1,Hall lamp status,CRT
1/1/2,Hall spot switch,CWU
1/4/2,Hall spot status,CRT
1/1/3,Hall lantern switch,-WU
1/4/3,Hall lantern status,CRT
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
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
      lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
--- bus.csv
address,name,flags
1/1/1,Hall lamp switch,CWU
1/4/1,Hall lamp status,CRT
1/1/2,Hall spot switch,CWU
1/4/2,Hall spot status,CRT
1/1/3,Hall lantern switch,CWU
1/4/3,Hall lantern status,CRT
",
        folds: &["command-not-writable", "feedback-not-readable", "feedback-not-sent"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let lists_it: Vec<bool> =
        plan.buses.iter().map(|bus| bus.table.as_deref().is_some_and(lists_c)).collect();
    for appliance in &plan.appliances {
        if lists_it.get(appliance.bus).copied() != Some(true) {
            continue;
        }
        let wires = appliance.points.iter().flat_map(|point| point.wires());
        for (role, wire) in wires.filter(|(role, _)| *role != Role::Listens) {
            look_at(role, wire, appliance, context, report);
        }
    }
}

fn look_at(role: Role, wire: &Wire, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let listed = flags::listed(wire, appliance, context);
    if let Some(flags) = listed.filter(|flags| !flags.value.communication) {
        let why = ("takes no part in the bus", "flag C is not set");
        report.add(&RULE.card, flags::said((role, wire), flags, why, appliance, plan));
    }
}

/// Whether a table lists the flag C: nearly all rows that have flags have it.
fn lists_c(table: &AddressTable) -> bool {
    let flags = || table.rows.iter().filter_map(|row| row.flags.as_ref());
    let without = flags().filter(|flags| !flags.value.communication).count();
    without > 0 && without * OF_EACH <= flags().count()
}
