//! A command or feedback that the class does not have for the point.

use crate::classes::PointSpec;
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role, Wire};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "end-not-of-class",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a point is given an address that its class has no use for",
        on_site: "The address is wired to nothing: what was meant by it does not happen.",
        remedy: "Take the address out, or give it to the point that it belongs to.",
        source: Source::Format,
        frame: Frame::Points { class: "temperature-sensor" },
        bad: "\
temperature: { command: 4/0/1, feedback: 4/1/1 }
#                       ^^^^^
",
        good: "temperature: { feedback: 4/1/1 }",
        folds: &["address-not-in-table"],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(spec) = point.spec(appliance) else { return };
    for (role, wire) in unfit(point, spec) {
        let word = role.word();
        let message = format!("`{}` of `{}` takes no `{word}`", spec.name, appliance.class.value.name);
        let said = Said::new(message, wire.address.place, "wired to nothing").about(appliance, context.plan);
        let written = wire.address.value.display(context.plan.house.notation);
        report.add(
            &RULE.card,
            match misplaced(point, spec) {
                Some(right) => {
                    said.help(format!("write `{}: {written}` instead of `{word}: {written}`", right.word()))
                }
                None => said,
            },
        );
    }
}

/// The addresses at ends that the class does not take.
fn unfit<'a>(point: &'a Point, spec: &PointSpec) -> impl Iterator<Item = (Role, &'a Wire)> {
    point.wires().filter(|(role, _)| spec.end(role.end()).is_none())
}

/// The end that the one address of a point was meant for: it stands at one that the class does not take.
pub(in crate::rules) fn misplaced(point: &Point, spec: &PointSpec) -> Option<Role> {
    let mut wires = point.wires();
    let ((role, _), None) = (wires.next()?, wires.next()) else { return None };
    unfit(point, spec).next()?;
    match role {
        Role::Command | Role::Listens if spec.feedback.is_some() && spec.command.is_none() => {
            Some(Role::Feedback)
        }
        Role::Feedback if spec.command.is_some() => Some(Role::Command),
        Role::Command | Role::Feedback | Role::Listens => None,
    }
}
