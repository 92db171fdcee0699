//! An address with two rows in a table.

use crate::findings::Severity;
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
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for table in plan.buses.iter().filter_map(|bus| bus.table.as_ref()) {
        for (row, index) in table.rows.iter().zip(0u32..) {
            let first = table.by_address.get(row.address.value).filter(|first| *first != index);
            if let Some(first) = first.and_then(|first| table.rows.get(first as usize)) {
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
                report.add(&RULE.card, said);
            }
        }
    }
}
