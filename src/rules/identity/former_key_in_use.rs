//! A former key that another appliance has.

use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "former-key-in-use",
        family: Family::Identity,
        severity: Severity::Error,
        summary: "`formerly` names a key that an appliance still has",
        on_site: "The old key's endpoint would go to the renamed appliance, and the other one would lose its automations.",
        remedy: "Take `formerly` out, or give the other appliance a new key.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  formerly: spot
  #         ^^^^
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
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
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let formers: Vec<_> = plan.appliances.iter().filter(|appliance| appliance.formerly.is_some()).collect();
    if formers.is_empty() {
        return;
    }
    let alive: FxHashMap<&str, &Appliance> =
        plan.appliances.iter().map(|appliance| (appliance.key.value.as_str(), appliance)).collect();
    let mut claimed: FxHashMap<&str, &Appliance> = FxHashMap::default();
    for appliance in formers {
        let Some(formerly) = &appliance.formerly else { continue };
        let also = alive.get(formerly.value.as_str()).or_else(|| claimed.get(formerly.value.as_str()));
        if formerly.value == appliance.key.value {
            let message = format!("`{}` was formerly called as it is now", formerly.value);
            let said = Said::new(message, formerly.place, "its own key")
                .about(appliance, plan)
                .help("take `formerly` out, or write the key that it had before");
            report.add(&RULE.card, said);
            continue;
        }
        if let Some(other) = also {
            let message = format!(
                "`{}` was formerly `{}`, as `{}` is or was",
                appliance.key.value, formerly.value, other.key.value
            );
            let said = Said::new(message, formerly.place, "not free")
                .with(other.key.place, "the other one")
                .about(appliance, plan);
            report.add(&RULE.card, said);
        }
        claimed.insert(&formerly.value, appliance);
    }
}
