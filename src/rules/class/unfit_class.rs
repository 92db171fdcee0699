//! A device class of the house's own that the Matter data model refuses.

use crate::classes::Problem;
use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Source, class_wording};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-class",
        family: Family::Class,
        severity: Severity::Error,
        otherwise: &[],
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
    if let Some(said) = class_wording::said(problem) {
        report.add(&RULE.card, said);
    }
}
