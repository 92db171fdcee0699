//! A name without a visible character.

use crate::findings::Severity;
use crate::matter::{LabelFault, NodeLabel};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Spanned;

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
    look: Look::Whole(look),
};

/// A bridge's name is a NodeLabel as an appliance's is.
fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for bridge in &plan.bridges {
        if let Some(said) = said(&bridge.name, "the bridge ", &bridge.key.value) {
            report.add(&RULE.card, said);
        }
    }
    for appliance in &plan.appliances {
        if let Some(said) = said(&appliance.name, "", &appliance.key.value) {
            report.add(&RULE.card, said.about(appliance, plan));
        }
    }
}

fn said(name: &Spanned<String>, kind: &str, key: &str) -> Option<Said> {
    let message = match NodeLabel::new(&name.value) {
        Err(LabelFault::Control { at }) => {
            let character = name.value.get(at..).and_then(|rest| rest.chars().next())?;
            format!("the name of {kind}`{key}` holds {character:?}, which cannot be printed")
        }
        Err(LabelFault::Empty) => format!("the name of {kind}`{key}` is empty"),
        Ok(_) | Err(LabelFault::Long { .. }) => return None,
    };
    Some(Said::new(message, name.place, "not a name"))
}
