//! A bridge that carries nothing.

use crate::findings::Severity;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "bridge-without-appliances",
        family: Family::Identity,
        severity: Severity::Note,
        otherwise: &[],
        summary: "a bridge carries no appliance",
        on_site: "The family sees an empty bridge in its controller.",
        remedy: "Take the bridge out, or name it at a room or an appliance.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges:
  main: { name: Test, capacity: 10 }
  attic: { name: Attic, capacity: 10 }
  #^^^^
rooms:
  hall:
    name: Hall
    bridge: main
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        good: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges:
  main: { name: Test, capacity: 10 }
rooms:
  hall:
    name: Hall
    bridge: main
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    // A house without appliances is only begun; one with unread parts may have them there.
    if plan.appliances.is_empty() || plan.appliances.iter().any(|appliance| appliance.incomplete) {
        return;
    }
    // A room that names a bridge which there is not may mean the empty one.
    let keys: FxHashSet<&str> = plan.bridges.iter().map(|bridge| bridge.key.value.as_str()).collect();
    let mut named = plan.rooms.iter().filter_map(|room| room.bridge.as_ref());
    if !named.all(|bridge| keys.contains(bridge.value.as_str())) {
        return;
    }
    let mut carries = vec![false; plan.bridges.len()];
    for appliance in &plan.appliances {
        if let Some(carries) = carries.get_mut(appliance.bridge) {
            *carries = true;
        }
    }
    for (bridge, _) in plan.bridges.iter().zip(carries).filter(|(_, carries)| !carries) {
        let message = format!("the bridge `{}` carries no appliance", bridge.key.value);
        report.add(&RULE.card, Said::new(message, bridge.key.place, "empty"));
    }
}
