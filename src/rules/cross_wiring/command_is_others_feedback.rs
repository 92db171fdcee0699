//! One appliance's command that is another's feedback.

use crate::findings::Severity;
use crate::resolve::Plan;
use crate::resolve::plan::Role;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::{Use, Weather};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "command-is-others-feedback",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "an address is the command of one appliance and the feedback of another",
        on_site: "Commands go to a status object, which ignores them; or an appliance is shown as another one was told to be.",
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
        let has = |role: Role| uses.clone().any(|used| used.role == role);
        if !has(Role::Command) || !has(Role::Feedback) {
            continue;
        }
        let own = |used: &Use| {
            used.role != Role::Listens && (context.survey.is_own(plan, *used) || is_weather(*used, plan))
        };
        let uses: Vec<Use> = uses.filter(own).collect();
        let of = |role: Role| uses.iter().find(|used| used.role == role);
        let (Some(command), Some(feedback)) = (of(Role::Command), of(Role::Feedback)) else { continue };
        if command.appliance == feedback.appliance {
            continue;
        }
        // The one that the address serves worse is the one that is wrong.
        let standing = |used: &Use| {
            let appliance = plan.appliances.get(used.appliance as usize)?;
            suspicion::standing(context, appliance, (used.point as usize, used.role))
        };
        let command_is_wrong = standing(command).unwrap_or(0.0) <= standing(feedback).unwrap_or(0.0);
        let (wrong, right) = if command_is_wrong { (command, feedback) } else { (feedback, command) };
        let (Some((appliance, point, wire)), Some((other, _, other_wire))) =
            (wrong.look_up(plan), right.look_up(plan))
        else {
            continue;
        };
        let written = address.display(plan.house.notation);
        let message = format!(
            "`{written}` is the {} of `{}` and the {} of `{}`",
            wrong.role.noun(),
            appliance.key.value,
            right.role.noun(),
            other.key.value
        );
        let said = Said::new(message, wire.address.place, format!("the {}", wrong.role.noun()))
            .with(other_wire.address.place, format!("the {} of `{}`", right.role.noun(), other.key.value))
            .about(appliance, plan);
        report.add(&RULE.card, suspicion::propose(said, context, appliance, (point.spec, wrong.role)));
    }
}

/// Whether it is an alarm of the weather: what may be of many appliances, and nobody's to command.
fn is_weather(used: Use, plan: &Plan) -> bool {
    used.role == Role::Feedback
        && used
            .look_up(plan)
            .is_some_and(|(appliance, point, _)| Weather::of(point.name(appliance)).is_some())
}
