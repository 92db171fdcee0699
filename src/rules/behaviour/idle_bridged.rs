//! A `bridged: true` of a class that controllers never see.

use crate::classes::Exposure;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-bridged",
        family: Family::Behaviour,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "an appliance is to be shown, and its class never is",
        on_site: "Controllers do not show it, whatever is written here.",
        remedy: "Take `bridged` out.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
all-off:
  name: All off
  class: central-function
  bridged: true
  #        ^^^^
  points: { switching: { command: 0/0/1 } }
",
        good: "\
all-off:
  name: All off
  class: central-function
  points: { switching: { command: 0/0/1 } }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let (Some(place), Exposure::NotBridged { why }) = (appliance.asked_for, &appliance.class.value.exposure)
    else {
        return;
    };
    let message = format!(
        "`{}` says `bridged: true`, and a `{}` is not shown to controllers",
        appliance.key.value, appliance.class.value.name
    );
    let said = Said::new(message, place, "has no effect").about(appliance, context.plan);
    report.add(&RULE.card, said.because(why.trim_end_matches('.')));
}
