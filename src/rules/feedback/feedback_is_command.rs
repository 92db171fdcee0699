//! A point that learns its status from the address it is commanded through.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Role};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "feedback-is-command",
        family: Family::Feedback,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "feedback is learned from the command address",
        on_site: "The controller shows what was asked for, not what happened: a lamp that stayed dark is shown as on.",
        remedy: "Give the actuator's status address; where it has none, leave `feedback` out.",
        source: Source::CommonPractice,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/10, feedback: 1/4/10 }
brightness: { command: 1/2/10, feedback: 1/2/10 }
#                                        ^^^^^^
",
        good: "\
switching: { command: 1/1/10, feedback: 1/4/10 }
brightness: { command: 1/2/10, feedback: 1/5/10 }
",
        folds: &[
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "shared-feedback",
            "address-breaks-habit",
            "row-of-another-appliance",
            "row-of-another-function",
        ],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    for (index, point) in appliance.points.iter().enumerate() {
        let (Some(command), Some(feedback)) = (&point.command, &point.feedback) else { continue };
        if command.address.value != feedback.address.value {
            continue;
        }
        let name = point.name(appliance);
        // Which of the two is wrong is seen by the row's name and flags, and by where the rest of the house has them.
        let ends = [(index, Role::Command), (index, Role::Feedback)];
        let said = if suspicion::is_worse(context, appliance, ends[0], ends[1]) {
            let message = format!("`{name}` of `{}` takes its status for its command", appliance.key.value);
            let said = Said::new(message, command.address.place, "also the status")
                .with(feedback.address.place, "the status")
                .help("Give the address that the actuator is commanded through.")
                .about(appliance, context.plan);
            suspicion::propose(said, context, appliance, (point.spec, Role::Command))
        } else {
            let message = format!("`{name}` of `{}` takes its command for its status", appliance.key.value);
            let said = Said::new(message, feedback.address.place, "also the command")
                .with(command.address.place, "the command")
                .about(appliance, context.plan);
            suspicion::propose(said, context, appliance, (point.spec, Role::Feedback))
        };
        report.add(&RULE.card, said);
    }
}
