//! A range with its ends the wrong way round.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-range",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a range does not go from a smaller to a larger number",
        on_site: "No value lies in it: the appliance could never be moved.",
        remedy: "Write the smaller number first.",
        source: Source::Format,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, range: [100, 10] }
#                                                     ^^^^^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, range: [10, 100] }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which way round it goes.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::Range { range: [low, high] } = problem.kind {
        let message = format!("the range from {low} to {high} holds no value");
        let label = if high < low { "wrong way round" } else { "nothing between them" };
        let said = Said::new(message, problem.place, label).keyed(problem);
        let turned = format!("[{high}, {low}]");
        let said = if high < low {
            said.help(format!("write `{turned}`")).replace(turned, Certainty::ToBeLookedAt)
        } else {
            said.help("write two numbers, the smaller one first")
        };
        report.add(&RULE.card, said);
    }
}
