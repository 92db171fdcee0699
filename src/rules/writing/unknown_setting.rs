//! A setting that the class does not have.

use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-setting",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a setting that the class does not have",
        on_site: "The limit or time that was meant is not kept.",
        remedy: "Write one of the settings that the class has.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
  settings:
    wattage: 40
    #^^^^^^
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

/// Names the nearest setting, or all of them.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::UnknownSetting { name, beside, class } = &problem.kind {
        let message = format!("the class `{}` has no setting `{name}`", class.name);
        let said = Said::new(message, problem.place, "unknown setting").keyed(problem);
        let settings = || class.settings.iter().map(|setting| setting.name.as_str());
        let said = match nearest(name, settings()) {
            Some(known) if beside.iter().any(|other| other == known) => {
                said.help(format!("take it out: `{known}` stands here already"))
            }
            Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
            None if class.settings.is_empty() => said.help("it has no settings: take the line out"),
            None => said.help(format!("it has {}", list(settings()))),
        };
        report.add(&RULE.card, said);
    }
}
