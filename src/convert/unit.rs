//! What a number measures, and how the steps of a chain carry that along.

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
    /// The same number says the same.
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
        if self.name != other.name {
            Scaling::OtherUnit
        } else if near(self.factor, other.factor) && near(self.offset, other.offset) {
            Scaling::Same
        } else {
            Scaling::OtherScale
        }
    }

    /// A number of this unit as a quantity with its unit's name.
    #[must_use]
    pub fn of(&self, value: f64) -> String {
        format!("{} {}", value * self.factor + self.offset, self.name)
    }

    fn is_plain(&self) -> bool {
        near(self.factor, 1.0) && near(self.offset, 0.0)
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1e-3)
}
