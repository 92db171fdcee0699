//! A name without a visible character.

use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "empty-name",
        family: Family::Naming,
        severity: Severity::Error,
        summary: "a name has no visible character, or one that cannot be printed",
        on_site: "Controllers show a tile without a name, or a box where the character should be.",
        remedy: "Write the name as the family says it.",
        source: Source::Standard("Matter core 11.1.5.6 (NodeLabel)"),
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: \" \"
  #     ^^^
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let name = &appliance.name;
    let message = match name.value.chars().find(|character| character.is_control()) {
        Some(character) => {
            format!("the name of `{}` holds {character:?}, which cannot be printed", appliance.key.value)
        }
        None if name.value.trim().is_empty() => format!("the name of `{}` is empty", appliance.key.value),
        None => return,
    };
    report.add(&RULE.card, Said::new(message, name.place, "not a name").about(appliance, context.plan));
}
