//! A device class of the house's own that the Matter data model refuses.

use crate::classes::Problem;
use crate::findings::Severity;
use crate::findings::nearest;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-class",
        family: Family::Class,
        severity: Severity::Error,
        summary: "a device class of the house's own cannot be used",
        on_site: "Controllers refuse the endpoint, or show it without half of its functions.",
        remedy: "Correct the class file as the finding says.",
        source: Source::Standard("Matter device library and data model"),
        frame: Frame::Files,
        bad: "",
        good: "",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what is wrong with the class.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let Problem::Unknown { place, what, name, within, known } = problem;
    let said = Said::new(format!("{within} has no {what} `{name}`"), *place, "unknown");
    let said = match nearest(name, known.iter().map(String::as_str)) {
        Some(right) => said.help(format!("write `{right}`")),
        None => said,
    };
    report.add(&RULE.card, said);
}
