//! What each step makes of a value: the other half of the reference interpreter, in the order of the steps.
#![allow(clippy::wildcard_enum_match_arm, reason = "`colours` gets the colour steps only")]

use super::run::{Fault, Surroundings};
use super::value::{Fields, Sort, Value};
use super::{Origin, Step, colour};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// What one step makes of a value that is not null.
pub(super) fn apply(step: &Step, value: Value, surroundings: &dyn Surroundings) -> Result<Value, Fault> {
    match step {
        Step::Same | Step::IfNull { .. } => Ok(value),
        Step::Not => Ok(Value::Bool(!truth(&value)?)),
        Step::Reciprocal { numerator } => reciprocal(number(&value)?, *numerator),
        Step::Log10 { factor, offset, smallest, below } => {
            log10(number(&value)?, *factor, *offset, *smallest, *below)
        }
        Step::Power10 { factor, offset } => finite(libm::pow(10.0, (number(&value)? - offset) / factor)),
        Step::Table { pairs, otherwise } => look_up(pairs, otherwise.as_ref(), &value),
        Step::Bands { rows } => band(rows, number(&value)?),
        Step::Ignore { values } => {
            Ok(if values.iter().any(|one| value.equals_json(one)) { Value::Null } else { value })
        }
        Step::Bit { number } => Ok(Value::Number(if truth(&value)? { power_of_two(*number) } else { 0.0 })),
        Step::TestBit { number } => {
            Ok(Value::Bool((whole(&value)? / power_of_two(*number)).floor() % 2.0 >= 1.0))
        }
        Step::Above { limit } => Ok(Value::Bool(number(&value)? > *limit)),
        Step::Constant { value } => constant(value),
        Step::Field { name } => structure(value)?.take(name).ok_or_else(|| no_field(name)),
        Step::Wrap { name } => Ok(Value::Structure([(name.clone(), value)].into_iter().collect())),
        Step::Gather { fields } => gather(fields, &value, surroundings),
        Step::Attribute { of } => attribute(of, surroundings),
        Step::Sum { of } => sum(of, &value),
        Step::Difference { of: [first, second] } => difference(first, second, &value),
        Step::Set { fields } => set(fields, value),
        Step::ScaleFields { of, from, to } => scale_fields(of, from, to, value),
        // What these take was taken by `run_noting`.
        Step::Within { .. } => Err(wrong("a structure", &value)),
        Step::Scale { .. } | Step::Round { .. } | Step::Clamp { .. } => Err(wrong("a number", &value)),
        Step::RgbToHsv
        | Step::HsvToRgb
        | Step::RgbToXyy
        | Step::XyyToRgb
        | Step::KelvinToXy
        | Step::XyToKelvin
        | Step::RgbwToRgb
        | Step::RgbToRgbw => colours(step, &value),
    }
}

fn wrong(expected: &'static str, found: &Value) -> Fault {
    Fault::WrongKind { expected, found: found.sort() }
}

pub(super) fn no_field(name: &str) -> Fault {
    Fault::NoField { name: name.to_owned() }
}

fn truth(value: &Value) -> Result<bool, Fault> {
    if let Value::Bool(truth) = value { Ok(*truth) } else { Err(wrong("a truth value", value)) }
}

fn number(value: &Value) -> Result<f64, Fault> {
    value.number().ok_or_else(|| wrong("a number", value))
}

fn whole(value: &Value) -> Result<f64, Fault> {
    let number = value.number().filter(|number| *number >= 0.0 && number.fract() <= 0.0);
    number.ok_or_else(|| wrong("a whole number, not negative", value))
}

fn structure(value: Value) -> Result<Fields, Fault> {
    if let Value::Structure(fields) = value { Ok(fields) } else { Err(wrong("a structure", &value)) }
}

fn fields_of(value: &Value) -> Result<&Fields, Fault> {
    if let Value::Structure(fields) = value { Ok(fields) } else { Err(wrong("a structure", value)) }
}

#[inline]
pub(super) fn finite(number: f64) -> Result<Value, Fault> {
    // Adding zero makes a negative zero a plain one.
    if number.is_finite() { Ok(Value::Number(number + 0.0)) } else { Err(Fault::NotFinite) }
}

pub(super) fn constant(json: &Json) -> Result<Value, Fault> {
    Value::from_json(json)
        .map_err(|_| Fault::WrongKind { expected: "a constant that is a value", found: Sort::List })
}

#[inline]
pub(super) fn line(value: f64, from: &[f64; 2], to: &[f64; 2]) -> f64 {
    let ([from_a, from_b], [to_a, to_b]) = (from, to);
    (value - from_a) * (to_b - to_a) / (from_b - from_a) + to_a
}

#[inline]
pub(super) fn round(value: f64, to: f64) -> f64 {
    (value / to).round_ties_even() * to
}

fn power_of_two(number: u8) -> f64 {
    libm::ldexp(1.0, i32::from(number))
}

fn reciprocal(value: f64, numerator: f64) -> Result<Value, Fault> {
    if value.abs() <= 0.0 { Ok(Value::Null) } else { finite(numerator / value) }
}

fn log10(value: f64, factor: f64, offset: f64, smallest: f64, below: Option<f64>) -> Result<Value, Fault> {
    if value < smallest {
        return below.map_or(Ok(Value::Null), finite);
    }
    finite(factor * libm::log10(value) + offset)
}

fn look_up(pairs: &[(Json, Json)], otherwise: Option<&Json>, value: &Value) -> Result<Value, Fault> {
    let found = pairs.iter().find(|(input, _)| value.equals_json(input)).map(|(_, output)| output);
    found.or(otherwise).map_or(Ok(Value::Null), constant)
}

