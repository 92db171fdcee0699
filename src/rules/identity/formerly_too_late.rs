//! A former key that was written after the build in which its endpoint was lost.

use super::endpoint_left_behind::types_of;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "formerly-too-late",
        family: Family::Identity,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "`formerly` was written after the build that it was meant for",
        on_site: "The line does nothing: the appliance has a new endpoint, and what the old key had stays lost, with its rooms, scenes and automations.",
        remedy: "Bring it back with `housewright ledger rename`, then build; or take `formerly` out.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        formerly: spot
        #         ^^^^
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 3 0x0100 0123456789abcdef0123456789abcdef
retired:
  spot:
    - main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        formerly: spot
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  spot:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(formerly) = &appliance.formerly else { return };
    let (old, new) = (&formerly.value, &appliance.key.value);
    let is_lost = if appliance.bridged {
        context.ledger.is_lost(old, new)
    } else {
        is_given_up(old, appliance, context)
    };
    if !is_lost {
        return;
    }
    let message = format!("what `{old}` had was lost in a build before `{new}` said that it was `{old}`");
    let said = Said::new(message, formerly.place, "does nothing now").about(appliance, context.plan);
    let said = if appliance.bridged {
        said.help(format!(
            "run `housewright ledger rename {old} {new} HOUSE` and build: the endpoint comes back with all that it had; or take \
             `formerly` out"
        ))
    } else {
        said.on_site("The line does nothing: no place is kept for the appliance, and shown again it is a new one.").help(format!(
            "run `housewright ledger rename {old} {new} HOUSE` and build: the place is kept for it again; or take `formerly` out"
        ))
    };
    report.add(&RULE.card, said);
}

/// Whether nothing is kept for an appliance that was built and is not shown, while what it had under its old key is retired.
fn is_given_up(old: &str, appliance: &Appliance, context: &Context<'_>) -> bool {
    let (ledger, new) = (context.ledger, &appliance.key.value);
    let is_built_without = ledger.lives(new) && ledger.of(new).next().is_none();
    if !is_built_without || ledger.lives(old) {
        return false;
    }
    let bridge = context.plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str());
    appliance.shape().iter().flat_map(|shape| &shape.parts).any(|part| {
        let types = types_of(part);
        ledger.left_behind(old, &part.name, |it| *it.bridge == *bridge && it.device_types == types).is_some()
    })
}
