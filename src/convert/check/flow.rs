//! What each step makes of a kind: the typing rule of every step, in the order of the steps.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "a kind that a step does not take is refused whichever it is"
)]

use super::super::apply::{line, round};
use super::super::kind::{Kind, Quantity, Range, is_multiple};
use super::super::misfit::Misfit;
use super::super::unit::{KELVIN, Unit};
use super::super::value::Value;
use super::super::{Origin, Step, colour};
use super::{Attributes, ChainFault};
use serde_json::Value as Json;
use std::collections::BTreeMap;

const RGB: &[&str] = &["red", "green", "blue"];
const RGBW: &[&str] = &["red", "green", "blue", "white"];
const HSV: &[&str] = &["hue", "saturation", "value"];
const XYY: &[&str] = &["x", "y", "Y"];
const XY: &[&str] = &["x", "y"];

/// What a step makes of a kind. Where nothing is known of what comes, the step is believed to get what it takes.
pub(super) fn after(step: &Step, kind: Kind, attributes: &dyn Attributes) -> Result<Kind, ChainFault> {
    match step {
        Step::Same => Ok(kind),
        Step::Not => takes(&kind, &Kind::Bool).map(|()| Kind::Bool),
        Step::Scale { from, to } => scale(kind, from, to),
        Step::Round { to } => each(kind, |number| round(number, *to), |quantity| rounded(quantity, *to)),
        Step::Clamp { min, max } => clamp(kind, Range { min: *min, max: *max }),
        Step::Reciprocal { numerator } => numeric(&kind).map(|quantity| reciprocal(&quantity, *numerator)),
        Step::Log10 { factor, offset, smallest, below } => {
            log10(&numeric(&kind)?, [*factor, *offset], *smallest, *below)
        }
        Step::Power10 { factor, offset } => {
            numeric(&kind).map(|quantity| power10(&quantity, *factor, *offset))
        }
        Step::Table { pairs, otherwise } => {
            pairs.iter().try_for_each(|(input, _)| met(input, &kind))?;
            Ok(Kind::of_constants(pairs.iter().map(|(_, output)| output).chain(otherwise)))
        }
        Step::Bands { rows } => {
            numeric(&kind).map(|_| Kind::of_constants(rows.iter().map(|(_, output)| output)))
        }
        Step::Ignore { values } => {
            values.iter().try_for_each(|value| met(value, &kind))?;
            Ok(without(kind, values))
        }
        Step::IfNull { value } => Ok(kind.or(Kind::of_constants([value]))),
        Step::Bit { number } => takes(&kind, &Kind::Bool).map(|()| Kind::Bitmap(1 << number)),
        Step::TestBit { number } => test_bit(&kind, *number),
        Step::Above { .. } => numeric(&kind).map(|_| Kind::Bool),
        Step::Constant { value } => Ok(Kind::of_constants([value])),
        Step::Field { name } => field(&kind, name),
        Step::Wrap { name } => Ok(Kind::Structure([(name.clone(), kind)].into())),
        Step::Gather { fields } => gather(fields, &kind, attributes),
        Step::Attribute { of } => attribute(of, attributes),
        Step::Sum { of } => sum(of, &kind),
        Step::Difference { of: [first, second] } => difference(&kind, first, second),
        Step::Set { fields } => set(kind, fields),
        Step::ScaleFields { of, from, to } => {
            of.iter().try_fold(kind, |kind, name| scale_field(kind, name, from, to))
        }
        // Only a kind that is no structure comes here.
        Step::Within { .. } => Err(not_a_structure(&kind)),
        Step::RgbToHsv => colours(&kind, RGB, HSV),
        Step::HsvToRgb => colours(&kind, HSV, RGB),
        Step::RgbToXyy => colours(&kind, RGB, XYY),
        Step::XyyToRgb => colours(&kind, XYY, RGB),
        Step::KelvinToXy => {
            takes(&kind, &Kind::quantity(KELVIN, f64::NEG_INFINITY, f64::INFINITY, 0.0))?;
            Ok(named(XY))
        }
        Step::XyToKelvin => {
            colours(&kind, XY, &[])?;
            Ok(Kind::quantity(KELVIN, colour::KELVIN_MIN, colour::KELVIN_MAX, 0.0))
        }
        Step::RgbwToRgb => colours(&kind, RGBW, RGB),
        Step::RgbToRgbw => colours(&kind, RGB, RGBW),
    }
}

