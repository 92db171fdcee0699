//! An `allow` that hides nothing.

use crate::findings::Severity;
use crate::resolve::plan::Allow;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-allow",
        family: Family::Writing,
        severity: Severity::Warning,
        summary: "an `allow` hides nothing",
        on_site: "What it was written for is mended; left standing, it hides the next mistake of its kind.",
        remedy: "Take the line out.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
  allow:
    missing-feedback: the old relay has no status object
    #^^^^^^^^^^^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says that it hides nothing, or that it cannot.
pub(in crate::rules) fn tell(allow: &Allow, rule: &Rule, report: &mut Report) {
    let name = &allow.rule.value;
    let said = if rule.card.severity == Severity::Error {
        Said::new(
            format!("`{name}` finds what cannot work: it cannot be allowed"),
            allow.rule.place,
            "silences nothing",
        )
    } else {
        Said::new(format!("nothing here needs `{name}` to be allowed"), allow.rule.place, "hides nothing")
    };
    report.add(&RULE.card, said);
}
