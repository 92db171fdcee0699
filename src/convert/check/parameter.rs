//! Parameters of steps that make no sense, whatever comes in.

use super::super::{Origin, Step};
use serde_json::Value as Json;

/// A parameter that makes no sense.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadParameter {
    /// A number that is infinite or no number.
    #[error("`{name}` must be a finite number")]
    NotFinite {
        /// The parameter.
        name: &'static str,
    },
    /// A number that must not be zero.
    #[error("`{name}` must not be 0")]
    Zero {
        /// The parameter.
        name: &'static str,
    },
    /// A number that must be above zero.
    #[error("`{name}` must be above 0")]
    NotAboveZero {
        /// The parameter.
        name: &'static str,
    },
    /// Two points of a line that are one.
    #[error("the two numbers of `{name}` must differ")]
    SamePoints {
        /// The parameter.
        name: &'static str,
    },
    /// A smallest value above the largest.
    #[error("`min` must not be above `max`")]
    MinAboveMax,
    /// Bands that do not ascend.
    #[error("each row of `rows` must begin above the row before")]
    NotAscending,
    /// A bit that no bitmap has.
    #[error("bits are numbered 0 to 31")]
    NoSuchBit,
    /// A list where a value is asked for.
    #[error("`{name}` must not hold a list")]
    List {
        /// The parameter.
        name: &'static str,
    },
    /// Nothing where something is asked for.
    #[error("`{name}` must not be empty")]
    Empty {
        /// The parameter.
        name: &'static str,
    },
    /// Null where it can never have an effect.
    #[error("`{name}` must not be null")]
    Null {
        /// The parameter.
        name: &'static str,
    },
    /// A name that stands twice.
    #[error("`{field}` stands twice in `{name}`")]
    Twice {
        /// The parameter.
        name: &'static str,
        /// The field.
        field: String,
    },
    /// An attribute that is not written `Cluster.Attribute`.
    #[error("an attribute is written `Cluster.Attribute`, not `{of}`")]
    NoAttributeName {
        /// What is written.
        of: String,
    },
}

/// Whether the step's own parameters make sense.
pub(super) fn look(step: &Step) -> Result<(), BadParameter> {
    match step {
        Step::Scale { from, to } => points("from", from).and_then(|()| points("to", to)),
        Step::ScaleFields { of, from, to } => {
            points("from", from)?;
            points("to", to)?;
            names("of", of)
        }
        Step::Round { to } => above_zero("to", *to),
        Step::Clamp { min, max } => bounds(*min, *max),
        Step::Reciprocal { numerator } => not_zero("numerator", *numerator),
        Step::Log10 { factor, offset, smallest, below } => {
            not_zero("factor", *factor)?;
            finite("offset", *offset)?;
            finite("below", below.unwrap_or_default())?;
            above_zero("smallest", *smallest)
        }
        Step::Power10 { factor, offset } => {
            not_zero("factor", *factor)?;
            finite("offset", *offset)
        }
        Step::Table { pairs, otherwise } => table(pairs, otherwise.as_ref()),
        Step::Bands { rows } => bands(rows),
        Step::Ignore { values } => {
            full("values", values)?;
            values.iter().try_for_each(|json| fixed("values", json))
        }
        Step::IfNull { value } | Step::Constant { value } => fixed("value", value),
        Step::Bit { number } | Step::TestBit { number } => bit(*number),
        Step::Above { limit } => finite("limit", *limit),
        Step::Field { name } | Step::Wrap { name } | Step::Within { name, .. } => named("name", name),
        Step::Gather { fields } => {
            full("fields", &**fields)?;
            fields.values().try_for_each(origin)
        }
        Step::Attribute { of } => attribute(of),
        Step::Sum { of } => names("of", of),
        Step::Difference { of } => names("of", of),
        Step::Set { fields } => {
            full("fields", fields)?;
            fields.values().try_for_each(|json| value("fields", json))
        }
        Step::Same | Step::Not => Ok(()),
        Step::RgbToHsv | Step::HsvToRgb | Step::RgbToXyy | Step::XyyToRgb => Ok(()),
        Step::KelvinToXy | Step::XyToKelvin | Step::RgbwToRgb | Step::RgbToRgbw => Ok(()),
    }
}

