//! A key that its mapping has already.

use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "repeated-key",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a key stands twice in one mapping",
        on_site: "Only the first of the two counts: what stands under the second is built nowhere.",
        remedy: "Put what stands under both into one, or give one of them its own key.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  name: Ceiling lamp
  #^^^
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
lamp:
  name: Ceiling lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Points at both keys.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::DuplicateKey { place, key, first } = problem {
        let said = Said::new(format!("the key `{key}` stands here twice"), *place, "this one is left out");
        report.add(&RULE.card, said.with(*first, "this one counts"));
    }
}
