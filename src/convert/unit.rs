//! What a number measures, and how the steps of a chain carry that along.
#![allow(clippy::wildcard_enum_match_arm, reason = "what comes before any other step has no unit")]

use super::Step;
use super::attribute::{Alike, alike};
use std::borrow::Cow;

/// What a number measures: `value * factor + offset` is the quantity in the unit named.
///
/// So 2150 of a temperature attribute in hundredths is `{ °C, 0.01, 0 }`: 21.5 °C.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// The unit, as the datapoint-type table writes it: `°C`, `%`, `K`, `lx`.
    pub name: Cow<'static, str>,
    /// Units per 1.
    pub factor: f64,
    /// The quantity at 0.
    pub offset: f64,
}

/// How two units compare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scaling {
    /// The same number says the same, or its negative does: whether what is drawn or what is given counts above zero is no
    /// matter of units.
    Same,
    /// The same unit, but the number says something else.
    OtherScale,
    /// Another unit.
    OtherUnit,
}

/// The word before the unit of a quantity's decadic logarithm.
const LOG: &str = "log10 of ";
/// Mireds, the unit of a reciprocal colour temperature: 1 000 000 / K.
pub(super) const MIRED: &str = "mired";
/// Kelvin.
pub(super) const KELVIN: &str = "K";
/// Degrees Celsius.
const CELSIUS: &str = "°C";
/// Kelvin times mireds.
const MEGA: f64 = 1_000_000.0;

impl Unit {
    /// One of the unit per 1.
    #[must_use]
    pub fn plain(name: &str) -> Self {
        Self { name: Cow::Owned(name.to_owned()), factor: 1.0, offset: 0.0 }
    }

    /// So many of the unit per 1: hundredths of a degree are `Unit::scaled("°C", 0.01)`.
    #[must_use]
    pub fn scaled(name: &str, factor: f64) -> Self {
        Self { factor, ..Self::plain(name) }
    }

    /// The unit in which `to` stands for what `from` stands for here.
    pub(super) fn through_line(self, from: &[f64; 2], to: &[f64; 2]) -> Self {
        let ([from_a, from_b], [to_a, to_b]) = (from, to);
        let slope = (from_b - from_a) / (to_b - to_a);
        Self {
            name: self.name,
            factor: self.factor * slope,
            offset: self.factor * (from_a - to_a * slope) + self.offset,
        }
    }

    /// The unit of what goes into a step that gives this one, where it has a name.
    pub(super) fn before(self, step: &Step) -> Option<Self> {
        match step {
            Step::Scale { from, to } => Some(self.through_line(to, from)),
            Step::Reciprocal { numerator } => self.through_reciprocal(*numerator),
            Step::Power10 { factor, offset } => self.through_log10(*factor, *offset),
            _ => None,
        }
    }

    /// The same quantity in the unit that those of its kind are compared in.
    fn common(&self) -> (&str, f64, f64) {
        match alike(&self.name) {
            Some(Alike { is, times, from }) => (is, self.factor * times, self.offset * times + from),
            None => (&self.name, self.factor, self.offset),
        }
    }

    /// The unit after `numerator / value`, where it has a name.
    pub(super) fn through_reciprocal(&self, numerator: f64) -> Option<Self> {
        if !near(numerator, MEGA) || !self.is_plain() {
            return None;
        }
        match self.name.as_ref() {
            KELVIN => Some(Self::plain(MIRED)),
            MIRED => Some(Self::plain(KELVIN)),
            _ => None,
        }
    }

    /// The unit after `factor * log10(value) + offset`.
    pub(super) fn through_log10(&self, factor: f64, offset: f64) -> Option<Self> {
        let name = Cow::Owned(format!("{LOG}{}", self.name));
        self.is_plain().then(|| Self { name, factor: 1.0 / factor, offset: -offset / factor })
    }

    /// The unit after `10 ^ ((value - offset) / factor)`.
    pub(super) fn through_power10(&self, factor: f64, offset: f64) -> Option<Self> {
        let name = self.name.strip_prefix(LOG)?;
        (near(self.factor, 1.0 / factor) && near(self.offset, -offset / factor)).then(|| Self::plain(name))
    }

