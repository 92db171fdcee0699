//! One feedback in two appliances.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "shared-feedback",
        family: Family::Feedback,
        severity: Severity::Warning,
        summary: "two appliances learn their status from one address",
        on_site: "One of the two tiles shows the other's state: the wrong lamp is seen as on.",
        remedy: "Give each appliance its own status address.",
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
  points: { switching: { command: 1/1/2, feedback: 1/4/1 } }
  #                                                ^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (_, address, uses) in context.survey.uses.all() {
        let feedbacks = uses.filter(|used| used.role == Role::Feedback).filter_map(|used| used.look_up(plan));
        let mut feedbacks: Vec<_> = feedbacks.collect();
        feedbacks.dedup_by_key(|(appliance, ..)| appliance.key.place);
        if let [(first, _, first_wire), rest @ ..] = feedbacks.as_slice() {
            for (appliance, _, wire) in rest {
                let written = address.display(plan.house.notation);
                let message = format!(
                    "`{}` learns its status from `{written}`, as `{}` does",
                    appliance.key.value, first.key.value
                );
                let said = Said::new(message, wire.address.place, "the same feedback")
                    .with(first_wire.address.place, format!("in `{}`", first.key.value))
                    .about(appliance, plan);
                report.add(&RULE.card, said);
            }
        }
    }
}
