//! One feedback in two appliances.

use crate::findings::Severity;
use crate::resolve::plan::Role;
use crate::rules::sharing;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "shared-feedback",
        family: Family::Feedback,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two appliances learn their status from one address",
        on_site: "One of the two is shown in the other's state: the wrong lamp is seen as on.",
        remedy: "Give each appliance its own status address.",
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
  points: { switching: { command: 1/1/2, feedback: 1/4/1 } }
  #                                                ^^^^^
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
    let words = ["learns its status from", "does", "do"];
    sharing::tell_shared(&RULE.card, Role::Feedback, words, context, report);
}
