//! Runs both ways on every value and gathers what comes out.

use super::super::run::Cut;
use super::super::{Range, Value};
use super::measure::{ErrorSum, Reach, RoundTrip, Span, Tally};
use super::spread::{Spread, mix};
use super::subject::Standing;
use super::tally::{Arrival, Gathered};
use super::{Sense, Subject};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// What a conversion loses.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Proof {
    /// The datapoint type.
    pub bus: String,
    /// The attributes.
    pub attributes: Vec<String>,
    /// What the installation uses of the bus's range, in the bus's unit, if it said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bus_range: Option<Span>,
    /// From the bus to the attributes; none where the bus reports nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_bus: Option<Tally>,
    /// From the attributes to the bus; none where nothing is written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_bus: Option<Tally>,
    /// How far bus values are from themselves after being shown and written back.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bus_and_back: Vec<RoundTrip>,
    /// How far attribute values are from themselves after being written and shown again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub attribute_and_back: Vec<RoundTrip>,
}

/// Values handled in one go by one thread; fixed, so that sums come out the same on every machine.
const STRETCH: u64 = 16_384;

/// Proves a conversion: runs it both ways on every value, or a spread of more than a million.
///
/// A side without numbers (text, lists) gives a proof in which everything is void or refused.
#[must_use]
pub fn prove(subject: &Subject<'_>) -> Proof {
    let walk = Walk::new(subject);
    let (from_bus, bus_and_back) = walk.from_bus();
    let (to_bus, attribute_and_back) = walk.to_bus();
    Proof {
        bus: subject.bus.name(),
        attributes: subject.shown.iter().map(|shown| shown.side.name.clone()).collect(),
        bus_range: subject.bus_range.map(Span::of),
        from_bus,
        to_bus,
        bus_and_back,
        attribute_and_back,
    }
}

/// One number of a side.
struct Number {
    name: String,
    unit: String,
    sense: Sense,
    whole: Range,
}

struct Walk<'a> {
    subject: &'a Subject<'a>,
    bus: Spread,
    attributes: Spread,
    bus_numbers: Vec<Number>,
    bus_values: u64,
    attribute_numbers: Vec<Number>,
    shows: bool,
}

impl<'a> Walk<'a> {
    fn new(subject: &'a Subject<'a>) -> Self {
        let bus = Spread::of(1_u128 << subject.bus.bits().clamp(1, 64));
        let counts = subject.shown.iter().map(|shown| u128::from(shown.side.values.count()));
        let attributes = Spread::of(counts.fold(1, u128::saturating_mul));
        let attribute_numbers = subject.shown.iter().map(attribute_number).collect();
        let shows = !subject.shown.is_empty() && subject.shown.iter().all(|shown| shown.from_bus.is_some());
        let mut walk = Self {
            subject,
            bus,
            attributes,
            bus_numbers: Vec::new(),
            bus_values: 0,
            attribute_numbers,
            shows,
        };
        walk.survey_bus();
        walk
    }

    /// Which numbers a bus value has, from where to where, and how many different values there are.
    fn survey_bus(&mut self) {
        let mut singles = Vec::new();
        let mut structures = 0;
        for n in 0..self.bus.len() {
            let Some((_, value)) = self.bus_value(n) else { continue };
            if self.bus_numbers.is_empty() {
                self.bus_numbers = self.numbers_of(&value);
            }
            match numbers(&value).as_slice() {
                [single] => singles.push(*single),
                several => {
                    structures += 1;
                    widen(&mut self.bus_numbers, several);
                }
            }
        }
        singles.sort_unstable_by(f64::total_cmp);
        singles.dedup();
        if let (Some(first), Some(last)) = (singles.first(), singles.last()) {
            widen(&mut self.bus_numbers, &[*first]);
            widen(&mut self.bus_numbers, &[*last]);
        }
        self.bus_values = structures + singles.len() as u64;
    }

