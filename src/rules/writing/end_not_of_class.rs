//! A command or feedback that the class does not have for the point.

use crate::classes::End;
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "end-not-of-class",
        family: Family::Writing,
        severity: Severity::Error,
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
    for (role, wire) in point.wires() {
        let end = match role {
            Role::Command => End::Command,
            Role::Feedback => End::Feedback,
            Role::Listens => End::Listens,
        };
        if spec.end(end).is_none() {
            let message =
                format!("`{}` of `{}` takes no `{}`", spec.name, appliance.class.value.name, role.word());
            let said =
                Said::new(message, wire.address.place, "wired to nothing").about(appliance, context.plan);
            report.add(&RULE.card, said);
        }
    }
}
