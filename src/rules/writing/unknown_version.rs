//! A version of the format that this program does not read.

use crate::findings::Severity;
use crate::house::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-version",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a version of the description format that this program does not read",
        on_site: "Read by guesswork, a newer description could switch the wrong things: nothing is built.",
        remedy: "Write `housewright: 1`, or use the program that the description was written for.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 7
#            ^
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
",
        good: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which version it reads.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::UnknownVersion { text } = &problem.kind {
        let message = format!("version `{text}` of the description format is not known here");
        report.add(&RULE.card, Said::new(message, problem.place, "this program reads version 1"));
    }
}
