//! How values, ranges and names are written for people. What is written here, [`super::parse_value`] reads back.

use super::dpt::{self, Dpt, Field, Kind, Shape};
use super::dpt_id::DptId;
use super::value::{Date, Structure, Time, Value};

/// Most names that a message lists.
const NAMES_SHOWN: usize = 12;

/// Days of the week as main type 10 numbers them; 0 is no day.
pub(super) const DAYS: [&str; 8] =
    ["no-day", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

impl Value {
    /// The value as a person writes it, with its unit: `21.5 °C`, `on`, `red=255 green=0 blue=10`, `2026-07-04`.
    ///
    /// Numbers have as many decimals as tell raw values apart. [`super::parse_value`] reads the text back to a value
    /// with the same payload.
    pub fn text(&self, dpt: &Dpt) -> String {
        let text = self.text_without_unit(dpt);
        match self {
            Self::Integer(_) | Self::Decimal(_) => with_unit(text, dpt.unit()),
            Self::Bool(_)
            | Self::Enum(_)
            | Self::Step { .. }
            | Self::Date(_)
            | Self::Time(_)
            | Self::Text(_)
            | Self::Structure(_) => text,
        }
    }

    /// As [`Value::text`], without the unit.
    pub fn text_without_unit(&self, dpt: &Dpt) -> String {
        match self {
            Self::Structure(structure) => fields(dpt, structure),
            Self::Step { control, step } => {
                let control = Self::Bool(*control);
                format!("control={} step={step}", in_named_field(dpt, "control", &control))
            }
            Self::Date(date) => format!("{:04}-{:02}-{:02}", date.year, date.month, date.day),
            Self::Time(time) => time_text(*time),
            Self::Bool(_) | Self::Integer(_) | Self::Decimal(_) | Self::Enum(_) | Self::Text(_) => {
                dpt.value_field().map_or_else(|| format!("{self:?}"), |field| in_field(field, self))
            }
        }
    }

    /// The value as JSON: numbers and truth values as such, names of enums and texts as strings, a date and a time as
    /// strings, everything with fields as an object.
    pub fn json(&self, dpt: &Dpt) -> serde_json::Value {
        use serde_json::{Value as Json, json};
        match self {
            Self::Bool(on) => json!(on),
            Self::Integer(number) => json!(number),
            Self::Decimal(number) => json!(number),
            Self::Enum(_) | Self::Date(_) | Self::Time(_) => json!(self.text_without_unit(dpt)),
            Self::Text(text) => json!(text),
            Self::Step { .. } | Self::Structure(_) => {
                let named = |(name, value): (&str, Value)| {
                    let enumerated = matches!(value, Self::Enum(_));
                    let json =
                        if enumerated { json!(in_named_field(dpt, name, &value)) } else { value.json(dpt) };
                    (name.to_owned(), json)
                };
                Json::Object(self.fields().unwrap_or_default().into_iter().map(named).collect())
            }
        }
    }
}

fn fields(dpt: &Dpt, structure: &Structure) -> String {
    let texts: Vec<String> = structure
        .iter()
        .map(|(name, value)| format!("{name}={}", in_named_field(dpt, name, value)))
        .collect();
    if texts.is_empty() { "nothing".to_owned() } else { texts.join(" ") }
}

fn in_named_field(dpt: &Dpt, name: &str, value: &Value) -> String {
    let field = dpt.fields.iter().find(|field| field.name == name);
    field.map_or_else(|| format!("{value:?}"), |field| in_field(field, value))
}

fn in_field(field: &Field, value: &Value) -> String {
    let member = |raw: u32| field.member(raw).map(|member| member.name.to_owned());
    match value {
        Value::Bool(on) => member(u32::from(*on)).unwrap_or_else(|| on.to_string()),
        Value::Enum(raw) => member(*raw).unwrap_or_else(|| raw.to_string()),
        Value::Integer(number) => number.to_string(),
        Value::Decimal(number) => decimal(field, *number),
        Value::Text(text) => quoted(text),
        Value::Step { .. } | Value::Date(_) | Value::Time(_) | Value::Structure(_) => format!("{value:?}"),
    }
}

fn time_text(time: Time) -> String {
    let clock = format!("{:02}:{:02}:{:02}", time.hour, time.minute, time.second);
    match DAYS.get(usize::from(time.day)) {
        Some(day) if time.day != 0 => format!("{day} {clock}"),
        _ => clock,
    }
}

/// A text as it is, or in quotes where spaces at its ends or control characters would be lost.
fn quoted(text: &str) -> String {
    let plain = !text.is_empty()
        && text.trim() == text
        && !text.starts_with('"')
        && !text.contains(|letter: char| letter.is_control());
    if plain { text.to_owned() } else { format!("{text:?}") }
}

/// A number with as many decimals as tell the field's raw values apart.
pub(super) fn decimal(field: &Field, number: f64) -> String {
    if !number.is_finite() {
        return number.to_string();
    }
    let number = number + 0.0; // never a negative zero
    if field.kind == Kind::Float32 {
        #[allow(clippy::cast_possible_truncation, reason = "a single is what the field holds")]
        let single = number as f32;
        return if f64::from(single).total_cmp(&number).is_eq() {
            single.to_string()
        } else {
            number.to_string()
        };
    }
    let mut decimals = 0;
    let mut unit = 1.0;
    while unit > field.scale.step() && decimals < 9 {
        unit /= 10.0;
        decimals += 1;
    }
    let text = format!("{number:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn with_unit(text: String, unit: &str) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

/// A number that may be outside the field's range, with the field's unit.
pub(super) fn number_in(field: &Field, number: f64) -> String {
    with_unit(number.to_string(), field.unit)
}

/// `-273 to 670433.28 °C`.
pub(super) fn range(field: &Field) -> String {
    let end = |number: f64| {
        let large = number.abs() >= 1e10 && field.kind == Kind::Float32;
        if large { format!("{number:e}") } else { number.to_string() }
    };
    if field.kind == Kind::Signed && field.bits == 64 {
        return with_unit(format!("{} to {}", i64::MIN, i64::MAX), field.unit);
    }
    with_unit(format!("{} to {}", end(field.range.min), end(field.range.max)), field.unit)
}

/// `auto (0), comfort (1), …`.
pub(super) fn members(field: &Field) -> String {
    let mut names: Vec<String> = field
        .members
        .iter()
        .take(NAMES_SHOWN)
        .map(|member| format!("{} ({})", member.name, member.raw))
        .collect();
    if let (Some(last), true) = (field.members.last(), field.members.len() > NAMES_SHOWN) {
        names.push(format!("… {} ({})", last.name, last.raw));
    }
    names.join(", ")
}

/// `its fields are red, green and blue`.
pub(super) fn field_names(id: DptId) -> String {
    let Some(dpt) = dpt::find(id).filter(|dpt| dpt.value_field().is_none()) else {
        return "it has no fields".to_owned();
    };
    let names: Vec<&str> = dpt.value_fields().map(|field| field.name).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("its fields are {} and {last}", rest.join(", ")),
        _ => format!("its field is {}", names.concat()),
    }
}

/// What a type takes, for messages.
pub(super) fn form(dpt: &Dpt) -> String {
    match (dpt.shape, dpt.value_field()) {
        (Shape::Bool | Shape::Enum, Some(field)) => format!("one of {}", members(field)),
        (Shape::Integer | Shape::Decimal, Some(field)) => format!("a number, {}", range(field)),
        _ => form_short(dpt),
    }
}

/// How a value of this type is written.
pub(super) fn form_short(dpt: &Dpt) -> String {
    match dpt.shape {
        Shape::Bool | Shape::Enum => "a name or its raw number".to_owned(),
        Shape::Integer | Shape::Decimal => "a number".to_owned(),
        Shape::Text => "text".to_owned(),
        Shape::Date => "a date like `2026-07-04`".to_owned(),
        Shape::Time => "a time like `13:23:42` or `tuesday 13:23:42`".to_owned(),
        Shape::DateTime => {
            "a date and time like `2026-07-04 13:23:42`, or fields like `hour=8 minute=15 second=0`"
                .to_owned()
        }
        Shape::Step | Shape::Structure => format!("fields like `{}`", sample(dpt)),
    }
}

/// Some value of a type, for examples. Of a structure, the fields it needs and the first few of those it does not.
pub(super) fn sample(dpt: &Dpt) -> String {
    const FEW: usize = 4;
    if let Some(field) = dpt.value_field() {
        return sample_in(field);
    }
    // Fields that share a validity bit are shown together.
    let mut flags: Vec<usize> = dpt.value_fields().filter_map(|field| field.flag).collect();
    flags.dedup();
    flags.truncate(FEW);
    let shown = |field: &Field| match field.flag {
        Some(flag) => flags.contains(&flag),
        None => field.default.is_none() || field.nothing().is_some(),
    };
    let pairs: Vec<String> = dpt
        .value_fields()
        .filter(|field| shown(field))
        .map(|field| format!("{}={}", field.name, sample_in(field)))
        .collect();
    pairs.join(" ")
}

fn sample_in(field: &Field) -> String {
    match (field.kind, field.members.last()) {
        (_, Some(member)) => member.name.to_owned(),
        (Kind::Bool, None) => "true".to_owned(),
        _ => decimal(field, field.range.max.min(field.range.min.max(20.0))),
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}
