//! Addresses that all lie the same distance beside the rows that name them.

use crate::findings::{Certainty, Severity};
use crate::resolve::plan::{AddressTable, Appliance, Wire};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::rules::{renumbered, suspicion};
use crate::source::Place;
use crate::survey::{Scope, Shift};
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "addresses-beside-their-rows",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[(Severity::Error, "where one of the addresses is in no row")],
        summary: "addresses of several appliances all lie one distance beside the rows that name them",
        on_site: "Each appliance shows and moves what stands beside it in the table: the next lamp, or another function of the same one.",
        remedy: "Count the addresses from the row that names the first of them; if the names in the table slipped, correct the table.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
          #                     ^^^^^
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
--- bus.csv
address,name
1/1/1,Hall north lamp switch
1/4/1,Hall north lamp status
1/1/2,Hall south lamp switch
1/4/2,Hall south lamp status
1/1/3,Hall east lamp switch
1/4/3,Hall east lamp status
1/1/4,Hall spare switch
1/4/4,Hall spare status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
--- bus.csv
address,name
1/1/1,Hall north lamp switch
1/4/1,Hall north lamp status
1/1/2,Hall south lamp switch
1/4/2,Hall south lamp status
1/1/3,Hall east lamp switch
1/4/3,Hall east lamp status
1/1/4,Hall spare switch
1/4/4,Hall spare status
",
        folds: &[
            "address-not-in-table",
            "central-address-as-feedback",
            "shared-feedback",
            "wired-as-another",
            "shared-command",
            "table-room-differs",
            "type-differs-from-table",
            "command-is-others-feedback",
            "address-read-two-ways",
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "listens-to-feedback",
        ],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    // Main groups that have another number in the table are told as that, by bus.
    let mut renumbered: FxHashMap<usize, Vec<(u8, u8)>> = FxHashMap::default();
    for shift in &context.survey.shifts {
        let first = shift.wires.first().and_then(|(wire, _)| suspicion::wire_of(*wire, context));
        let moved = first.is_some_and(|(appliance, wire)| {
            let address = wire.address.value;
            let is_absent = table(appliance, context).is_some_and(|table| table.row(address).is_none());
            let bus = appliance.bus;
            let of_bus = || renumbered::renumbered(bus, &renumbered::missing(bus, context), context);
            is_absent
                && renumbered
                    .entry(bus)
                    .or_insert_with(of_bus)
                    .iter()
                    .any(|(from, _)| *from == address.main())
        });
        if moved {
            continue;
        }
        if let Some(said) = tell(shift, context) {
            report.add(&RULE.card, said);
        }
    }
}

/// What slipped, in the table of its bus.
struct Slipped<'a> {
    appliance: &'a Appliance,
    wire: &'a Wire,
    right: String,
    label: String,
}

fn tell(shift: &Shift, context: &Context<'_>) -> Option<Said> {
    let notation = context.plan.house.notation;
    let slipped = |&(wire, right): &(u32, _)| {
        let (appliance, wire) = suspicion::wire_of(wire, context)?;
        let (right, label) = suspicion::right_words_of(right, appliance.bus, context);
        Some(Slipped { appliance, wire, right, label })
    };
    let slipped: Vec<Slipped<'_>> = shift.wires.iter().filter_map(slipped).collect();
    let first = slipped.first()?;
    let mut edits: Vec<(Place, String)> =
        slipped.iter().map(|slipped| (slipped.wire.address.place, slipped.right.clone())).collect();
    if let Scope::Room { .. } = shift.scope {
        edits.extend(heard(shift, &slipped, context));
    }
    let row = table(first.appliance, context).and_then(|table| table.row(first.wire.address.value));
    let label = row.map_or_else(
        || "no such row".to_owned(),
        |row| format!("in the table \"{}\"", row.name.value.trim()),
    );
    let back = shift.distance.reversed().words(notation);
    let others = match edits.len() - 1 {
        1 => "the other one".to_owned(),
        others => format!("each of the other {others}"),
    };
    let help = format!(
        "{}, and {others} likewise, {back} its own place; or correct the table, if it is the names there that slipped",
        first.label
    );
    // Addresses that no row has are errors, which this finding folds away and weighs as much as.
    Some(
        Said::new(message(shift, &slipped, context), first.wire.address.place, label)
            .about(first.appliance, context.plan)
            .help(help)
            .edit(edits, Certainty::ToBeLookedAt),
    )
}

fn message(shift: &Shift, slipped: &[Slipped<'_>], context: &Context<'_>) -> String {
    let distance = shift.distance.words(context.plan.house.notation);
    let mut appliances: Vec<Place> = slipped.iter().map(|slipped| slipped.appliance.key.place).collect();
    appliances.dedup();
    let count = appliances.len();
    match shift.scope {
        Scope::Room { room, all } => {
            let room = context.plan.rooms.get(room as usize).map_or("", |room| room.name.value.as_str());
            let what = match slipped.first().filter(|_| count == 1) {
                Some(only) => format!("{} addresses of `{}`", slipped.len(), only.appliance.key.value),
                None if all => format!("all addresses of `{room}`"),
                None => format!("the addresses of {count} appliances of `{room}`"),
            };
            format!("{what} lie {distance} the rows that name them")
        }
        Scope::Kind(kind) => {
            let what = context.survey.wires.words(kind);
            format!("{what} lies {distance} the row that names it, in {count} appliances")
        }
    }
}

/// What the slipped appliances of a room listen to and no row has, where one lies at the distance.
fn heard(shift: &Shift, slipped: &[Slipped<'_>], context: &Context<'_>) -> Vec<(Place, String)> {
    let notation = context.plan.house.notation;
    let mut heard = Vec::new();
    for of_one in slipped.chunk_by(|a, b| a.appliance.key.place == b.appliance.key.place) {
        let Some(appliance) = of_one.first().map(|slipped| slipped.appliance) else { continue };
        let Some(table) = table(appliance, context) else { continue };
        for wire in appliance.points.iter().flat_map(|point| &point.listens) {
            let right = shift.distance.reversed().from(wire.address.value, notation);
            let right = right.filter(|right| table.row(*right).is_some());
            if let (Some(right), None) = (right, table.row(wire.address.value)) {
                heard.push((wire.address.place, right.display(notation).to_string()));
            }
        }
    }
    heard
}

fn table<'a>(appliance: &Appliance, context: &Context<'a>) -> Option<&'a AddressTable> {
    context.plan.table(appliance.bus)
}
