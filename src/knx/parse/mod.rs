//! Text a person writes, to a value.

mod calendar;
mod quoted;

use super::codec::EncodeError;
use super::dpt::{Dpt, Field, Kind, Shape};
use super::dpt_id::DptId;
use super::value::Value;
use super::written;
use calendar::{date, date_time, time};

/// Why text is no value of a datapoint type.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ValueError {
    /// No number where one is needed.
    #[error("`{text}` is no number: {dpt} takes {form}")]
    NotANumber {
        /// The type.
        dpt: DptId,
        /// What was written.
        text: String,
        /// What is taken.
        form: String,
    },
    /// A decimal comma.
    #[error("`{text}` has a decimal comma: write `{}`", text.replace(',', "."))]
    DecimalComma {
        /// What was written.
        text: String,
    },
    /// A number with something between its thousands.
    #[error("`{text}` has its thousands apart: write `{meant}`")]
    Thousands {
        /// What was written.
        text: String,
        /// The same in one piece.
        meant: String,
    },
    /// A number with a unit that is not the type's.
    #[error("`{unit}` is not the unit of {dpt}: {}", if wanted.is_empty() { "it has none".to_owned() } else { format!("it is `{wanted}`") })]
    OtherUnit {
        /// The type.
        dpt: DptId,
        /// What was written.
        unit: String,
        /// The type's unit.
        wanted: &'static str,
    },
    /// A whole number beyond everything that the type can hold.
    #[error("{text} is out of range of {dpt}: {range}")]
    Beyond {
        /// The type.
        dpt: DptId,
        /// What was written.
        text: String,
        /// What is allowed.
        range: String,
    },
    /// A name that the type does not know.
    #[error("`{text}` is no value of {dpt}: it takes {form}{}", meant.map(|meant| format!("; did you mean `{meant}`?")).unwrap_or_default())]
    UnknownName {
        /// The type.
        dpt: DptId,
        /// What was written.
        text: String,
        /// What is taken.
        form: String,
        /// The nearest name.
        meant: Option<&'static str>,
    },
    /// Not the form of a date, time or structure.
    #[error("`{text}` is no value of {dpt}: it takes {form}")]
    OtherForm {
        /// The type.
        dpt: DptId,
        /// What was written.
        text: String,
        /// What is taken.
        form: String,
    },
    /// Fields that do not make a value.
    #[error(transparent)]
    Fields(#[from] EncodeError),
}

/// Reads a value as a person writes it: `21.5`, `21.5 °C`, `on`, `comfort`, `1`, `red=255 green=0 blue=10`,
/// `2026-07-04`, `tuesday 13:23:42`, a text bare or in double quotes.
///
/// A truth value is the type's own name for it, `true`/`false` or `1`/`0`; an enum a name or the raw value. Names are
/// read without regard to case, `_` stands for `-`. Fields of a structure come in any order; `nothing` is a structure
/// without any. Ranges are the encoder's to check.
///
/// # Errors
/// [`ValueError`] if the text is no value of the type's kind; it says how one is written.
pub fn parse_value(dpt: &Dpt, text: &str) -> Result<Value, ValueError> {
    let trimmed = text.trim();
    match dpt.shape {
        Shape::Text => match quoted::unquoted(trimmed) {
            Some(text) => Ok(Value::Text(text.into())),
            None => Err(other_form(dpt, trimmed)),
        },
        Shape::Bool | Shape::Integer | Shape::Decimal | Shape::Enum => match dpt.value_field() {
            Some(field) => in_field(dpt, field, trimmed),
            None => Err(other_form(dpt, trimmed)),
        },
        Shape::Date if !trimmed.contains('=') => date(dpt, trimmed),
        Shape::Time if !trimmed.contains('=') => time(dpt, trimmed),
        Shape::DateTime if !trimmed.contains('=') && trimmed != "nothing" => date_time(dpt, trimmed),
        Shape::Date | Shape::Time | Shape::DateTime | Shape::Step | Shape::Structure => {
            structure(dpt, trimmed)
        }
    }
}

fn other_form(dpt: &Dpt, text: &str) -> ValueError {
    ValueError::OtherForm { dpt: dpt.id, text: text.to_owned(), form: written::form(dpt) }
}

