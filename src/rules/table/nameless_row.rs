//! A row without a name.

use crate::findings::Severity;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "nameless-row",
        family: Family::Table,
        severity: Severity::Note,
        summary: "a used address has no name in the table",
        on_site: "No check can compare the name with the wiring.",
        remedy: "Give the row a name.",
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
1/4/1,
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
    for (index, bus) in context.plan.buses.iter().enumerate() {
        let Some(table) = bus.table.as_ref().filter(|table| table.columns.name) else { continue };
        for row in table.rows.iter().filter(|row| row.name.value.trim().is_empty()) {
            if context.survey.uses.of_address(index, row.address.value).next().is_some() {
                let written = row.address.value.display(context.plan.house.notation);
                let message = format!("`{written}` has no name in the address table");
                report.add(&RULE.card, Said::new(message, row.address.place, "no name"));
            }
        }
    }
}
