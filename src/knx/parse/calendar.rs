//! Dates and times of day as a person writes them. Whether they exist is for the encoder.

use super::super::dpt::Dpt;
use super::super::value::{Date, Time, Value};
use super::super::written::DAYS;
use super::{ValueError, other_form, plain_name};

fn date_parts(text: &str) -> Option<(u16, u8, u8)> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let well_formed =
        parts.next().is_none() && year.len() == 4 && digits(year) && digits(month) && digits(day);
    if well_formed { Some((year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)) } else { None }
}

/// Hour, minute and second; without seconds, 0.
fn clock_parts(text: &str) -> Option<(u8, u8, u8)> {
    let mut parts = text.split(':');
    let (hour, minute, second) = (parts.next()?, parts.next()?, parts.next().unwrap_or("00"));
    let well_formed = parts.next().is_none() && [hour, minute, second].into_iter().all(digits);
    if well_formed { Some((hour.parse().ok()?, minute.parse().ok()?, second.parse().ok()?)) } else { None }
}

fn digits(text: &str) -> bool {
    (1..=4).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
}

pub(super) fn date(dpt: &Dpt, text: &str) -> Result<Value, ValueError> {
    let (year, month, day) = date_parts(text).ok_or_else(|| other_form(dpt, text))?;
    Ok(Value::Date(Date { year, month, day }))
}

pub(super) fn time(dpt: &Dpt, text: &str) -> Result<Value, ValueError> {
    let (day, clock) = text.rsplit_once(' ').unwrap_or(("no-day", text));
    let day = DAYS.iter().zip(0..).find(|(name, _)| **name == plain_name(day.trim())).map(|(_, day)| day);
    match (day, clock_parts(clock)) {
        (Some(day), Some((hour, minute, second))) => Ok(Value::Time(Time { day, hour, minute, second })),
        _ => Err(other_form(dpt, text)),
    }
}

/// A date and a time of day, or one of them.
pub(super) fn date_time(dpt: &Dpt, text: &str) -> Result<Value, ValueError> {
    let mut fields = Vec::new();
    for word in text.split([' ', 'T']) {
        if let Some((year, month, day)) = date_parts(word) {
            fields.push(("year", i64::from(year)));
            fields.push(("month", i64::from(month)));
            fields.push(("day", i64::from(day)));
        } else if let Some((hour, minute, second)) = clock_parts(word) {
            fields.push(("hour", i64::from(hour)));
            fields.push(("minute", i64::from(minute)));
            fields.push(("second", i64::from(second)));
        } else {
            return Err(other_form(dpt, text));
        }
    }
    Ok(Value::from_fields(dpt, fields.into_iter().map(|(name, number)| (name, Value::Integer(number))))?)
}
