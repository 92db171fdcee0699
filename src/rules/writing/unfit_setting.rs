//! A setting with a value that the class does not take.

use crate::findings::{Certainty, Severity};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-setting",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a setting has a value that the class does not take",
        on_site: "The limit, time or name that was meant is not kept.",
        remedy: "Write a value as the class takes it.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: tunable-white-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
    brightness: { command: 1/2/1, feedback: 1/5/1 }
    colour-temperature: { command: 1/3/1, feedback: 1/6/1 }
  settings: { warmest: warm, coldest: 6500 }
  #                    ^^^^
",
        good: "\
lamp:
  name: Lamp
  class: tunable-white-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
    brightness: { command: 1/2/1, feedback: 1/5/1 }
    colour-temperature: { command: 1/3/1, feedback: 1/6/1 }
  settings: { warmest: 2700, coldest: 6500 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what it takes.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::UnfitSetting { name, text, expected, meant, other_unit } = &problem.kind {
        let message = format!("`{name}` takes {expected}, not `{text}`");
        let said = Said::new(message, problem.place, "does not fit").keyed(problem);
        let said = match (meant, other_unit) {
            (Some(meant), _) => {
                said.help(format!("write `{meant}`, a bare number")).replace(meant, Certainty::ToBeLookedAt)
            }
            (None, Some((unit, value))) => {
                said.help(format!("write `{value}`, if `{text}` is in {unit}; else {expected}"))
            }
            (None, None) if expected.ends_with(" bytes") => {
                said.help(format!("shorten it: it has {} bytes, and an umlaut counts two", text.len()))
            }
            (None, None) => said.help(format!("write {expected}")),
        };
        report.add(&RULE.card, said);
    }
}
