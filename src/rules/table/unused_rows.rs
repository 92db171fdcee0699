//! Addresses of a table that no appliance uses.

use crate::findings::Severity;
use crate::resolve::plan::Row;
use crate::rules::table::rows_left_over;
use crate::rules::table_wording::named_row;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Place;
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unused-rows",
        family: Family::Table,
        severity: Severity::Note,
        otherwise: &[],
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
const NAMED: usize = 12;

fn look(context: &Context<'_>, report: &mut Report) {
    tell_besides(context, &FxHashSet::default(), report);
}

/// Tells the rows that nothing uses, but for those that other findings say to write, as they would be written.
pub(in crate::rules) fn tell_besides(context: &Context<'_>, named: &FxHashSet<&str>, report: &mut Report) {
    let plan = context.plan;
    let written = |row: &Row| row.address.value.display(plan.house.notation).to_string();
    // What names an appliance is told of that.
    let left_over = rows_left_over::told(context);
    for (index, bus) in plan.buses.iter().enumerate() {
        let Some(table) = &bus.table else { continue };
        let on_it = |index: usize, row: &Row| context.survey.uses.of_address(index, row.address.value);
        let meant = |row: &Row| {
            let (rooms, alone) = (&context.survey.misplaced, &context.survey.misplaced_alone);
            let others = if rooms.is_empty() && alone.is_empty() { 0 } else { plan.buses.len() };
            let mut on_wrong_bus = (0..others).flat_map(|other| on_it(other, row));
            on_wrong_bus.any(|used| context.survey.is_meant_for(plan, used, index))
        };
        let used = |row: &&Row| {
            on_it(index, row).next().is_some()
                || meant(row)
                || (!named.is_empty() && named.contains(&*written(row)))
        };
        let of_appliances: FxHashSet<u32> = left_over
            .iter()
            .filter(|(appliance, _)| appliance.bus == index)
            .flat_map(|(_, rows)| rows.iter().copied())
            .collect();
        let unused = (0u32..).zip(&table.rows).filter(|(row, _)| !of_appliances.contains(row));
        // An address that stands in several rows is one.
        let is_first = |row: u32, address| table.by_address.get(address) == Some(row);
        let unused = unused.filter(|(row, listed)| is_first(*row, listed.address.value));
        let unused: Vec<(u32, &Row)> = unused.filter(|(_, row)| !used(row)).collect();
        let Some((_, first)) = unused.first() else { continue };
        let verb = if unused.len() == 1 { "is" } else { "are" };
        let message = format!(
            "{} of {} addresses in the table {verb} used by no appliance",
            unused.len(),
            table.by_address.iter().count()
        );
        let said = Said::new(message, first.address.place, "the first of them")
            .others(unused.iter().skip(1).map(|(_, row)| place(row)))
            .help(help(index, &unused, context));
        report.add(&RULE.card, said);
    }
}

/// The rows by name, as far as there is room for them: those of rooms first, spare ones last.
fn help(bus: usize, unused: &[(u32, &Row)], context: &Context<'_>) -> String {
    let plan = context.plan;
    let rows = unused.iter().map(|(row, _)| *row);
    let first = context.survey.worth_a_look(plan, bus, rows, NAMED);
    let table = plan.table(bus);
    let row = |row: &u32| table?.rows.get(*row as usize);
    let named: Vec<String> =
        first.iter().filter_map(row).map(|row| named_row(row, plan.house.notation)).collect();
    match unused.len() - named.len() {
        0 if named.len() == 1 => format!("it is {}", named.concat()),
        0 => format!("they are {}", named.join(", ")),
        more => {
            format!("they are {} and {more} more; `--format json` has the line of each", named.join(", "))
        }
    }
}

/// Where the address and the name of a row stand.
fn place(row: &Row) -> Place {
    let (address, name) = (row.address.place, row.name.place);
    Place { start: address.start.min(name.start), end: address.end.max(name.end), ..address }
}
