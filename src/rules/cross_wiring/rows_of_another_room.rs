//! An appliance whose rows in the table all name another room, or that listens to the address of one.

use crate::classes::Exposure;
use crate::findings::{Certainty, Severity};
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::rules::{crossing, suspicion};
use crate::survey::{Astray, Evidence, Overheard, Stray, Suspect};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "rows-of-another-room",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[(Severity::Note, "where a single other appliance of the room has rows that name it")],
        summary: "all rows or addresses of an appliance, or what it listens to, are those of another room",
        on_site: "Whoever asks for the lamp of one room gets that of another.",
        remedy: "Move the appliance to the room, or look its addresses up.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      kitchen-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      kitchen-hood:
        name: Hood lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      kitchen-mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
#                               ^^^^^
  bedroom:
    name: Bedroom
    appliances:
      bedroom-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
--- bus.csv
address,name
1/1/1,Kitchen pendant switch
1/4/1,Kitchen pendant status
1/1/2,Kitchen hood lamp switch
1/4/2,Kitchen hood lamp status
1/1/3,Bedroom pendant switch
1/4/3,Bedroom pendant status
1/1/4,Bedroom mirror lamp switch
1/4/4,Bedroom mirror lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      kitchen-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      kitchen-hood:
        name: Hood lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
  bedroom:
    name: Bedroom
    appliances:
      bedroom-pendant:
        name: Pendant
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      bedroom-mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
--- bus.csv
address,name
1/1/1,Kitchen pendant switch
1/4/1,Kitchen pendant status
1/1/2,Kitchen hood lamp switch
1/4/2,Kitchen hood lamp status
1/1/3,Bedroom pendant switch
1/4/3,Bedroom pendant status
1/1/4,Bedroom mirror lamp switch
1/4/4,Bedroom mirror lamp status
",
        folds: &["table-room-differs"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for suspect in &context.survey.suspects {
        let room = suspect.evidence.iter().find_map(|evidence| match evidence {
            Evidence::Room { said, others } => Some((*said, *others)),
            Evidence::Habit { .. } | Evidence::Row { .. } | Evidence::Function | Evidence::Words => None,
        });
        if let Some((said, others)) = room
            && let Some(told) = tell_room(suspect, said, others, context)
        {
            report.add(&RULE.card, told);
        }
    }
    for stray in &context.survey.strays {
        strays(stray, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
    for overheard in &context.survey.overheard {
        overhears(overheard, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
}

/// A finding on an appliance whose rows all name another room.
fn tell_room(suspect: &Suspect, said: u32, others: u32, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, _, wire) = suspicion::look_up(suspect.wire, context)?;
    let (here, there) = (context.plan.rooms.get(appliance.room)?, context.plan.rooms.get(said as usize)?);
    let (here, there) = (&here.name, there.name.value.as_str());
    let message = format!("`{}` stands in `{}`, its rows name `{there}`", appliance.key.value, here.value);
    let label = suspicion::row(wired, context).map_or("", |row| row.name.value.trim());
    let plural =
        if others == 1 { "other appliance of this room has" } else { "other appliances of this room have" };
    let said = Said::new(message, wire.address.place, format!("in the table \"{label}\""))
        .with(here.place, "the room it stands in")
        .about(appliance, context.plan)
        .because(&format!("{others} {plural} rows that name it"))
        .help(elsewhere(appliance, &format!("move it to `{there}`")));
    Some(if others == 1 { said.weighing(Severity::Note) } else { said })
}

/// What to do about an appliance whose addresses are those of another room: of what controllers never show it is of no account
/// where it stands.
fn elsewhere(appliance: &Appliance, moving: &str) -> String {
    match appliance.class.value.exposure {
        Exposure::Bridged => format!("{moving}, or look its addresses up"),
        Exposure::NotBridged { .. } => "look its addresses up in the table".to_owned(),
    }
}

/// An appliance that stands in another room than its addresses or its rows say.
fn strays(stray: &Stray, context: &Context<'_>) -> Option<Said> {
    let plan = context.plan;
    let (wired, appliance, _, wire) = suspicion::look_up(stray.wire, context)?;
    let room = |index: u32| plan.rooms.get(index as usize);
    let name = |index: u32| room(index).map_or("", |room| room.name.value.as_str());
    let here = &plan.rooms.get(appliance.room)?.name;
    let why = || stray.why.iter().flatten();
    let (rows, (there, because)) = match *why().next()? {
        Astray::Block { room, there, here: others } => {
            let there = format!("{there} appliances of `{}` have theirs there", name(room));
            let own = format!("{others} others of `{}` have theirs elsewhere", here.value);
            ("addresses lie among those of", (format!("`{}`", name(room)), format!("{there}, and {own}")))
        }
        Astray::Rows { room, kept, of } => {
            let because = format!("{kept} of {of} appliances with rows that name a room stand in that room");
            ("rows name", (format!("`{}`", name(room)), because))
        }
        Astray::Floor { room: other, here: others } => {
            let floor = room(other)?.floor.as_ref()?.value.trim();
            let because = format!(
                "they have the word that the rows of that floor have, {others} others of `{}` have that of their own",
                here.value
            );
            ("rows name", (format!("the floor `{floor}`"), because))
        }
    };
    let label =
        suspicion::row(wired, context).map(|row| row.name.value.trim()).filter(|name| !name.is_empty());
    let label = label.map_or_else(|| "one of them".to_owned(), |name| format!("in the table \"{name}\""));
    let message = format!("`{}` stands in `{}`, its {rows} {there}", appliance.key.value, here.value);
    let help = match why().next()? {
        Astray::Floor { .. } => elsewhere(appliance, "move it to a room of that floor"),
        Astray::Block { .. } | Astray::Rows { .. } => elsewhere(appliance, &format!("move it to {there}")),
    };
    let said = Said::new(message, wire.address.place, label)
        .with(here.place, "the room it stands in")
        .about(appliance, plan)
        .because(&because)
        .help(help);
    let plain = why().nth(1).is_some() || why().any(|why| !matches!(why, Astray::Rows { .. }));
    Some(if plain { said } else { said.weighing(Severity::Note) })
}

/// Appliances of a room that listen to the address of another one, told once.
fn overhears(overheard: &Overheard, context: &Context<'_>) -> Option<Said> {
    let plan = context.plan;
    let (appliance, _, wire) = overheard.uses.first()?.look_up(plan)?;
    let room = |index: usize| plan.rooms.get(index).map_or("", |room| room.name.value.as_str());
    let uses = || overheard.uses.iter().filter_map(|used| used.look_up(plan));
    let mut appliances: Vec<&Appliance> = uses().map(|(appliance, ..)| appliance).collect();
    appliances.dedup_by_key(|appliance| appliance.key.place);
    let count = appliances.len();
    let (verb, own) = if count == 1 { ("listens", "its") } else { ("listen", "their") };
    let names = crossing::names(appliances.into_iter(), count);
    let (here, there) = (room(appliance.room), room(overheard.said as usize));
    let message = format!("{names} of `{here}` {verb} to an address of `{there}`");
    let table = plan.table(appliance.bus);
    let row = table.and_then(|table| table.row(wire.address.value)).map_or("", |row| row.name.value.trim());
    let (right, help) = suspicion::right_words_of(overheard.right, appliance.bus, context);
    let help = suspicion::likewise(help, overheard.uses.len());
    let edits = uses().map(|(.., wire)| (wire.address.place, right.clone())).collect();
    let said = Said::new(message, wire.address.place, format!("in the table \"{row}\""))
        .about(appliance, plan)
        .because(&format!("the table has the same for {own} own room"))
        .on_site(format!(
            "What is meant for `{there}` moves `{here}` too, and what is meant for `{here}` does not."
        ))
        .help(help)
        .edit(edits, Certainty::ToBeLookedAt);
    Some(said)
}