fn band(rows: &[(f64, Json)], value: f64) -> Result<Value, Fault> {
    let reached = rows.iter().rev().find(|(from, _)| *from <= value);
    reached.map_or(Ok(Value::Null), |(_, output)| constant(output))
}

fn attribute(of: &str, surroundings: &dyn Surroundings) -> Result<Value, Fault> {
    surroundings.attribute(of).ok_or_else(|| Fault::NoAttribute { of: of.to_owned() })
}

fn gather(
    fields: &BTreeMap<String, Origin>,
    value: &Value,
    surroundings: &dyn Surroundings,
) -> Result<Value, Fault> {
    let mut out = Fields::new();
    let mut unknown = false;
    for (name, origin) in fields {
        let part = match origin {
            Origin::Field(field) => fields_of(value)?.get(field).cloned().ok_or_else(|| no_field(field))?,
            Origin::Constant(json) => constant(json)?,
            Origin::Attribute(of) => {
                let part = attribute(of, surroundings)?;
                unknown |= part == Value::Null;
                part
            }
        };
        out.put(name.clone(), part);
    }
    Ok(if unknown { Value::Null } else { Value::Structure(out) })
}

/// A field's number; none if the field is null.
fn component(fields: &Fields, name: &str) -> Result<Option<f64>, Fault> {
    match fields.get(name) {
        None => Err(no_field(name)),
        Some(Value::Null) => Ok(None),
        Some(value) => number(value).map(Some),
    }
}

/// The numbers of several fields; none if one of them is null. A field that is missing is an error all the same.
fn components<const N: usize>(value: &Value, names: [&str; N]) -> Result<Option<[f64; N]>, Fault> {
    let fields = fields_of(value)?;
    let mut out = [0.0; N];
    let mut known = true;
    for (slot, name) in out.iter_mut().zip(names) {
        match component(fields, name)? {
            Some(number) => *slot = number,
            None => known = false,
        }
    }
    Ok(known.then_some(out))
}

fn sum(of: &[String], value: &Value) -> Result<Value, Fault> {
    let fields = fields_of(value)?;
    let mut total = Some(0.0);
    for name in of {
        let part = component(fields, name)?;
        total = total.zip(part).map(|(total, part)| total + part);
    }
    total.map_or(Ok(Value::Null), finite)
}

fn difference(first: &str, second: &str, value: &Value) -> Result<Value, Fault> {
    components(value, [first, second])?.map_or(Ok(Value::Null), |[first, second]| finite(first - second))
}

fn set(fixed: &serde_json::Map<String, Json>, value: Value) -> Result<Value, Fault> {
    let mut fields = structure(value)?;
    for (name, json) in fixed {
        fields.put(name.clone(), constant(json)?);
    }
    Ok(Value::Structure(fields))
}

fn scale_fields(of: &[String], from: &[f64; 2], to: &[f64; 2], value: Value) -> Result<Value, Fault> {
    let mut fields = structure(value)?;
    for name in of {
        let field = fields.get_mut(name).ok_or_else(|| no_field(name))?;
        if *field != Value::Null {
            *field = finite(line(number(field)?, from, to))?;
        }
    }
    Ok(Value::Structure(fields))
}

const RGB: [&str; 3] = ["red", "green", "blue"];

fn colours(step: &Step, value: &Value) -> Result<Value, Fault> {
    let result = match step {
        Step::RgbToHsv => components(value, RGB)?.map(|rgb| {
            let (hue, saturation, value) = colour::rgb_to_hsv(rgb);
            named([("hue", hue), ("saturation", saturation), ("value", Some(value))])
        }),
        Step::HsvToRgb => {
            let fields = fields_of(value)?;
            let hue = component(fields, "hue")?.unwrap_or(0.0);
            let saturation = component(fields, "saturation")?.unwrap_or(0.0);
            component(fields, "value")?.map(|value| numbers(RGB, colour::hsv_to_rgb(hue, saturation, value)))
        }
        Step::RgbToXyy => components(value, RGB)?.map(|rgb| {
            let (xy, luminance) = colour::rgb_to_xyy(rgb);
            named([("x", xy.map(|[x, _]| x)), ("y", xy.map(|[_, y]| y)), ("Y", Some(luminance))])
        }),
        Step::XyyToRgb => {
            let fields = fields_of(value)?;
            let (x, y) = (component(fields, "x")?, component(fields, "y")?);
            let luminance = component(fields, "Y")?;
            luminance
                .and_then(|luminance| colour::xyy_to_rgb(x.zip(y).map(|(x, y)| [x, y]), luminance))
                .map(|rgb| numbers(RGB, rgb))
        }
        Step::KelvinToXy => Some(numbers(["x", "y"], colour::kelvin_to_xy(number(value)?))),
        Step::XyToKelvin => components(value, ["x", "y"])?.and_then(colour::xy_to_kelvin).map(Value::Number),
        Step::RgbwToRgb => components(value, ["red", "green", "blue", "white"])?
            .map(|rgbw| numbers(RGB, colour::rgbw_to_rgb(rgbw))),
        Step::RgbToRgbw => components(value, RGB)?
            .map(|rgb| numbers(["red", "green", "blue", "white"], colour::rgb_to_rgbw(rgb))),
        _ => None,
    };
    Ok(result.unwrap_or(Value::Null))
}

fn named<const N: usize>(fields: [(&'static str, Option<f64>); N]) -> Value {
    Value::Structure(
        fields.into_iter().map(|(name, number)| (name, number.map_or(Value::Null, Value::Number))).collect(),
    )
}

fn numbers<const N: usize>(names: [&'static str; N], numbers: [f64; N]) -> Value {
    Value::Structure(names.into_iter().zip(numbers.map(Value::Number)).collect())
}
