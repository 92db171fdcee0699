//! Two rows whose names stand in each other's place.

use crate::findings::Severity;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};
use crate::survey::Slip;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-names-exchanged",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two rows of the address table have each other's name",
        on_site: "Whoever works from the table next measures, labels and changes the wrong lamp.",
        remedy: "Exchange the two names; or the two addresses, if the table is right.",
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
          #                     ^^^^^
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
1/1/1,South lamp switch
1/4/1,North lamp status
1/1/2,North lamp switch
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
",
        folds: &[
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
        if let Slip::RowsExchanged { with } = suspect.slip
            && let Some(told) = suspicion::tell_rows(suspect, with, context)
        {
            report.add(&RULE.card, told.because("both addresses lie where the rest of the house has them"));
        }
    }
}
