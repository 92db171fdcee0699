//! What a person sees of an attribute, and how finely.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "a value is a number after the steps, or it does not count"
)]

use super::super::apply::line;
use super::super::{Chain, Range, Step, Value};
use std::borrow::Cow;

/// How an attribute looks to a person: its unit, the way to it, and how finely it is noticed.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// The unit, as the datapoint types write it: `%`, `K`, `°C`; empty for truth values and codes.
    pub unit: Cow<'static, str>,
    /// How finely it is noticed.
    pub sense: Sense,
    /// From the attribute's value to the number of the unit.
    pub steps: Chain,
}

impl Person {
    /// A number that is told as it stands, or a truth value, or a code.
    #[must_use]
    pub fn plain(unit: &str, sense: Sense) -> Self {
        Self { unit: Cow::Owned(unit.to_owned()), sense, steps: Chain::default() }
    }

    /// The value in the unit; of a truth value 0 or 1.
    pub(super) fn see(&self, value: &Value) -> Option<f64> {
        match (value, self.steps.steps.as_slice()) {
            // What most attributes are: the million values of a proof come through here twice.
            (Value::Number(number), []) => Some(*number),
            (Value::Number(number), [Step::Scale { from, to }]) => Some(line(*number, from, to)),
            (Value::Bool(truth), _) => Some(f64::from(u8::from(*truth))),
            (value, _) => self.steps.run(value, &()).ok()?.number(),
        }
    }
}

/// What is sensed, and so how small a difference is noticed.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// A truth value, an enum, a bitmap: every difference is noticed.
    Code,
    /// Brightness of a lamp in per cent of full.
    Brightness,
    /// Position of a blind, a valve or a fan in per cent.
    Position,
    /// Colour temperature in kelvin.
    ColourTemperature,
    /// Hue in degrees.
    Hue,
    /// Saturation in per cent.
    Saturation,
    /// A coordinate of a colour, CIE 1931 x or y.
    Chromaticity,
    /// Temperature of air or water in degrees Celsius.
    Temperature,
    /// A temperature that is asked for, in degrees Celsius.
    Setpoint,
    /// A difference of temperature in kelvin.
    TemperatureStep,
    /// Relative humidity in per cent.
    Humidity,
    /// Illuminance in lux, noticed by its ratio.
    Illuminance,
    /// The current that charges a vehicle, in amperes, noticed by its ratio. None charges with less than 6 A (IEC 61851-1).
    ChargingCurrent,
    /// Any other measurement, noticed by its ratio.
    Measurement,
    /// Anything else: no judgement.
    #[default]
    Other,
}

/// How finely something is noticed.
///
/// Source: common practice; where a figure of a standard is near, it is named.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Notice {
    /// Steps coarser than this are noticed, and values that come back further away.
    step: f64,
    /// A missing end is noticed from this much on.
    end: f64,
    /// Only values in here occur in a house; none: any.
    pub(super) usual: Option<Range>,
    /// Differences count as a share, in per cent, of the value, or of this where the value is smaller.
    pub(super) floor: Option<f64>,
    /// `step` and `end` are per cent of the value, while differences count in the unit itself.
    share: bool,
}

impl Notice {
    /// From which difference on a step at this value is noticed.
    pub(super) fn step_at(&self, value: f64) -> f64 {
        if self.share { self.step * value.abs() / 100.0 } else { self.step }
    }

    /// From which difference on a missing end at this value is noticed.
    pub(super) fn end_at(&self, value: f64) -> f64 {
        if self.share { self.end * value.abs() / 100.0 } else { self.end }
    }
}

impl Sense {
    /// How finely it is noticed; none where nothing is judged.
    pub(super) fn notice(self) -> Option<Notice> {
        let range = |min: f64, max: f64| Some(Range { min, max });
        let absolute = |step, end, usual| Some(Notice { step, end, usual, floor: None, share: false });
        let relative =
            |step, usual, floor| Some(Notice { step, end: step, usual, floor: Some(floor), share: false });
        match self {
            Sense::Code => absolute(0.5, 0.5, None),
            // A lamp at 1 % is plainly brighter than one that is off; between other levels 1 % is not seen.
            Sense::Brightness => absolute(1.0, 1.0, range(0.0, 100.0)),
            Sense::Position => absolute(1.0, 1.0, range(0.0, 100.0)),
            // 2 % are 54 K at 2700 K, or 7 mireds: about what is just seen side by side.
            Sense::ColourTemperature => Some(Notice {
                step: 2.0,
                end: 2.0,
                usual: range(1_000.0, 10_000.0),
                floor: None,
                share: true,
            }),
            Sense::Hue => absolute(5.0, 5.0, range(0.0, 360.0)),
            Sense::Saturation => absolute(2.0, 2.0, range(0.0, 100.0)),
            Sense::Chromaticity => absolute(0.004, 0.02, range(0.0, 0.8)),
            Sense::Temperature => absolute(0.1, 0.5, range(-30.0, 60.0)),
            Sense::Setpoint => absolute(0.1, 0.5, range(5.0, 35.0)),
            Sense::TemperatureStep => absolute(0.1, 0.5, range(-10.0, 10.0)),
            Sense::Humidity => absolute(1.0, 1.0, range(0.0, 100.0)),
            Sense::Illuminance => relative(5.0, range(1.0, 100_000.0), 1.0),
            Sense::ChargingCurrent => relative(2.0, range(6.0, 1_000.0), 1.0),
            Sense::Measurement => relative(2.0, None, 1.0),
            Sense::Other => None,
        }
    }

    /// Whether people tell two values apart where they look for one: the first is what they know, and occurs in a house.
    pub fn tells_apart(self, known: f64, now: f64) -> bool {
        const SHARE: f64 = 0.02;
        match self.notice() {
            Some(notice) => self.is_usual(known) && self.distance(known, now) >= notice.step_at(known),
            None => (known - now).abs() > SHARE * known.abs().max(now.abs()),
        }
    }

    /// How far two values are from each other: degrees go round, ratios are in per cent.
    pub(super) fn distance(self, a: f64, b: f64) -> f64 {
        let difference = (a - b).abs();
        match (self, self.notice().and_then(|notice| notice.floor)) {
            (Sense::Hue, _) => {
                let turn = difference % 360.0;
                turn.min(360.0 - turn)
            }
            (_, Some(floor)) => 100.0 * difference / a.abs().max(floor),
            _ => difference,
        }
    }

    /// The unit in which [`Sense::distance`] counts, for a value in `unit`.
    pub(super) fn distance_unit(self, unit: &str) -> String {
        if self.notice().is_some_and(|notice| notice.floor.is_some()) {
            "% of the value".to_owned()
        } else {
            unit.to_owned()
        }
    }

    /// Whether a value occurs in a house.
    pub(super) fn is_usual(self, value: f64) -> bool {
        self.notice()
            .and_then(|notice| notice.usual)
            .is_none_or(|usual| (usual.min..=usual.max).contains(&value))
    }

    /// Whether its range ends by itself (at 0 and 100 %, at the codes that there are) or at least where a house ends:
    /// a thermometer that stops at 0 °C is noticed, a setpoint that stops at 30 °C is the class's own choice.
    pub(super) fn has_ends(self) -> bool {
        !matches!(
            self,
            Sense::Setpoint
                | Sense::ColourTemperature
                | Sense::Chromaticity
                | Sense::Illuminance
                | Sense::ChargingCurrent
                | Sense::Measurement
                | Sense::Other
        )
    }
}
