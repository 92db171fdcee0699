//! Writes the datapoint-type table as Rust.

use crate::datapoint_types::{CodeSet, Field, Kind, Main, Shape, Source, Sub};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Largest 16-bit float that is a value; `7fff` is not one.
const FLOAT16_MAX: f64 = 670_433.28;

/// The statics `MAIN_TYPES` and `TABLE`, both sorted.
pub(crate) fn rust(table: &[Main]) -> Result<String, String> {
    let count: usize = table.iter().map(|main| main.types.len()).sum();
    let mut text = format!("pub(super) static MAIN_TYPES: [MainType; {}] = [\n", table.len());
    for main in table {
        line(&mut text, format!("MainType {{ number: {}, title: {:?} }},", main.main, main.title))?;
    }
    line(&mut text, format!("];\npub(super) static TABLE: [Dpt; {count}] = ["))?;
    for main in table {
        for sub in &main.types {
            let made =
                dpt(main, sub).map_err(|problem| format!("{}.{:03}: {problem}", main.main, sub.sub))?;
            line(&mut text, made)?;
        }
    }
    line(&mut text, "];".to_owned())?;
    Ok(text)
}

fn line(text: &mut String, line: String) -> Result<(), String> {
    writeln!(text, "{line}").map_err(|cause| cause.to_string())
}

fn dpt(main: &Main, sub: &Sub) -> Result<String, String> {
    let fields = fields(main, sub)?;
    let bits: u16 = fields.iter().map(|field| field.bits).sum();
    let size = match bits {
        0 => "Size::Variable".to_owned(),
        1..=6 => format!("Size::Bits({bits})"),
        8..=112 if bits.is_multiple_of(8) => format!("Size::Bytes({})", bits / 8),
        _ => return Err(format!("{bits} bits are no payload")),
    };
    let valued: Vec<usize> = (0..fields.len()).filter(|&at| fields.get(at).is_some_and(valued)).collect();
    let (value_at, only) = match valued.as_slice() {
        [at] => (*at, fields.get(*at)),
        [] => return Err("no field holds a value".to_owned()),
        [..] => (0, None),
    };
    let mut made = String::new();
    let mut low = bits;
    for field in &fields {
        low -= field.bits;
        made.push_str(&field_rust(field, low, &fields)?);
    }
    Ok(format!(
        "Dpt {{ id: DptId {{ main: {}, sub: {} }}, name: {:?}, title: {:?}, size: {size}, shape: Shape::{}, \
         format: Format::{}, value_at: {value_at}, fields: &[{made}], section: {:?}, source: Source::{}, \
         usual: {}, note: {:?} }},",
        main.main,
        sub.sub,
        sub.name,
        sub.title,
        shape(main.shape, only)?,
        if fields.len() == 1 && main.shape.is_none() { only.map_or("Fields", format) } else { "Fields" },
        sub.section.as_ref().unwrap_or(&main.section),
        source(sub.source.unwrap_or(main.source)),
        sub.usual,
        sub.note,
    ))
}

/// The sub-type's own fields, or the main type's with the sub-type's unit, range and so on put in.
fn fields(main: &Main, sub: &Sub) -> Result<Vec<Field>, String> {
    let mut fields = sub.fields.clone().unwrap_or_else(|| main.fields.clone());
    let varies = sub.unit.is_some()
        || sub.range.is_some()
        || sub.resolution.is_some()
        || sub.members.is_some()
        || sub.special.is_some()
        || sub.code_set.is_some();
    if varies {
        let field = fields
            .iter_mut()
            .find(|field| field.name == main.varies)
            .ok_or_else(|| format!("its unit, range or members are of no field: none is called `{}`; `varies` says which field it is", main.varies))?;
        if let Some(unit) = &sub.unit {
            field.unit.clone_from(unit);
        }
        field.range = sub.range.clone().or(field.range.take());
        field.resolution = sub.resolution.clone().or(field.resolution.take());
        field.members = sub.members.clone().unwrap_or_else(|| std::mem::take(&mut field.members));
        field.special = sub.special.clone().unwrap_or_else(|| std::mem::take(&mut field.special));
        field.code_set = sub.code_set.or(field.code_set);
    }
    Ok(fields)
}

fn valued(field: &Field) -> bool {
    !matches!(field.kind, Kind::Reserved | Kind::Valid | Kind::Invalid)
}

fn shape(given: Option<Shape>, only: Option<&Field>) -> Result<&'static str, String> {
    Ok(match (given, only) {
        (Some(Shape::Step), _) => "Step",
        (Some(Shape::Date), _) => "Date",
        (Some(Shape::Time), _) => "Time",
        (Some(Shape::DateTime), _) => "DateTime",
        (Some(Shape::Structure), _) | (None, None) => "Structure",
        (None, Some(field)) => match field.kind {
            Kind::Bool => "Bool",
            Kind::Enum => "Enum",
            Kind::Text => "Text",
            Kind::Float16 | Kind::Float32 => "Decimal",
            Kind::Unsigned | Kind::Signed if ratio(field)?.1 == 1 => "Integer",
            Kind::Unsigned | Kind::Signed => "Decimal",
            Kind::YearOfCentury | Kind::Valid | Kind::Invalid | Kind::Reserved => "Structure",
        },
    })
}

