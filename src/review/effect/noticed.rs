//! Which of two results people tell apart.

use crate::bridge::definition::Direction;
use crate::convert::attribute::person;
use crate::convert::proof::Person;
use crate::convert::{Chain, Value};
use crate::knx::Dpt;
use crate::matter;

/// Where results come out, and so who tells them apart.
pub(super) enum Place {
    /// On the bus, as a type, in steps that nobody tells apart.
    Bus(&'static Dpt, f64),
    /// In an attribute.
    State(Person),
    /// In an event.
    Event,
}

impl Place {
    /// Where the results of a link come out.
    pub(super) fn of(
        direction: Direction,
        (cluster, end): (&str, &str),
        (dpt, step): (&'static Dpt, f64),
    ) -> Self {
        let facts = matter::cluster(cluster).and_then(|cluster| Some((cluster, cluster.attribute(end)?)));
        match (direction, facts) {
            (Direction::ToBus, _) => Self::Bus(dpt, step),
            (Direction::FromBus, Some((cluster, attribute))) => Self::State(person(cluster, attribute)),
            (Direction::FromBus, None) => Self::Event,
        }
    }

    /// Whether people tell two results apart.
    pub(super) fn tells_apart(&self, before: &Value, after: &Value) -> bool {
        match self {
            Self::Bus(dpt, step) => on_bus((dpt, *step), before, after),
            Self::State(person) => shown(person, before, after),
            Self::Event => before != after,
        }
    }

    /// Whether what rose falls, or what was false is true and the other way round.
    pub(super) fn is_turned_round<'v>(&self, results: impl Iterator<Item = (&'v Value, &'v Value)>) -> bool {
        let number = |value: &Value| match (self, value) {
            (Self::State(person), _) => seen(&person.steps, value).or_else(|| amount(value)),
            (Self::Bus(..) | Self::Event, _) => amount(value),
        };
        let mut least: Option<(f64, f64)> = None;
        let mut most = least;
        for (before, after) in results {
            let Some(pair) = number(before).zip(number(after)) else { continue };
            least = Some(least.filter(|least| least.0 <= pair.0).unwrap_or(pair));
            most = Some(most.filter(|most| most.0 >= pair.0).unwrap_or(pair));
        }
        least.zip(most).is_some_and(|(least, most)| least.0 < most.0 && least.1 > most.1)
    }

    /// The results that matter most of those that differ: a state that is now said to be secure, and was not.
    pub(super) fn is_worse(&self, before: &Value, after: &Value) -> bool {
        matches!(self, Self::State(_)) && is_secure(after) && !is_secure(before)
    }
}

/// The field of a closure's state that says whether nobody can come in.
const SECURE: &str = "SecureState";

fn is_secure(state: &Value) -> bool {
    match state {
        Value::Structure(fields) => fields.get(SECURE) == Some(&Value::Bool(true)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::Text(_) => false,
    }
}

/// A result as a number; of a truth 0 or 1.
fn amount(value: &Value) -> Option<f64> {
    match value {
        Value::Bool(truth) => Some(f64::from(u8::from(*truth))),
        Value::Number(number) => Some(*number),
        Value::Null | Value::Text(_) | Value::Structure(_) => None,
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
fn on_bus((dpt, step): (&Dpt, f64), before: &Value, after: &Value) -> bool {
    match (before, after) {
        (Value::Structure(before), Value::Structure(after)) => before.iter().any(|(name, before)| {
            let unit = dpt.value_fields().find(|field| field.name == name);
            let (unit, step) = unit.map_or(("", 0.0), |field| (field.unit, field.scale.step()));
            after.get(name).is_none_or(|after| differ((unit, step), before, after))
        }),
        _ => differ((dpt.unit(), step), before, after),
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
