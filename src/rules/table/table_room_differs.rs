//! A row of another room than the appliance's.

use crate::findings::Severity;
use crate::resolve::plan::Room;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "table-room-differs",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "the table has the address in another room than the description",
        on_site: "One of the two is wrong: the family switches a lamp in another room.",
        remedy: "Correct the address here, or the room in the table.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  attic:
    name: Attic
    appliances:
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          #                                      ^^^^^
--- bus.csv
address,name,room
1/1/1,Lamp switch,Hall
1/4/1,Lamp status,Attic
1/1/2,Spot switch,Attic
1/4/2,Spot status,Attic
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  attic:
    name: Attic
    appliances:
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,name,room
1/1/1,Lamp switch,Hall
1/4/1,Lamp status,Hall
1/1/2,Spot switch,Attic
1/4/2,Spot status,Attic
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let mut rooms: FxHashMap<String, &Room> = FxHashMap::default();
    for room in &plan.rooms {
        rooms.entry(names::heard(&room.name.value)).or_insert(room);
    }
    // Many rows are of one room, written in one way.
    let mut heard: FxHashMap<&str, Option<&Room>> = FxHashMap::default();
    for appliance in &plan.appliances {
        let table = plan.table(appliance.bus);
        let Some(table) = table.filter(|table| table.columns.room) else { continue };
        let Some(room) = plan.rooms.get(appliance.room) else { continue };
        // A wind alarm hangs where the wind is.
        let own = appliance.points.iter().filter(|point| !point.is_shared(appliance));
        for wire in own.flat_map(|point| [&point.command, &point.feedback]).flatten() {
            let row = table.row(wire.address.value);
            let Some(listed) = row.and_then(|row| row.room.as_ref()) else { continue };
            // A table may call rooms otherwise than the family does; only another room of this house is a contradiction.
            let other = heard.entry(&listed.value);
            let other = *other.or_insert_with(|| rooms.get(&names::heard(&listed.value)).copied());
            let elsewhere = |other: &&Room| {
                let is_other = !std::ptr::eq(*other, room) && !is_called(room, &other.name.value);
                is_other && !have_each_others_names(context, [room, other])
            };
            let Some(other) = other.filter(elsewhere) else { continue };
            let written = wire.address.value.display(plan.house.notation);
            let message = format!(
                "`{}` is in `{}`, but the table has `{written}` in `{}`",
                appliance.key.value, room.name.value, other.name.value
            );
            let said = Said::new(message, wire.address.place, format!("{} in the table", listed.value))
                .with(listed.place, "the room in the table")
                .about(appliance, plan);
            report.add(&RULE.card, said);
        }
    }
}

/// Whether two rooms are told as having exchanged their names.
fn have_each_others_names(context: &Context<'_>, rooms: [&Room; 2]) -> bool {
    let is_one = |index: &usize| {
        let named = context.plan.rooms.get(*index);
        named.is_some_and(|named| rooms.iter().any(|room| std::ptr::eq(*room, named)))
    };
    context.survey.renamed.iter().any(|(one, other)| is_one(one) && is_one(other))
}

fn is_called(room: &Room, name: &str) -> bool {
    let heard = names::heard(name);
    [&room.name.value, &room.key.value].into_iter().any(|own| names::heard(own) == heard)
}