fn format(field: &Field) -> &'static str {
    match (field.kind, field.bits) {
        (Kind::Bool, 1) => "Bit",
        (Kind::Unsigned, 8) => "U8",
        (Kind::Unsigned, 16) => "U16",
        (Kind::Unsigned, 32) => "U32",
        (Kind::Signed, 8) => "I8",
        (Kind::Signed, 16) => "I16",
        (Kind::Signed, 32) => "I32",
        (Kind::Signed, 64) => "I64",
        (Kind::Float16, 16) => "Float16",
        (Kind::Float32, 32) => "Float32",
        _ => "Fields",
    }
}

fn source(source: Source) -> &'static str {
    match source {
        Source::Compared => "Compared",
        Source::Memory => "Memory",
        Source::Practice => "Practice",
    }
}

fn ratio(field: &Field) -> Result<(u32, u32), String> {
    field.resolution.as_ref().map_or(Ok((1, 1)), crate::datapoint_types::Ratio::parts)
}

fn field_rust(field: &Field, low: u16, all: &[Field]) -> Result<String, String> {
    let (numerator, denominator) = ratio(field)?;
    let limits = limits(field, f64::from(numerator) / f64::from(denominator))?;
    let flag = all
        .iter()
        .position(|flag| flag.of.contains(&field.name))
        .map_or_else(|| "None".to_owned(), |at| format!("Some({at})"));
    for name in &field.of {
        if !all.iter().any(|other| other.name == *name) {
            return Err(format!("`{}` speaks for `{name}`, which is no field", field.name));
        }
    }
    Ok(format!(
        "Field {{ name: {:?}, meaning: {:?}, unit: {:?}, bits: {}, low: {low}, kind: {}, \
         scale: Scale {{ numerator: {numerator}, denominator: {denominator}, offset: {} }}, {limits}, \
         members: &[{}], special: &[{}], default: {:?}, flag: {flag} }}, ",
        field.name,
        field.meaning,
        field.unit,
        field.bits,
        kind(field)?,
        field.offset,
        named("Member", &field.members),
        named("Special", &field.special),
        field.default,
    ))
}

fn named(what: &str, names: &BTreeMap<u32, String>) -> String {
    names.iter().map(|(raw, name)| format!("{what} {{ raw: {raw}, name: {name:?} }}, ")).collect()
}

fn kind(field: &Field) -> Result<String, String> {
    Ok(match field.kind {
        Kind::Text => match field.code_set.ok_or("text without a code set")? {
            CodeSet::Ascii => "Kind::Text(CodeSet::Ascii)".to_owned(),
            CodeSet::Latin1 => "Kind::Text(CodeSet::Latin1)".to_owned(),
            CodeSet::Utf8 => "Kind::Text(CodeSet::Utf8)".to_owned(),
        },
        kind @ (Kind::Bool
        | Kind::Unsigned
        | Kind::Signed
        | Kind::Float16
        | Kind::Float32
        | Kind::Enum
        | Kind::YearOfCentury
        | Kind::Valid
        | Kind::Invalid
        | Kind::Reserved) => format!("Kind::{kind:?}"),
    })
}

/// `range`, `raw_min` and `raw_max`: the range in the unit, and for whole raw numbers in raw steps.
fn limits(field: &Field, step: f64) -> Result<String, String> {
    let (raw_min, raw_max) = match field.kind {
        Kind::Signed => (i64::MIN >> (64 - field.bits), i64::MAX >> (64 - field.bits)),
        Kind::Unsigned | Kind::Enum | Kind::Bool if field.bits < 64 => (0, (1_i64 << field.bits) - 1),
        Kind::YearOfCentury => (0, 99),
        Kind::Float16 | Kind::Float32 | Kind::Text | Kind::Valid | Kind::Invalid | Kind::Reserved => (0, 0),
        Kind::Unsigned | Kind::Enum | Kind::Bool => return Err(format!("`{}` is too wide", field.name)),
    };
    let offset = f64::from(field.offset);
    let (lowest, highest) = match field.kind {
        Kind::Float16 => (-671_088.64, FLOAT16_MAX),
        Kind::Float32 => (f64::from(f32::MIN), f64::from(f32::MAX)),
        Kind::YearOfCentury => (1990.0, 2089.0),
        Kind::Bool
        | Kind::Unsigned
        | Kind::Signed
        | Kind::Enum
        | Kind::Text
        | Kind::Valid
        | Kind::Invalid
        | Kind::Reserved => (raw_min as f64 * step + offset, raw_max as f64 * step + offset),
    };
    let Some([min, max]) = &field.range else {
        return Ok(format!(
            "range: Range {{ min: {lowest:?}, max: {highest:?} }}, raw_min: {raw_min}, raw_max: {raw_max}"
        ));
    };
    let (min, max) = (min.number(), max.number());
    if min < lowest - 1e-6 || max > highest + 1e-6 || min > max {
        return Err(format!("`{}` cannot hold {min} to {max}", field.name));
    }
    let whole = matches!(field.kind, Kind::Signed | Kind::Unsigned);
    let (raw_min, raw_max) = if whole {
        ((((min - offset) / step) - 1e-6).ceil() as i64, (((max - offset) / step) + 1e-6).floor() as i64)
    } else {
        (raw_min, raw_max)
    };
    Ok(format!("range: Range {{ min: {min:?}, max: {max:?} }}, raw_min: {raw_min}, raw_max: {raw_max}"))
}
