//! Runs both ways on every value and gathers what comes out.

use super::super::Value;
use super::super::run::Cut;
use super::measure::{ErrorSum, RoundTrip, Span, Tally};
use super::numbers::{BusValues, Number, read};
use super::spread::{Look, Spread, mix};
use super::subject::Standing;
use super::tally::{Arrival, Gathered, Side};
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
const STRETCH: u64 = 8_192;

/// Proves a conversion: runs it both ways on every value, or a spread of more than a million.
///
/// A side without numbers (text, lists) gives a proof in which everything is void or refused.
#[must_use]
pub fn prove(subject: &Subject<'_>) -> Proof {
    look(subject, Look::Whole)
}

/// Whether some thousand values of each side show a loss that a person would notice: a sixteenth of the time of a proof,
/// whose figures are exact.
pub(super) fn shows_loss(subject: &Subject<'_>) -> bool {
    !look(subject, Look::Glance).noticeable().is_empty()
}

fn look(subject: &Subject<'_>, look: Look) -> Proof {
    let walk = Walk::new(subject, look);
    let (from_bus, bus_and_back) = walk.showing();
    let (to_bus, attribute_and_back) = walk.writing();
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

struct Walk<'a> {
    subject: &'a Subject<'a>,
    bus: BusValues,
    attributes: Spread,
    attribute_numbers: Vec<Number>,
    /// Whether every attribute has a way from the bus.
    shows: bool,
}

/// What one thread writes to, again and again.
#[derive(Default)]
struct Scratch {
    values: Vec<Value>,
    shown: Vec<Option<Value>>,
    before: Vec<f64>,
    after: Vec<f64>,
}

/// What became of a value.
enum Outcome<T> {
    Arrived(T),
    /// Nothing is passed on.
    Dropped,
    Refused(Refusal),
}

/// Why a value is refused; put into words for the first one only.
enum Refusal {
    Convert(super::super::ConvertError),
    Attribute { index: usize, value: Value },
    Bus(String),
}

impl<'a> Walk<'a> {
    fn new(subject: &'a Subject<'a>, look: Look) -> Self {
        let counts = subject.shown.iter().map(|shown| u128::from(shown.side.values.count()));
        Self {
            subject,
            bus: BusValues::of(subject, look),
            attributes: Spread::of(counts.fold(1, u128::saturating_mul), look),
            attribute_numbers: subject.shown.iter().map(Number::of_attribute).collect(),
            shows: !subject.shown.is_empty() && subject.shown.iter().all(|shown| shown.from_bus.is_some()),
        }
    }

    fn showing(&self) -> (Option<Tally>, Vec<RoundTrip>) {
        if !self.shows {
            return (None, Vec::new());
        }
        let numbers = &self.bus.numbers;
        let (mut gathered, errors) = self.stretches(self.bus.len(), numbers, Self::show);
        gathered.looked_at = self.bus.raws;
        gathered.void = self.bus.void;
        gathered.aliases = self.bus.aliases;
        let bits = self.subject.bus.bits();
        let side = Side::of(numbers, 1_u64.checked_shl(bits).unwrap_or(u64::MAX));
        let tally = gathered.finish(&side, &Side::of(&self.attribute_numbers, self.attributes_count()));
        (Some(tally), round_trips(errors, numbers, self.subject.to_bus.is_some()))
    }

    fn writing(&self) -> (Option<Tally>, Vec<RoundTrip>) {
        if self.subject.to_bus.is_none() {
            return (None, Vec::new());
        }
        let numbers = &self.attribute_numbers;
        let (mut gathered, errors) = self.stretches(self.attributes.len(), numbers, Self::write);
        gathered.looked_at = self.attributes.len();
        let side = Side::of(numbers, self.attributes_count());
        let tally = gathered.finish(&side, &Side::of(&self.bus.numbers, self.bus.count));
        (Some(tally), round_trips(errors, numbers, self.shows))
    }

    fn attributes_count(&self) -> u64 {
        self.subject.shown.iter().fold(1, |all: u64, shown| all.saturating_mul(shown.side.values.count()))
    }

