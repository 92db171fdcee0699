//! Two appliances of one room with one name.

use crate::findings::Severity;
use crate::pieces;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;
use rustc_hash::FxHashMap;
use std::collections::hash_map::Entry;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "name-used-twice",
        family: Family::Naming,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two appliances of a room have the same name, but for case and accents",
        on_site: "Voice control switches either of them, and the family cannot tell the two apart in a controller.",
        remedy: "Give each appliance of a room its own name.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: lamp
  #     ^^^^
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
    let rooms: Vec<&[Appliance]> = plan.appliances.chunk_by(|one, other| one.room == other.room).collect();
    let found = pieces::flat(rooms.len(), pieces::HEAVY, |range, found| {
        found.extend(rooms.get(range).unwrap_or_default().iter().flat_map(|room| alike(room)));
    });
    for (appliance, other) in found {
        let message = format!("`{}` and `{}` have the same name", other.key.value, appliance.key.value);
        let said = Said::new(message, appliance.name.place, "sounds the same")
            .with(other.name.place, format!("in `{}`", other.key.value))
            .about(appliance, plan);
        report.add(&RULE.card, said);
    }
}

/// Appliances of a room, each with the first one of its name.
fn alike(room: &[Appliance]) -> Vec<(&Appliance, &Appliance)> {
    let mut first: FxHashMap<String, &Appliance> = FxHashMap::default();
    let shown = room.iter().filter(|appliance| appliance.bridged);
    let earlier = shown.filter_map(|appliance| match first.entry(names::heard(&appliance.name.value)) {
        Entry::Vacant(vacant) => {
            vacant.insert(appliance);
            None
        }
        Entry::Occupied(occupied) => Some((appliance, *occupied.get())),
    });
    earlier.collect()
}
