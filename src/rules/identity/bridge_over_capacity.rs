//! More bridged endpoints than a gateway carries.

use crate::findings::Severity;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "bridge-over-capacity",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a bridge has more endpoints than its gateway carries",
        on_site: "The gateway refuses the definition, or leaves out the last appliances.",
        remedy: "Move rooms to a further bridge, or set `bridged: false` for what nobody uses.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 1 } }
#                                        ^
rooms:
  hall:
    name: Hall
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
",
        good: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 2 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let mut counts = vec![0usize; plan.bridges.len()];
    for appliance in plan.appliances.iter().filter(|appliance| appliance.bridged) {
        let endpoints = appliance.shape().map_or(1, |shape| shape.parts.len());
        if let Some(count) = counts.get_mut(appliance.bridge) {
            *count += endpoints;
        }
    }
    for (bridge, count) in plan.bridges.iter().zip(counts) {
        let Some(capacity) = &bridge.capacity else { continue };
        if count > capacity.value as usize {
            let message = format!(
                "the bridge `{}` would carry {count} endpoints, its gateway {} at most",
                bridge.key.value, capacity.value
            );
            report.add(&RULE.card, Said::new(message, capacity.place, format!("{count} are described")));
        }
    }
}