    fn numbers_of(&self, value: &Value) -> Vec<Number> {
        let number = |name: &str, field: Option<&str>, value: &Value| {
            let unit = self.subject.bus.unit(field);
            let like = |shown: &super::Shown<'_>| shown.side.person.unit == unit && !unit.is_empty();
            let known =
                self.subject.shown.iter().find(|shown| like(shown)).map(|shown| shown.side.person.sense);
            let sense = match value {
                Value::Bool(_) => Sense::Code,
                _ if unit == "°" => Sense::Hue,
                _ => known.unwrap_or(Sense::Other),
            };
            Number {
                name: name.to_owned(),
                unit,
                sense,
                whole: Range { min: f64::INFINITY, max: f64::NEG_INFINITY },
            }
        };
        match value {
            Value::Structure(fields) => {
                fields.iter().map(|(name, value)| number(name, Some(name), value)).collect()
            }
            value => vec![number("", None, value)],
        }
    }

    /// The bus value number `n`, if its raw number stands for one that is in use.
    fn bus_value(&self, n: u64) -> Option<(u64, Value)> {
        let raw = u64::try_from(self.bus.index(n)).ok()?;
        let value = self.subject.bus.decode(raw)?;
        let used = match (&value, self.subject.bus_range) {
            (Value::Number(number), Some(range)) => (range.min..=range.max).contains(number),
            _ => true,
        };
        used.then_some((raw, value))
    }

    /// The attribute values number `n`.
    fn attribute_values(&self, n: u64, values: &mut Vec<Value>) {
        values.clear();
        let mut index = self.attributes.index(n);
        for shown in self.subject.shown.iter().rev() {
            let count = u128::from(shown.side.values.count().max(1));
            values.push(shown.side.values.at(u64::try_from(index % count).unwrap_or_default()));
            index /= count;
        }
        values.reverse();
    }

    fn from_bus(&self) -> (Option<Tally>, Vec<RoundTrip>) {
        if !self.shows {
            return (None, Vec::new());
        }
        let senses = self.bus_numbers.iter().map(|number| number.sense).collect::<Vec<_>>();
        let (gathered, errors) =
            self.stretches(self.bus, &senses, |n, out, errors| self.show(n, out, errors));
        let of = self.attributes_count();
        let tally =
            gathered.finish(self.bus_count(), of, single(&self.bus_numbers), reach(&self.attribute_numbers));
        (Some(tally), round_trips(errors, &self.bus_numbers, self.subject.to_bus.is_some()))
    }

    fn to_bus(&self) -> (Option<Tally>, Vec<RoundTrip>) {
        if self.subject.to_bus.is_none() {
            return (None, Vec::new());
        }
        let senses = self.attribute_numbers.iter().map(|number| number.sense).collect::<Vec<_>>();
        let (gathered, errors) =
            self.stretches(self.attributes, &senses, |n, out, errors| self.write(n, out, errors));
        let own = single(&self.attribute_numbers);
        let tally = gathered.finish(self.attributes_count(), self.bus_values, own, reach(&self.bus_numbers));
        (Some(tally), round_trips(errors, &self.attribute_numbers, self.shows))
    }

    fn bus_count(&self) -> u64 {
        1_u64.checked_shl(self.subject.bus.bits()).unwrap_or(u64::MAX)
    }

    fn attributes_count(&self) -> u64 {
        self.subject
            .shown
            .iter()
            .fold(1, |product: u64, shown| product.saturating_mul(shown.side.values.count()))
    }

    /// Looks at all values of a side in stretches, and joins what they give in their order.
    fn stretches(
        &self,
        side: Spread,
        senses: &[Sense],
        look: impl Fn(u64, &mut Gathered, &mut [ErrorSum]) + Sync,
    ) -> (Gathered, Vec<ErrorSum>) {
        let sums = || senses.iter().map(|sense| ErrorSum::new(*sense)).collect::<Vec<_>>();
        let stretch = |start: u64| {
            let end = (start + STRETCH).min(side.len());
            let mut gathered = Gathered::with_room(usize::try_from(end - start).unwrap_or_default());
            let mut errors = sums();
            for n in start..end {
                look(n, &mut gathered, &mut errors);
            }
            (gathered, errors)
        };
        let starts: Vec<u64> = (0..side.len().div_ceil(STRETCH)).map(|stretch| stretch * STRETCH).collect();
        let parts: Vec<_> = starts.into_par_iter().map(stretch).collect();
        let mut all = (Gathered::default(), sums());
        for (gathered, errors) in parts {
            all.0.join(gathered);
            all.1.iter_mut().zip(&errors).for_each(|(own, later)| own.join(later));
        }
        all
    }

