//! A bridge that the house does not have.

use crate::findings::Severity;
use crate::findings::{Certainty, nearest_key, some};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-bridge",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a bridge that the house does not have",
        on_site: "The appliance would appear at another gateway.",
        remedy: "Write one of the keys under `bridges:`.",
        source: Source::Format,
        frame: Frame::Rooms,
        bad: "\
hall:
  name: Hall
  bridge: attic
  #       ^^^^^
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        good: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Names the nearest one.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::UnknownBridge { name, known } = &problem.kind {
        let said = Said::new(format!("the house has no bridge `{name}`"), problem.place, "unknown bridge")
            .keyed(problem);
        let said = match nearest_key(name, known) {
            Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
            None if known.is_empty() => said,
            None => said.help(format!("it has {}", some(known))),
        };
        report.add(&RULE.card, said);
    }
}