fn in_field(dpt: &Dpt, field: &'static Field, text: &str) -> Result<Value, ValueError> {
    if matches!(field.kind, Kind::Bool | Kind::Enum) {
        named(dpt, field, text)
    } else {
        number(dpt, field, text)
    }
}

/// A truth value or an enum: by name or raw value.
fn named(dpt: &Dpt, field: &'static Field, text: &str) -> Result<Value, ValueError> {
    let wanted = plain_name(text);
    let value = |raw: u32| if field.kind == Kind::Bool { Value::Bool(raw == 1) } else { Value::Enum(raw) };
    if let Some(member) = field.members.iter().find(|member| member.name == wanted) {
        return Ok(value(member.raw));
    }
    match (field.kind, wanted.as_str(), wanted.parse::<u32>()) {
        (Kind::Bool, "true", _) => Ok(Value::Bool(true)),
        (Kind::Bool, "false", _) => Ok(Value::Bool(false)),
        (Kind::Bool, _, Ok(raw @ 0..=1)) => Ok(value(raw)),
        (Kind::Enum, _, Ok(raw)) => Ok(value(raw)),
        _ => Err(ValueError::UnknownName {
            dpt: dpt.id,
            text: text.to_owned(),
            form: format!("one of {}", written::members(field)),
            meant: nearest(field, &wanted),
        }),
    }
}

fn plain_name(text: &str) -> String {
    text.to_lowercase().replace(['_', ' '], "-")
}