    /// One bus value on its way to the attributes and back.
    fn show(&self, n: u64, out: &mut Gathered, errors: &mut [ErrorSum]) {
        out.looked_at += 1;
        let Some((_, value)) = self.bus_value(n) else {
            out.void += 1;
            return;
        };
        let mut cut = Cut::default();
        let shown = match self.shown(&value, &mut cut) {
            Ok(Some(shown)) => shown,
            Ok(None) => {
                out.dropped += 1;
                return;
            }
            Err(why) => return out.refuse(|| value.to_json().to_string(), || why),
        };
        let before = numbers(&value);
        let single = if let [single] = before.as_slice() { Some(*single) } else { None };
        let seen = self.seen(&shown);
        out.arrive(&Arrival {
            key: self.key(&shown),
            value: single,
            seen: &seen,
            below: cut.below,
            above: cut.above,
        });
        let kept: Vec<Value> = shown
            .into_iter()
            .zip(self.subject.shown)
            .map(|(value, shown)| value.unwrap_or_else(|| shown.side.values.at(0)))
            .collect();
        let returned =
            self.written(&kept, &mut cut).ok().flatten().and_then(|raw| self.subject.bus.decode(raw));
        if let (Some(returned), false) = (returned, cut.below || cut.above) {
            compare(errors, &before, &numbers(&returned));
        }
    }

    /// One set of attribute values on its way to the bus and back.
    fn write(&self, n: u64, out: &mut Gathered, errors: &mut [ErrorSum]) {
        out.looked_at += 1;
        let mut values = Vec::with_capacity(self.subject.shown.len());
        self.attribute_values(n, &mut values);
        let mut cut = Cut::default();
        let raw = match self.written(&values, &mut cut) {
            Ok(Some(raw)) => raw,
            Ok(None) => {
                out.dropped += 1;
                return;
            }
            Err(why) => return out.refuse(|| text(&values), || why),
        };
        let before = self.seen_all(&values);
        let single = if let [single] = before.as_slice() { Some(*single) } else { None };
        let decoded = self.subject.bus.decode(raw);
        let seen = decoded.as_ref().map(numbers).unwrap_or_default();
        out.arrive(&Arrival { key: raw, value: single, seen: &seen, below: cut.below, above: cut.above });
        let Some(decoded) = decoded.filter(|_| self.shows) else { return };
        if let (Ok(Some(shown)), false) = (self.shown(&decoded, &mut cut), cut.below || cut.above) {
            // An attribute that nothing is passed on to stays as it was.
            let after: Vec<Value> =
                shown.into_iter().zip(values).map(|(shown, old)| shown.unwrap_or(old)).collect();
            compare(errors, &before, &self.seen_all(&after));
        }
    }

    /// What the attributes show of a bus value; none of those that nothing is passed on to, none at all if that is all.
    fn shown(&self, value: &Value, cut: &mut Cut) -> Result<Option<Vec<Option<Value>>>, String> {
        let mut out = Vec::with_capacity(self.subject.shown.len());
        for shown in self.subject.shown {
            let Some(chain) = shown.from_bus else { return Ok(None) };
            let result = chain
                .run_noting(value.clone(), self.subject.around, cut)
                .map_err(|error| error.to_string())?;
            if result == Value::Null {
                out.push(None);
            } else if shown.side.values.index(&result).is_some() {
                out.push(Some(result));
            } else {
                return Err(format!("`{}` cannot be {}", shown.side.name, result.to_json()));
            }
        }
        Ok(out.iter().any(Option::is_some).then_some(out))
    }

