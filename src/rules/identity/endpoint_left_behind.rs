//! An appliance that is again what it was, after a build in which it was not.

use crate::classes::ShapedPart;
use crate::findings::Severity;
use crate::ledger::DeviceTypes;
use crate::matter;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "endpoint-left-behind",
        family: Family::Identity,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "an appliance is again what it was, and its endpoint is retired",
        on_site: "The build gives it another endpoint: what the family had made of the old one stays lost, though it could come back.",
        remedy: "Bring the endpoint back with `housewright ledger rename`, then build; or leave it, if this is another appliance.",
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
#     ^^^^
        name: Lamp
        class: on-off-light
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 3 0x010a 0123456789abcdef0123456789abcdef
retired:
  lamp:
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
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
retired:
  lamp:
    - main: main 3 0x010a 0123456789abcdef0123456789abcdef
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

/// The device types of a part by which the ledger knows what it is.
pub(super) fn types_of(part: &ShapedPart) -> DeviceTypes {
    let ids = part.device_types.iter().map(|it| it.id);
    DeviceTypes::new(ids.filter(|id| matter::is_identifying(*id)))
}

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let (key, ledger) = (&appliance.key.value, context.ledger);
    let is_renamed =
        appliance.formerly.as_ref().is_some_and(|it| ledger.lives(&it.value) && !ledger.lives(key));
    if !appliance.bridged || is_renamed || !ledger.has_retired(key) {
        return;
    }
    let bridge = context.plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str());
    let shape = appliance.shape();
    let left = shape.iter().flat_map(|shape| &shape.parts).find_map(|part| {
        let types = types_of(part);
        ledger.left_behind(key, &part.name, |it| *it.bridge == *bridge && it.device_types == types)
    });
    let Some(left) = left else { return };
    let message = format!(
        "`{key}` is again what it was as endpoint {} of `{bridge}`, and a build gives it another number",
        left.number
    );
    let said =
        Said::new(message, appliance.key.place, "its endpoint is retired").about(appliance, context.plan);
    report.add(&RULE.card, said.help(format!(
        "run `housewright ledger rename {key} {key} HOUSE` and build: the endpoint comes back with all that it had; if this is \
         another appliance, give it a key that nobody had, or just build"
    )));
}
