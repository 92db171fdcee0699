//! A bridge that carries nothing.

use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

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
    // A house without appliances is only begun; what is unread, or behind a bridge that there is not, may be meant for it.
    let may_be_meant = |appliance: &Appliance| appliance.incomplete || appliance.bridge == Appliance::UNKNOWN;
    if plan.appliances.is_empty() || plan.appliances.iter().any(may_be_meant) {
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
