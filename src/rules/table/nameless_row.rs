//! A row without a name.

use crate::findings::{Severity, some};
use crate::knx::Notation;
use crate::resolve::plan::{AddressTable, Row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Place;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "nameless-row",
        family: Family::Table,
        severity: Severity::Note,
        otherwise: &[(Severity::Warning, "where another column looks like the names")],
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

/// So many rows without a name are told one by one; more of them have one cause, and are told as one.
const TOLD_ALONE: usize = 3;

fn look(context: &Context<'_>, report: &mut Report) {
    let notation = context.plan.house.notation;
    for (index, bus) in context.plan.buses.iter().enumerate() {
        let Some(table) = &bus.table else { continue };
        let Some(heading) = table.columns.name else { continue };
        let is_used = |row: &&Row| context.survey.uses.of_address(index, row.address.value).next().is_some();
        let nameless = table.rows.iter().filter(|row| row.name.value.trim().is_empty());
        let nameless: Vec<&Row> = nameless.filter(is_used).collect();
        if nameless.len() > TOLD_ALONE {
            let used = table.rows.iter().filter(is_used).count();
            report.add(&RULE.card, of_many(&nameless, used, heading, table, notation));
            continue;
        }
        for row in nameless {
            let message =
                format!("`{}` has no name in the address table", row.address.value.display(notation));
            report.add(&RULE.card, Said::new(message, row.address.place, "no name"));
        }
    }
}

/// Rows of one table; where they are most of it, the column is to be looked at and not the rows.
fn of_many(rows: &[&Row], of: usize, heading: Place, table: &AddressTable, notation: Notation) -> Said {
    let message = format!("{} of {of} used addresses have no name in the address table", rows.len());
    let is_column = rows.len() * 2 > of;
    let first = rows.first().map(|row| row.address.place).filter(|_| !is_column);
    let (place, label) = first.map_or((heading, "few names below"), |place| (place, "the first of them"));
    let others = rows.iter().map(|row| row.address.place).filter(|other| *other != place);
    let said = Said::new(message, place, if rows.len() == of { "no names below" } else { label })
        .others(others)
        .on_site("No check can compare their names with the wiring.");
    match table.better_names.as_deref().filter(|_| is_column) {
        Some(better) => said
            .help(format!("if `{better}` has the names, write `columns: {{ name: {better} }}` at the bus"))
            .weighing(Severity::Warning),
        None => {
            let addresses: Vec<String> =
                rows.iter().map(|row| row.address.value.display(notation).to_string()).collect();
            said.help(format!("give the rows names: {}", some(&addresses)))
        }
    }
}