fn bounds(min: f64, max: f64) -> Result<(), BadParameter> {
    finite("min", min)?;
    finite("max", max)?;
    if min > max { Err(BadParameter::MinAboveMax) } else { Ok(()) }
}

fn table(pairs: &[(Json, Json)], otherwise: Option<&Json>) -> Result<(), BadParameter> {
    full("pairs", pairs)?;
    pairs.iter().try_for_each(|(input, output)| {
        value("pairs", input)?;
        value("pairs", output)
    })?;
    otherwise.map_or(Ok(()), |json| value("otherwise", json))
}

fn bit(number: u8) -> Result<(), BadParameter> {
    if number > 31 { Err(BadParameter::NoSuchBit) } else { Ok(()) }
}

fn named(parameter: &'static str, name: &str) -> Result<(), BadParameter> {
    if name.is_empty() { Err(BadParameter::Empty { name: parameter }) } else { Ok(()) }
}

fn finite(name: &'static str, number: f64) -> Result<(), BadParameter> {
    if number.is_finite() { Ok(()) } else { Err(BadParameter::NotFinite { name }) }
}

fn not_zero(name: &'static str, number: f64) -> Result<(), BadParameter> {
    finite(name, number)?;
    if number.abs() > 0.0 { Ok(()) } else { Err(BadParameter::Zero { name }) }
}

fn above_zero(name: &'static str, number: f64) -> Result<(), BadParameter> {
    finite(name, number)?;
    if number > 0.0 { Ok(()) } else { Err(BadParameter::NotAboveZero { name }) }
}

fn points(name: &'static str, [a, b]: &[f64; 2]) -> Result<(), BadParameter> {
    finite(name, *a)?;
    finite(name, *b)?;
    if (a - b).abs() > 0.0 { Ok(()) } else { Err(BadParameter::SamePoints { name }) }
}

fn bands(rows: &[(f64, Json)]) -> Result<(), BadParameter> {
    full("rows", rows)?;
    let mut last = f64::NEG_INFINITY;
    for (from, output) in rows {
        finite("rows", *from)?;
        value("rows", output)?;
        if *from <= last {
            return Err(BadParameter::NotAscending);
        }
        last = *from;
    }
    Ok(())
}

fn value(name: &'static str, json: &Json) -> Result<(), BadParameter> {
    match json {
        Json::Array(_) => Err(BadParameter::List { name }),
        Json::Object(fields) => fields.values().try_for_each(|json| value(name, json)),
        Json::Null | Json::Bool(_) | Json::Number(_) | Json::String(_) => Ok(()),
    }
}

/// A value that is not null.
fn fixed(name: &'static str, json: &Json) -> Result<(), BadParameter> {
    if json.is_null() { Err(BadParameter::Null { name }) } else { value(name, json) }
}

fn names(name: &'static str, fields: &[String]) -> Result<(), BadParameter> {
    full(name, fields)?;
    let twice =
        fields.iter().enumerate().find(|(at, field)| fields.iter().take(*at).any(|other| other == *field));
    twice.map_or(Ok(()), |(_, field)| Err(BadParameter::Twice { name, field: field.clone() }))
}

fn full<'a, L>(name: &'static str, list: &'a L) -> Result<(), BadParameter>
where
    L: ?Sized,
    &'a L: IntoIterator,
{
    if list.into_iter().next().is_none() { Err(BadParameter::Empty { name }) } else { Ok(()) }
}

fn origin(origin: &Origin) -> Result<(), BadParameter> {
    match origin {
        Origin::Field(name) => named("fields", name),
        Origin::Attribute(of) => attribute(of),
        Origin::Constant(json) => value("fields", json),
    }
}

fn attribute(of: &str) -> Result<(), BadParameter> {
    let written = of.split_once('.').is_some_and(|(cluster, attribute)| {
        !cluster.is_empty() && !attribute.is_empty() && !attribute.contains('.')
    });
    if written { Ok(()) } else { Err(BadParameter::NoAttributeName { of: of.to_owned() }) }
}
