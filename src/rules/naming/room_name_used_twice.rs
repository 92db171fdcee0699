//! Two rooms with one name.

use crate::findings::Severity;
use crate::resolve::plan::Room;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;
use rustc_hash::FxHashMap;
use std::collections::hash_map::Entry;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-name-used-twice",
        family: Family::Naming,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two rooms have the same name",
        on_site: "Controllers show one room with the appliances of both.",
        remedy: "Give each room its own name.",
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
    let mut first: FxHashMap<String, &Room> = FxHashMap::default();
    for room in &context.plan.rooms {
        match first.entry(names::heard(&room.name.value)) {
            Entry::Vacant(vacant) => {
                vacant.insert(room);
            }
            Entry::Occupied(occupied) => {
                let other = occupied.get();
                let message =
                    format!("the rooms `{}` and `{}` have the same name", other.key.value, room.key.value);
                let said = Said::new(message, room.name.place, "the same name")
                    .with(other.name.place, format!("the room `{}`", other.key.value))
                    .about_room(&room.key.value);
                report.add(&RULE.card, said);
            }
        }
    }
}