fn takes(kind: &Kind, asked: &Kind) -> Result<(), ChainFault> {
    if *kind == Kind::Any { Ok(()) } else { kind.fits(asked).map_err(ChainFault::Misfit) }
}

fn not_a_structure(found: &Kind) -> ChainFault {
    ChainFault::Misfit(Misfit::Sort { expected: "a structure".to_owned(), found: found.to_string() })
}

/// The numbers that come.
fn numeric(kind: &Kind) -> Result<Quantity, ChainFault> {
    if *kind == Kind::Any {
        return Ok(Quantity { unit: None, range: Range::ALL, resolution: 0.0 });
    }
    kind.as_quantity().ok_or_else(|| {
        ChainFault::Misfit(Misfit::Sort { expected: "a number".to_owned(), found: kind.to_string() })
    })
}

/// Few numbers are taken one by one, others as a range.
fn each(
    kind: Kind,
    number: impl Fn(f64) -> f64,
    range: impl Fn(Quantity) -> Quantity,
) -> Result<Kind, ChainFault> {
    if let Kind::Codes(codes) = kind {
        return Ok(Kind::codes(codes.into_iter().map(number)));
    }
    numeric(&kind).map(range).map(Kind::Number)
}

fn scale(kind: Kind, from: &[f64; 2], to: &[f64; 2]) -> Result<Kind, ChainFault> {
    each(
        kind,
        |number| line(number, from, to),
        |Quantity { unit, range, resolution }| {
            let ([from_a, from_b], [to_a, to_b]) = (from, to);
            let slope = (to_b - to_a) / (from_b - from_a);
            // Whole numbers stay exact; 8.04 * 100 is 803.9999999999999, which is no multiple of anything.
            let whole = [resolution, slope, *from_a, *from_b, *to_a, *to_b]
                .iter()
                .all(|number| number.fract().abs() <= 0.0);
            Quantity {
                unit: unit.map(|unit| unit.through_line(from, to)),
                range: range.map(|end| line(end, from, to)),
                resolution: if whole { (resolution * slope).abs() } else { 0.0 },
            }
        },
    )
}

fn rounded(quantity: Quantity, to: f64) -> Quantity {
    let finer = !is_multiple(quantity.resolution, to);
    Quantity {
        range: quantity.range.map(|end| round(end, to)),
        resolution: if finer { to } else { quantity.resolution },
        unit: quantity.unit,
    }
}

fn clamp(kind: Kind, bounds: Range) -> Result<Kind, ChainFault> {
    let quantity = numeric(&kind)?;
    let found = quantity.range;
    let range = found.meet(bounds).ok_or(ChainFault::AllCut { found, bounds })?;
    if let Kind::Codes(codes) = kind {
        return Ok(Kind::codes(codes.into_iter().map(|code| code.max(bounds.min).min(bounds.max))));
    }
    let step = quantity.resolution;
    let even = |cut: bool, end: f64| !cut || end.abs() <= 0.0 || is_multiple(end.abs(), step);
    let stays = even(found.min < bounds.min, bounds.min) && even(found.max > bounds.max, bounds.max);
    Ok(Kind::Number(Quantity { unit: quantity.unit, range, resolution: if stays { step } else { 0.0 } }))
}

fn reciprocal(quantity: &Quantity, numerator: f64) -> Kind {
    let Quantity { unit, range, resolution } = quantity;
    // The numbers next to zero give the largest results; zero itself gives none.
    let above = (range.max > 0.0).then(|| Range { min: range.min.max(*resolution), max: range.max });
    let below = (range.min < 0.0).then(|| Range { min: range.min, max: range.max.min(-*resolution) });
    let mut ends = Vec::new();
    for side in [above, below].into_iter().flatten() {
        ends.extend([side.min, side.max].map(|end| {
            if end.abs() <= 0.0 { f64::INFINITY.copysign(side.min + side.max) } else { 1.0 / end }
        }));
    }
    let range = Range::of(ends.into_iter().map(|end| end * numerator)).unwrap_or(Range::ALL);
    let unit = unit.as_ref().and_then(|unit| unit.through_reciprocal(numerator));
    Kind::Number(Quantity { unit, range, resolution: 0.0 })
}

