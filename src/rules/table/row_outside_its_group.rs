//! A row that stands under a group it does not lie in.

use crate::findings::{Severity, some};
use crate::knx::Notation;
use crate::resolve::plan::{RangeRow, Row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-outside-its-group",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
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
        let rows: Vec<(&Row, &RangeRow)> =
            table.rows.iter().filter_map(|row| Some((row, under(row)?))).collect();
        let groups = rows.chunk_by(|(_, range), (_, next)| range.place == next.place);
        let of_groups: Vec<Strays<'_>> = groups.filter_map(Strays::of).collect();
        let count: usize = of_groups.iter().map(|strays| strays.rows.len()).sum();
        if count * FEW > table.rows.len() {
            continue;
        }
        for strays in of_groups {
            report.add(&RULE.card, strays.said(context.plan.house.notation));
        }
    }
}

/// Of so many rows one may stand astray; where more do, the table is no tree.
const FEW: usize = 5;

/// The rows that stand under one group and do not lie in it.
struct Strays<'a> {
    rows: Vec<&'a Row>,
    range: &'a RangeRow,
    /// Whether no row under the group lies in it.
    are_all: bool,
}

impl<'a> Strays<'a> {
    fn of(group: &[(&'a Row, &'a RangeRow)]) -> Option<Self> {
        let (_, range) = *group.first()?;
        let rows: Vec<&Row> =
            group.iter().map(|(row, _)| *row).filter(|row| !range.holds(row.address.value)).collect();
        let are_all = rows.len() == group.len();
        (!rows.is_empty()).then_some(Self { rows, range, are_all })
    }

    fn said(&self, notation: Notation) -> Said {
        let group = self.range.name.value.trim();
        let written = |row: &Row| row.address.value.display(notation).to_string();
        let first = self.rows.first().map_or(self.range.place, |row| row.address.place);
        if let [row] = self.rows.as_slice() {
            let message = format!("`{}` stands under \"{group}\" and does not lie in it", written(row));
            return Said::new(message, first, "another group")
                .with(self.range.place, "the group it stands under");
        }
        let message = format!("{} rows stand under \"{group}\" and do not lie in it", self.rows.len());
        let addresses: Vec<String> = self.rows.iter().map(|row| written(row)).collect();
        let right = self.common().filter(|_| self.are_all).map_or_else(
            || "put them under their own group, or correct the addresses".to_owned(),
            |group| format!("if it is the group's number that is wrong, give it that of {group}"),
        );
        Said::new(message, first, "the first of them")
            .with(self.range.place, "the group they stand under")
            .others(self.rows.iter().skip(1).map(|row| row.address.place))
            .on_site("Whoever reads the table by its headings takes these rows for something else.")
            .help(format!("they are {}; {right}", some(&addresses)))
    }

    /// The group of the range's kind in which all of them lie.
    fn common(&self) -> Option<String> {
        let number =
            |row: &&Row| (row.address.value.main(), self.range.middle.map(|_| row.address.value.middle()));
        let first = self.rows.first().map(number)?;
        let is_common = self.rows.iter().all(|row| number(row) == first);
        is_common.then(|| match first {
            (main, Some(middle)) => format!("main group {main}, middle group {middle}"),
            (main, None) => format!("main group {main}"),
        })
    }
}
