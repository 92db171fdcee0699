//! A former key that no build knows, while a key that the last build had is no appliance's.

use crate::findings::{Certainty, Severity, nearest_sorted};
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-former-key",
        family: Family::Identity,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "`formerly` names a key that no build knows, while one that a build knows is gone",
        on_site: "The renamed appliance gets a new endpoint: its rooms, scenes and automations are lost.",
        remedy: "Write the key that the appliance had in the last build.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        formerly: spott
        #         ^^^^^
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  spot:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        formerly: spot
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  spot:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// A line that did its work stays in the description, and the ledger has forgotten the old key: so only appliances that
/// the ledger does not know yet are looked at, and only keys that no appliance has now are proposed. Where no key is free
/// nothing is lost either.
fn look(context: &Context<'_>, report: &mut Report) {
    let (plan, ledger) = (context.plan, context.ledger);
    let fresh = |appliance: &&Appliance| appliance.formerly.is_some() && !ledger.lives(&appliance.key.value);
    let renamed: Vec<&Appliance> = plan.appliances.iter().filter(fresh).collect();
    if renamed.is_empty() {
        return;
    }
    let known: FxHashSet<&str> = ledger.keys().collect();
    let mut taken: FxHashSet<&str> = plan.appliances.iter().map(|it| it.key.value.as_str()).collect();
    taken.extend(renamed.iter().filter_map(|it| Some(it.formerly.as_ref()?.value.as_str())));
    let mut free: Vec<&str> = ledger.keys().filter(|key| !taken.contains(key)).collect();
    free.sort_unstable();
    let living: Vec<&str> = free.iter().copied().filter(|key| ledger.lives(key)).collect();
    for appliance in renamed {
        let Some(formerly) = &appliance.formerly else { continue };
        // That it is its own key is told as such.
        if known.contains(formerly.value.as_str()) || formerly.value == appliance.key.value {
            continue;
        }
        let message = format!("no build knows a `{}`", formerly.value);
        let said = Said::new(message, formerly.place, "not in the ledger").about(appliance, plan);
        let right = nearest_sorted(&formerly.value, &free);
        let said = match (right, living.as_slice()) {
            (Some(right), _) => said
                .help(format!("write `{right}`, which is in the ledger and which no appliance has now"))
                .replace(right, Certainty::ToBeLookedAt),
            (None, [only]) => said
                .help(format!(
                    "if it was `{only}` in the last build, write `{only}`, which no appliance has now; if the appliance is new, take \
                     `formerly` out"
                ))
                .replace(*only, Certainty::ToBeLookedAt),
            (None, [first, second, ..]) => said.help(format!(
                "write the key that it had in the last build: {} keys there, such as `{first}` and `{second}`, are no appliance's \
                 now; if the appliance is new, take `formerly` out",
                living.len()
            )),
            (None, []) => continue,
        };
        report.add(&RULE.card, said);
    }
}
