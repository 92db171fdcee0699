//! A status among the addresses that move an appliance.

use rustc_hash::FxHashSet;

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "listens-to-feedback",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[(Severity::Note, "where only its name in the table says that it is a status")],
        summary: "an appliance listens to an address that is a status",
        on_site: "What is shown follows another appliance's status: something that this one did not do.",
        remedy: "Name the central or group address that moves it, or leave it out.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2, listens: 1/4/1 } }
  #                                                                ^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2, listens: 1/0/1 } }
",
        folds: &["command-is-others-feedback", "feedback-not-readable", "command-not-writable"],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let mut looked_at = FxHashSet::default();
    for wire in &point.listens {
        let address = wire.address.value;
        // An address that is repeated is another rule's.
        if !looked_at.insert(address) {
            continue;
        }
        // What several listen to is a central function, whatever else it may be.
        if context.survey.uses.is_central(appliance.bus, address) {
            continue;
        }
        let mut users = context.survey.uses.of_address(appliance.bus, address);
        let owner = users.find(|used| used.role == Role::Feedback).and_then(|used| used.look_up(plan));
        let elsewhere = owner.filter(|(owner, ..)| owner.key.place != appliance.key.place);
        if let Some((owner, _, owned)) = elsewhere {
            let written = address.display(plan.house.notation);
            let message = format!(
                "`{}` listens to `{written}`, the feedback of `{}`",
                appliance.key.value, owner.key.value
            );
            let said = Said::new(message, wire.address.place, "a status")
                .with(owned.address.place, format!("the feedback of `{}`", owner.key.value))
                .about(appliance, plan);
            report.add(&RULE.card, said);
        } else if context.survey.is_named_status(plan, appliance.bus, address) == Some(true) {
            let written = address.display(plan.house.notation);
            let message =
                format!("`{}` listens to `{written}`, which the table calls a status", appliance.key.value);
            let said = Said::new(message, wire.address.place, "a status").about(appliance, plan);
            report.add(&RULE.card, said.weighing(Severity::Note));
        }
    }
}
