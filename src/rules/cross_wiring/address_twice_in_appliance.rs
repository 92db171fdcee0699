//! One address in two points of an appliance.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Role, Wire};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-twice-in-appliance",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        summary: "two points of an appliance are wired to one address",
        on_site: "One of the two functions does what the other is told: a blind turns its slats when it should go down.",
        remedy: "Give each point its own address.",
        source: Source::CommonPractice,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/4/1, dpt: 5.001 }
#                                       ^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, dpt: 5.001 }
",
        folds: &["type-differs-from-table", "address-read-two-ways"],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let mut seen: Vec<(usize, Role, &Wire)> = Vec::new();
    for (index, point) in appliance.points.iter().enumerate() {
        for (role, wire) in point.wires() {
            let other = seen.iter().find(|(_, _, other)| other.address.value == wire.address.value);
            // Command and feedback of one point are another rule's.
            let elsewhere = other.filter(|(point, other, _)| *point != index || *other == role);
            if let Some((_, _, other)) = elsewhere {
                let written = wire.address.value.display(context.plan.house.notation);
                let message = format!("`{}` is wired to `{written}` twice", appliance.key.value);
                let said = Said::new(message, wire.address.place, "again here")
                    .with(other.address.place, "first here")
                    .about(appliance, context.plan);
                report.add(&RULE.card, said);
            }
            seen.push((index, role, wire));
        }
    }
}
