//! Points that do not make an appliance of the class.

use crate::classes::Need;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::wording;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "points-do-not-go-together",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the points do not go together as the class needs them",
        on_site: "The appliance cannot do what its class promises to controllers.",
        remedy: "Wire the points that the class asks for.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
blind:
#^^^^
  name: Blind
  class: roller-shutter
  points: {}
  confirmed: { by: a colleague, checked: obstacle stop }
",
        good: "\
blind:
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    step-stop: { command: 2/1/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
  confirmed: { by: a colleague, checked: obstacle stop }
",
        folds: &["points-worth-adding"],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    if appliance.incomplete {
        return;
    }
    let class = &appliance.class.value;
    let chosen = appliance.chosen();
    let unmet = class.unmet(&chosen).filter(|combination| combination.need == Need::Required);
    if let Some(advice) = wording::advice(unmet, class) {
        let message =
            format!("the points of `{}` do not make the class `{}`", appliance.key.value, class.name);
        let said = Said::new(message, appliance.key.place, "see below").about(appliance, context.plan);
        report.add(&RULE.card, said.help(advice));
    }
}