fn log10(
    quantity: &Quantity,
    [factor, offset]: [f64; 2],
    smallest: f64,
    below: Option<f64>,
) -> Result<Kind, ChainFault> {
    let bounds = Range { min: smallest, max: f64::INFINITY };
    let domain = quantity.range.meet(bounds);
    let logarithms = domain.map(|domain| domain.map(|end| factor * libm::log10(end) + offset));
    let cut = below.filter(|_| quantity.range.min < smallest);
    let range = match (logarithms, cut) {
        (Some(range), Some(below)) => range.with(below),
        (Some(range), None) => range,
        (None, Some(below)) => Range { min: below, max: below },
        (None, None) => return Err(ChainFault::AllCut { found: quantity.range, bounds }),
    };
    let unit = quantity.unit.as_ref().and_then(|unit| unit.through_log10(factor, offset));
    Ok(Kind::Number(Quantity { unit, range, resolution: 0.0 }))
}

fn power10(quantity: &Quantity, factor: f64, offset: f64) -> Kind {
    Kind::Number(Quantity {
        unit: quantity.unit.as_ref().and_then(|unit| unit.through_power10(factor, offset)),
        range: quantity.range.map(|end| libm::pow(10.0, (end - offset) / factor)),
        resolution: 0.0,
    })
}

/// Whether a value of the kind can equal this constant.
fn met(constant: &Json, kind: &Kind) -> Result<(), ChainFault> {
    if can_equal(constant, kind) {
        return Ok(());
    }
    Err(ChainFault::NeverMet { entry: constant.to_string(), found: kind.to_string() })
}

fn can_equal(constant: &Json, kind: &Kind) -> bool {
    match (constant, kind) {
        (Json::Null, _) => false,
        (_, Kind::Any) | (Json::Bool(_), Kind::Bool) | (Json::String(_), Kind::Text) => true,
        (Json::Number(number), _) => {
            number.as_f64().is_some_and(|number| Kind::codes([number]).fits(&unmeasured(kind)).is_ok())
        }
        (Json::Object(constants), Kind::Structure(fields)) => {
            constants.len() == fields.len()
                && constants
                    .iter()
                    .all(|(name, json)| fields.get(name).is_some_and(|kind| can_equal(json, kind)))
        }
        _ => false,
    }
}

/// The kind without what rounding says: a constant is not measured by it.
fn unmeasured(kind: &Kind) -> Kind {
    match kind {
        Kind::Number(quantity) => Kind::Number(Quantity { resolution: 0.0, ..quantity.clone() }),
        other => other.clone(),
    }
}

/// The kind after these values are taken out.
fn without(kind: Kind, values: &[Json]) -> Kind {
    let numbers: Vec<f64> = values.iter().filter_map(Json::as_f64).collect();
    let taken = |number: f64| numbers.iter().any(|other| other.total_cmp(&number).is_eq());
    match kind {
        Kind::Codes(codes) => Kind::codes(codes.into_iter().filter(|code| !taken(*code))),
        Kind::Number(Quantity { unit, mut range, resolution }) if resolution > 0.0 => {
            // Each value can move an end once.
            for _ in &numbers {
                if taken(range.min) && range.min + resolution <= range.max {
                    range.min += resolution;
                }
                if taken(range.max) && range.max - resolution >= range.min {
                    range.max -= resolution;
                }
            }
            Kind::Number(Quantity { unit, range, resolution })
        }
        other => other,
    }
}

fn test_bit(kind: &Kind, number: u8) -> Result<Kind, ChainFault> {
    let whole = Kind::number(0.0, f64::INFINITY, 1.0);
    takes(kind, &whole)?;
    match kind {
        Kind::Bitmap(bits) if bits & (1 << number) == 0 => {
            Err(ChainFault::NeverMet { entry: format!("bit {number}"), found: kind.to_string() })
        }
        _ => Ok(Kind::Bool),
    }
}

fn field(kind: &Kind, name: &str) -> Result<Kind, ChainFault> {
    match kind {
        Kind::Any => Ok(Kind::Any),
        Kind::Structure(fields) => {
            fields.get(name).cloned().ok_or_else(|| ChainFault::NoField { name: name.to_owned() })
        }
        other => Err(not_a_structure(other)),
    }
}

fn attribute(of: &str, attributes: &dyn Attributes) -> Result<Kind, ChainFault> {
    attributes.kind(of).ok_or_else(|| ChainFault::NoAttribute { of: of.to_owned() })
}

