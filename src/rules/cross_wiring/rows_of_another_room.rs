//! An appliance whose rows in the table all name another room.

use crate::findings::Severity;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};
use crate::survey::Evidence;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "rows-of-another-room",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        summary: "all rows of an appliance name another room of the house",
        on_site: "Whoever asks for the lamp of one room gets that of another.",
        remedy: "Move the appliance to the room, or look its addresses up.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      kitchen-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      kitchen-hood:
        name: Hood lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      kitchen-mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
#                               ^^^^^
  bedroom:
    name: Bedroom
    appliances:
      bedroom-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
--- bus.csv
address,name
1/1/1,Kitchen pendant switch
1/4/1,Kitchen pendant status
1/1/2,Kitchen hood lamp switch
1/4/2,Kitchen hood lamp status
1/1/3,Bedroom pendant switch
1/4/3,Bedroom pendant status
1/1/4,Bedroom mirror lamp switch
1/4/4,Bedroom mirror lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      kitchen-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      kitchen-hood:
        name: Hood lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
  bedroom:
    name: Bedroom
    appliances:
      bedroom-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      bedroom-mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
--- bus.csv
address,name
1/1/1,Kitchen pendant switch
1/4/1,Kitchen pendant status
1/1/2,Kitchen hood lamp switch
1/4/2,Kitchen hood lamp status
1/1/3,Bedroom pendant switch
1/4/3,Bedroom pendant status
1/1/4,Bedroom mirror lamp switch
1/4/4,Bedroom mirror lamp status
",
        folds: &["table-room-differs"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for suspect in &context.survey.suspects {
        let room = suspect.evidence.iter().find_map(|evidence| match evidence {
            Evidence::Room { said, others } => Some((*said, *others)),
            Evidence::Habit { .. } | Evidence::Row { .. } | Evidence::Function => None,
        });
        if let Some((said, others)) = room
            && let Some(told) = suspicion::tell_room(suspect, said, others, context)
        {
            report.add(&RULE.card, told);
        }
    }
}
