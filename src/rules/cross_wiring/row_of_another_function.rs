//! An address whose row has the function words of another point or end.

use crate::findings::Severity;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};
use crate::survey::{Evidence, Slip};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-of-another-function",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        summary: "the table has the address for another function than the point it is wired to",
        on_site: "The tile shows or moves something else of the same appliance: a brightness where the on and off should be.",
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
          brightness: { command: 1/2/1, feedback: 1/5/9 }
          #                                       ^^^^^
      south:
        name: South lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
          brightness: { command: 1/2/2, feedback: 1/5/2 }
      east:
        name: East lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
          brightness: { command: 1/2/3, feedback: 1/5/3 }
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
1/1/3,East lamp switch
1/4/3,East lamp status
1/2/3,East lamp value
1/5/3,East lamp value status
1/5/9,North lamp switch
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
      east:
        name: East lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
          brightness: { command: 1/2/3, feedback: 1/5/3 }
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
1/1/3,East lamp switch
1/4/3,East lamp status
1/2/3,East lamp value
1/5/3,East lamp value status
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
        let by_function = suspect.evidence.iter().all(|evidence| matches!(evidence, Evidence::Function));
        let alone = matches!(suspect.slip, Slip::Alone);
        if by_function
            && alone
            && let Some(told) = suspicion::tell(suspect, context)
        {
            report.add(&RULE.card, told.because(&suspicion::function_words(suspect, context)));
        }
    }
}
