//! A name that does not fit into a NodeLabel.

use crate::findings::Severity;
use crate::matter::NodeLabel;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Spanned;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "name-too-long",
        family: Family::Naming,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a name is longer than a NodeLabel can be",
        on_site: "Gateways refuse the label, or cut it off in the middle of a word.",
        remedy: "Shorten the name: 32 bytes at most, in which an umlaut counts two.",
        source: Source::Standard("Matter core 11.1.5.6 (NodeLabel), 7.19 (bytes of UTF-8, from memory)"),
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: The lamp above the table by the window
  #     ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
lamp:
  name: Lamp by the window
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// Bytes of UTF-8 that a NodeLabel takes.
const LONGEST: usize = NodeLabel::LONGEST;

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for bridge in plan.bridges.iter().filter(|bridge| bridge.name.value.len() > LONGEST) {
        report.add(&RULE.card, said(&bridge.name));
    }
    // What no controller is shown has no NodeLabel.
    let shown = plan.appliances.iter().filter(|appliance| appliance.bridged);
    for appliance in shown.filter(|appliance| appliance.name.value.len() > LONGEST) {
        report.add(&RULE.card, said(&appliance.name).about(appliance, plan));
    }
}

fn said(name: &Spanned<String>) -> Said {
    let message = format!("`{}` has {} bytes, a NodeLabel {LONGEST} at most", name.value, name.value.len());
    Said::new(message, name.place, "too long")
}
