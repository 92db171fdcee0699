//! What a person would notice of a conversion's losses. All else is kept quiet about.
#![allow(clippy::wildcard_enum_match_arm, reason = "most senses are judged alike")]

use super::measure::{CutOff, Reach, RoundTrip, Span, Tally};
use super::sense::Sense;
use super::walk::Proof;

/// The low or the high end of a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// The low end.
    Low,
    /// The high end.
    High,
}

/// Which way a value went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// From the bus to the attribute.
    FromBus,
    /// From the attribute to the bus.
    ToBus,
}

/// Something that a person would notice.
#[derive(Clone, Debug, PartialEq)]
pub enum Noticeable {
    /// The controller cannot bring the bus to an end of its range: a lamp that cannot be dimmed below 4 %.
    OutOfReach {
        /// Which end.
        end: End,
        /// How far it comes.
        reached: f64,
        /// Where the range ends.
        whole: f64,
        /// The unit of both.
        unit: String,
    },
    /// Values beyond an end come out as that end: a Kelvin range cut off.
    CutOff {
        /// Which way.
        way: Way,
        /// Which end.
        end: End,
        /// The first and the last value that is cut off, of those that occur in a house.
        values: Span,
        /// The unit.
        unit: String,
    },
    /// Values that differ noticeably come to the same: a setpoint that moves in steps of half a degree.
    Coarse {
        /// Which way.
        way: Way,
        /// The widest step.
        step: f64,
        /// Where it is: these values come to the same.
        values: Span,
        /// The unit of the step.
        unit: String,
    },
    /// What was asked for is shown as something else once the bus has answered.
    ComesBackChanged {
        /// The attribute.
        attribute: String,
        /// The largest error.
        worst: f64,
        /// The value asked for with that error …
        asked: f64,
        /// … and what is shown.
        shown: f64,
        /// The unit of the error.
        unit: String,
    },
    /// Some values go no further because they cannot be converted.
    Refused {
        /// Which way.
        way: Way,
        /// How many.
        count: u64,
        /// Of how many that were looked at.
        of: u64,
        /// The first of them.
        first: String,
        /// Why.
        why: String,
    },
    /// No value at all arrives.
    NothingArrives {
        /// Which way.
        way: Way,
    },
}

impl Proof {
    /// What a person would notice, in the order of [`Noticeable`].
    ///
    /// How much is noticed depends on what is sensed, see [`Sense`]; only values that occur in a house count. Where a
    /// datapoint type can say far more than any appliance does (kelvin, degrees), its ends are judged only if the
    /// installation said which range it uses.
    #[must_use]
    pub fn noticeable(&self) -> Vec<Noticeable> {
        let mut out = Vec::new();
        let said = self.bus_range.is_some();
        if let Some(tally) = &self.to_bus {
            tally.reach.iter().for_each(|reach| out_of_reach(reach, said, &mut out));
        }
        let ways = [(Way::FromBus, &self.from_bus), (Way::ToBus, &self.to_bus)];
        let ways = ways.map(|(way, tally)| tally.as_ref().map(|tally| (way, tally)));
        for (way, tally) in ways.into_iter().flatten() {
            // The attribute's range is the class's own choice, so what it cannot pass on is always told.
            if way == Way::ToBus || said || tally.sense.has_ends() {
                cut_off(way, End::Low, tally, &mut out);
                cut_off(way, End::High, tally, &mut out);
            }
        }
        ways.into_iter().flatten().for_each(|(way, tally)| coarse(way, tally, &mut out));
        let told = out.iter().map(Noticeable::explains).fold(0.0, f64::max);
        out.extend(self.attribute_and_back.iter().filter_map(|trip| changed(trip, told)));
        out.extend(ways.into_iter().flatten().filter_map(|(way, tally)| failed(way, tally)));
        out
    }
}

