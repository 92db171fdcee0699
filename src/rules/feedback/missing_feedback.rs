//! A point without a status that its class would have.

use crate::classes::{Condition, End, Need};
use crate::findings::{Addition, Certainty, Severity};
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "missing-feedback",
        family: Family::Feedback,
        severity: Severity::Note,
        summary: "a point has a command and no feedback",
        on_site: "After a wall switch, a scene or a mains failure the controller goes on showing its own last command.",
        remedy: "Give the actuator's status address; where it has none, say so under `allow:`.",
        source: Source::CommonPractice,
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/1/1 }
#^^^^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1 }",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let wanted = point
        .spec(appliance)
        .and_then(|spec| spec.feedback.as_ref())
        .is_some_and(|end| end.need == Need::Recommended);
    // Where the class says more about it, `points-worth-adding` does.
    let own = Condition::Address(point.spec, End::Feedback);
    let told = || {
        let chosen = appliance.chosen();
        appliance.class.value.unmet(&chosen).any(|combination| combination.any.contains(&own))
    };
    if !wanted || point.command.is_none() || point.feedback.is_some() || appliance.incomplete {
        return;
    }
    let end = (point.spec, Role::Feedback);
    let proposed = suspicion::proposed(context, appliance, end);
    if proposed.is_some() || !told() {
        let message = format!("`{}` of `{}` has no feedback", point.name(appliance), appliance.key.value);
        let said =
            Said::new(message, point.key, "its status is never learned").about(appliance, context.plan);
        report.add(
            &RULE.card,
            match (proposed, &point.command) {
                (Some((value, help)), Some(command)) => {
                    let behind = command.address.place;
                    let addition = Addition { mapping: point.key, behind, key: "feedback", value };
                    said.help(format!("{help}, as its `feedback`"))
                        .addition(addition, Certainty::ToBeLookedAt)
                }
                (None, _) | (_, None) => said,
            },
        );
    }
}
