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
        otherwise: &[],
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
    if proposed.is_some() || !(told() || is_learned_elsewhere(point, appliance)) {
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

/// Whether a feedback would do nothing, since what it tells is learned through another point.
fn is_learned_elsewhere(point: &Point, appliance: &Appliance) -> bool {
    let class = &appliance.class.value;
    let usual = || class.points.get(usize::from(point.spec))?.feedback.as_ref()?.dpts.first().copied();
    let mut chosen = appliance.chosen();
    for given in chosen.points.iter_mut().filter(|given| given.point == point.spec) {
        given.feedback = usual();
    }
    let hangs = |link: u16, end: End| link == point.spec && end == End::Feedback;
    let Ok(shape) = class.shape(&chosen) else { return false };
    let wired = shape.parts.iter().flat_map(|part| &part.links).any(|link| hangs(link.point, link.end));
    !wired && class.links.iter().any(|link| hangs(link.point, link.end))
}
