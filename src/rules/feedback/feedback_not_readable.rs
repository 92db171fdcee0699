//! A feedback address cannot be read: its flag R is not set.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::flags;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "feedback-not-readable",
        family: Family::Feedback,
        severity: Severity::Warning,
        otherwise: &[(Severity::Note, "for a presence detector that sends by itself")],
        summary: "a feedback address cannot be read: its flag R is not set",
        on_site: "After a restart the controller does not know the state until it is sent again, often not before somebody presses a button.",
        remedy: "Set the flag R on the actuator's status object, or allow it where the device cannot.",
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
1/4/1,Hall lamp status,CT
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
        folds: &["feedback-not-sent"],
    },
    look: Look::Point(look),
};

/// The cluster of detectors many of which cannot be read, and send when somebody comes (common practice).
const PRESENCE: &str = "OccupancySensing";

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    // No controller waits for what it is never shown.
    if !appliance.bridged {
        return;
    }
    let asked = flags::where_asked(point, (Role::Feedback, 'R'), appliance, context);
    let Some((wire, flags)) = asked.filter(|(_, flags)| !flags.value.read) else { return };
    // An address without R and T both is most likely no status at all: one finding.
    let why = if flags.value.transmit {
        ("cannot be read", "flag R is not set")
    } else {
        ("cannot be read and is never sent", "flags R and T are not set")
    };
    let said = flags::said((Role::Feedback, wire), flags, why, appliance, plan);
    let links = &appliance.class.value.links;
    if flags.value.transmit && links.iter().any(|link| link.point == point.spec && link.cluster == PRESENCE) {
        let help =
            "nothing to do where the detector cannot be read, as many; else set the flag R on its object";
        return report.add(&RULE.card, said.weighing(Severity::Note).help(help));
    }
    report.add(&RULE.card, said);
}
