//! A point that the class does not have.

use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-point",
        family: Family::Writing,
        severity: Severity::Error,
        summary: "a point that the class does not have",
        on_site: "The function is not wired to the bus at all.",
        remedy: "Write one of the points that the class has.",
        source: Source::Format,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightnes: { command: 1/2/1, feedback: 1/5/1 }
#^^^^^^^^
brightness: { command: 1/2/1, feedback: 1/5/1 }
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Names the nearest point, or all of them.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::UnknownPoint { name, class } = &problem.kind {
        let message = format!("the class `{}` has no point `{name}`", class.name);
        let said = Said::new(message, problem.place, "unknown point").keyed(problem);
        let points = || class.points.iter().map(|point| point.name.as_str());
        let said = match nearest(name, points()) {
            Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
            None => said.help(format!("it has {}", list(points()))),
        };
        report.add(&RULE.card, said);
    }
}
