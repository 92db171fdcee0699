//! A status that is learned from a central address.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::Use;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "central-address-as-feedback",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a status is learned from an address that commands several appliances",
        on_site: "The controller shows what all were told, not what this one did: it stays on when the lamp is switched off by itself.",
        remedy: "Give the status address; an address that moves the appliance besides its own belongs under `listens:`.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
a:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 0/0/1 } }
  #                                                ^^^^^
b:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2, listens: 0/0/1 } }
c:
  name: Niche
  class: on-off-light
  points: { switching: { command: 1/1/3, feedback: 1/4/3, listens: 0/0/1 } }
",
        good: "\
a:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
b:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2, listens: 0/0/1 } }
c:
  name: Niche
  class: on-off-light
  points: { switching: { command: 1/1/3, feedback: 1/4/3, listens: 0/0/1 } }
",
        folds: &["feedback-not-readable", "feedback-not-sent"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (bus, address, uses) in context.survey.uses.all() {
        if !context.survey.uses.is_central(bus, address) {
            continue;
        }
        let own = |used: &Use| used.role == Role::Feedback && context.survey.is_own(plan, *used);
        let feedbacks = uses.filter(own);
        for (appliance, point, wire) in feedbacks.filter_map(|used| used.look_up(plan)) {
            let message = format!(
                "`{}` learns the status of `{}` from `{}`, which several appliances listen to",
                appliance.key.value,
                point.name(appliance),
                address.display(plan.house.notation)
            );
            let said = Said::new(message, wire.address.place, "a central address").about(appliance, plan);
            let end = (point.spec, Role::Feedback);
            report.add(&RULE.card, suspicion::propose(said, context, appliance, end));
        }
    }
}
