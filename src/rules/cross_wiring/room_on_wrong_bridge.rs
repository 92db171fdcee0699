//! A room on another bridge than the one it is called after.

use crate::findings::{Certainty, Severity};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::on_other_bridges;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-on-wrong-bridge",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a room is called after one bridge and stands on another, where all others are on theirs",
        on_site: "Another family sees and moves what is in it, and its own cannot.",
        remedy: "Name the bridge of its flat or its part of the house.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: {} }
bridges: { flat-1: { name: Flat 1, capacity: 10 }, flat-2: { name: Flat 2, capacity: 10 } }
rooms:
  flat-1-hall:
    name: Flat 1 hall
    bridge: flat-1
    appliances:
      hall-1: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
  flat-1-kitchen:
    name: Flat 1 kitchen
    bridge: flat-1
    appliances:
      kitchen-1: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  flat-1-lounge:
    name: Flat 1 lounge
    bridge: flat-2
    #       ^^^^^^
    appliances:
      lounge-1: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
  flat-2-hall:
    name: Flat 2 hall
    bridge: flat-2
    appliances:
      hall-2: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/4, feedback: 1/4/4 } } }
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: {} }
bridges: { flat-1: { name: Flat 1, capacity: 10 }, flat-2: { name: Flat 2, capacity: 10 } }
rooms:
  flat-1-hall:
    name: Flat 1 hall
    bridge: flat-1
    appliances:
      hall-1: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
  flat-1-kitchen:
    name: Flat 1 kitchen
    bridge: flat-1
    appliances:
      kitchen-1: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  flat-1-lounge:
    name: Flat 1 lounge
    bridge: flat-1
    appliances:
      lounge-1: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
  flat-2-hall:
    name: Flat 2 hall
    bridge: flat-2
    appliances:
      hall-2: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/4, feedback: 1/4/4 } } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for found in on_other_bridges(plan) {
        let (Some(room), Some(meant)) = (plan.rooms.get(found.room), plan.bridges.get(found.bridge)) else {
            continue;
        };
        let Some(named) = &room.bridge else { continue };
        let meant = &meant.key.value;
        let message =
            format!("`{}` is probably on bridge `{meant}`, not on `{}`", room.key.value, named.value);
        let because =
            format!("it is called after `{meant}`, as {} other rooms are, and they are on it", found.others);
        let said = Said::new(message, named.place, "probably another bridge")
            .about_room(&room.key.value)
            .because(&because)
            .help(format!("write `{meant}`"))
            .replace(meant.clone(), Certainty::ToBeLookedAt);
        report.add(&RULE.card, said);
    }
}
