//! A row of another room than the appliance's.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Room, Wire};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Spanned;
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

/// A wire with the room that the table has it in.
type Listed<'a> = (&'a Wire, &'a Spanned<Box<str>>);

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
        let mut elsewhere: Vec<(&Room, Vec<Listed<'_>>)> = Vec::new();
        for wire in own.flat_map(|point| [&point.command, &point.feedback]).flatten() {
            let row = table.row(wire.address.value);
            let Some(listed) = row.and_then(|row| row.room.as_ref()) else { continue };
            // A table may call rooms otherwise than the family does; only another room of this house is a contradiction.
            let other = heard.entry(&listed.value);
            let other = *other.or_insert_with(|| rooms.get(&names::heard(&listed.value)).copied());
            let is_elsewhere = |other: &&Room| {
                let is_other = !std::ptr::eq(*other, room) && !is_called(room, &other.name.value);
                is_other && !have_each_others_names(context, [room, other])
            };
            let Some(other) = other.filter(is_elsewhere) else { continue };
            match elsewhere.iter_mut().find(|(known, _)| std::ptr::eq(*known, other)) {
                Some((_, wires)) => wires.push((wire, listed)),
                None => elsewhere.push((other, vec![(wire, listed)])),
            }
        }
        for (other, wires) in elsewhere {
            let Some(said) = tell(appliance, [room, other], &wires, context) else { continue };
            report.add(&RULE.card, said);
        }
    }
}

/// Tells an appliance of which the table has addresses in another room.
fn tell(
    appliance: &Appliance,
    [room, other]: [&Room; 2],
    wires: &[Listed<'_>],
    context: &Context<'_>,
) -> Option<Said> {
    let ((first, listed), more) = wires.split_first()?;
    let written = first.address.value.display(context.plan.house.notation);
    let more_words = match more.len() {
        0 => String::new(),
        1 => " and another of its addresses".to_owned(),
        more => format!(" and {more} more of its addresses"),
    };
    let message = format!(
        "`{}` is in `{}`, but the table has `{written}`{more_words} in `{}`",
        appliance.key.value, room.name.value, other.name.value
    );
    let said = Said::new(message, first.address.place, format!("{} in the table", listed.value))
        .with(listed.place, "the room in the table")
        .about(appliance, context.plan);
    Some(more.iter().fold(said, |said, (wire, _)| said.with(wire.address.place, "this one too")))
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
