//! An address that does not lie where nearly all others of its kind do.

use crate::findings::Severity;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};
use crate::survey::{Evidence, Slip};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-breaks-habit",
        family: Family::Habit,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "an address does not lie where nearly all others of its kind do",
        on_site: "Very probably a slip of the finger: the controller shows or moves something else, or nothing.",
        remedy: "Look the address up; if it is meant, say why under `allow:`.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/30 }
#                                                ^^^^^^
      west:
        name: West lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
      arch:
        name: Arch lamp
        class: on-off-light
        points:
          switching: { command: 1/1/5, feedback: 1/4/5 }
      desk:
        name: Desk lamp
        class: on-off-light
        points:
          switching: { command: 1/1/6, feedback: 1/4/6 }
      shelf:
        name: Shelf lamp
        class: on-off-light
        points:
          switching: { command: 1/1/7, feedback: 1/4/7 }
      stairs:
        name: Stairs lamp
        class: on-off-light
        points:
          switching: { command: 1/1/8, feedback: 1/4/8 }
      bench:
        name: Bench lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/9 }
      mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/1/2,South lamp switch
1/4/2,South lamp status
1/1/3,East lamp switch
1/4/3,East lamp status
1/1/4,West lamp switch
1/4/4,West lamp status
1/1/5,Arch lamp switch
1/4/5,Arch lamp status
1/1/6,Desk lamp switch
1/4/6,Desk lamp status
1/1/7,Shelf lamp switch
1/4/7,Shelf lamp status
1/1/8,Stairs lamp switch
1/4/8,Stairs lamp status
1/1/9,Bench lamp switch
1/4/9,Bench lamp status
1/1/10,Mirror lamp switch
1/4/10,Mirror lamp status
1/4/30,Cellar pump status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      west:
        name: West lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
      arch:
        name: Arch lamp
        class: on-off-light
        points:
          switching: { command: 1/1/5, feedback: 1/4/5 }
      desk:
        name: Desk lamp
        class: on-off-light
        points:
          switching: { command: 1/1/6, feedback: 1/4/6 }
      shelf:
        name: Shelf lamp
        class: on-off-light
        points:
          switching: { command: 1/1/7, feedback: 1/4/7 }
      stairs:
        name: Stairs lamp
        class: on-off-light
        points:
          switching: { command: 1/1/8, feedback: 1/4/8 }
      bench:
        name: Bench lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/9 }
      mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/1/2,South lamp switch
1/4/2,South lamp status
1/1/3,East lamp switch
1/4/3,East lamp status
1/1/4,West lamp switch
1/4/4,West lamp status
1/1/5,Arch lamp switch
1/4/5,Arch lamp status
1/1/6,Desk lamp switch
1/4/6,Desk lamp status
1/1/7,Shelf lamp switch
1/4/7,Shelf lamp status
1/1/8,Stairs lamp switch
1/4/8,Stairs lamp status
1/1/9,Bench lamp switch
1/4/9,Bench lamp status
1/1/10,Mirror lamp switch
1/4/10,Mirror lamp status
1/4/30,Cellar pump status
",
        folds: &[
            "central-address-as-feedback",
            "shared-feedback",
            "shared-command",
            "table-room-differs",
            "type-differs-from-table",
            "command-is-others-feedback",
            "address-read-two-ways",
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
        ],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for suspect in &context.survey.suspects {
        let habit = suspect.evidence.iter().find_map(|evidence| match evidence {
            Evidence::Habit { habit, from } => Some((*habit, *from)),
            Evidence::Row { .. } | Evidence::Function | Evidence::Words | Evidence::Room { .. } => None,
        });
        let alone = matches!(suspect.slip, Slip::Alone);
        if let Some((habit, from)) = habit.filter(|_| alone)
            && let Some(told) = suspicion::tell(suspect, context)
        {
            report.add(&RULE.card, told.because(&suspicion::habit_words(suspect, habit, from, context)));
        }
    }
}
