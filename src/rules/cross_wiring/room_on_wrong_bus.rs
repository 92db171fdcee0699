//! A room that names another bus than the one its addresses are on.

use crate::findings::{Certainty, Severity};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::AloneOnBus;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-on-wrong-bus",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "all addresses of a room, or of an appliance in it, are those of another bus",
        on_site: "Everything in it moves what stands elsewhere.",
        remedy: "Name the bus that it is wired to.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: main.csv }, mill: { table: mill.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    bus: main
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  forge:
    name: Forge
    bus: main
    #    ^^^^
    appliances:
      forge-lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      anvil: { name: Anvil, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
--- main.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/1/2,Hall spot switch
1/4/2,Hall spot status
--- mill.csv
address,name
1/1/1,Forge lamp switch
1/4/1,Forge lamp status
1/1/2,Forge anvil switch
1/4/2,Forge anvil status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: main.csv }, mill: { table: mill.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    bus: main
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  forge:
    name: Forge
    bus: mill
    appliances:
      forge-lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      anvil: { name: Anvil, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
--- main.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/1/2,Hall spot switch
1/4/2,Hall spot status
--- mill.csv
address,name
1/1/1,Forge lamp switch
1/4/1,Forge lamp status
1/1/2,Forge anvil switch
1/4/2,Forge anvil status
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (room, meant) in &context.survey.misplaced {
        let (Some(room), Some(meant)) = (plan.rooms.get(*room), plan.buses.get(*meant)) else { continue };
        let Some(bus) = &room.bus else { continue };
        let message =
            format!("`{}` is probably on bus `{}`, not on `{}`", room.key.value, meant.key, bus.value);
        let because = format!(
            "the table of `{}` has all its addresses, and nothing else there is commanded or read through them",
            meant.key
        );
        let said = Said::new(message, bus.place, "probably another bus")
            .about_room(&room.key.value)
            .because(&because)
            .help(format!("write `{}`", meant.key))
            .replace(meant.key.clone(), Certainty::ToBeLookedAt);
        report.add(&RULE.card, said);
    }
    for alone in &context.survey.misplaced_alone {
        tell_alone(alone, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
}

/// An appliance that is on another bus than its room by itself.
fn tell_alone(alone: &AloneOnBus, context: &Context<'_>) -> Option<Said> {
    let plan = context.plan;
    let appliance = plan.appliances.get(alone.appliance as usize)?;
    let room = plan.rooms.get(appliance.room)?;
    let (here, meant) = (&plan.buses.get(appliance.bus)?.key, &plan.buses.get(alone.bus)?.key);
    let message = format!(
        "`{}` is probably on bus `{meant}`, as `{}` is, and not on `{here}`",
        appliance.key.value, room.key.value
    );
    let because = format!(
        "the table of `{meant}` has all its addresses under its name, and nothing else there is commanded or read through them"
    );
    let said = Said::new(message, appliance.key.place, format!("on `{here}`"))
        .about(appliance, plan)
        .because(&because)
        .help(format!("take `bus: {here}` out of it"));
    Some(said)
}
