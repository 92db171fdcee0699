//! How the numbers of a step are written: whole ones without a fraction, so that files read like prose.

use serde::{Serialize, Serializer, ser::SerializeSeq};
use serde_json::Value as Json;

/// A number as JSON: whole ones as whole numbers while a double is exact, others in the shortest form that reads back.
pub(super) fn to_json(value: f64) -> Json {
    whole(value).map_or_else(|| Json::from(value), Json::from)
}

/// The number as an integer, where it is one and a double still holds every integer (below 2^53).
#[allow(clippy::cast_possible_truncation, reason = "whole and below 2^53, looked at first")]
pub(super) fn whole(value: f64) -> Option<i64> {
    (value.abs() <= 9_007_199_254_740_992.0 && value.fract().abs() <= 0.0).then_some(value as i64)
}

pub(super) fn plain<S: Serializer>(value: &f64, out: S) -> Result<S::Ok, S::Error> {
    match whole(*value) {
        Some(integer) => out.serialize_i64(integer),
        None => out.serialize_f64(*value),
    }
}

pub(super) fn plain_option<S: Serializer>(value: &Option<f64>, out: S) -> Result<S::Ok, S::Error> {
    match value {
        Some(number) => plain(number, out),
        None => out.serialize_none(),
    }
}

pub(super) fn plain_pair<S: Serializer>(values: &[f64; 2], out: S) -> Result<S::Ok, S::Error> {
    values.map(Plain).serialize(out)
}

pub(super) fn plain_rows<S: Serializer>(rows: &[(f64, Json)], out: S) -> Result<S::Ok, S::Error> {
    let mut list = out.serialize_seq(Some(rows.len()))?;
    for (from, output) in rows {
        list.serialize_element(&(Plain(*from), output))?;
    }
    list.end()
}

struct Plain(f64);

impl Serialize for Plain {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        plain(&self.0, out)
    }
}
