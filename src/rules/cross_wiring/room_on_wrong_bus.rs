//! A room that names another bus than the one its addresses are on.

use crate::findings::{Certainty, Severity};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-on-wrong-bus",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "all addresses of a room are those of another bus",
        on_site: "Everything in the room moves what stands elsewhere.",
        remedy: "Name the bus that the room is wired to.",
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
        let because =
            format!("the table of `{}` has all its addresses, and nothing else uses them there", meant.key);
        let said = Said::new(message, bus.place, "probably another bus")
            .about_room(&room.key.value)
            .because(&because)
            .help(format!("write `{}`", meant.key))
            .replace(meant.key.clone(), Certainty::ToBeLookedAt);
        report.add(&RULE.card, said);
    }
}
