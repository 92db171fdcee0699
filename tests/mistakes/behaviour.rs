//! Missing status, limits, directions, bridges and safety.

use super::generate::Random;
use super::plant::{Plant, Site};
use super::reading::{Appliance, Spot, Value};
use super::text::{with, without};
use super::tree::Node;

/// Names of the two settings of a thermostat's limits, lower one first.
const SETPOINT_LIMITS: [&str; 2] = ["lowest-setpoint", "highest-setpoint"];

/// Where a finding on an appliance as a whole may point.
fn head(plant: Plant, appliance: &Appliance) -> Plant {
    let points = appliance.node.entry("points").map(|entry| entry.key.bytes.clone());
    let plant = plant.or_at(&appliance.key.spot).or_at(&appliance.name.spot).or_at(&appliance.class.spot);
    match points {
        Some(bytes) => plant.or_at(&Spot { file: appliance.file, bytes }),
        None => plant,
    }
}

/// A point without its status.
pub(crate) fn missing_feedback(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    const REPORTING: [&str; 8] =
        ["switching", "brightness", "colour-temperature", "colour", "position", "slat", "setpoint", "mode"];
    let rooms = &site.house.rooms;
    let (appliance, point) = site.pick_some(random, |appliance| {
        let silenced = appliance.node.get("allow").is_some()
            || rooms.get(appliance.room).is_some_and(|room| room.allows);
        let points = appliance.points.iter().filter(|_| !silenced);
        points
            .filter(|point| point.command.is_some() && point.feedback.is_some())
            .filter(|point| REPORTING.contains(&point.name.text.as_str()))
            .collect()
    })?;
    let text = site.house.text(appliance.file);
    let mut plant = Plant::default().or_at(&point.name.spot).right(point.feedback.as_ref()?.text.as_str());
    plant.changes.push(without(appliance.file, text, &point.entry.value, "feedback")?);
    Some(plant.or_at(&point.command.as_ref()?.spot))
}

/// More appliances than the gateway carries.
pub(crate) fn over_capacity(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let bridge = random.pick(&site.house.bridges)?;
    let less = bridge.appliances / 2;
    if site.bridge_taken || less == 0 {
        return None;
    }
    site.bridge_taken = true;
    Some(Plant::replacing(&bridge.capacity, less.to_string()))
}

/// Nobody has confirmed the safety device.
pub(crate) fn unconfirmed(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    const CAUTIOUS: [&str; 3] = ["roller-shutter", "venetian-blind", "room-thermostat"];
    let (_, appliance) = site.pick(random, |_, appliance| {
        CAUTIOUS.contains(&appliance.class.text.as_str()) && appliance.node.get("confirmed").is_some()
    })?;
    let mut plant = head(Plant::default(), appliance).right("confirmed");
    let text = site.house.text(appliance.file);
    plant.changes.push(without(appliance.file, text, &appliance.node, "confirmed")?);
    Some(plant)
}

/// Warmest and coldest colour temperature exchanged.
pub(crate) fn kelvin_reversed(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, appliance| {
        appliance.class.text == "tunable-white-light"
            && appliance.node.get("settings").is_some_and(|settings| settings.entries().len() == 2)
    })?;
    let settings = appliance.node.get("settings")?;
    let value = |node: &Node| {
        let spot = Spot { file: appliance.file, bytes: node.bytes.clone() };
        Some(Value { text: node.text()?.to_owned(), spot })
    };
    let [one, other] = settings.entries() else { return None };
    let plant = Plant::default().and_swap(&value(&one.value)?, &value(&other.value)?);
    let bytes = appliance.node.entry("settings")?.key.bytes.clone();
    Some(plant.or_at(&Spot { file: appliance.file, bytes }))
}

/// The lower limit of a setpoint above the upper one.
pub(crate) fn setpoint_limits(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, appliance| {
        appliance.class.text == "room-thermostat" && appliance.node.get("settings").is_none()
    })?;
    let [lower, upper] = SETPOINT_LIMITS;
    let text = site.house.text(appliance.file);
    added(appliance, &appliance.node, text, &format!("settings: {{ {lower}: 28, {upper}: 16 }}"))
}

/// A range of which the ends are exchanged.
pub(crate) fn range_reversed(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, point) = site.pick_some(random, |appliance| {
        let points = appliance.points.iter();
        points.filter(|point| matches!(point.name.text.as_str(), "brightness" | "position")).collect()
    })?;
    let text = site.house.text(appliance.file);
    let plant = added(appliance, &point.entry.value, text, "range: [100, 0]")?;
    Some(plant.or_at(&point.name.spot))
}

/// A range beyond what the datapoint type can say.
pub(crate) fn range_beyond(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, point) = site.pick_some(random, |appliance| {
        let points = appliance.points.iter();
        points.filter(|point| matches!(point.name.text.as_str(), "brightness" | "position")).collect()
    })?;
    let text = site.house.text(appliance.file);
    let plant = added(appliance, &point.entry.value, text, "range: [0, 255]")?;
    Some(plant.or_at(&point.name.spot))
}

/// The setpoint is described as a shift of one.
pub(crate) fn shift_for_setpoint(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, point) =
        site.pick_some(random, |appliance| appliance.point("setpoint").into_iter().collect())?;
    let mut plant = head(Plant::replacing(&point.name, "setpoint-shift"), appliance).right("setpoint");
    for end in [&point.command, &point.feedback].into_iter().flatten() {
        plant = plant.or_at(&end.spot);
    }
    Some(plant)
}

/// A mapping with one more entry; a finding may point at its line or at the appliance.
fn added(appliance: &Appliance, mapping: &Node, text: &str, entry: &str) -> Option<Plant> {
    let change = with(appliance.file, text, mapping, entry)?;
    let mut plant = head(Plant::default(), appliance);
    plant.changes.push(change);
    Some(plant)
}
