//! One command in two appliances.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "shared-command",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        summary: "two appliances are commanded through one address",
        on_site: "Whoever switches one of them switches both, and their tiles contradict each other.",
        remedy: "Give each its own command; what moves several appliances on purpose belongs under `listens:`.",
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
  points: { switching: { command: 1/1/1, feedback: 1/4/2 } }
  #                               ^^^^^
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

/// From so many appliances on they are told together.
const MANY: usize = 4;

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (_, address, uses) in context.survey.uses.all() {
        let users = suspicion::users(uses, Role::Command, context);
        let [first, rest @ ..] = users.as_slice() else { continue };
        let Some((owner, _, owned)) = first.look_up(plan) else { continue };
        let written = address.display(plan.house.notation);
        let together = users.len() >= MANY;
        for used in rest.iter().take(if together { 1 } else { MANY }) {
            let Some((appliance, point, wire)) = used.look_up(plan) else { continue };
            let others = match users.len() - 2 {
                more if together => format!("`{}` and {more} more appliances are", owner.key.value),
                _ => format!("`{}` is", owner.key.value),
            };
            let message = format!("`{}` is commanded through `{written}`, as {others}", appliance.key.value);
            let said = Said::new(message, wire.address.place, "the same command")
                .with(owned.address.place, format!("in `{}`", owner.key.value))
                .about(appliance, plan);
            let end = (point.spec, Role::Command);
            report.add(&RULE.card, suspicion::propose(said, context, appliance, end));
        }
    }
}
