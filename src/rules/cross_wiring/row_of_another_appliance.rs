//! An address whose row names another appliance than its siblings' rows do.

use crate::findings::Severity;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};
use crate::survey::{Evidence, Slip};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-of-another-appliance",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "the table gives an address to another appliance than the rest of this one's",
        on_site: "The wrong lamp goes on, or the lamp is shown in another one's state.",
        remedy: "Look the address up in the table; if it is meant, say why under `allow:`.",
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
        class: dimmable-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          brightness: { command: 1/2/1, feedback: 1/5/7 }
          #                                       ^^^^^
      south:
        name: South lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
          brightness: { command: 1/2/2, feedback: 1/5/2 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/2/1,North lamp value
1/5/1,North lamp value status
1/1/2,South lamp switch
1/4/2,South lamp status
1/2/2,South lamp value
1/5/2,South lamp value status
1/5/7,Arch lamp value status
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
        class: dimmable-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          brightness: { command: 1/2/1, feedback: 1/5/1 }
      south:
        name: South lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
          brightness: { command: 1/2/2, feedback: 1/5/2 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/2/1,North lamp value
1/5/1,North lamp value status
1/1/2,South lamp switch
1/4/2,South lamp status
1/2/2,South lamp value
1/5/2,South lamp value status
",
        folds: &[
            "central-address-as-feedback",
            "shared-feedback",
            "wired-as-another",
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
        let has = |wanted: fn(&Evidence) -> bool| suspect.evidence.iter().any(wanted);
        let by_row = has(|evidence| matches!(evidence, Evidence::Row { .. }))
            && !has(|evidence| matches!(evidence, Evidence::Habit { .. }));
        let alone = matches!(suspect.slip, Slip::Alone);
        if by_row
            && alone
            && let Some(told) = suspicion::tell(suspect, context)
        {
            report.add(&RULE.card, told.because(&suspicion::row_words(suspect, context)));
        }
    }
}