    /// Looks at all values of a side in stretches, and joins what they give in their order.
    fn stretches(
        &self,
        len: u64,
        numbers: &[Number],
        look: impl Fn(&Self, u64, &mut Scratch, &mut Gathered, &mut [ErrorSum]) + Sync,
    ) -> (Gathered, Vec<ErrorSum>) {
        let senses: Vec<Sense> = numbers.iter().map(|number| number.sense).collect();
        let sums = || senses.iter().map(|sense| ErrorSum::new(*sense)).collect::<Vec<_>>();
        let stretch = |start: u64| {
            let end = (start + STRETCH).min(len);
            let room = usize::try_from(end - start).unwrap_or_default();
            let mut gathered =
                Gathered::with_room(room, if let [one] = senses.as_slice() { *one } else { Sense::Other });
            let (mut errors, mut scratch) = (sums(), Scratch::default());
            for n in start..end {
                look(self, n, &mut scratch, &mut gathered, &mut errors);
            }
            (gathered, errors)
        };
        let starts: Vec<u64> = (0..len.div_ceil(STRETCH)).map(|stretch| stretch * STRETCH).collect();
        let parts: Vec<_> = starts.into_par_iter().map(stretch).collect();
        let mut all = (Gathered::default(), sums());
        for (gathered, errors) in parts {
            all.0.join(gathered);
            all.1.iter_mut().zip(&errors).for_each(|(own, later)| own.join(later));
        }
        all
    }

    /// One bus value on its way to the attributes and back.
    fn show(&self, n: u64, scratch: &mut Scratch, out: &mut Gathered, errors: &mut [ErrorSum]) {
        let Some(value) = self.bus.at(self.subject, n) else { return };
        let mut cut = Cut::default();
        read(&value, &mut scratch.before);
        let single = single(&scratch.before);
        match self.shown(value, &mut scratch.shown, &mut cut) {
            Outcome::Arrived(()) => {}
            Outcome::Dropped => {
                out.dropped += 1;
                return;
            }
            Outcome::Refused(why) => {
                let first = || self.bus.at(self.subject, n).map(|value| value.to_json().to_string());
                return out.refuse(single, || (first().unwrap_or_default(), self.words(why)));
            }
        }
        // An attribute that nothing is passed on to stays as it was; for the way back it is at its first value.
        scratch.values.clear();
        scratch.after.clear();
        let key = self.key(&scratch.shown);
        for (value, shown) in scratch.shown.drain(..).zip(self.subject.shown) {
            scratch
                .after
                .push(value.as_ref().and_then(|value| shown.side.person.see(value)).unwrap_or(f64::NAN));
            scratch.values.push(value.unwrap_or_else(|| shown.side.values.at(0)));
        }
        out.arrive(&Arrival { key, value: single, seen: &scratch.after, cut });
        if let Outcome::Arrived(raw) = self.written(&scratch.values, &mut cut)
            && let Some(returned) = self.subject.bus.decode(raw)
            && !cut.any()
        {
            read(&returned, &mut scratch.after);
            compare(errors, &scratch.before, &scratch.after);
        }
    }

    /// One set of attribute values on its way to the bus and back.
    fn write(&self, n: u64, scratch: &mut Scratch, out: &mut Gathered, errors: &mut [ErrorSum]) {
        self.attribute_values(n, &mut scratch.values);
        let mut cut = Cut::default();
        self.see(&scratch.values, &mut scratch.before);
        let single = single(&scratch.before);
        let raw = match self.written(&scratch.values, &mut cut) {
            Outcome::Arrived(raw) => raw,
            Outcome::Dropped => {
                out.dropped += 1;
                return;
            }
            Outcome::Refused(why) => {
                return out.refuse(single, || (text(&scratch.values), self.words(why)));
            }
        };
        let decoded = self.subject.bus.decode(raw);
        scratch.after.clear();
        if let Some(decoded) = &decoded {
            read(decoded, &mut scratch.after);
        }
        out.arrive(&Arrival { key: raw, value: single, seen: &scratch.after, cut });
        let Some(decoded) = decoded.filter(|_| self.shows) else { return };
        if let (Outcome::Arrived(()), false) = (self.shown(decoded, &mut scratch.shown, &mut cut), cut.any())
        {
            // An attribute that nothing is passed on to stays as it was.
            for (value, shown) in scratch.values.iter_mut().zip(scratch.shown.drain(..)) {
                *value = shown.unwrap_or(Value::Null);
            }
            self.see(&scratch.values, &mut scratch.after);
            for (after, before) in
                scratch.after.iter_mut().zip(&scratch.before).filter(|(after, _)| after.is_nan())
            {
                *after = *before;
            }
            compare(errors, &scratch.before, &scratch.after);
        }
    }

