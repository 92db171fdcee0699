//! A point that listens to its own command.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "listens-to-own-command",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "`listens` repeats the command of its point",
        on_site: "Nothing more is heard: if a central address was meant, what it moves is not seen.",
        remedy: "Take the address out of `listens`, or write the central address that was meant.",
        source: Source::CommonPractice,
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1, listens: 1/1/1 }
#                                                      ^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1, listens: 0/0/1 }",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(command) = point.command.as_ref().filter(|_| repeats(point, appliance, context)) else { return };
    for wire in point.listens.iter().filter(|wire| wire.address.value == command.address.value) {
        let written = command.address.value.display(context.plan.house.notation);
        let message = format!(
            "`{}` of `{}` listens to `{written}`, its own command",
            point.name(appliance),
            appliance.key.value
        );
        let said = Said::new(message, wire.address.place, "heard already")
            .with(command.address.place, "the command")
            .about(appliance, context.plan);
        report.add(&RULE.card, said);
    }
}

/// Whether a point listens to its command, and nothing says that it is the command that is wrong: no other appliance
/// uses the address.
pub(in crate::rules) fn repeats(point: &Point, appliance: &Appliance, context: &Context<'_>) -> bool {
    let Some(command) = point.command.as_ref().map(|command| command.address.value) else { return false };
    let users = || context.survey.uses.of_address(appliance.bus, command);
    let alone = || users().zip(users().skip(1)).all(|(one, other)| one.appliance == other.appliance);
    point.listens.iter().any(|wire| wire.address.value == command) && alone()
}
