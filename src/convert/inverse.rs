//! The way back through a chain.
#![allow(clippy::wildcard_enum_match_arm, reason = "a step that no number goes through leaves it as it is")]

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
        // No number goes through these, or as it is: `loss` takes them for exact.
        Step::Reciprocal { .. }
        | Step::Same
        | Step::Not
        | Step::Table { .. }
        | Step::Bands { .. }
        | Step::Ignore { .. }
        | Step::IfNull { .. }
        | Step::Bit { .. }
        | Step::TestBit { .. }
        | Step::Above { .. }
        | Step::Constant { .. }
        | Step::Field { .. }
        | Step::Wrap { .. }
        | Step::Within { .. }
        | Step::Gather { .. }
        | Step::Attribute { .. }
        | Step::Sum { .. }
        | Step::Difference { .. }
        | Step::Set { .. }
        | Step::ScaleFields { .. }
        | Step::RgbToHsv
        | Step::HsvToRgb
        | Step::RgbToXyy
        | Step::XyyToRgb
        | Step::KelvinToXy
        | Step::XyToKelvin
        | Step::RgbwToRgb
        | Step::RgbToRgbw => range,
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
        // What is exact stays so; the differences below would only add the last places of large numbers.
        Step::Reciprocal { .. } | Step::Power10 { .. } if error <= 0.0 && nearest > 0.0 => 0.0,
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
                // What stood for all of them comes back as one number, give or take the error.
                let backs =
                    [below - error, below + error].map(|end| libm::pow(10.0, (end - offset) / factor));
                let worst = |back: f64| (back - range.min).abs().max((back - smallest).abs());
                backs.into_iter().map(worst).fold(0.0, f64::max)
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
    if turned.is_empty() { Err(Loss::NotFromInput) } else { Ok(Step::Gather { fields: turned.into() }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The inverse of a chain, both written as JSON, or why there is none.
    fn check(steps: &str, expected: Result<&str, &str>) {
        let chain: Chain = serde_json::from_str(steps).unwrap();
        let inverse = chain.inverse();
        let inverse =
            inverse.map(|chain| serde_json::to_string(&chain).unwrap()).map_err(|error| error.to_string());
        assert_eq!(inverse.as_deref().map_err(String::as_str), expected, "{steps}");
    }

    #[test]
    fn steps_are_turned_round_from_the_end() {
        check("[]", Ok("[]"));
        check(
            r#"[{"step":"scale","from":[0,100],"to":[0,254]},{"step":"round","to":1},{"step":"clamp","min":1,"max":254}]"#,
            Ok(
                r#"[{"step":"clamp","min":1,"max":254},{"step":"round","to":1},{"step":"scale","from":[0,254],"to":[0,100]}]"#,
            ),
        );
        check(r#"[{"step":"not"}]"#, Ok(r#"[{"step":"not"}]"#));
        check(
            r#"[{"step":"log10","factor":10000,"offset":1,"smallest":1,"below":0}]"#,
            Ok(r#"[{"step":"power10","factor":10000,"offset":1}]"#),
        );
        check(
            r#"[{"step":"power10","factor":10000,"offset":1}]"#,
            Ok(r#"[{"step":"log10","factor":10000,"offset":1,"smallest":1e-30}]"#),
        );
        check(
            r#"[{"step":"table","pairs":[[0,4],[1,3],[0,5],[2,null]]}]"#,
            Ok(r#"[{"step":"table","pairs":[[4,0],[3,1]]}]"#),
        );
        check(
            r#"[{"step":"within","name":"a","steps":[{"step":"wrap","name":"b"},{"step":"set","fields":{"c":1}}]}]"#,
            Ok(r#"[{"step":"within","name":"a","steps":[{"step":"same"},{"step":"field","name":"b"}]}]"#),
        );
        check(
            r#"[{"step":"gather","fields":{"a":{"field":"b"},"c":{"constant":1}}}]"#,
            Ok(r#"[{"step":"gather","fields":{"b":{"field":"a"}}}]"#),
        );
        check(
            r#"[{"step":"rgb-to-hsv"},{"step":"hsv-to-rgb"}]"#,
            Ok(r#"[{"step":"rgb-to-hsv"},{"step":"hsv-to-rgb"}]"#),
        );
        check(r#"[{"step":"bit","number":3}]"#, Ok(r#"[{"step":"test-bit","number":3}]"#));
    }

    #[test]
    fn what_is_lost_is_said() {
        check(
            r#"[{"step":"table","pairs":[[0,4],[1,4]]}]"#,
            Err("step 1 has no way back: two entries of the table give the same"),
        );
        check(
            r#"[{"step":"same"},{"step":"table","pairs":[[0,4]],"otherwise":1}]"#,
            Err("step 2 has no way back: `otherwise` stands for many values"),
        );
        check(r#"[{"step":"above","limit":0}]"#, Err("step 1 has no way back: many numbers give the same"));
        check(r#"[{"step":"test-bit","number":0}]"#, Err("step 1 has no way back: the other bits are lost"));
        check(r#"[{"step":"field","name":"a"}]"#, Err("step 1 has no way back: the other fields are lost"));
        check(
            r#"[{"step":"constant","value":1}]"#,
            Err("step 1 has no way back: the value does not come from the input"),
        );
        check(
            r#"[{"step":"within","name":"a","steps":[{"step":"same"},{"step":"bands","rows":[[0,1]]}]}]"#,
            Err("step 1.2 has no way back: many numbers give the same"),
        );
        check(
            r#"[{"step":"gather","fields":{"a":{"attribute":"OnOff.OnOff"}}}]"#,
            Err("step 1 has no way back: the value does not come from the input"),
        );
    }

    #[test]
    fn the_loss_is_half_a_step_on_the_other_side() {
        let check = |steps: &str, min: f64, max: f64, expected: f64| {
            let chain: Chain = serde_json::from_str(steps).unwrap();
            let loss = chain.loss(Range { min, max }).unwrap();
            assert!(loss.total_cmp(&expected).is_eq() || (loss - expected).abs() < 1e-9, "{steps}: {loss}");
        };
        check(
            r#"[{"step":"scale","from":[0,100],"to":[0,254]},{"step":"round","to":1}]"#,
            0.0,
            100.0,
            50.0 / 254.0,
        );
        check(
            r#"[{"step":"reciprocal","numerator":1000000},{"step":"round","to":1}]"#,
            2e3,
            5e3,
            1e6 / 199.5 - 5e3,
        );
        check(
            r#"[{"step":"reciprocal","numerator":1000000},{"step":"round","to":1}]"#,
            0.0,
            5e3,
            f64::INFINITY,
        );
        check(
            r#"[{"step":"round","to":1},{"step":"scale","from":[0,1],"to":[0,3]},{"step":"round","to":1}]"#,
            0.0,
            9.0,
            0.5,
        );
        check(r#"[{"step":"table","pairs":[[1,2]]}]"#, 0.0, 9.0, 0.0);
        check(r#"[{"step":"table","pairs":[[1,2]]},{"step":"round","to":1}]"#, 0.0, 9.0, f64::INFINITY);
    }
}
