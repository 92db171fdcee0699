//! A point without the address that its class needs.

use super::end_not_of_class;
use crate::classes::{End, Need};
use crate::findings::{Addition, Certainty, Severity};
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "missing-end",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a point lacks the command or feedback that its class needs",
        on_site: "The point can be moved but not seen, or seen but not moved, where the class promises both.",
        remedy: "Write the address, or choose a class that does without it.",
        source: Source::Format,
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { feedback: 1/4/1 }
#^^^^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1 }",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(spec) = point.spec(appliance).filter(|_| !appliance.incomplete) else { return };
    for (end, role) in [(End::Command, Role::Command), (End::Feedback, Role::Feedback)] {
        let needed = spec.end(end).is_some_and(|end| end.need == Need::Required);
        // An address at an end that the class does not take belongs here: that is told.
        let misplaced = end_not_of_class::misplaced(point, spec).is_some();
        if needed && point.wire(role).is_none() && !misplaced {
            let message = format!("`{}` of `{}` has no `{}`", spec.name, appliance.key.value, role.word());
            let said =
                Said::new(message, point.key, format!("no `{}`", role.word())).about(appliance, context.plan);
            let proposed = suspicion::proposed(context, appliance, (point.spec, role));
            // The end that it has, which stays.
            let other = point.wire(if role == Role::Command { Role::Feedback } else { Role::Command });
            let said = match (proposed, other) {
                (Some((value, help)), Some(other)) => {
                    let behind = other.address.place;
                    let addition = Addition { mapping: point.key, behind, key: role.word(), value };
                    said.help(format!("{help}, as its `{}`", role.word()))
                        .addition(addition, Certainty::ToBeLookedAt)
                }
                _ => said.help(format!("add `{}: 1/2/3` to it, with the right address", role.word())),
            };
            report.add(&RULE.card, said);
        }
    }
}
