//! Two rows of one name, in a table whose names are otherwise unique.

use crate::findings::Severity;
use crate::resolve::plan::{AddressTable, Row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::{FxHashMap, FxHashSet};

/// Of so many rows of other names one name may be there twice; where it is more, names are given twice as a rule.
const OF_EACH: usize = 10;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-name-twice",
        family: Family::Table,
        severity: Severity::Note,
        otherwise: &[],
        summary: "two addresses have one name, in a table whose names are unique otherwise",
        on_site: "Nobody can tell from the table which of the two is which; the next change hits the wrong one.",
        remedy: "Give each row the name of what its address does.",
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
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
      lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
      sconce: { name: Sconce, class: on-off-light, points: { switching: { command: 1/1/4, feedback: 1/4/4 } } }
      globe: { name: Globe, class: on-off-light, points: { switching: { command: 1/1/5, feedback: 1/4/5 } } }
--- bus.csv
address,name
1/1/4,Hall sconce switch
1/4/4,Hall sconce status
1/1/5,Hall globe switch
1/4/5,Hall globe status
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/1/2,Hall spot switch
1/4/2,Hall spot status
1/1/3,Hall lantern switch
1/4/3,Hall lantern switch
#     ^^^^^^^^^^^^^^^^^^^
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
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
      lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
      sconce: { name: Sconce, class: on-off-light, points: { switching: { command: 1/1/4, feedback: 1/4/4 } } }
      globe: { name: Globe, class: on-off-light, points: { switching: { command: 1/1/5, feedback: 1/4/5 } } }
--- bus.csv
address,name
1/1/4,Hall sconce switch
1/4/4,Hall sconce status
1/1/5,Hall globe switch
1/4/5,Hall globe status
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/1/2,Hall spot switch
1/4/2,Hall spot status
1/1/3,Hall lantern switch
1/4/3,Hall lantern status
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let suspects = &context.survey.suspects;
    let suspects = suspects.iter().filter_map(|suspect| context.survey.wires.all.get(suspect.wire as usize));
    // Whoever is wired to the wrong one of two rows has been told.
    let told: FxHashSet<_> = suspects.map(|wired| (wired.bus as usize, wired.address)).collect();
    for (index, bus) in context.plan.buses.iter().enumerate() {
        let Some(table) = &bus.table else { continue };
        let used = |row: &Row| context.survey.uses.of_address(index, row.address.value).next().is_some();
        for (first, second) in twice(table) {
            let open = |row: &Row| used(row) && !told.contains(&(index, row.address.value));
            if !(open(first) && open(second)) {
                continue;
            }
            let notation = context.plan.house.notation;
            let message = format!(
                "`{}` and `{}` are both called \"{}\" in the address table",
                first.address.value.display(notation),
                second.address.value.display(notation),
                first.name.value.trim()
            );
            let said =
                Said::new(message, second.name.place, "the same name").with(first.name.place, "here too");
            report.add(&RULE.card, said);
        }
    }
}

/// The pairs of rows that have one name; none where names are given twice as a rule.
fn twice(table: &AddressTable) -> Vec<(&Row, &Row)> {
    let mut first: FxHashMap<&str, &Row> = FxHashMap::default();
    let mut pairs = Vec::new();
    let mut named = 0;
    for row in table.rows.iter().filter(|row| !row.name.value.trim().is_empty()) {
        named += 1;
        let other = *first.entry(row.name.value.trim()).or_insert(row);
        if other.address.value != row.address.value {
            pairs.push((other, row));
        }
    }
    if pairs.len() * OF_EACH > named {
        pairs.clear();
    }
    pairs
}