fn gather(
    fields: &BTreeMap<String, Origin>,
    kind: &Kind,
    attributes: &dyn Attributes,
) -> Result<Kind, ChainFault> {
    let mut out = BTreeMap::new();
    for (name, origin) in fields {
        let part = match origin {
            Origin::Field(from) => field(kind, from)?,
            Origin::Attribute(of) => attribute(of, attributes)?,
            Origin::Constant(json) => Value::from_json(json).map_or(Kind::Any, |value| Kind::of(&value)),
        };
        out.insert(name.clone(), part);
    }
    Ok(Kind::Structure(out))
}

fn set(kind: Kind, fixed: &serde_json::Map<String, Json>) -> Result<Kind, ChainFault> {
    match kind {
        Kind::Any => Ok(Kind::Any),
        Kind::Structure(mut fields) => {
            fields.extend(fixed.iter().map(|(name, json)| (name.clone(), Kind::of_constants([json]))));
            Ok(Kind::Structure(fields))
        }
        other => Err(not_a_structure(&other)),
    }
}

fn sum(of: &[String], kind: &Kind) -> Result<Kind, ChainFault> {
    let mut total: Option<Quantity> = None;
    for name in of {
        let part = numeric(&field(kind, name)?)?;
        total = Some(match total {
            None => part,
            Some(total) => Quantity {
                unit: joined(total.unit, part.unit, Unit::plus)?,
                range: Range { min: total.range.min + part.range.min, max: total.range.max + part.range.max },
                resolution: common(total.resolution, part.resolution),
            },
        });
    }
    Ok(total.map_or(Kind::Any, Kind::Number))
}

fn difference(kind: &Kind, first: &str, second: &str) -> Result<Kind, ChainFault> {
    let (first, second) = (numeric(&field(kind, first)?)?, numeric(&field(kind, second)?)?);
    Ok(Kind::Number(Quantity {
        unit: joined(first.unit, second.unit, Unit::minus)?,
        range: Range { min: first.range.min - second.range.max, max: first.range.max - second.range.min },
        resolution: common(first.resolution, second.resolution),
    }))
}

fn joined(
    first: Option<Unit>,
    second: Option<Unit>,
    join: impl Fn(&Unit, &Unit) -> Option<Unit>,
) -> Result<Option<Unit>, ChainFault> {
    let (Some(first), Some(second)) = (first, second) else { return Ok(None) };
    let unlike = || ChainFault::UnlikeUnits { first: first.of(1.0), second: second.of(1.0) };
    join(&first, &second).map(Some).ok_or_else(unlike)
}

/// The multiples that sums of both are of.
fn common(first: f64, second: f64) -> f64 {
    if is_multiple(first, second) {
        second
    } else if is_multiple(second, first) {
        first
    } else {
        0.0
    }
}

fn scale_field(kind: Kind, name: &str, from: &[f64; 2], to: &[f64; 2]) -> Result<Kind, ChainFault> {
    let scaled = scale(field(&kind, name)?, from, to)?;
    Ok(match kind {
        Kind::Structure(mut fields) => {
            fields.insert(name.to_owned(), scaled);
            Kind::Structure(fields)
        }
        other => other,
    })
}

/// The kind of a colour's component: hue in degrees, all others from 0 to 1.
fn component(name: &str) -> Kind {
    if name == "hue" { Kind::quantity("°", 0.0, 360.0, 0.0) } else { Kind::number(0.0, 1.0, 0.0) }
}

fn named(names: &[&str]) -> Kind {
    Kind::Structure(names.iter().map(|name| ((*name).to_owned(), component(name))).collect())
}

fn colours(kind: &Kind, inputs: &[&str], outputs: &[&str]) -> Result<Kind, ChainFault> {
    for name in inputs {
        // A hue of any turn is one; the other components would be cut off.
        let asked = if *name == "hue" {
            Kind::quantity("°", f64::NEG_INFINITY, f64::INFINITY, 0.0)
        } else {
            component(name)
        };
        takes(&field(kind, name)?, &asked).map_err(|fault| {
            if let ChainFault::Misfit(misfit) = fault { in_field(name, misfit) } else { fault }
        })?;
    }
    Ok(named(outputs))
}

fn in_field(name: &str, misfit: Misfit) -> ChainFault {
    ChainFault::Misfit(Misfit::Field { name: name.to_owned(), misfit: Box::new(misfit) })
}
