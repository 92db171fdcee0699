//! A range that the datapoint type does not have.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "range-outside-type",
        family: Family::Behaviour,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a range goes beyond what the datapoint type can carry",
        on_site: "Values at the end of the range can never be sent.",
        remedy: "Give the lowest and highest value in the unit of the datapoint type.",
        source: Source::Standard("KNX 3/7/2"),
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, range: [0, 255] }
#                                                     ^^^^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, range: [0, 100] }
",
        folds: &["noticeable-loss"],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(range) = &point.range else { return };
    let Some(dpt) = point.wires().next().map(|(_, wire)| wire.dpt) else { return };
    let Some(carried) = dpt.range() else { return };
    let [low, high] = range.value;
    if low < carried.min || high > carried.max {
        let message = format!(
            "`{}` of `{}` would go from {low} to {high}, but {} goes from {} to {}{}",
            point.name(appliance),
            appliance.key.value,
            dpt.id,
            carried.min,
            carried.max,
            unit(dpt.unit())
        );
        report.add(
            &RULE.card,
            Said::new(message, range.place, "cannot be sent").about(appliance, context.plan),
        );
    }
}

fn unit(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(" {unit}") }
}
