//! A `range` that the point has no use for.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-range",
        family: Family::Behaviour,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a point says `range`, and its class has no use for it there",
        on_site: "What was meant by it does not happen.",
        remedy: "Take `range` out.",
        source: Source::Format,
        frame: Frame::Points { class: "temperature-sensor" },
        bad: "\
temperature: { feedback: 4/1/1, range: [0, 40] }
#                                      ^^^^^^^
",
        good: "temperature: { feedback: 4/1/1 }",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(spec) = point.spec(appliance).filter(|spec| spec.range.is_none()) else { return };
    if let Some(place) = point.range.as_ref().map(|range| range.place) {
        let message = format!("`{}` of `{}` takes no `range`", spec.name, appliance.class.value.name);
        report.add(&RULE.card, Said::new(message, place, "has no effect").about(appliance, context.plan));
    }
}