    /// The unit of a sum: the same scale on both sides, or kelvin onto degrees.
    pub(super) fn plus(&self, other: &Self) -> Option<Self> {
        let names = match (self.name.as_ref(), other.name.as_ref()) {
            (CELSIUS, KELVIN) | (KELVIN, CELSIUS) => CELSIUS,
            (a, b) if a == b => a,
            _ => return None,
        };
        let name = Cow::Owned(names.to_owned());
        near(self.factor, other.factor).then_some(Self {
            name,
            factor: self.factor,
            offset: self.offset + other.offset,
        })
    }

    /// The unit of a difference; of two temperatures kelvin.
    pub(super) fn minus(&self, other: &Self) -> Option<Self> {
        let names = match (self.name.as_ref(), other.name.as_ref()) {
            (CELSIUS, CELSIUS) => KELVIN,
            (CELSIUS, KELVIN) => CELSIUS,
            (a, b) if a == b => a,
            _ => return None,
        };
        let name = Cow::Owned(names.to_owned());
        near(self.factor, other.factor).then_some(Self {
            name,
            factor: self.factor,
            offset: self.offset - other.offset,
        })
    }

    /// How this unit compares with another.
    #[must_use]
    pub fn compare(&self, other: &Self) -> Scaling {
        let ((name, factor, offset), (other, other_factor, other_offset)) = (self.common(), other.common());
        if name != other {
            Scaling::OtherUnit
        } else if near(factor, other_factor) && near(offset, other_offset)
            || near(factor, -other_factor) && near(offset, 0.0) && near(other_offset, 0.0)
        {
            Scaling::Same
        } else {
            Scaling::OtherScale
        }
    }

    /// A number of this unit as a quantity with its unit's name.
    #[must_use]
    pub fn of(&self, value: f64) -> String {
        /// So many places after the first one tell it.
        const PLACES: usize = 5;
        let number = format!("{:.PLACES$e}", value * self.factor + self.offset);
        let number = number.parse().unwrap_or(f64::NAN);
        format!("{number} {}", self.name)
    }

    fn is_plain(&self) -> bool {
        near(self.factor, 1.0) && near(self.offset, 0.0)
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_one_quantity_are_compared() {
        let thousandth = Unit::scaled("W", 0.001);
        assert_eq!(Unit::scaled("kW", 1e-6).compare(&thousandth), Scaling::Same);
        assert_eq!(Unit::scaled("kW", 0.001).compare(&thousandth), Scaling::OtherScale);
        assert_eq!(Unit::plain("A").compare(&thousandth), Scaling::OtherUnit);
        let fahrenheit = Unit::plain("°F").through_line(&[32.0, 212.0], &[0.0, 100.0]);
        assert_eq!(fahrenheit.compare(&Unit::plain("°C")), Scaling::Same);
    }

    /// Source: the SI Brochure, prefixes and units accepted beside the SI (from memory).
    #[test]
    fn so_many_of_one_unit_are_so_many_of_another() {
        for (one, count, other, same) in [
            ("Wh", 1000.0, "kWh", 1.0),
            ("MWh", 1.0, "kWh", 1000.0),
            ("J", 3.6e6, "kWh", 1.0),
            ("kW", 1.0, "W", 1000.0),
            ("mA", 1000.0, "A", 1.0),
            ("mV", 1000.0, "V", 1.0),
            ("l/h", 1000.0, "m³/h", 1.0),
            ("l/s", 10.0, "m³/h", 36.0),
            ("m³/s", 1.0, "m³/h", 3600.0),
            ("ms", 1000.0, "s", 1.0),
            ("min", 1.0, "s", 60.0),
            ("h", 1.0, "s", 3600.0),
            ("rad", std::f64::consts::PI, "°", 180.0),
            ("°F", 212.0, "°C", 100.0),
            ("°F", 32.0, "°C", 0.0),
        ] {
            let Some(Alike { is, times, from }) = alike(one) else { panic!("{one} is not known") };
            assert!(is == other && (count * times + from - same).abs() < 1e-9, "{one}");
        }
    }

    #[test]
    fn which_way_counts_above_zero_is_no_matter_of_units() {
        let given = Unit::scaled("W", -0.001);
        assert_eq!(given.compare(&Unit::scaled("W", 0.001)), Scaling::Same);
        let from_the_other_end = Unit { offset: 100.0, ..Unit::scaled("%", -1.0) };
        assert_eq!(from_the_other_end.compare(&Unit::plain("%")), Scaling::OtherScale);
    }
}
