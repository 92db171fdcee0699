//! Gathers what one way gives, value by value.

use super::super::Range;
use super::super::run::Cut;
use super::Sense;
use super::measure::{Collisions, CutOff, Refused, Span, Tally};
use super::numbers::Number;

/// What is gathered of one way. Made for stretches of values and joined in their order.
#[derive(Clone, Debug, Default)]
pub(super) struct Gathered {
    sense: Sense,
    pub(super) looked_at: u64,
    pub(super) void: u64,
    pub(super) aliases: u64,
    pub(super) dropped: u64,
    passed: u64,
    refused: Option<Refused>,
    /// Each value's result, and the value itself where it is a single number.
    results: Vec<(u64, f64)>,
    reach: Vec<Option<Range>>,
    below: Cuts,
    above: Cuts,
    /// Single numbers that were not cut off.
    whole: Option<Range>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Cuts {
    count: u64,
    values: Option<Range>,
}

/// A value that arrived.
pub(super) struct Arrival<'a> {
    /// Its result, as a number that no other result has.
    pub(super) key: u64,
    /// The value in the unit a person thinks in, if it is a single number.
    pub(super) value: Option<f64>,
    /// The result's numbers, in the units a person thinks in.
    pub(super) seen: &'a [f64],
    /// What the clamps cut off.
    pub(super) cut: Cut,
}

/// A side as the figures name it.
pub(super) struct Side<'a> {
    numbers: &'a [Number],
    count: u64,
}

impl<'a> Side<'a> {
    pub(super) fn of(numbers: &'a [Number], count: u64) -> Self {
        Self { numbers, count }
    }

    fn sense(&self) -> Sense {
        if let [number] = self.numbers { number.sense } else { Sense::Other }
    }

    fn unit(&self) -> String {
        if let [number] = self.numbers { number.unit.clone() } else { String::new() }
    }
}

impl Gathered {
    pub(super) fn with_room(values: usize, sense: Sense) -> Self {
        Self { sense, results: Vec::with_capacity(values), ..Self::default() }
    }

    /// Counts a refused value; the first is put into words.
    pub(super) fn refuse(&mut self, value: Option<f64>, words: impl FnOnce() -> (String, String)) {
        let usual = u64::from(value.is_none_or(|value| self.sense.is_usual(value)));
        match &mut self.refused {
            Some(refused) => {
                refused.count += 1;
                refused.usual += usual;
            }
            none => {
                let (first, why) = words();
                *none = Some(Refused { count: 1, usual, first, why });
            }
        }
    }

    pub(super) fn arrive(&mut self, arrival: &Arrival<'_>) {
        self.passed += 1;
        self.reach.resize(arrival.seen.len().max(self.reach.len()), None);
        for (reach, seen) in self.reach.iter_mut().zip(arrival.seen).filter(|(_, seen)| !seen.is_nan()) {
            *reach = Some(reach.map_or(Range { min: *seen, max: *seen }, |range| range.with(*seen)));
        }
        if arrival.cut.below {
            self.below.add(arrival.value);
        }
        if arrival.cut.above {
            self.above.add(arrival.value);
        }
        // The cut-off ones reach their result too, but do not collide: that they share it is told already.
        let value = if arrival.cut.any() {
            CUT
        } else {
            let single = arrival.value.map(|value| Range { min: value, max: value });
            self.whole = joined(self.whole, single);
            arrival.value.unwrap_or(NO_NUMBER)
        };
        self.results.push((arrival.key, value));
    }

    pub(super) fn join(&mut self, later: Self) {
        self.passed += later.passed;
        self.dropped += later.dropped;
        match (&mut self.refused, later.refused) {
            (Some(own), Some(later)) => {
                own.count += later.count;
                own.usual += later.usual;
            }
            (own, later) => *own = own.take().or(later),
        }
        self.results.extend(later.results);
        self.reach.resize(later.reach.len().max(self.reach.len()), None);
        for (own, later) in self.reach.iter_mut().zip(later.reach) {
            *own = joined(*own, later);
        }
        self.below.join(later.below);
        self.above.join(later.above);
        self.whole = joined(self.whole, later.whole);
    }

