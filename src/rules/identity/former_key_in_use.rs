//! A former key that another appliance has.

use super::endpoint_left_behind::types_of;
use crate::findings::Severity;
use crate::ledger::{DeviceTypes, Identity};
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Spanned;
use rustc_hash::{FxHashMap, FxHashSet};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "former-key-in-use",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "`formerly` names a key that an appliance still has",
        on_site: "The old key's endpoint would go to the renamed appliance, and the other one would lose its automations.",
        remedy: "If it is the renamed appliance, give the other one a key of its own, or build first and let the other one take the key afterwards; else take `formerly` out.",
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
    // Keys whose endpoints go to who had them formerly.
    let given_up: FxHashSet<&str> =
        formers.iter().filter_map(|it| Some(it.formerly.as_ref()?.value.as_str())).collect();
    let mut claimed: FxHashMap<&str, &Appliance> = FxHashMap::default();
    let mut round: FxHashSet<&str> = FxHashSet::default();
    for appliance in formers {
        let Some(formerly) = &appliance.formerly else { continue };
        if formerly.value == appliance.key.value {
            let message = format!("`{}` was formerly called as it is now", formerly.value);
            let said = Said::new(message, formerly.place, "its own key")
                .about(appliance, plan)
                .help("take `formerly` out, or write the key that it had before");
            report.add(&RULE.card, said);
            continue;
        }
        let is_circle = goes_round(appliance, &alive);
        if is_circle {
            round.insert(&appliance.key.value);
            if round.contains(formerly.value.as_str()) {
                // The other half of what was told.
                continue;
            }
        }
        if context.ledger.lives(&appliance.key.value) && !is_circle {
            // The rename was built, and the line has done its work: the old key is free again. Unless it lives, and nobody
            // else has it: then the appliance has taken another one's key, and the line would do nothing.
            let is_left =
                context.ledger.lives(&formerly.value) && !alive.contains_key(formerly.value.as_str());
            if is_left
                && !given_up.contains(appliance.key.value.as_str())
                && !is_rather(appliance, formerly, context)
            {
                tell_of_two(appliance, formerly, context, report);
            }
            continue;
        }
        let bearer = alive.get(formerly.value.as_str()).copied();
        if let Some(other) = bearer.filter(|bearer| is_circle || !is_renamed(bearer, context)) {
            let help = if is_circle { IN_A_CIRCLE.to_owned() } else { in_use(appliance, other) };
            tell(appliance, formerly, other, help, context, report);
        } else if let Some(other) = claimed.get(formerly.value.as_str()) {
            let help = format!(
                "only one of them can have what `{}` had: take `formerly` out of the other",
                formerly.value
            );
            tell(appliance, formerly, other, help, context, report);
        }
        claimed.insert(&formerly.value, appliance);
    }
}

fn tell(
    appliance: &Appliance,
    formerly: &Spanned<String>,
    other: &Appliance,
    help: String,
    context: &Context<'_>,
    report: &mut Report,
) {
    let (new, old) = (&appliance.key.value, &formerly.value);
    let message = if other.key.value == *old {
        format!("`{new}` says that it was `{old}`, and the house has a `{old}`")
    } else {
        format!("`{new}` says that it was `{old}`, and so does `{}`", other.key.value)
    };
    let said = Said::new(message, formerly.place, "not free")
        .with(other.key.place, "the other one")
        .about(appliance, context.plan)
        .help(help);
    report.add(&RULE.card, said);
}

/// Tells of an appliance that has the key of one that was built, and was formerly another one that was.
fn tell_of_two(
    appliance: &Appliance,
    formerly: &Spanned<String>,
    context: &Context<'_>,
    report: &mut Report,
) {
    let (new, old) = (&appliance.key.value, &formerly.value);
    let message = format!("`{new}` has what was built as `{new}`, and what `{old}` had would be lost");
    let said = Said::new(message, formerly.place, "does nothing").about(appliance, context.plan).help(format!(
        "if it is what `{old}` was, and the old `{new}` is gone: give it a key that nobody had, and leave `formerly`. If \
         `{old}` is gone, take `formerly` out of `{new}`"
    ));
    let said = said.on_site(format!(
        "What controllers do with the old `{new}` they would do with this one, and what they did with `{old}` would be lost."
    ));
    report.add(&RULE.card, said);
}

/// Whether an appliance takes over what its former key has, since nothing that its own has can be its own any more.
fn is_rather(appliance: &Appliance, formerly: &Spanned<String>, context: &Context<'_>) -> bool {
    let bridge = context.plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str());
    let Some(shape) = appliance.shape().ok().filter(|_| appliance.bridged) else { return false };
    let types: Vec<DeviceTypes> = shape.parts.iter().map(types_of).collect();
    let fits = |it: &Identity| *it.bridge == *bridge && types.contains(&it.device_types);
    context.ledger.fits_rather(&formerly.value, &appliance.key.value, fits)
}

/// What to write where an appliance has the key that another one had.
fn in_use(appliance: &Appliance, other: &Appliance) -> String {
    let (new, old) = (&appliance.key.value, &other.key.value);
    format!(
        "only one of them keeps the place of the old `{old}`. If that is `{new}`, give the other one a key of its own, or build \
         before you add it; if it is `{old}`, take `formerly` out"
    )
}

/// What to write where keys are exchanged.
const IN_A_CIRCLE: &str = "keys cannot be exchanged in one build: leave them, and exchange names, rooms and addresses instead; or \
                           give one a third key first, with `formerly`, and build after each step";

/// Whether an appliance gives its key up itself, for what another one had.
fn is_renamed(appliance: &Appliance, context: &Context<'_>) -> bool {
    let formerly = appliance.formerly.as_ref().filter(|formerly| formerly.value != appliance.key.value);
    formerly.is_some_and(|formerly| context.ledger.lives(&formerly.value))
}

/// Whether appliances with former keys lead back to this one.
fn goes_round(appliance: &Appliance, alive: &FxHashMap<&str, &Appliance>) -> bool {
    const LONGEST: usize = 16;
    let before = |it: &&Appliance| alive.get(it.formerly.as_ref()?.value.as_str()).copied();
    let mut earlier = std::iter::successors(before(&appliance), before).take(LONGEST);
    earlier.any(|it| it.key.value == appliance.key.value)
}
