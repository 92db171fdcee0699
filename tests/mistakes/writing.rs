//! What is written wrong: keys, classes, points, names of rules.

use super::generate::Random;
use super::plant::{Change, Plant, Site};
use super::reading::{Appliance, Spot, Value};
use super::text::{mistyped, with, without};
use super::tree::{Flow, Kind};

/// Where a finding on an appliance as a whole may point.
fn anywhere(mut plant: Plant, appliance: &Appliance) -> Plant {
    for entry in appliance.node.entries() {
        plant = plant.or_at(&Spot { file: appliance.file, bytes: entry.key.bytes.clone() });
    }
    for point in &appliance.points {
        plant = plant.or_at(&point.name.spot);
    }
    plant.or_at(&appliance.key.spot)
}

fn misspelt(value: &Value, random: &mut Random) -> Option<Plant> {
    let variants = mistyped(&value.text);
    Some(Plant::replacing(value, random.pick(&variants)?.as_str()).right(value.text.as_str()))
}

/// A point's name misspelt.
pub(crate) fn point_name(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, value) =
        site.pick_some(random, |appliance| appliance.points.iter().map(|point| &point.name).collect())?;
    let _ = appliance;
    misspelt(value, random)
}

/// A class misspelt.
pub(crate) fn class_name(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    misspelt(&appliance.class, random)
}

/// A key of an appliance misspelt.
pub(crate) fn appliance_key(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, key) = site
        .pick_some(random, |appliance| appliance.node.entries().iter().map(|entry| &entry.key).collect())?;
    let spot = Spot { file: appliance.file, bytes: key.bytes.clone() };
    misspelt(&Value { text: key.text()?.to_owned(), spot }, random)
}

/// A key of a point misspelt.
pub(crate) fn end_key(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, key) = site.pick_some(random, |appliance| {
        let entries = appliance.points.iter().flat_map(|point| point.entry.value.entries());
        entries.map(|entry| &entry.key).collect()
    })?;
    let spot = Spot { file: appliance.file, bytes: key.bytes.clone() };
    misspelt(&Value { text: key.text()?.to_owned(), spot }, random)
}

/// The point without which the class makes no sense.
fn needed(appliance: &Appliance) -> Option<&'static str> {
    let point = match appliance.class.text.as_str() {
        "dimmable-light" => "brightness",
        "tunable-white-light" => "colour-temperature",
        "colour-light" => "colour",
        "room-thermostat" => "setpoint",
        _ => return None,
    };
    appliance.point(point).map(|_| point)
}

/// A required point left out.
pub(crate) fn missing_point(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, appliance| needed(appliance).is_some())?;
    let (name, points) = (needed(appliance)?, appliance.node.get("points")?);
    let change = without(appliance.file, site.house.text(appliance.file), points, name)?;
    let mut plant = anywhere(Plant::default(), appliance).right(name);
    plant.changes.push(change);
    Some(plant)
}

/// A class that is too small for the points.
pub(crate) fn small_class(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let smaller = |appliance: &Appliance| match appliance.class.text.as_str() {
        "dimmable-light" => Some("on-off-light"),
        "tunable-white-light" | "colour-light" => Some("dimmable-light"),
        "venetian-blind" => Some("roller-shutter"),
        _ => None,
    };
    let (_, appliance) = site.pick(random, |_, appliance| smaller(appliance).is_some())?;
    let plant =
        Plant::default().and(&appliance.class.spot, smaller(appliance)?).right(appliance.class.text.as_str());
    Some(anywhere(plant, appliance))
}

/// A key given to two appliances of different rooms.
pub(crate) fn double_key(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, one) = site.pick(random, |_, _| true)?;
    let (_, other) = site.pick(random, |_, other| other.room != one.room)?;
    Some(Plant::replacing(&one.key, other.key.text.as_str()).or_at(&other.key.spot))
}

/// A rule is silenced that finds nothing there.
pub(crate) fn idle_allow(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let complete = |appliance: &Appliance| {
        let ends = |name| appliance.point(name).is_none_or(|point| point.feedback.is_some());
        appliance.node.get("allow").is_none()
            && ["switching", "brightness", "position", "mode"].into_iter().all(ends)
    };
    let rooms = &site.house.rooms;
    let (_, appliance) = site.pick(random, |_, appliance| {
        complete(appliance) && rooms.get(appliance.room).is_some_and(|room| !room.allows)
    })?;
    let entry = "allow: { missing-feedback: the relay is old }";
    let change = with(appliance.file, site.house.text(appliance.file), &appliance.node, entry)?;
    let mut plant = anywhere(Plant::default(), appliance);
    plant.changes.push(change);
    Some(plant)
}

/// An unknown rule is silenced.
pub(crate) fn unknown_rule(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, appliance| appliance.node.get("allow").is_some())?;
    let key = &appliance.node.get("allow")?.entries().first()?.key;
    let spot = Spot { file: appliance.file, bytes: key.bytes.clone() };
    misspelt(&Value { text: key.text()?.to_owned(), spot }, random)
}

/// A tab where spaces indent.
pub(crate) fn tab(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) =
        site.pick(random, |_, appliance| matches!(appliance.node.kind, Kind::Mapping(_, Flow::Lines)))?;
    let text = site.house.text(appliance.file);
    let start = text.get(..appliance.class.spot.bytes.start)?.rfind('\n').map_or(0, |end| end + 1);
    let indent = text.get(start..)?.chars().take_while(|letter| *letter == ' ').count();
    let spot = Spot { file: appliance.file, bytes: start..start + indent };
    Some(Plant::default().and(&spot, "\t").or_at(&appliance.class.spot))
}

/// A key that stands twice in an appliance.
pub(crate) fn repeated_entry(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    let text = site.house.text(appliance.file);
    let change: Change =
        with(appliance.file, text, &appliance.node, &format!("class: {}", appliance.class.text))?;
    let mut plant = anywhere(Plant::default(), appliance);
    plant.changes.push(change);
    Some(plant)
}