    /// The figures of what was put in on one side and came out on the other.
    pub(super) fn finish(mut self, own: &Side<'_>, other: &Side<'_>) -> Tally {
        let sense = own.sense();
        let (reached, collisions) = collide(&mut self.results, sense);
        let mut reach: Vec<_> = other.numbers.iter().map(Number::reach).collect();
        for (number, range) in reach.iter_mut().zip(&self.reach) {
            number.reached = range.map(Span::of);
        }
        // A falling chain (kelvin to mireds) cuts off high values with its smallest result.
        let (below, above) = if self.falls() { (self.above, self.below) } else { (self.below, self.above) };
        Tally {
            unit: own.unit(),
            sense,
            looked_at: self.looked_at,
            of: own.count,
            void: self.void,
            aliases: self.aliases,
            passed: self.passed,
            dropped: self.dropped,
            refused: self.refused,
            reached,
            // What is written may come to lie just outside the range in use.
            reached_of: other.count.max(reached),
            reach,
            collisions,
            below: below.finish(),
            above: above.finish(),
        }
    }
}

impl Gathered {
    /// Whether what was cut off at a clamp's low end are high values, or the other way round.
    fn falls(&self) -> bool {
        let Some(whole) = self.whole else { return false };
        let high = |cuts: &Cuts| cuts.values.is_some_and(|values| values.min >= whole.max);
        let low = |cuts: &Cuts| cuts.values.is_some_and(|values| values.max <= whole.min);
        high(&self.below) || low(&self.above)
    }
}

fn joined(a: Option<Range>, b: Option<Range>) -> Option<Range> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.with(b.min).with(b.max)),
        (a, b) => a.or(b),
    }
}

impl Cuts {
    fn add(&mut self, value: Option<f64>) {
        self.count += 1;
        self.values = joined(self.values, value.map(|value| Range { min: value, max: value }));
    }

    fn join(&mut self, later: Self) {
        self.count += later.count;
        self.values = joined(self.values, later.values);
    }

    fn finish(self) -> Option<CutOff> {
        (self.count > 0).then(|| CutOff { count: self.count, values: self.values.map(Span::of) })
    }
}

/// Stands for a value that was cut off: behind all numbers.
const CUT: f64 = f64::INFINITY;
/// Stands for a value that is no single number.
const NO_NUMBER: f64 = f64::NEG_INFINITY;

/// How many different results there are, and what shares one.
fn collide(results: &mut [(u64, f64)], sense: Sense) -> (u64, Collisions) {
    results.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let usual = sense.notice().and_then(|notice| notice.usual);
    let mut collisions = Collisions::default();
    let (mut widest, mut widest_usual) = (None, None);
    let mut reached = 0;
    for group in results.chunk_by(|a, b| a.0 == b.0) {
        reached += 1;
        // Several raw values of one number (main type 9 has them) are one value.
        let values = group.iter().filter(|(_, value)| *value < CUT);
        let several = group.first().is_some_and(|(_, value)| *value <= NO_NUMBER);
        let different = if several {
            group.len() as u64
        } else {
            let mut last = f64::NAN;
            values.filter(|(_, value)| value.total_cmp(&std::mem::replace(&mut last, *value)).is_ne()).count()
                as u64
        };
        if different < 2 {
            continue;
        }
        collisions.values += different;
        collisions.most = collisions.most.max(different);
        let span = Range::of(group.iter().map(|(_, value)| *value).filter(|value| value.is_finite()));
        widest = wider(widest, span, sense);
        let span = span.and_then(|span| usual.map_or(Some(span), |usual| span.meet(usual)));
        widest_usual = wider(widest_usual, span, sense);
    }
    collisions.widest = widest.map(Span::of);
    collisions.widest_usual = widest_usual.map(Span::of);
    (reached, collisions)
}

fn wider(old: Option<Range>, new: Option<Range>, sense: Sense) -> Option<Range> {
    let width = |span: Range| sense.distance(span.min, span.max);
    match (old, new) {
        (Some(old), Some(new)) if width(new) > width(old) => Some(new),
        (Some(old), _) => Some(old),
        (None, new) => new,
    }
}
