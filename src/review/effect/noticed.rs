//! Which of two results people tell apart.

use crate::bridge::definition::Direction;
use crate::convert::attribute::person;
use crate::convert::proof::Person;
use crate::convert::{Chain, Value};
use crate::knx::Dpt;
use crate::matter;

/// Where results come out, and so who tells them apart.
pub(super) enum Place {
    /// On the bus, as a type.
    Bus(&'static Dpt),
    /// In an attribute.
    State(Person),
    /// In an event.
    Event,
}

impl Place {
    /// Where the results of a link come out.
    pub(super) fn of(direction: Direction, (cluster, end): (&str, &str), dpt: &'static Dpt) -> Self {
        let facts = matter::cluster(cluster).and_then(|cluster| Some((cluster, cluster.attribute(end)?)));
        match (direction, facts) {
            (Direction::ToBus, _) => Self::Bus(dpt),
            (Direction::FromBus, Some((cluster, attribute))) => Self::State(person(cluster, attribute)),
            (Direction::FromBus, None) => Self::Event,
        }
    }

    /// Whether people tell two results apart.
    pub(super) fn tells_apart(&self, before: &Value, after: &Value) -> bool {
        match self {
            Self::Bus(dpt) => on_bus(dpt, before, after),
            Self::State(person) => shown(person, before, after),
            Self::Event => before != after,
        }
    }
}

/// Whether people see another state.
fn shown(person: &Person, before: &Value, after: &Value) -> bool {
    match (seen(&person.steps, before), seen(&person.steps, after)) {
        (Some(before), Some(after)) => person.sense.tells_apart(before, after),
        _ => before != after,
    }
}

fn seen(steps: &Chain, value: &Value) -> Option<f64> {
    match value {
        Value::Bool(_) | Value::Null | Value::Text(_) => None,
        Value::Number(_) | Value::Structure(_) => steps.run(value, &()).ok()?.number(),
    }
}

/// Whether the bus gets something else: of what has a unit more than a hundredth and more than a step of its type, of all
/// else any difference.
fn on_bus(dpt: &Dpt, before: &Value, after: &Value) -> bool {
    match (before, after) {
        (Value::Structure(before), Value::Structure(after)) => before.iter().any(|(name, before)| {
            let unit = dpt.value_fields().find(|field| field.name == name);
            let (unit, step) = unit.map_or(("", 0.0), |field| (field.unit, field.scale.step()));
            after.get(name).is_none_or(|after| differ((unit, step), before, after))
        }),
        _ => differ((dpt.unit(), dpt.resolution().unwrap_or(0.0)), before, after),
    }
}

fn differ((unit, step): (&str, f64), before: &Value, after: &Value) -> bool {
    match (before, after) {
        (Value::Number(before), Value::Number(after)) if !unit.is_empty() => {
            let apart = (before - after).abs();
            apart > 1.01 * step && apart > before.abs().max(after.abs()) / 100.0
        }
        _ => before != after,
    }
}