impl Noticeable {
    /// How far off a value may come back because of this.
    fn explains(&self) -> f64 {
        match self {
            Noticeable::Coarse { way: Way::ToBus, step, .. } => *step,
            // Where the whole range is squeezed, the values at its end are off by what is out of reach, and a little.
            Noticeable::OutOfReach { reached, whole, .. } => 1.1 * (whole - reached).abs(),
            Noticeable::Coarse { way: Way::FromBus, .. }
            | Noticeable::CutOff { .. }
            | Noticeable::ComesBackChanged { .. }
            | Noticeable::Refused { .. }
            | Noticeable::NothingArrives { .. } => 0.0,
        }
    }
}

fn out_of_reach(reach: &Reach, said: bool, out: &mut Vec<Noticeable>) {
    let (Some(notice), Some(reached)) = (reach.sense.notice(), reach.reached) else { return };
    if !said && !reach.sense.has_ends() {
        return;
    }
    let Some(whole) = reach.whole.within(notice.usual) else { return };
    let ends = [(End::Low, reached.from, whole.from), (End::High, reached.to, whole.to)];
    for (end, reached, whole) in ends {
        let short = if end == End::Low { reached > whole } else { reached < whole };
        if short && reach.sense.distance(reached, whole) >= notice.end_at(whole) {
            out.push(Noticeable::OutOfReach { end, reached, whole, unit: reach.unit.clone() });
        }
    }
}

fn cut_off(way: Way, end: End, tally: &Tally, out: &mut Vec<Noticeable>) {
    let cut = if end == End::Low { tally.below } else { tally.above };
    let (Some(CutOff { values: Some(values), .. }), Some(notice)) = (cut, tally.sense.notice()) else {
        return;
    };
    let Some(values) = values.within(notice.usual) else { return };
    let edge = if end == End::Low { values.to } else { values.from };
    let told = |one: &Noticeable| {
        matches!(one, Noticeable::OutOfReach { end: other, reached, .. }
            if *other == end && tally.sense.distance(*reached, edge) <= notice.end_at(edge))
    };
    // What cannot be reached is not told a second time as cut off.
    if tally.sense.distance(values.from, values.to) >= notice.end_at(edge) && !out.iter().any(told) {
        out.push(Noticeable::CutOff { way, end, values, unit: tally.unit.clone() });
    }
}

fn coarse(way: Way, tally: &Tally, out: &mut Vec<Noticeable>) {
    let (Some(notice), Some(values)) = (tally.sense.notice(), tally.collisions.widest_usual) else { return };
    let step = tally.sense.distance(values.from, values.to);
    // That several codes come to one is what a table is for.
    if tally.sense != Sense::Code && step > notice.step_at(values.from) {
        let unit = tally.sense.distance_unit(&tally.unit);
        out.push(Noticeable::Coarse { way, step: super::measure::tidy(step), values, unit });
    }
}

/// `told` is how far off values come back by what is told already: what follows from it is not told again.
fn changed(trip: &RoundTrip, told: f64) -> Option<Noticeable> {
    let notice = trip.sense.notice()?;
    let error = match trip.sense {
        // The hue of a pale colour and the saturation of a dark one jump from one raw value to the next, and nobody sees
        // it: the mean is what is seen.
        Sense::Hue | Sense::Saturation => trip.usual.mean,
        // Controllers offer chromaticities that no lamp has; the nearest one is what everybody gets.
        Sense::Chromaticity => return None,
        _ => trip.usual.worst,
    };
    (error > notice.step_at(trip.usual.worst_from).max(told)).then(|| Noticeable::ComesBackChanged {
        attribute: trip.name.clone(),
        worst: trip.usual.worst,
        asked: trip.usual.worst_from,
        shown: trip.usual.worst_to,
        unit: trip.error_unit.clone(),
    })
}

fn failed(way: Way, tally: &Tally) -> Option<Noticeable> {
    match &tally.refused {
        Some(refused) if tally.passed > 0 => (refused.usual > 0).then(|| Noticeable::Refused {
            way,
            count: refused.usual,
            of: tally.looked_at,
            first: refused.first.clone(),
            why: refused.why.clone(),
        }),
        _ => (tally.passed == 0).then_some(Noticeable::NothingArrives { way }),
    }
}
