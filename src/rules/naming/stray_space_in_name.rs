//! A name with spaces that nobody sees.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "stray-space-in-name",
        family: Family::Naming,
        severity: Severity::Note,
        summary: "a name begins or ends with a space, or has two in a row",
        on_site: "Two names that look the same are not; voice control may not find either.",
        remedy: "Take the space out.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: \"Reading  lamp\"
  #     ^^^^^^^^^^^^^^^
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
lamp:
  name: Reading lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let name = &appliance.name.value;
    let tidy = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if tidy != *name && !tidy.is_empty() && !name.chars().any(char::is_control) {
        let message = format!("the name of `{}` has a space that nobody sees", appliance.key.value);
        let said = Said::new(message, appliance.name.place, "a stray space")
            .about(appliance, context.plan)
            .rename(&tidy, Certainty::Sure);
        report.add(&RULE.card, said);
    }
}
