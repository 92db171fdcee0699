//! One feedback in two appliances.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::suspicion;
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
        folds: &[
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "type-differs-from-table",
            "address-read-two-ways",
            "table-room-differs",
        ],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (_, address, uses) in context.survey.uses.all() {
        let users = suspicion::users(uses, Role::Feedback, context);
        let [first, rest @ ..] = users.as_slice() else { continue };
        let Some((owner, _, owned)) = first.look_up(plan) else { continue };
        for used in rest {
            let Some((appliance, point, wire)) = used.look_up(plan) else { continue };
            let written = address.display(plan.house.notation);
            let message = format!(
                "`{}` learns its status from `{written}`, as `{}` does",
                appliance.key.value, owner.key.value
            );
            let said = Said::new(message, wire.address.place, "the same feedback")
                .with(owned.address.place, format!("in `{}`", owner.key.value))
                .about(appliance, plan);
            let end = (point.spec, Role::Feedback);
            report.add(&RULE.card, suspicion::propose(said, context, appliance, end));
        }
    }
}
