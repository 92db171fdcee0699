//! Two rooms with one name.

use crate::findings::Severity;
use crate::resolve::plan::Room;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use std::collections::hash_map::Entry;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-name-used-twice",
        family: Family::Naming,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two rooms of one bridge have the same name",
        on_site: "Controllers show one room with the appliances of both.",
        remedy: "Give each room of a bridge its own name.",
        source: Source::CommonPractice,
        frame: Frame::Rooms,
        bad: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
attic:
  name: Hall
  #     ^^^^
  appliances:
    spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
",
        good: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
attic:
  name: Attic
  appliances:
    spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    // A family that has another bridge never sees the other room.
    let mut bridges: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); plan.rooms.len()];
    for appliance in plan.appliances.iter().filter(|appliance| appliance.bridged) {
        if let Some(of_room) = bridges.get_mut(appliance.room) {
            of_room.insert(appliance.bridge);
        }
    }
    let mut first: FxHashMap<(usize, String), &Room> = FxHashMap::default();
    for (room, mut on) in plan.rooms.iter().zip(bridges) {
        if plan.bridges.len() <= 1 {
            on.insert(0);
        }
        let name = names::heard(&room.name.value);
        let mut others = on.into_iter().filter_map(|bridge| match first.entry((bridge, name.clone())) {
            Entry::Vacant(vacant) => {
                vacant.insert(room);
                None
            }
            Entry::Occupied(occupied) => Some(*occupied.get()),
        });
        let other = others.next();
        // On each of its other bridges it may be the first.
        others.for_each(drop);
        let Some(other) = other else { continue };
        let message = format!("the rooms `{}` and `{}` have the same name", other.key.value, room.key.value);
        let said = Said::new(message, room.name.place, "the same name")
            .with(other.name.place, format!("the room `{}`", other.key.value))
            .about_room(&room.key.value);
        report.add(&RULE.card, said);
    }
}
