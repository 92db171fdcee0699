//! A new appliance that is not shown, beside one of its kind that a build knows and nobody is now.

use super::endpoint_left_behind::types_of;
use crate::findings::Severity;
use crate::ledger::{DeviceTypes, Identity};
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::{FxHashMap, FxHashSet};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "kept-place-left",
        family: Family::Identity,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "an appliance that is not shown is new, and one of its kind that a build knows is gone",
        on_site: "If it only has another key, the place that is kept for it is given up: shown again, it is a new appliance.",
        remedy: "If it is the same appliance, write its old key as `formerly`; else build as it is.",
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
      spot:
#     ^^^^
        name: Lamp
        class: on-off-light
        bridged: false
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
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
      spot:
        name: Lamp
        class: on-off-light
        formerly: lamp
        bridged: false
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// A review says what was lost by the names and rooms of two builds. Here nothing is known but the ledger, and that a new
/// appliance is hidden from the first hardly ever happens.
fn look(context: &Context<'_>, report: &mut Report) {
    let (plan, ledger) = (context.plan, context.ledger);
    let is_new = |appliance: &&Appliance| {
        !appliance.bridged && appliance.formerly.is_none() && !ledger.lives(&appliance.key.value)
    };
    let fresh: Vec<&Appliance> = plan.appliances.iter().filter(is_new).collect();
    // Where something was not read, the keys that are nobody's may be there.
    if fresh.is_empty() || ledger.is_empty() || plan.appliances.iter().any(|one| one.incomplete) {
        return;
    }
    let own = plan.appliances.iter().map(|it| it.key.value.as_str());
    let former = plan.appliances.iter().filter_map(|it| Some(it.formerly.as_ref()?.value.as_str()));
    let taken: FxHashSet<&str> = own.chain(former).collect();
    let mut gone: FxHashMap<(&str, &str, &DeviceTypes), (&str, &Identity)> = FxHashMap::default();
    for (key, part, identity) in ledger.living().filter(|(key, ..)| !taken.contains(key)) {
        gone.entry((part, &identity.bridge, &identity.device_types)).or_insert((key, identity));
    }
    if gone.is_empty() {
        return;
    }
    for appliance in fresh {
        let bridge = plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str());
        let Some(main) = appliance.shape().ok().and_then(|shape| shape.parts.first()) else { continue };
        let types = types_of(main);
        let Some((old, identity)) = gone.get(&(main.name.as_str(), bridge, &types)) else { continue };
        let key = &appliance.key.value;
        let message = format!(
            "`{key}` is not shown and new, and nobody is `{old}`, which has endpoint {} of `{bridge}`",
            identity.number
        );
        let said = Said::new(message, appliance.key.place, "not in the ledger").about(appliance, plan);
        report.add(&RULE.card, said.help(format!(
            "if it is `{old}` under another key, write `formerly: {old}`: it keeps the place; if it is another appliance, just \
             build"
        )));
    }
}
