//! The way back through a chain.

use super::apply::{line, round};
use super::kind::Range;
use super::run::StepNumber;
use super::{Chain, Origin, Step, colour};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// A chain that cannot be turned round, and the first step, from the end, that has no way back.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("step {step} has no way back: {why}")]
pub struct OneWay {
    /// The step.
    pub step: StepNumber,
    /// What is lost.
    pub why: Loss,
}

/// Why a step has no way back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Loss {
    /// Two inputs of a table have the same output.
    #[error("two entries of the table give the same")]
    SameOutputs,
    /// A table gives one output for everything else.
    #[error("`otherwise` stands for many values")]
    Otherwise,
    /// Many numbers become one.
    #[error("many numbers give the same")]
    ManyToOne,
    /// The other bits of a bitmap are lost.
    #[error("the other bits are lost")]
    OtherBits,
    /// The other fields of a structure are lost.
    #[error("the other fields are lost")]
    OtherFields,
    /// The value itself is lost.
    #[error("the value does not come from the input")]
    NotFromInput,
}

/// Smallest value that the way back of `power10` takes a logarithm of.
const SMALLEST: f64 = 1e-30;

impl Chain {
    /// The chain that gives back what went into this one.
    ///
    /// Step by step from the end: each step by its own inverse (see [`Step`]). `clamp` and `round` are their own: what
    /// came out of them passes them unchanged, so that the way back cuts off and rounds exactly what the way there could
    /// not have given. How far the value that comes back may be from the one that went in: [`Chain::loss`].
    ///
    /// # Errors
    /// [`OneWay`] where a step has no inverse.
    pub fn inverse(&self) -> Result<Chain, OneWay> {
        let mut steps = Vec::with_capacity(self.steps.len());
        for (index, step) in self.steps.iter().enumerate().rev() {
            let number = StepNumber::default().within(index);
            steps.push(match step {
                Step::Within { name, steps } => {
                    let inner = steps
                        .inverse()
                        .map_err(|error| OneWay { step: error.step.outwards(index), ..error })?;
                    Step::Within { name: name.clone(), steps: inner }
                }
                step => back(step).map_err(|why| OneWay { step: number, why })?,
            });
        }
        Ok(Chain { steps })
    }

    /// How far a number that comes back through [`Chain::inverse`] may be from the one of `range` that went in, for
    /// numbers that no `clamp` cut off and no `ignore` or `table` dropped; the last places of the double come on top.
    ///
    /// Infinite where no bound is known: a table behind something that rounds, a colour, a pole within the range.
    ///
    /// # Errors
    /// [`OneWay`] where there is no inverse.
    pub fn loss(&self, range: Range) -> Result<f64, OneWay> {
        self.inverse()?;
        let mut stages = Vec::with_capacity(self.steps.len());
        let mut range = range;
        for step in &self.steps {
            stages.push((step, range));
            range = through(step, range);
        }
        Ok(stages.into_iter().rev().fold(0.0, |error, (step, range)| loss(step, range, error)))
    }
}

/// Where the numbers of a range go.
fn through(step: &Step, range: Range) -> Range {
    match step {
        Step::Scale { from, to } => range.map(|end| line(end, from, to)),
        Step::Round { to } => range.map(|end| round(end, *to)),
        Step::Clamp { min, max } => range.map(|end| end.max(*min).min(*max)),
        Step::Reciprocal { numerator } if range.min > 0.0 || range.max < 0.0 => {
            range.map(|end| numerator / end)
        }
        Step::Log10 { factor, offset, smallest, below } => {
            let logarithms = range.map(|end| factor * libm::log10(end.max(*smallest)) + offset);
            below.filter(|_| range.min < *smallest).map_or(logarithms, |below| logarithms.with(below))
        }
        Step::Power10 { factor, offset } => range.map(|end| libm::pow(10.0, (end - offset) / factor)),
        _ => range,
    }
}

