//! One appliance's command that is another's feedback.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "command-is-others-feedback",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        summary: "an address is the command of one appliance and the feedback of another",
        on_site: "Commands go to a status object, which ignores them; or a tile shows what another one was told.",
        remedy: "Look up both addresses: one of the two is the other appliance's.",
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
  points: { switching: { command: 1/4/1, feedback: 1/4/2 } }
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
        let uses: Vec<_> = uses.filter_map(|used| Some((used.role, used.look_up(plan)?))).collect();
        let command = uses.iter().find(|(role, _)| *role == Role::Command);
        let feedback = uses.iter().find(|(role, _)| *role == Role::Feedback);
        let (Some((_, (appliance, _, wire))), Some((_, (other, _, other_wire)))) = (command, feedback) else {
            continue;
        };
        if appliance.key.value == other.key.value {
            continue;
        }
        let written = address.display(plan.house.notation);
        let message = format!(
            "`{written}` is the command of `{}` and the feedback of `{}`",
            appliance.key.value, other.key.value
        );
        let said = Said::new(message, wire.address.place, "the command")
            .with(other_wire.address.place, format!("the feedback of `{}`", other.key.value))
            .about(appliance, plan);
        report.add(&RULE.card, said);
    }
}
