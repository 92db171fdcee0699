//! Addresses of a table that no appliance uses.

use crate::findings::Severity;
use crate::resolve::plan::Row;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unused-rows",
        family: Family::Table,
        severity: Severity::Note,
        summary: "addresses of the table are used by no appliance",
        on_site: "Something may have been forgotten; or the rows are central, technical or spare, and all is well.",
        remedy: "Look through them once; `housewright` cannot know which of them are meant for the family.",
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
1/1/2,Hall spot switch
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

/// How many of them are named.
const NAMED: usize = 3;

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (index, bus) in plan.buses.iter().enumerate() {
        let Some(table) = &bus.table else { continue };
        let used = |row: &&Row| context.survey.uses.of_address(index, row.address.value).next().is_some();
        let unused: Vec<&Row> = table.rows.iter().filter(|row| !used(row)).collect();
        let Some(first) = unused.first() else { continue };
        let message = format!(
            "{} of {} addresses in the table are used by no appliance",
            unused.len(),
            table.rows.len()
        );
        let named: Vec<String> = unused
            .iter()
            .take(NAMED)
            .map(|row| format!("`{}` {}", row.address.value.display(plan.house.notation), row.name.value))
            .collect();
        let more = if unused.len() > NAMED { " …" } else { "" };
        let said = Said::new(message, first.address.place, "the first of them");
        report.add(&RULE.card, said.help(format!("they are {}{more}", named.join(", "))));
    }
}
