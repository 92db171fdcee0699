//! An address with two rows in a table.

use crate::findings::Severity;
use crate::resolve::plan::{AddressTable, Appliance, Row, Wire};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-twice",
        family: Family::Table,
        severity: Severity::Warning,
        summary: "an address has two rows in the address table",
        on_site: "The rows contradict each other, and every check believes the first one.",
        remedy: "Keep the row that is right.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/1/1,Hall spot switch
#^^^^
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
",
        folds: &["address-not-in-table"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (index, bus) in plan.buses.iter().enumerate() {
        let Some(table) = &bus.table else { continue };
        let pairs: Vec<(&Row, &Row)> = twice(table).collect();
        let swallowed = match pairs.as_slice() {
            [(first, row)] if first.name.value != row.name.value => swallowed(index, table, first, context),
            _ => None,
        };
        for (first, row) in pairs {
            let written = row.address.value.display(plan.house.notation);
            let same = first.name.value == row.name.value;
            let message = if same {
                format!("`{written}` stands in the address table twice")
            } else {
                format!(
                    "`{written}` is both `{}` and `{}` in the address table",
                    first.name.value, row.name.value
                )
            };
            let said = Said::new(message, row.address.place, "again here")
                .with(first.address.place, "this row counts")
                .weighing(if same { Severity::Note } else { Severity::Warning });
            report.add(
                &RULE.card,
                match swallowed {
                    Some((appliance, wire)) => with_missing(said, appliance, wire, context),
                    None => said,
                },
            );
        }
    }
}

/// Each row whose address another one has before it, with that one.
fn twice(table: &AddressTable) -> impl Iterator<Item = (&Row, &Row)> {
    table.rows.iter().zip(0u32..).filter_map(|(row, index)| {
        let first = table.by_address.get(row.address.value).filter(|first| *first != index)?;
        Some((table.rows.get(first as usize)?, row))
    })
}

/// The one address in use that a table has not: very probably one of two rows of the same address is for it.
fn swallowed<'a>(
    bus: usize,
    table: &AddressTable,
    double: &Row,
    context: &Context<'a>,
) -> Option<(&'a Appliance, &'a Wire)> {
    let on_it = context.plan.appliances.iter().filter(|appliance| appliance.bus == bus);
    let missing = on_it.flat_map(|appliance| {
        let wires = appliance.points.iter().flat_map(move |point| {
            point.wires().map(move |(role, wire)| (appliance, (point.spec, role), wire))
        });
        wires.filter(|(.., wire)| table.row(wire.address.value).is_none())
    });
    let mut missing = missing.take(2);
    let (Some((appliance, end, wire)), None) = (missing.next(), missing.next()) else { return None };
    // Where it is known that another address was meant, the description is wrong and not the table.
    let written = double.address.value.display(context.plan.house.notation).to_string();
    let meant = suspicion::proposed(context, appliance, end);
    meant.is_none_or(|(meant, _)| meant == written).then_some((appliance, wire))
}

fn with_missing(said: Said, appliance: &Appliance, wire: &Wire, context: &Context<'_>) -> Said {
    let written = wire.address.value.display(context.plan.house.notation);
    said.with(wire.address.place, "in no row")
        .help(format!("write `{written}` in the one of the two rows that is for `{}`", appliance.key.value))
        .weighing(Severity::Error)
}
