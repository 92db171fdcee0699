//! An address with two rows in a table.

use crate::findings::Severity;
use crate::resolve::plan::{AddressTable, Appliance, Role, Row, Wire};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::sort;
use rustc_hash::FxHashMap;
use std::cell::OnceCell;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-twice",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[
            (Severity::Note, "where both rows have the same name"),
            (Severity::Error, "where the table lacks an address in use, which one of the two is for"),
        ],
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
    let missing = OnceCell::new();
    for (index, bus) in plan.buses.iter().enumerate() {
        let Some(table) = &bus.table else { continue };
        let pairs: Vec<(&Row, &Row)> = twice(table).collect();
        let swallowed = match pairs.as_slice() {
            [(first, row)] if first.name.value != row.name.value => {
                let missing = missing.get_or_init(|| missing_alone(context));
                missing.get(&index).copied().flatten().and_then(|missing| swallowed(missing, first, context))
            }
            _ => None,
        };
        let (copies, pairs): (Vec<_>, Vec<_>) =
            pairs.into_iter().partition(|(first, row)| is_copy(first, row));
        tell_copies(&copies, context, report);
        let (objects, mut pairs): (Vec<_>, Vec<_>) =
            pairs.into_iter().partition(|(first, row)| is_of_one_group(first, row));
        if objects.len() > TOLD_ALONE {
            tell_objects(&objects, report);
        } else {
            pairs.extend(objects);
            sort::by_key(&mut pairs, |(_, row)| row.address.place.start);
        }
        let (told, more) = pairs.split_at_checked(TOLD).unwrap_or((&pairs, &[]));
        tell_more(more, report);
        for (first, row) in told {
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

/// Whether two rows say the same in all their cells.
fn is_copy(first: &Row, row: &Row) -> bool {
    let words =
        |row: &Row| [&row.room, &row.description].map(|text| text.as_ref().map(|text| text.value.clone()));
    let types = |row: &Row| (row.dpt.map(|dpt| dpt.value), row.flags.map(|flags| flags.value));
    first.name.value == row.name.value && types(first) == types(row) && words(first) == words(row)
}

/// Whether two rows may be of objects that take part in one group: they have its name, and no other type.
fn is_of_one_group(first: &Row, row: &Row) -> bool {
    let types = first.dpt.as_ref().zip(row.dpt.as_ref());
    first.name.value == row.name.value && types.is_none_or(|(one, other)| one.value == other.value)
}

fn tell_objects(rows: &[(&Row, &Row)], report: &mut Report) {
    let Some((first, row)) = rows.first() else { return };
    let message =
        format!("{} rows of the address table have the address and the name of a row before", rows.len());
    let said = Said::new(message, row.address.place, "the first of them")
        .with(first.address.place, "this row counts")
        .on_site(
            "Nothing, if each row is of another object on the bus: their flags count together, and of all else the first \
             row.",
        )
        .help("export the group addresses and not the objects, or take out the rows that are not right");
    report.add(&RULE.card, said.weighing(Severity::Note));
}

/// Rows that contradict others are told up to here, and how many more there are.
const TOLD: usize = 999;

fn tell_more(more: &[(&Row, &Row)], report: &mut Report) {
    let Some((first, row)) = more.first() else { return };
    let message =
        format!("{} more rows of the address table have an address that a row before has", more.len());
    let said =
        Said::new(message, row.address.place, "the next one").with(first.address.place, "this row counts");
    report.add(
        &RULE.card,
        said.help("find out why the table has so many addresses twice, and write it out anew"),
    );
}

/// So many rows that stand there twice are told one by one; more of them have one cause.
const TOLD_ALONE: usize = 3;

fn tell_copies(copies: &[(&Row, &Row)], context: &Context<'_>, report: &mut Report) {
    let told = if copies.len() > TOLD_ALONE { 1 } else { copies.len() };
    for (first, row) in copies.iter().take(told) {
        let written = row.address.value.display(context.plan.house.notation);
        let (message, label, help) = if told < copies.len() {
            let message = format!("{} rows of the address table stand in it twice", copies.len());
            (message, "the first of them again", "take out the ones that say nothing new")
        } else {
            (
                format!("the row of `{written}` stands in the address table twice"),
                "again here",
                "take one of them out",
            )
        };
        let said = Said::new(message, row.address.place, label)
            .with(first.address.place, "this row counts")
            .on_site("Nothing: the rows say the same.");
        report.add(&RULE.card, said.help(help).weighing(Severity::Note));
    }
}

/// Each row whose address another one has before it, with that one.
fn twice(table: &AddressTable) -> impl Iterator<Item = (&Row, &Row)> {
    table.rows.iter().zip(0u32..).filter_map(|(row, index)| {
        let first = table.by_address.get(row.address.value).filter(|first| *first != index)?;
        Some((table.rows.get(first as usize)?, row))
    })
}

/// An address in use that its table does not have.
type Missing<'a> = (&'a Appliance, (u16, Role), &'a Wire);

/// For each bus whose table lacks an address in use, that address; none where it lacks several.
fn missing_alone<'a>(context: &Context<'a>) -> FxHashMap<usize, Option<Missing<'a>>> {
    let mut found: FxHashMap<usize, Option<Missing<'a>>> = FxHashMap::default();
    for appliance in &context.plan.appliances {
        let table = context.plan.table(appliance.bus);
        let Some(table) = table else { continue };
        for point in &appliance.points {
            for (role, wire) in point.wires().filter(|(_, wire)| table.row(wire.address.value).is_none()) {
                let missing = Some((appliance, (point.spec, role), wire));
                found.entry(appliance.bus).and_modify(|known| *known = None).or_insert(missing);
            }
        }
    }
    found
}

/// The one address that a table lacks: very probably one of two rows of the same address is for it.
fn swallowed<'a>(
    (appliance, end, wire): Missing<'a>,
    double: &Row,
    context: &Context<'_>,
) -> Option<(&'a Appliance, &'a Wire)> {
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
