//! One command in two appliances.

use crate::findings::Severity;
use crate::resolve::plan::Role;
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
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (_, address, uses) in context.survey.uses.all() {
        let commands = uses.filter(|used| used.role == Role::Command).filter_map(|used| used.look_up(plan));
        let mut commands: Vec<_> = commands.collect();
        commands.dedup_by_key(|(appliance, ..)| appliance.key.place);
        if let [(first, _, first_wire), rest @ ..] = commands.as_slice() {
            for (appliance, _, wire) in rest {
                let written = address.display(plan.house.notation);
                let message = format!(
                    "`{}` is commanded through `{written}`, as `{}` is",
                    appliance.key.value, first.key.value
                );
                let said = Said::new(message, wire.address.place, "the same command")
                    .with(first_wire.address.place, format!("in `{}`", first.key.value))
                    .about(appliance, plan);
                report.add(&RULE.card, said);
            }
        }
    }
}