/// The error in front of a step, with `error` the one behind it and `range` what went into it.
fn loss(step: &Step, range: Range, error: f64) -> f64 {
    let nearest =
        if range.min <= 0.0 && range.max >= 0.0 { 0.0 } else { range.min.abs().min(range.max.abs()) };
    let farthest = range.min.abs().max(range.max.abs());
    match step {
        Step::Scale { from: [a, b], to: [c, d] } => error * ((b - a) / (d - c)).abs(),
        // Less than half a step of error is rounded away on the way back.
        Step::Round { to } => {
            if error < to / 2.0 {
                to / 2.0
            } else {
                error + to
            }
        }
        Step::Reciprocal { numerator } => {
            let result = numerator.abs() / farthest;
            if nearest <= 0.0 || result <= error {
                f64::INFINITY
            } else {
                numerator.abs() / (result - error) - farthest
            }
        }
        Step::Log10 { factor, offset, smallest, below } => {
            let widest = range.max.max(*smallest) * (libm::pow(10.0, error / factor.abs()) - 1.0);
            let dropped = below.filter(|_| range.min < *smallest).map_or(0.0, |below| {
                let back = libm::pow(10.0, (below - offset) / factor);
                (back - range.min).abs().max((back - smallest).abs())
            });
            widest.max(dropped)
        }
        Step::Power10 { factor, .. } => {
            let result = through(step, range).min;
            if result - error < SMALLEST {
                f64::INFINITY
            } else {
                factor.abs() * libm::log10(result / (result - error))
            }
        }
        Step::KelvinToXy if error <= 0.0 => farthest * colour::mccamy_share(nearest, farthest),
        Step::KelvinToXy => f64::INFINITY,
        Step::Table { .. }
        | Step::RgbToHsv
        | Step::HsvToRgb
        | Step::RgbToXyy
        | Step::XyyToRgb
        | Step::RgbToRgbw
            if error > 0.0 =>
        {
            f64::INFINITY
        }
        _ => error,
    }
}

fn back(step: &Step) -> Result<Step, Loss> {
    match step {
        Step::Same | Step::Not | Step::Round { .. } | Step::Clamp { .. } | Step::Reciprocal { .. } => {
            Ok(step.clone())
        }
        // What passed them passes on unchanged, and so do the fixed fields.
        Step::Ignore { .. } | Step::IfNull { .. } | Step::Set { .. } => Ok(Step::Same),
        Step::Scale { from, to } => Ok(Step::Scale { from: *to, to: *from }),
        Step::ScaleFields { of, from, to } => Ok(Step::ScaleFields { of: of.clone(), from: *to, to: *from }),
        Step::Log10 { factor, offset, .. } => Ok(Step::Power10 { factor: *factor, offset: *offset }),
        Step::Power10 { factor, offset } => {
            Ok(Step::Log10 { factor: *factor, offset: *offset, smallest: SMALLEST, below: None })
        }
        Step::Table { pairs, otherwise } => table(pairs, otherwise.as_ref()),
        Step::Bit { number } => Ok(Step::TestBit { number: *number }),
        Step::Wrap { name } => Ok(Step::Field { name: name.clone() }),
        Step::Gather { fields } => gather(fields),
        Step::RgbToHsv => Ok(Step::HsvToRgb),
        Step::HsvToRgb => Ok(Step::RgbToHsv),
        Step::RgbToXyy => Ok(Step::XyyToRgb),
        Step::XyyToRgb => Ok(Step::RgbToXyy),
        Step::KelvinToXy => Ok(Step::XyToKelvin),
        Step::RgbToRgbw => Ok(Step::RgbwToRgb),
        Step::TestBit { .. } => Err(Loss::OtherBits),
        Step::Bands { .. } | Step::Above { .. } | Step::XyToKelvin | Step::RgbwToRgb => Err(Loss::ManyToOne),
        Step::Field { .. } | Step::Sum { .. } | Step::Difference { .. } => Err(Loss::OtherFields),
        // `within` is turned round by its steps.
        Step::Constant { .. } | Step::Attribute { .. } | Step::Within { .. } => Err(Loss::NotFromInput),
    }
}

fn table(pairs: &[(Json, Json)], otherwise: Option<&Json>) -> Result<Step, Loss> {
    if otherwise.is_some_and(|json| !json.is_null()) {
        return Err(Loss::Otherwise);
    }
    let mut turned: Vec<(Json, Json)> = Vec::with_capacity(pairs.len());
    for (index, (input, output)) in pairs.iter().enumerate() {
        // A pair whose input stands further up already is never met, and null is nothing to come back from.
        let met = !pairs.iter().take(index).any(|(other, _)| equal(other, input));
        if !met || input.is_null() || output.is_null() {
            continue;
        }
        if turned.iter().any(|(other, _)| equal(other, output)) {
            return Err(Loss::SameOutputs);
        }
        turned.push((output.clone(), input.clone()));
    }
    if turned.is_empty() {
        Err(Loss::NotFromInput)
    } else {
        Ok(Step::Table { pairs: turned, otherwise: None })
    }
}

fn equal(a: &Json, b: &Json) -> bool {
    super::Value::from_json(a).is_ok_and(|a| a.equals_json(b))
}

fn gather(fields: &BTreeMap<String, Origin>) -> Result<Step, Loss> {
    let mut turned = BTreeMap::new();
    for (name, origin) in fields {
        let lost = match origin {
            Origin::Field(from) => turned.insert(from.clone(), Origin::Field(name.clone())).is_some(),
            Origin::Attribute(_) => true,
            Origin::Constant(_) => false,
        };
        if lost {
            return Err(Loss::NotFromInput);
        }
    }
    if turned.is_empty() { Err(Loss::NotFromInput) } else { Ok(Step::Gather { fields: turned }) }
}
