//! A silenced rule without a reason.

use crate::findings::Severity;
use crate::house::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "allow-without-reason",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a rule is silenced without a reason",
        on_site: "In five years nobody knows whether the finding was looked at or only switched off.",
        remedy: "Write the reason behind the rule's name.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1 }
  allow:
    missing-feedback:
    #^^^^^^^^^^^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1 }
  allow:
    missing-feedback: the old relay has no status object
",
        folds: &["unfit-value"],
    },
    look: Look::Problem,
};

/// Asks for the reason.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::NoReason { rule } = &problem.kind {
        let message = format!("`{rule}` is silenced without a reason");
        let said = Said::new(message, problem.place, "why?");
        report.add(&RULE.card, said.help(format!("write `{rule}: the reason, in a few words`")));
    }
}
