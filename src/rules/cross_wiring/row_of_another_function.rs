//! An address whose row has the function words of another point or end.

use crate::findings::{Certainty, Severity};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::rules::{crossing, suspicion};
use crate::survey::{Evidence, OtherWeather, Slip, Weather};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-of-another-function",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "the table has the address for another function than the point it is wired to",
        on_site: "The controller shows or moves something else of the same appliance: a brightness where the on and off should be.",
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
    for other in &context.survey.other_weather {
        weather(other, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
}

/// An alarm of wind on a row of rain, or the other way round, once for all that have the address.
fn weather(other: &OtherWeather, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, point, wire) = suspicion::look_up(*other.wires.first()?, context)?;
    let wires = || other.wires.iter().filter_map(|wire| suspicion::wire_of(*wire, context));
    let names = crossing::names(wires().map(|(appliance, _)| appliance), other.wires.len());
    let message = format!(
        "the feedback of `{}` in {names} is probably not `{}`",
        point.name(appliance),
        wired.address.display(context.plan.house.notation)
    );
    let row = suspicion::row(wired, context).map_or("", |row| row.name.value.trim());
    let said = match other.said {
        Weather::Wind => "wind and not of rain",
        Weather::Rain => "rain and not of wind",
    };
    let said = Said::new(message, wire.address.place, format!("in the table \"{row}\""))
        .about(appliance, context.plan)
        .because(&format!("its row speaks of {said}"))
        .on_site("A storm or a shower is taken for the other, and the one that is meant is not heard.");
    let Some(right) = other.right else { return Some(said) };
    let (right, help) = suspicion::right_words_of(right, appliance.bus, context);
    let help = suspicion::likewise(help, other.wires.len());
    let edits = wires().map(|(_, wire)| (wire.address.place, right.clone())).collect();
    Some(said.help(help).edit(edits, Certainty::ToBeLookedAt))
}
