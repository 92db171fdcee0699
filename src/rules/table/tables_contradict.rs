//! Two tables that say different things of one address.

use crate::findings::Severity;
use crate::knx::GroupAddress;
use crate::resolve::plan::{AddressTable, Row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::Named;
use rustc_hash::{FxHashMap, FxHashSet};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "tables-contradict",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two address tables give one address the same name and different datapoint types",
        on_site: "A coupler passes the address between the two lines: one side reads the other's telegrams wrongly.",
        remedy: "Give both tables the type that the devices send.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses:
  main: { table: bus.csv }
  annex: { table: annex.csv }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    bus: main
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
  shed:
    name: Shed
    bus: annex
    appliances:
      lantern:
        name: Lantern
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
--- bus.csv
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/4/1,Hall lamp status,1.001
0/3/1,Wind alarm,1.005
--- annex.csv
address,name,dpt
1/1/2,Shed lantern switch,1.001
1/4/2,Shed lantern status,1.001
0/3/1,Wind alarm,9.005
#^^^^
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses:
  main: { table: bus.csv }
  annex: { table: annex.csv }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    bus: main
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
  shed:
    name: Shed
    bus: annex
    appliances:
      lantern:
        name: Lantern
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
--- bus.csv
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/4/1,Hall lamp status,1.001
0/3/1,Wind alarm,1.005
--- annex.csv
address,name,dpt
1/1/2,Shed lantern switch,1.001
1/4/2,Shed lantern status,1.001
0/3/1,Wind alarm,1.005
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let buses = context.plan.buses.iter().enumerate();
    let tables: Vec<(usize, &AddressTable)> =
        buses.filter_map(|(bus, own)| Some((bus, own.table.as_deref()?))).collect();
    if tables.len() < 2 {
        return;
    }
    let disputed = disputed(&tables);
    // By address and name, the last row of each main type so far.
    let mut before: FxHashMap<(GroupAddress, Named), Vec<(u16, &Row)>> = FxHashMap::default();
    for (bus, table) in tables {
        for (row, index) in table.rows.iter().zip(0u32..) {
            let address = row.address.value;
            if !disputed.contains(&address) || table.by_address.get(address) != Some(index) {
                continue;
            }
            let Some((main, named)) = main(row).zip(context.survey.named(bus, index as usize)) else {
                continue;
            };
            let earlier = before.entry((address, named)).or_default();
            if let Some((_, other)) = earlier.iter().rev().find(|(other, _)| *other != main) {
                report.add(&RULE.card, contradiction(row, other, context));
            }
            earlier.retain(|(other, _)| *other != main);
            earlier.push((main, row));
        }
    }
}

fn main(row: &Row) -> Option<u16> {
    row.dpt.as_ref().map(|dpt| dpt.value.main())
}

/// Addresses that have several main types.
fn disputed(tables: &[(usize, &AddressTable)]) -> FxHashSet<GroupAddress> {
    let mut first: FxHashMap<GroupAddress, u16> = FxHashMap::default();
    let rows = tables.iter().flat_map(|(_, table)| &table.rows);
    let typed = rows.filter_map(|row| Some((row.address.value, main(row)?)));
    typed
        .filter(|(address, main)| first.entry(*address).or_insert(*main) != main)
        .map(|(address, _)| address)
        .collect()
}

/// Two rows of one address that are called the same and are of different main types. Rows of different names are
/// different things: each line counts for itself.
fn contradiction(row: &Row, other: &Row, context: &Context<'_>) -> Said {
    let written = row.address.value.display(context.plan.house.notation);
    let message = format!(
        "`{written}` \"{}\" has another datapoint type in the table of another bus",
        row.name.value.trim()
    );
    Said::new(message, row.address.place, "this type").with(other.address.place, "and that")
}
