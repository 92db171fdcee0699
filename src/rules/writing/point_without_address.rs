//! A point without any address.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "point-without-address",
        family: Family::Writing,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a point has neither command nor feedback",
        on_site: "The point is wired to nothing.",
        remedy: "Write its addresses, or take it out.",
        source: Source::Format,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1 }
dimming: {}
#^^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1 }
dimming: { command: 1/3/1 }
",
        folds: &["missing-end"],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    if point.wires().next().is_none() && !appliance.incomplete {
        let message = format!("`{}` of `{}` has no address", point.name(appliance), appliance.key.value);
        report.add(
            &RULE.card,
            Said::new(message, point.key, "wired to nothing").about(appliance, context.plan),
        );
    }
}