fn nearest(field: &'static Field, wanted: &str) -> Option<&'static str> {
    let scored =
        field.members.iter().map(|member| (strsim::damerau_levenshtein(member.name, wanted), member.name));
    scored.min().filter(|(distance, name)| *distance <= name.len() / 3).map(|(_, name)| name)
}

fn number(dpt: &Dpt, field: &'static Field, text: &str) -> Result<Value, ValueError> {
    let (digits, unit) = split_unit(text);
    if !unit.is_empty() && unit != field.unit {
        let word = unit.strip_prefix('°').is_some_and(|rest| field.unit == rest);
        if digits.is_empty() || !word {
            return Err(unit_error(dpt, field, text, digits, unit));
        }
    }
    if let Ok(whole) = digits.parse() {
        return Ok(Value::Integer(whole));
    }
    let unsigned = digits.strip_prefix(['-', '+']).unwrap_or(digits);
    let all_digits = !unsigned.is_empty() && unsigned.bytes().all(|byte| byte.is_ascii_digit());
    if all_digits && matches!(field.kind, Kind::Unsigned | Kind::Signed | Kind::YearOfCentury) {
        let (text, range) = (digits.to_owned(), written::range(field));
        return Err(ValueError::Beyond { dpt: dpt.id, text, range });
    }
    digits.parse().map(Value::Decimal).map_err(|_| not_a_number(dpt, digits))
}

fn not_a_number(dpt: &Dpt, text: &str) -> ValueError {
    let comma = text.contains(',') && text.replace(',', ".").parse::<f64>().is_ok();
    if comma {
        return ValueError::DecimalComma { text: text.to_owned() };
    }
    ValueError::NotANumber { dpt: dpt.id, text: text.to_owned(), form: written::form(dpt) }
}

fn unit_error(dpt: &Dpt, field: &Field, text: &str, digits: &str, unit: &str) -> ValueError {
    if let Some(meant) = in_one_piece(text) {
        return ValueError::Thousands { text: text.to_owned(), meant };
    }
    if digits.parse::<f64>().is_err() {
        return not_a_number(dpt, text);
    }
    ValueError::OtherUnit { dpt: dpt.id, unit: unit.to_owned(), wanted: field.unit }
}

/// A number that was written with its thousands apart (`1 000 000 W`, `1'000`), in one piece.
fn in_one_piece(text: &str) -> Option<String> {
    let marks = [' ', '\'', '’', '_', '\u{a0}', '\u{202f}'];
    let (first, rest) = text.split_once(marks)?;
    let digits = first.strip_prefix(['-', '+']).unwrap_or(first);
    let is_number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if !(1..=3).contains(&digits.len()) || !is_number(digits) {
        return None;
    }
    let mut meant = first.to_owned();
    let mut rest = rest;
    while let Some((three, more)) = rest.split_at_checked(3).filter(|(three, _)| is_number(three)) {
        meant.push_str(three);
        rest = more.strip_prefix(marks).unwrap_or(more);
    }
    let is_end = !rest.starts_with(|next: char| next.is_ascii_digit());
    let is_apart = meant.len() > first.len() && is_end;
    let unit = if rest.is_empty() || rest.starts_with(['.', ',']) { "" } else { " " };
    is_apart.then(|| format!("{meant}{unit}{}", rest.trim_start()))
}

/// The number and what follows it. `inf` and `nan` are numbers, for the encoder to refuse.
fn split_unit(text: &str) -> (&str, &str) {
    if text.parse::<f64>().is_ok() {
        return (text, "");
    }
    let ends = text.char_indices().filter(|(at, letter)| {
        let exponent = matches!(letter, 'e' | 'E')
            && text
                .get(at + 1..)
                .is_some_and(|rest| rest.starts_with(|next: char| next.is_ascii_digit() || next == '-'));
        !(letter.is_ascii_digit() || matches!(letter, '.' | ',' | '+' | '-') || exponent)
    });
    let end = ends.map(|(at, _)| at).next().unwrap_or(text.len());
    let (digits, unit) = text.split_at_checked(end).unwrap_or((text, ""));
    (digits.trim_end(), unit.trim())
}

fn structure(dpt: &Dpt, text: &str) -> Result<Value, ValueError> {
    let mut fields = Vec::new();
    for pair in text.split([' ', ',', '\t']).filter(|pair| !pair.is_empty() && text != "nothing") {
        let (name, written) = pair.split_once('=').ok_or_else(|| other_form(dpt, text))?;
        let name = plain_name(name);
        match dpt.value_fields().find(|field| field.name == name) {
            Some(field) => fields.push((field.name, in_field(dpt, field, written)?)),
            None => return Err(EncodeError::UnknownField { dpt: dpt.id, name: name.into() }.into()),
        }
    }
    Ok(Value::from_fields(dpt, fields)?)
}

#[cfg(test)]
mod tests {
    use super::super::{codec, dpt};
    use super::*;

    /// Text to payload, or to the message.
    fn check(dpt: &str, text: &str, expected: &str) {
        let dpt = dpt::lookup(dpt).unwrap();
        let found = match parse_value(dpt, text) {
            Ok(value) => {
                codec::encode(dpt, &value).map_or_else(|error| error.to_string(), |raw| raw.to_string())
            }
            Err(error) => error.to_string(),
        };
        assert_eq!(found, expected, "{} {text}", dpt.id);
    }

    #[test]
    fn numbers_with_and_without_unit() {
        for text in ["21.5", "21.5 °C", "21.5°C", " 21.5 ", "2.15e1", "+21.5"] {
            check("9.001", text, "0c33");
        }
        check("5.001", "40%", "66");
        check("9.001", "21.5 K", "`K` is not the unit of 9.001: it is `°C`");
        check("9.001", "21,5", "`21,5` has a decimal comma: write `21.5`");
        check("9.001", "warm", "`warm` is no number: 9.001 takes a number, -273 to 670433.28 °C");
        check("5.010", "3 bananas", "`bananas` is not the unit of 5.010: it has none");
        check("9.001", "1 000", "`1 000` has its thousands apart: write `1000`");
        check("14.056", "-12'345'678 W", "`-12'345'678 W` has its thousands apart: write `-12345678 W`");
        check("14.056", "1 000.5 W", "`1 000.5 W` has its thousands apart: write `1000.5 W`");
        check("9.001", "21 5000", "`5000` is not the unit of 9.001: it is `°C`");
    }

    #[test]
    fn refuses_numbers_that_are_none_or_do_not_fit() {
        check("9.001", "NaN", "NaN is no finite number: 9.001 takes -273 to 670433.28 °C");
        check("9.001", "inf", "inf is no finite number: 9.001 takes -273 to 670433.28 °C");
        check(
            "14.056",
            "1e40",
            "10000000000000000000000000000000000000000 W is out of range of 14.056: -3.4028234663852886e38 to 3.4028234663852886e38 W",
        );
        check("5.001", "101", "101 % is out of range of 5.001: 0 to 100 %");
        check("29.010", "9223372036854775807", "7fffffffffffffff");
        let range = "-9223372036854775808 to 9223372036854775807 Wh";
        check(
            "29.010",
            "9223372036854775808",
            &format!("9223372036854775808 is out of range of 29.010: {range}"),
        );
        check(
            "29.010",
            "-9223372036854775809",
            &format!("-9223372036854775809 is out of range of 29.010: {range}"),
        );
    }

    #[test]
    fn names() {
        for text in ["on", "ON", "1", "true"] {
            check("1.001", text, "01");
        }
        check("1.008", "down", "01");
        check("1.008", "on", "`on` is no value of 1.008: it takes one of up (0), down (1)");
        check("20.102", "building_protection", "04");
        check("20.102", "3", "03");
        check(
            "20.102",
            "confort",
            "`confort` is no value of 20.102: it takes one of auto (0), comfort (1), standby (2), economy (3), \
             building-protection (4); did you mean `comfort`?",
        );
        check(
            "20.102",
            "9",
            "9 has no meaning in 20.102: auto (0), comfort (1), standby (2), economy (3), building-protection (4)",
        );
    }

    #[test]
    fn structures() {
        check("232.600", "red=255 green=0 blue=10", "ff000a");
        check("232.600", "blue=10,red=255,green=0", "ff000a");
        check("232.600", "red=255 green=0", "232.600 needs the field `blue`");
        check("232.600", "red=1 red=2 green=0 blue=0", "`red` of 232.600 is given twice");
        check("232.600", "red=256 green=0 blue=0", "`red`: 256 is out of range of 232.600: 0 to 255");
        check("232.600", "rot=1", "232.600 has no field `rot`: its fields are red, green and blue");
        check("251.600", "white=255", "000000ff0001");
        check("251.600", "nothing", "000000000000");
        check("222.100", "comfort=21 economy=21", "0c1a7fff0c1a");
        check("275.100", "nothing", "7fff7fff7fff7fff");
        check("242.600", "x=0.3", "`x` of 242.600 goes with `y`: give both or neither");
        check("3.007", "control=increase step=1", "09");
        check("3.007", "control=increase step=8", "`step`: 8 is out of range of 3.007: 0 to 7");
    }

    #[test]
    fn dates_and_times() {
        check("11.001", "2026-07-04", "04071a");
        check(
            "11.001",
            "2026-02-30",
            "11.001 cannot hold this: month 2 of 2026 has 28 days, so there is no day 30",
        );
        check("11.001", "1989-12-31", "`year`: 1989 is out of range of 11.001: 1990 to 2089");
        check("11.001", "4.7.2026", "`4.7.2026` is no value of 11.001: it takes a date like `2026-07-04`");
        check("10.001", "tuesday 13:23:42", "4d172a");
        check("10.001", "13:23", "0d1700");
        check("10.001", "24:00:00", "`hour`: 24 is out of range of 10.001: 0 to 23");
        check("19.001", "2026-11-25", "7e0b190000002600");
        check(
            "19.001",
            "2026-02-30",
            "19.001 cannot hold this: month 2 of 2026 has 28 days, so there is no day 30",
        );
        check("19.001", "year=1900 month=2 day=28", "00021c0000002600");
        check("19.001", "month=2 day=29", "00021d0000003600");
        check("19.001", "08:15:00", "000000080f003c00");
        check("19.001", "24:01:00", "19.001 cannot hold this: hour 24 is midnight: minute and second are 0");
    }

    #[test]
    fn texts() {
        check("16.000", "KNX is OK", "4b4e58206973204f4b0000000000");
        check("16.001", "Büro", "42fc726f00000000000000000000");
        check("16.000", "Büro", "'ü' is no character of ASCII, which 16.000 is written in");
        check("16.001", "21 €", "'€' is no character of ISO 8859-1, which 16.001 is written in");
        check("16.000", "fifteen letters", "the text has 15 bytes, 16.000 has room for 14");
        check("16.000", r#"" a\n""#, "20610a0000000000000000000000");
        check("28.001", "Grüße", "4772c3bcc39f6500");
    }
}
