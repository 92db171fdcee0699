//! One command in two appliances.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::sharing;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "shared-command",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two appliances are commanded through one address",
        on_site: "Whoever switches one of them switches both, and what controllers show of the two contradicts itself.",
        remedy: "Give each its own command; what moves several appliances on purpose belongs under `listens:`.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/2 } }
  #                               ^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        folds: &[
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "type-differs-from-table",
            "table-room-differs",
        ],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    sharing::tell_shared(&RULE.card, Role::Command, ["is commanded through", "is", "are"], context, report);
}
