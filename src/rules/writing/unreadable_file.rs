//! A file that the system would not read.

use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unreadable-file",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the system would not read a file",
        on_site: "Nothing in the file is built.",
        remedy: "Give the user that runs housewright the right to read the file.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "",
        good: "",
        folds: &[],
    },
    look: Look::Problem,
};

/// Gives the system's words.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::Unreadable { place, path, cause } = problem {
        report.add(&RULE.card, Said::new(format!("`{path}` cannot be read: {cause}"), *place, "wanted here"));
    }
}
