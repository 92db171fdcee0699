//! A point that learns its status from the address it is commanded through.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "feedback-is-command",
        family: Family::Feedback,
        severity: Severity::Warning,
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
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let (Some(command), Some(feedback)) = (&point.command, &point.feedback) else { return };
    if command.address.value == feedback.address.value {
        let message = format!(
            "`{}` of `{}` takes its command for its status",
            point.name(appliance),
            appliance.key.value
        );
        let said = Said::new(message, feedback.address.place, "also the command")
            .with(command.address.place, "the command")
            .about(appliance, context.plan);
        let end = (point.spec, Role::Feedback);
        report.add(&RULE.card, suspicion::propose(said, context, appliance, end));
    }
}
