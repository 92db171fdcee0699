//! The figures of a proof, and how they are gathered.

use super::super::Range;
use super::Sense;
use serde::{Deserialize, Serialize};

/// What one way gives: bus to attribute, or attribute to bus.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Tally {
    /// Unit of what is put in, where that is a single number.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub unit: String,
    /// What is sensed of it.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub sense: Sense,
    /// How many values were put in.
    pub looked_at: u64,
    /// Of how many there are; the largest number for more than it can hold.
    pub of: u64,
    /// Raw values that stand for nothing (reserved, "no data"), or lie outside the range in use.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub void: u64,
    /// Raw values that mean the same number as another; each number is put in once.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub aliases: u64,
    /// Values that arrive.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub passed: u64,
    /// Values of which nothing is passed on.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub dropped: u64,
    /// Values that cannot be converted, or whose result the other side cannot hold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refused: Option<Refused>,
    /// How many different values of the other side are reached.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub reached: u64,
    /// Of how many the other side has; those outside the range in use are not counted.
    pub reached_of: u64,
    /// From where to where the other side is reached, for each of its numbers.
    pub reach: Vec<Reach>,
    /// Values that come to the same value of the other side; those cut off are not counted.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub collisions: Collisions,
    /// Values that are cut off at the low end: below a smallest value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub below: Option<CutOff>,
    /// Values that are cut off at the high end: above a largest value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<CutOff>,
}

/// Values that a way refuses.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Refused {
    /// How many.
    pub count: u64,
    /// How many of them occur in a house.
    pub usual: u64,
    /// The first of them.
    pub first: String,
    /// Why it is refused.
    pub why: String,
}

/// What is reached of one number of the other side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Reach {
    /// The attribute, or the field of a bus structure; empty for a bus value as a whole.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub name: String,
    /// The unit.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub unit: String,
    /// What is sensed of it.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub sense: Sense,
    /// What is reached; none if nothing is.
    pub reached: Option<Span>,
    /// What there is, within the range in use.
    pub whole: Span,
}

/// From one number to another, in a person's unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Span {
    /// Smallest.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub from: f64,
    /// Largest.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub to: f64,
}

impl Span {
    pub(super) fn of(range: Range) -> Self {
        Self { from: tidy(range.min), to: tidy(range.max) }
    }

    /// The part of it that lies in a range; none for nothing, or a point.
    pub(super) fn within(self, range: Option<Range>) -> Option<Span> {
        let own = Range { min: self.from, max: self.to };
        let part = range.map_or(Some(own), |range| own.meet(range))?;
        (part.width() > 0.0).then_some(Span { from: part.min, to: part.max })
    }

    /// From its one end to the other.
    #[must_use]
    pub fn width(self) -> f64 {
        tidy(self.to - self.from)
    }
}

/// Values that come to the same value of the other side.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Collisions {
    /// How many values share their result with another.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub values: u64,
    /// How many come to one result at most.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub most: u64,
    /// The widest stretch of values with one result, in the unit a person thinks in; of single numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub widest: Option<Span>,
    /// The widest stretch among the values that occur in a house.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub widest_usual: Option<Span>,
}

/// Values that are cut off at one end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct CutOff {
    /// How many.
    pub count: u64,
    /// From where to where, in the unit a person thinks in; of single numbers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub values: Option<Span>,
}

/// How far values are from themselves after both ways; those cut off are not counted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct RoundTrip {
    /// The attribute, or the field of a bus structure; empty for a bus value as a whole.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub name: String,
    /// Unit of the values.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub unit: String,
    /// Unit of the errors.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub error_unit: String,
    /// What is sensed, where it is known.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub sense: Sense,
    /// Of all values.
    pub all: Errors,
    /// Of the values that occur in a house.
    pub usual: Errors,
}

/// Errors of a round trip.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "camelCase")]
pub struct Errors {
    /// How many values came back.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub returned: u64,
    /// How many of them as they were.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub exact: u64,
    /// The largest error.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub worst: f64,
    /// The value with the largest error …
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub worst_from: f64,
    /// … and what came back.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub worst_to: f64,
    /// The mean error.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub mean: f64,
}

/// Whether a figure is none, or a text empty: the file of proofs leaves such out.
fn is_nothing<T: Default + PartialEq>(figure: &T) -> bool {
    *figure == T::default()
}

/// A figure with seven places that count: enough for a person, and the same after being written and read.
pub(super) fn tidy(number: f64) -> f64 {
    if number.abs() < 1e-12 || !number.is_finite() {
        return if number.is_finite() { 0.0 } else { number };
    }
    format!("{number:.6e}").parse().unwrap_or(number)
}

/// Gathers the errors of one number of a side.
#[derive(Clone, Debug)]
pub(super) struct ErrorSum {
    sense: Sense,
    all: Errors,
    usual: Errors,
}

impl ErrorSum {
    pub(super) fn new(sense: Sense) -> Self {
        Self { sense, all: Errors::default(), usual: Errors::default() }
    }

    /// One value and what came back of it.
    pub(super) fn add(&mut self, from: f64, to: f64) {
        let error = self.sense.distance(from, to);
        if !error.is_finite() {
            return;
        }
        self.all.add(from, to, error);
        if self.sense.is_usual(from) {
            self.usual.add(from, to, error);
        }
    }

    /// Takes in what was gathered of later values.
    pub(super) fn join(&mut self, later: &Self) {
        self.all.join(&later.all);
        self.usual.join(&later.usual);
    }

    pub(super) fn finish(self, name: String, unit: String) -> RoundTrip {
        let error_unit = self.sense.distance_unit(&unit);
        RoundTrip {
            name,
            unit,
            error_unit,
            sense: self.sense,
            all: self.all.finish(),
            usual: self.usual.finish(),
        }
    }
}

impl Errors {
    // Until `finish`, `mean` holds the sum.
    fn add(&mut self, from: f64, to: f64, error: f64) {
        // What a double cannot tell apart after a few steps has not changed.
        let error = if error <= 1e-9 * from.abs().max(1.0) { 0.0 } else { error };
        self.returned += 1;
        self.exact += u64::from(error <= 0.0);
        self.mean += error;
        if error > self.worst || self.returned == 1 {
            (self.worst, self.worst_from, self.worst_to) = (error, from, to);
        }
    }

    fn join(&mut self, later: &Self) {
        if later.returned == 0 {
            return;
        }
        if later.worst > self.worst || self.returned == 0 {
            (self.worst, self.worst_from, self.worst_to) = (later.worst, later.worst_from, later.worst_to);
        }
        self.returned += later.returned;
        self.exact += later.exact;
        self.mean += later.mean;
    }

    #[allow(clippy::cast_precision_loss, reason = "at most a million values")]
    fn finish(self) -> Self {
        let mean = if self.returned == 0 { 0.0 } else { self.mean / self.returned as f64 };
        Self {
            worst: tidy(self.worst),
            worst_from: tidy(self.worst_from),
            worst_to: tidy(self.worst_to),
            mean: tidy(mean),
            ..self
        }
    }
}
