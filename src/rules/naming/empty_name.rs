//! A name without a visible character.

use crate::findings::{Certainty, Severity};
use crate::matter::{LabelFault, NodeLabel};
use crate::resolve::Plan;
use crate::rules::named::{self, Named};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "empty-name",
        family: Family::Naming,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a name has no visible character, or one that cannot be printed",
        on_site: "Controllers show an appliance without a name, or a box where the character should be.",
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
        folds: &["invisible-character-in-name"],
    },
    look: Look::Whole(look),
};

/// A bridge's name is a NodeLabel as an appliance's is; those of rooms, floors and the house stand beside them.
fn look(context: &Context<'_>, report: &mut Report) {
    for named in named::all(context.plan) {
        if let Some(said) = said(&named, context.plan) {
            report.add(&RULE.card, said);
        }
    }
}

fn said(named: &Named<'_>, plan: &Plan) -> Option<Said> {
    match NodeLabel::new(named.name) {
        Err(LabelFault::Control { at }) => {
            let character = named.name.get(at..).and_then(|rest| rest.chars().next())?;
            let tell = |whose: &str| format!("{whose} holds {character:?}, which cannot be printed");
            let said = named.said(tell, "not a name", plan);
            let tidy = named::tidy(named.name);
            Some(if tidy.is_empty() { said } else { said.rename(&tidy, Certainty::ToBeLookedAt) })
        }
        Err(LabelFault::Empty) => {
            let said = named.said(|whose| format!("{whose} is empty"), "not a name", plan);
            let help = "write the floor as the family says it, or leave `floor` out";
            Some(if named.is_of_floor() { said.help(help) } else { said })
        }
        Ok(_) | Err(LabelFault::Long { .. }) => None,
    }
}
