//! Two tables that say different things of one address.

use crate::findings::Severity;
use crate::resolve::plan::Row;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "tables-contradict",
        family: Family::Table,
        severity: Severity::Warning,
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
    let tables: Vec<_> = context.plan.buses.iter().filter_map(|bus| bus.table.as_ref()).collect();
    for (index, table) in tables.iter().enumerate().skip(1) {
        for row in &table.rows {
            let earlier = tables.iter().take(index).filter_map(|other| other.row(row.address.value));
            let contradicting = earlier.rev().find(|other| contradicts(row, other));
            if let Some(other) = contradicting {
                let written = row.address.value.display(context.plan.house.notation);
                let message = format!(
                    "`{written}` \"{}\" has another datapoint type in the table of another bus",
                    row.name.value.trim()
                );
                let said =
                    Said::new(message, row.address.place, "this type").with(other.address.place, "and that");
                report.add(&RULE.card, said);
            }
        }
    }
}

/// Whether two rows of one address are called the same and are of different main types. Rows of different names are
/// different things: each line counts for itself.
fn contradicts(row: &Row, other: &Row) -> bool {
    let name = names::heard(&row.name.value);
    let types = row.dpt.as_ref().zip(other.dpt.as_ref());
    !name.is_empty()
        && name == names::heard(&other.name.value)
        && types.is_some_and(|(one, other)| one.value.main() != other.value.main())
}
