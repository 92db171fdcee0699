//! The numbers of the two sides: their names, units and ranges, and the values of the bus in their order.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "a value is a number, or it has fields, or it does not count"
)]

use super::super::{Range, Value};
use super::measure::{Reach, Span};
use super::spread::{Look, Spread};
use super::{Sense, Shown, Subject};

/// One number of a side.
pub(super) struct Number {
    pub(super) name: String,
    pub(super) unit: String,
    pub(super) sense: Sense,
    whole: Range,
}

impl Number {
    /// The reach of this number, before anything is reached.
    pub(super) fn reach(&self) -> Reach {
        Reach {
            name: self.name.clone(),
            unit: self.unit.clone(),
            sense: self.sense,
            reached: None,
            whole: Span::of(self.whole),
        }
    }

    pub(super) fn of_attribute(shown: &Shown<'_>) -> Self {
        let side = shown.side;
        let ends =
            [0, side.values.count().saturating_sub(1)].map(|end| side.person.see(&side.values.at(end)));
        Self {
            name: side.name.clone(),
            unit: side.person.unit.to_string(),
            sense: side.person.sense,
            whole: Range::of(ends.into_iter().flatten()).unwrap_or(Range { min: 0.0, max: 0.0 }),
        }
    }

    fn of_bus(subject: &Subject<'_>, field: Option<&str>, value: &Value) -> Self {
        let unit = subject.bus.unit(field);
        let same = subject.shown.iter().find(|shown| shown.side.person.unit == unit && !unit.is_empty());
        let sense = match value {
            Value::Bool(_) => Sense::Code,
            _ if unit == "°" => Sense::Hue,
            _ => same.map_or(Sense::Other, |shown| shown.side.person.sense),
        };
        let whole = Range { min: f64::INFINITY, max: f64::NEG_INFINITY };
        Self { name: field.unwrap_or_default().to_owned(), unit, sense, whole }
    }
}

/// The values of the bus that are looked at.
pub(super) struct BusValues {
    /// How many raw numbers were looked at.
    pub(super) raws: u64,
    /// Those that stand for nothing in use.
    pub(super) void: u64,
    /// Those that mean the same number as another.
    pub(super) aliases: u64,
    /// The numbers of a value.
    pub(super) numbers: Vec<Number>,
    /// How many different values there are; of a spread, how many raw numbers.
    pub(super) count: u64,
    values: Values,
}

enum Values {
    /// Single numbers, ascending, each once.
    Singles(Vec<f64>),
    /// Truth values.
    Truths(Vec<bool>),
    /// Raw numbers of structures (and of whatever has no numbers).
    Raws(Vec<u64>),
}

impl Values {
    fn len(&self) -> u64 {
        let len = match self {
            Values::Singles(singles) => singles.len(),
            Values::Truths(truths) => truths.len(),
            Values::Raws(raws) => raws.len(),
        };
        len as u64
    }
}

impl BusValues {
    /// Decodes every raw number that is looked at.
    pub(super) fn of(subject: &Subject<'_>, look: Look) -> Self {
        let spread = Spread::of(1_u128 << subject.bus.bits().clamp(1, 64), look);
        let (mut singles, mut truths, mut raws) = (Vec::new(), Vec::new(), Vec::new());
        let mut numbers: Vec<Number> = Vec::new();
        let mut void = 0;
        for n in 0..spread.len() {
            let raw = u64::try_from(spread.index(n)).unwrap_or(u64::MAX);
            let Some(value) = subject.bus.decode(raw).filter(|value| in_use(subject, value)) else {
                void += 1;
                continue;
            };
            if numbers.is_empty() {
                numbers = names(subject, &value);
            }
            match value {
                Value::Number(number) => singles.push(number),
                Value::Bool(truth) => truths.push(truth),
                value => {
                    widen(&mut numbers, &value);
                    raws.push(raw);
                }
            }
        }
        let meant = singles.len();
        singles.sort_unstable_by(f64::total_cmp);
        singles.dedup();
        for end in singles.first().into_iter().chain(singles.last()) {
            widen(&mut numbers, &Value::Number(*end));
        }
        truths.iter().for_each(|truth| widen(&mut numbers, &Value::Bool(*truth)));
        let aliases = (meant - singles.len()) as u64;
        let values = if !singles.is_empty() {
            Values::Singles(singles)
        } else if !truths.is_empty() {
            Values::Truths(truths)
        } else {
            Values::Raws(raws)
        };
        let raw_count = 1_u64.checked_shl(subject.bus.bits()).unwrap_or(u64::MAX);
        let count = if spread.complete() { values.len() } else { raw_count };
        Self { raws: spread.len(), void, aliases, numbers, count, values }
    }

    /// How many values are looked at.
    pub(super) fn len(&self) -> u64 {
        self.values.len()
    }

    /// The value number `n`.
    pub(super) fn at(&self, subject: &Subject<'_>, n: u64) -> Option<Value> {
        let n = usize::try_from(n).ok()?;
        match &self.values {
            Values::Singles(singles) => singles.get(n).map(|number| Value::Number(*number)),
            Values::Truths(truths) => truths.get(n).map(|truth| Value::Bool(*truth)),
            Values::Raws(raws) => raws.get(n).and_then(|raw| subject.bus.decode(*raw)),
        }
    }
}

fn in_use(subject: &Subject<'_>, value: &Value) -> bool {
    match (value, subject.bus_range) {
        (Value::Number(number), Some(range)) => (range.min..=range.max).contains(number),
        _ => true,
    }
}

fn names(subject: &Subject<'_>, value: &Value) -> Vec<Number> {
    match value {
        Value::Structure(fields) => {
            fields.iter().map(|(name, value)| Number::of_bus(subject, Some(name), value)).collect()
        }
        value => vec![Number::of_bus(subject, None, value)],
    }
}

fn widen(numbers: &mut [Number], value: &Value) {
    let mut values = Vec::with_capacity(numbers.len());
    read(value, &mut values);
    for (number, value) in numbers.iter_mut().zip(values).filter(|(_, value)| !value.is_nan()) {
        number.whole = number.whole.with(value);
    }
}

/// The numbers of a value: one of a number or truth value, of a structure one for each field. What is no number is NaN.
pub(super) fn read(value: &Value, into: &mut Vec<f64>) {
    let number = |value: &Value| match value {
        Value::Number(number) => *number,
        Value::Bool(truth) => f64::from(u8::from(*truth)),
        Value::Null | Value::Text(_) | Value::Structure(_) => f64::NAN,
    };
    into.clear();
    match value {
        Value::Structure(fields) => into.extend(fields.iter().map(|(_, value)| number(value))),
        value => into.push(number(value)),
    }
}
