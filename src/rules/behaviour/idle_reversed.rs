//! A `reversed` that the point has no use for.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-reversed",
        family: Family::Behaviour,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a point says `reversed`, and its class has no use for it there",
        on_site: "What was meant by it does not happen.",
        remedy: "Take `reversed` out.",
        source: Source::Format,
        frame: Frame::Points { class: "temperature-sensor" },
        bad: "\
temperature: { feedback: 4/1/1, reversed: true }
#                                         ^^^^
",
        good: "temperature: { feedback: 4/1/1 }",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some(spec) = point.spec(appliance).filter(|spec| !spec.reversible) else { return };
    if let Some(place) = point.reversed {
        let message = format!("`{}` of `{}` takes no `reversed`", spec.name, appliance.class.value.name);
        report.add(&RULE.card, Said::new(message, place, "has no effect").about(appliance, context.plan));
    }
}
