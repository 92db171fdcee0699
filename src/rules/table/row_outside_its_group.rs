//! A row that stands under a group it does not lie in.

use crate::findings::Severity;
use crate::resolve::plan::{RangeRow, Row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-outside-its-group",
        family: Family::Table,
        severity: Severity::Warning,
        summary: "a row of the table stands under a group that its address does not lie in",
        on_site: "A digit of the address is wrong, or the row was put under the wrong heading: whoever reads the table by its headings takes it for something else.",
        remedy: "Correct the address, or put the row under its own group.",
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
      spot:
        name: Spot
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
--- bus.csv
address,name
1/1/-,Switching
1/1/1,Hall lamp switch
1/1/2,Hall spot switch
1/4/-,Status
1/4/1,Hall lamp status
1/5/2,Hall spot dimmed
#^^^^
1/4/2,Hall spot status
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
      spot:
        name: Spot
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
--- bus.csv
address,name
1/1/-,Switching
1/1/1,Hall lamp switch
1/1/2,Hall spot switch
1/4/-,Status
1/4/1,Hall lamp status
1/4/2,Hall spot status
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for table in context.plan.buses.iter().filter_map(|bus| bus.table.as_ref()) {
        // A table that is sorted otherwise has its groups in a list of their own.
        let under = |row: &Row| {
            let after = table.ranges.partition_point(|range| range.place < row.address.place);
            after.checked_sub(1).and_then(|last| table.ranges.get(last))
        };
        let strays: Vec<(&Row, &RangeRow)> = table
            .rows
            .iter()
            .filter_map(|row| Some((row, under(row)?)))
            .filter(|(row, range)| !range.holds(row.address.value))
            .collect();
        if strays.len() * FEW > table.rows.len() {
            continue;
        }
        for (row, range) in strays {
            let written = row.address.value.display(context.plan.house.notation);
            let message =
                format!("`{written}` stands under \"{}\" and does not lie in it", range.name.value.trim());
            let said = Said::new(message, row.address.place, "another group")
                .with(range.place, "the group it stands under");
            report.add(&RULE.card, said);
        }
    }
}

/// Of so many rows one may stand astray; where more do, the table is no tree.
const FEW: usize = 5;