    /// The raw number that attribute values are written as.
    fn written(&self, values: &[Value], cut: &mut Cut) -> Result<Option<u64>, String> {
        let Some(way) = self.subject.to_bus else { return Ok(None) };
        let standing = Standing { subject: self.subject, values };
        let input = way.input.value(values);
        match way.chain.run_noting(input, &standing, cut).map_err(|error| error.to_string())? {
            Value::Null => Ok(None),
            value => self.subject.bus.encode(&value).map(Some),
        }
    }

    /// A number for a set of shown values that no other set has (while they are fewer than 2^64).
    fn key(&self, shown: &[Option<Value>]) -> u64 {
        shown.iter().zip(self.subject.shown).fold(0, |key: u64, (value, shown)| {
            let count = shown.side.values.count().saturating_add(1);
            let index = value
                .as_ref()
                .and_then(|value| shown.side.values.index(value))
                .map_or(count - 1, |index| index);
            key.checked_mul(count)
                .and_then(|key| key.checked_add(index))
                .unwrap_or_else(|| mix(key ^ mix(index)))
        })
    }

    fn seen(&self, shown: &[Option<Value>]) -> Vec<f64> {
        let see = |(value, shown): (&Option<Value>, &super::Shown<'_>)| {
            value.as_ref().and_then(|value| shown.side.person.see(value)).unwrap_or(f64::NAN)
        };
        shown.iter().zip(self.subject.shown).map(see).collect()
    }

    fn seen_all(&self, values: &[Value]) -> Vec<f64> {
        let see =
            |(value, shown): (&Value, &super::Shown<'_>)| shown.side.person.see(value).unwrap_or(f64::NAN);
        values.iter().zip(self.subject.shown).map(see).collect()
    }
}

fn attribute_number(shown: &super::Shown<'_>) -> Number {
    let side = shown.side;
    let ends = [side.values.at(0), side.values.at(side.values.count().saturating_sub(1))];
    let whole =
        Range::of(ends.iter().filter_map(|value| side.person.see(value)).filter(|number| number.is_finite()));
    Number {
        name: side.name.clone(),
        unit: side.person.unit.to_string(),
        sense: side.person.sense,
        whole: whole.unwrap_or(Range { min: 0.0, max: 0.0 }),
    }
}

/// The numbers of a value: one of a number or truth value, of a structure one for each field. What is no number is NaN.
fn numbers(value: &Value) -> Vec<f64> {
    let number = |value: &Value| match value {
        Value::Number(number) => *number,
        Value::Bool(truth) => f64::from(u8::from(*truth)),
        Value::Null | Value::Text(_) | Value::Structure(_) => f64::NAN,
    };
    match value {
        Value::Structure(fields) => fields.iter().map(|(_, value)| number(value)).collect(),
        value => vec![number(value)],
    }
}

fn widen(numbers: &mut [Number], values: &[f64]) {
    for (number, value) in numbers.iter_mut().zip(values).filter(|(_, value)| !value.is_nan()) {
        number.whole = number.whole.with(*value);
    }
}

fn compare(errors: &mut [ErrorSum], before: &[f64], after: &[f64]) {
    for (sum, (from, to)) in errors.iter_mut().zip(before.iter().zip(after)) {
        sum.add(*from, *to);
    }
}

/// Unit and sense of a side that is a single number.
fn single(numbers: &[Number]) -> (String, Sense) {
    if let [number] = numbers { (number.unit.clone(), number.sense) } else { (String::new(), Sense::Other) }
}

fn reach(numbers: &[Number]) -> Vec<Reach> {
    let one = |number: &Number| Reach {
        name: number.name.clone(),
        unit: number.unit.clone(),
        sense: number.sense,
        reached: None,
        whole: Span::of(number.whole),
    };
    numbers.iter().map(one).collect()
}

fn round_trips(errors: Vec<ErrorSum>, numbers: &[Number], both_ways: bool) -> Vec<RoundTrip> {
    if !both_ways {
        return Vec::new();
    }
    errors
        .into_iter()
        .zip(numbers)
        .map(|(sum, number)| sum.finish(number.name.clone(), number.unit.clone()))
        .collect()
}

fn text(values: &[Value]) -> String {
    let values: Vec<String> = values.iter().map(|value| value.to_json().to_string()).collect();
    values.join(", ")
}
