//! A row of another datapoint type than the rest of its group.

use crate::findings::Severity;
use crate::knx::Notation;
use crate::resolve::plan::Row;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use std::collections::BTreeMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "group-of-mixed-types",
        family: Family::Table,
        severity: Severity::Note,
        otherwise: &[],
        summary: "a row has another datapoint type than all others of its group",
        on_site: "In a house that keeps one kind of function to a group, this row was given the wrong type or the wrong address.",
        remedy: "Look the row up; where it is meant, leave it.",
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
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/1/2,Hall spot switch,1.001
1/1/3,Spare 1 3,1.001
1/1/4,Spare 1 4,1.001
1/1/5,Spare 1 5,1.001
1/1/6,Spare 1 6,1.001
1/1/7,Spare 1 7,1.001
1/1/8,Spare 1 8,1.001
1/2/1,Spare 2 1,5.001
1/2/2,Spare 2 2,5.001
1/2/3,Spare 2 3,5.001
1/2/4,Spare 2 4,5.001
1/2/5,Spare 2 5,5.001
1/2/6,Spare 2 6,5.001
1/2/7,Spare 2 7,5.001
1/2/8,Spare 2 8,9.001
#^^^^
1/4/1,Hall lamp status,1.001
1/4/2,Hall spot status,1.001
1/4/3,Spare 4 3,1.001
1/4/4,Spare 4 4,1.001
1/4/5,Spare 4 5,1.001
1/4/6,Spare 4 6,1.001
1/4/7,Spare 4 7,1.001
1/4/8,Spare 4 8,1.001
1/5/1,Spare 5 1,5.001
1/5/2,Spare 5 2,5.001
1/5/3,Spare 5 3,5.001
1/5/4,Spare 5 4,5.001
1/5/5,Spare 5 5,5.001
1/5/6,Spare 5 6,5.001
1/5/7,Spare 5 7,5.001
1/5/8,Spare 5 8,5.001
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
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/1/2,Hall spot switch,1.001
1/1/3,Spare 1 3,1.001
1/1/4,Spare 1 4,1.001
1/1/5,Spare 1 5,1.001
1/1/6,Spare 1 6,1.001
1/1/7,Spare 1 7,1.001
1/1/8,Spare 1 8,1.001
1/2/1,Spare 2 1,5.001
1/2/2,Spare 2 2,5.001
1/2/3,Spare 2 3,5.001
1/2/4,Spare 2 4,5.001
1/2/5,Spare 2 5,5.001
1/2/6,Spare 2 6,5.001
1/2/7,Spare 2 7,5.001
1/2/8,Spare 2 8,5.001
1/4/1,Hall lamp status,1.001
1/4/2,Hall spot status,1.001
1/4/3,Spare 4 3,1.001
1/4/4,Spare 4 4,1.001
1/4/5,Spare 4 5,1.001
1/4/6,Spare 4 6,1.001
1/4/7,Spare 4 7,1.001
1/4/8,Spare 4 8,1.001
1/5/1,Spare 5 1,5.001
1/5/2,Spare 5 2,5.001
1/5/3,Spare 5 3,5.001
1/5/4,Spare 5 4,5.001
1/5/5,Spare 5 5,5.001
1/5/6,Spare 5 6,5.001
1/5/7,Spare 5 7,5.001
1/5/8,Spare 5 8,5.001
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// Rows with their main types.
type Rows<'a> = Vec<(&'a Row, u16)>;

/// Fewer rows than this are no group to go by.
const FEWEST: usize = 8;

fn look(context: &Context<'_>, report: &mut Report) {
    let notation = context.plan.house.notation;
    for table in context.plan.buses.iter().filter_map(|bus| bus.table.as_ref()) {
        let mut groups: BTreeMap<(u8, u8), Vec<(&Row, u16)>> = BTreeMap::new();
        for row in &table.rows {
            let Some(dpt) = &row.dpt else { continue };
            let address = row.address.value;
            let middle = if notation == Notation::ThreeLevel { address.middle() } else { 0 };
            groups.entry((address.main(), middle)).or_default().push((row, dpt.value.main()));
        }
        let large = groups.values().filter(|rows| rows.len() >= FEWEST);
        let judged: Vec<(&Rows<'_>, Option<u16>)> = large.map(|rows| (rows, usual(rows))).collect();
        // Only where the house keeps one type to a group nearly everywhere.
        let kept = judged.iter().filter(|(_, usual)| usual.is_some()).count();
        if judged.len() < 3 || kept * 10 < judged.len() * 9 {
            continue;
        }
        for (rows, usual) in judged {
            let Some(usual) = usual else { continue };
            for (row, main) in rows.iter().filter(|(_, main)| *main != usual) {
                let written = row.address.value.display(notation);
                let message = format!("`{written}` has type {main}.*, the rest of its group {usual}.*");
                let evidence = format!(
                    "{} of {} rows of the group are of main type {usual}",
                    agreeing(rows, usual),
                    rows.len()
                );
                report.add(
                    &RULE.card,
                    Said::new(message, row.address.place, "another type").because(&evidence),
                );
            }
        }
    }
}

fn agreeing(rows: &[(&Row, u16)], usual: u16) -> usize {
    rows.iter().filter(|(_, main)| *main == usual).count()
}

/// The main type of all rows but one in eight.
fn usual(rows: &[(&Row, u16)]) -> Option<u16> {
    let (_, first) = rows.first()?;
    let candidates = rows.iter().map(|(_, main)| *main).filter(|main| main != first).take(2);
    let most = std::iter::once(*first).chain(candidates).max_by_key(|main| agreeing(rows, *main))?;
    ((rows.len() - agreeing(rows, most)) * FEWEST <= rows.len()).then_some(most)
}
