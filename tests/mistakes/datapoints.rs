//! Datapoint types, flags and rows of the address table.

use super::generate::Random;
use super::plant::{Change, Plant, Role, Site};
use super::reading::{Appliance, Point, Row, Spot, Value};
use super::text::with;

/// A wrong datapoint type of another length for each right one.
const OTHER_LENGTH: [(&str, &str); 12] = [
    ("1.001", "5.001"),
    ("3.007", "5.001"),
    ("5.001", "1.001"),
    ("7.600", "1.001"),
    ("232.600", "5.001"),
    ("1.008", "5.001"),
    ("1.007", "3.008"),
    ("9.001", "5.001"),
    ("20.102", "1.001"),
    ("1.018", "5.010"),
    ("1.019", "9.001"),
    ("1.005", "20.102"),
];
/// A wrong datapoint type of the same length.
const SAME_LENGTH: [(&str, &str); 11] = [
    ("1.001", "1.008"),
    ("3.007", "3.008"),
    ("5.001", "5.010"),
    ("7.600", "7.013"),
    ("1.008", "1.024"),
    ("1.007", "1.024"),
    ("9.001", "9.004"),
    ("20.102", "20.105"),
    ("1.018", "1.024"),
    ("1.019", "1.024"),
    ("1.005", "1.024"),
];

/// A datapoint type as a table may write it, as plain `1.001`.
fn plain(cell: &str) -> String {
    if let Some((main, sub)) = cell.strip_prefix("DPST-").and_then(|rest| rest.split_once('-')) {
        return format!("{main}.{sub:0>3}");
    }
    cell.trim_start_matches("DPT ").to_owned()
}

/// A datapoint type written as this cell is.
fn styled(cell: &str, dpt: &str) -> String {
    match dpt.split_once('.') {
        Some((main, sub)) if cell.starts_with("DPST-") => {
            format!("DPST-{main}-{}", sub.trim_start_matches('0'))
        }
        _ if cell.starts_with("DPT ") => format!("DPT {dpt}"),
        _ => dpt.to_owned(),
    }
}

/// An address of an appliance that has a row, with the role it plays.
fn rows<'a>(site: &Site<'a>, appliance: &'a Appliance) -> Vec<(&'a Value, &'a Row, Role, &'a Point)> {
    let ends = appliance.points.iter().flat_map(|point| {
        [Role::Command, Role::Feedback]
            .into_iter()
            .filter_map(move |role| Some((point.address(role)?, role, point)))
    });
    ends.filter_map(|(value, role, point)| {
        Some((value, site.house.row(appliance, &value.text)?, role, point))
    })
    .collect()
}

fn retyped(site: &mut Site<'_>, random: &mut Random, types: &[(&str, &str)]) -> Option<Plant> {
    for _ in 0..20 {
        let (_, appliance) = site.pick(random, |_, _| true)?;
        let found = rows(site, appliance);
        let (value, row, ..) = random.pick(&found)?;
        let right = plain(&row.dpt.text);
        if let Some((_, wrong)) = types.iter().find(|(of, _)| *of == right) {
            let plant = Plant::replacing(&row.dpt, styled(&row.dpt.text, wrong)).or_at(&value.spot);
            return Some(plant.right(row.dpt.text.as_str()).right(right));
        }
    }
    None
}

/// The table gives a type of another length.
pub(crate) fn other_length(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    retyped(site, random, &OTHER_LENGTH)
}

/// The table gives a type of the same length and another meaning.
pub(crate) fn same_length(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    retyped(site, random, &SAME_LENGTH)
}

/// The description gives another type than the table.
pub(crate) fn overridden(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, appliance| {
        appliance.points.iter().any(|point| matches!(point.name.text.as_str(), "brightness" | "position"))
    })?;
    let points = appliance.points.iter();
    let point = points.clone().find(|point| matches!(point.name.text.as_str(), "brightness" | "position"))?;
    let row = site.row(appliance, &point.command.as_ref()?.text)?;
    let change = with(appliance.file, site.house.text(appliance.file), &point.entry.value, "dpt: 5.010")?;
    let ends = [&point.command, &point.feedback].into_iter().flatten();
    let mut plant = Plant::default().or_at(&point.name.spot).or_at(&row.dpt.spot);
    for end in ends {
        plant = plant.or_at(&end.spot);
    }
    plant.changes.push(change);
    Some(plant.right(row.dpt.text.as_str()).right("5.001"))
}

/// A table row without a flag that the role needs.
fn unflagged(site: &mut Site<'_>, random: &mut Random, role: Role, flag: char) -> Option<Plant> {
    let (_, appliance) =
        site.pick(random, |_, appliance| appliance.points.iter().any(|point| point.address(role).is_some()))?;
    let mut found = rows(site, appliance);
    found.retain(|(_, row, own, _)| *own == role && row.flags.text.contains(flag));
    let (value, row, ..) = random.pick(&found)?;
    let without = if row.flags.text.contains('-') { "-" } else { "" };
    let flags = row.flags.text.replace(flag, without);
    Some(Plant::replacing(&row.flags, flags).or_at(&value.spot).right(row.flags.text.as_str()).right(flag))
}

/// A status that does not answer when it is read.
pub(crate) fn unreadable(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    unflagged(site, random, Role::Feedback, 'R')
}

/// A status that does not report by itself.
pub(crate) fn silent(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    unflagged(site, random, Role::Feedback, 'T')
}

/// A command that cannot be written.
pub(crate) fn unwritable(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    unflagged(site, random, Role::Command, 'W')
}

/// A row that is used is not there.
pub(crate) fn missing_row(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    let found = rows(site, appliance);
    let (value, row, ..) = random.pick(&found)?;
    Some(Plant::default().and(&row.line, "").or_at(&value.spot))
}

/// A row stands twice, under two names.
pub(crate) fn double_row(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    let found = rows(site, appliance);
    let (_, row, ..) = random.pick(&found)?;
    let line = site.house.text(row.line.file).get(row.line.bytes.clone())?;
    let again = line.replace(&row.name.text, &format!("{} copy", row.name.text));
    let (file, end) = (row.line.file, row.line.bytes.end);
    let change = Change { spot: Spot { file, bytes: end..end }, text: again };
    let mut plant = Plant::default().or_at(&row.address.spot);
    plant.changes.push(change);
    Some(plant)
}

/// The address in a row is mistyped, so that the description's is not in the table.
pub(crate) fn mistyped_row(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    let found = rows(site, appliance);
    let (value, row, ..) = random.pick(&found)?;
    let table = site.house.tables.get(&appliance.bus)?;
    let (rest, _) = row.address.text.rsplit_once('/')?;
    let free: Vec<String> = (1..256)
        .map(|sub| format!("{rest}/{sub}"))
        .filter(|text| table.row(text).is_none() && text.len() == row.address.text.len())
        .collect();
    let wrong = random.pick(&free)?;
    Some(Plant::replacing(&row.address, wrong.as_str()).or_at(&value.spot).right(row.address.text.as_str()))
}

/// The names of two rows of different rooms exchanged.
pub(crate) fn swapped_row_names(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, one) = site.pick(random, |_, _| true)?;
    let (_, other) = site.pick(random, |_, other| {
        other.room != one.room && other.bus == one.bus && other.class.text == one.class.text
    })?;
    let (mine, theirs) = (rows(site, one), rows(site, other));
    let ((left_value, left, ..), (right_value, right, ..)) = (mine.first()?, theirs.first()?);
    Some(Plant::default().and_swap(&left.name, &right.name).or_at(&left_value.spot).or_at(&right_value.spot))
}
