//! An `allow` that hides nothing.

use crate::findings::Severity;
use crate::resolve::plan::Allow;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-allow",
        family: Family::Writing,
        severity: Severity::Warning,
        otherwise: &[],
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

/// Says that it hides nothing, or that it cannot: `stands` is whether the rule finds an error where it is to be allowed.
pub(in crate::rules) fn tell(allow: &Allow, rule: &Rule, stands: bool, report: &mut Report) {
    let (name, place) = (&allow.rule.value, allow.rule.place);
    let always = rule.card.severities().all(|severity| severity == Severity::Error);
    let message = if always {
        format!("`{name}` finds what cannot work: it cannot be allowed")
    } else if stands {
        format!("`{name}` is an error here, which cannot be allowed")
    } else {
        let said = Said::new(format!("nothing here needs `{name}` to be allowed"), place, "hides nothing");
        return report.add(&RULE.card, said);
    };
    let said = Said::new(message, place, "silences nothing");
    let said = if stands {
        said.on_site("Nothing: the error stays, and nothing is built.")
            .help("Mend the error, and take the line out.")
    } else {
        said.on_site("Nothing: it would silence no error.")
    };
    report.add(&RULE.card, said);
}
