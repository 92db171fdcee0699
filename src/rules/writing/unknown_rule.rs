//! An `allow` for a rule that does not exist.

use crate::findings::Severity;
use crate::findings::{Certainty, nearest};
use crate::resolve::plan::Allow;
use crate::rules;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-rule",
        family: Family::Writing,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "an `allow` names a rule that does not exist",
        on_site: "It silences nothing, so what was meant to be allowed is told again and again.",
        remedy: "Write the rule's name as the finding prints it.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
  allow:
    mising-feedback: the old relay has no status object
    #^^^^^^^^^^^^^^
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

/// Names the nearest rule, or what became of a rule that there was.
pub(in crate::rules) fn tell(allow: &Allow, report: &mut Report) {
    let name = allow.rule.value.as_str();
    if let Some((_, why)) = rules::RETIRED.iter().find(|(retired, _)| *retired == name) {
        let message = format!("there is no rule `{name}` any more");
        report.add(&RULE.card, Said::new(message, allow.rule.place, "silences nothing").help(*why));
        return;
    }
    let said = Said::new(format!("there is no rule `{name}`"), allow.rule.place, "silences nothing");
    let said = match nearest(name, rules::all().iter().map(|rule| rule.card.name)) {
        Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
        None => said.help("`housewright list rules` shows all of them"),
    };
    report.add(&RULE.card, said);
}