    /// The attribute values number `n`.
    fn attribute_values(&self, n: u64, values: &mut Vec<Value>) {
        values.clear();
        if let [shown] = self.subject.shown {
            values.push(shown.side.values.at(u64::try_from(self.attributes.index(n)).unwrap_or(u64::MAX)));
            return;
        }
        let mut index = self.attributes.index(n);
        for shown in self.subject.shown.iter().rev() {
            let count = u128::from(shown.side.values.count().max(1));
            values.push(shown.side.values.at(u64::try_from(index % count).unwrap_or_default()));
            index /= count;
        }
        values.reverse();
    }

    /// What the attributes show of a bus value: none where nothing is passed on.
    fn shown(&self, value: Value, out: &mut Vec<Option<Value>>, cut: &mut Cut) -> Outcome<()> {
        out.clear();
        for (index, shown) in self.subject.shown.iter().enumerate() {
            let Some(chain) = shown.from_bus else { return Outcome::Dropped };
            match chain.run_noting(value.clone(), self.subject.around, cut) {
                Ok(Value::Null) => out.push(None),
                Ok(result) if shown.side.values.index(&result).is_some() => out.push(Some(result)),
                Ok(value) => return Outcome::Refused(Refusal::Attribute { index, value }),
                Err(error) => return Outcome::Refused(Refusal::Convert(error)),
            }
        }
        if out.iter().any(Option::is_some) { Outcome::Arrived(()) } else { Outcome::Dropped }
    }

    /// The raw number that attribute values are written as.
    fn written(&self, values: &[Value], cut: &mut Cut) -> Outcome<u64> {
        let Some(way) = self.subject.to_bus else { return Outcome::Dropped };
        let standing = Standing { subject: self.subject, values };
        match way.chain.run_noting(way.input.value(values), &standing, cut) {
            Ok(Value::Null) => Outcome::Dropped,
            Ok(value) => match self.subject.bus.encode(&value) {
                Ok(raw) => Outcome::Arrived(raw),
                Err(why) => Outcome::Refused(Refusal::Bus(why)),
            },
            Err(error) => Outcome::Refused(Refusal::Convert(error)),
        }
    }

    fn words(&self, why: Refusal) -> String {
        match why {
            Refusal::Convert(error) => error.to_string(),
            Refusal::Bus(why) => why,
            Refusal::Attribute { index, value } => {
                let name = self.subject.shown.get(index).map_or("", |shown| shown.side.name.as_str());
                format!("`{name}` cannot be {}", value.to_json())
            }
        }
    }

    /// A number for a set of shown values that no other set has (while they are fewer than 2^64).
    fn key(&self, shown: &[Option<Value>]) -> u64 {
        shown.iter().zip(self.subject.shown).fold(0, |key: u64, (value, shown)| {
            let count = shown.side.values.count().saturating_add(1);
            let index = value.as_ref().and_then(|value| shown.side.values.index(value)).unwrap_or(count - 1);
            let next = key.checked_mul(count).and_then(|key| key.checked_add(index));
            next.unwrap_or_else(|| mix(key ^ mix(index)))
        })
    }

    fn see(&self, values: &[Value], into: &mut Vec<f64>) {
        into.clear();
        let seen = values.iter().zip(self.subject.shown);
        into.extend(seen.map(|(value, shown)| shown.side.person.see(value).unwrap_or(f64::NAN)));
    }
}

fn single(numbers: &[f64]) -> Option<f64> {
    if let [single] = numbers { Some(*single) } else { None }
}

fn compare(errors: &mut [ErrorSum], before: &[f64], after: &[f64]) {
    for (sum, (from, to)) in errors.iter_mut().zip(before.iter().zip(after)) {
        sum.add(*from, *to);
    }
}

fn round_trips(errors: Vec<ErrorSum>, numbers: &[Number], both_ways: bool) -> Vec<RoundTrip> {
    if !both_ways {
        return Vec::new();
    }
    let finish = |(sum, number): (ErrorSum, &Number)| sum.finish(number.name.clone(), number.unit.clone());
    errors.into_iter().zip(numbers).map(finish).collect()
}

fn text(values: &[Value]) -> String {
    let values: Vec<String> = values.iter().map(|value| value.to_json().to_string()).collect();
    values.join(", ")
}
