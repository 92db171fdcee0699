//! What sort of values can stand at a place of a conversion: the types of the steps.

use super::misfit::Misfit;
use super::unit::{Scaling, Unit};
use super::value::Value;
use crate::sort;
use serde_json::Value as Json;
use std::collections::BTreeMap;
use std::fmt;

/// What values can stand at a place of a conversion. Null can stand anywhere and is not told of.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// Nothing is known.
    Any,
    /// A truth value.
    Bool,
    /// Any number of a range.
    Number(Quantity),
    /// One of a few numbers: an enum, or what a table gives. Ascending, each once, never empty.
    Codes(Vec<f64>),
    /// A whole number of which only these bits may be set.
    Bitmap(u64),
    /// A text.
    Text,
    /// A structure with these fields.
    Structure(BTreeMap<String, Kind>),
}

/// Numbers of a range.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// What the numbers measure; none if that is not known.
    pub unit: Option<Unit>,
    /// From where to where.
    pub range: Range,
    /// All of them are multiples of this, counted from 0; 0 if they are not multiples of anything.
    ///
    /// Of a kind that is asked for, 0 says that the taker rounds by itself: the bus's encoder does.
    pub resolution: f64,
}

/// From one number to another, both included. `min` is not above `max`; the ends may be infinite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
}

impl Range {
    /// All numbers.
    pub const ALL: Range = Range { min: f64::NEG_INFINITY, max: f64::INFINITY };

    /// From the smaller of two numbers to the larger.
    #[must_use]
    pub fn between(a: f64, b: f64) -> Self {
        Self { min: a.min(b), max: a.max(b) }
    }

    /// The smallest range that holds all these; none of nothing.
    pub fn of(numbers: impl IntoIterator<Item = f64>) -> Option<Self> {
        numbers.into_iter().fold(None, |range: Option<Self>, number| {
            Some(range.map_or(Self { min: number, max: number }, |range| range.with(number)))
        })
    }

    /// This range, made large enough for one more number.
    #[must_use]
    pub fn with(self, number: f64) -> Self {
        Self { min: self.min.min(number), max: self.max.max(number) }
    }

    /// What two ranges have in common.
    #[must_use]
    pub fn meet(self, other: Self) -> Option<Self> {
        let meet = Self { min: self.min.max(other.min), max: self.max.min(other.max) };
        (meet.min <= meet.max).then_some(meet)
    }

    /// How far it reaches.
    #[must_use]
    pub fn width(self) -> f64 {
        self.max - self.min
    }

    /// Whether all of `inner` lies in this range, but for the last places of a double.
    #[must_use]
    pub fn holds(self, inner: Self) -> bool {
        let slack = 1e-9
            * [self.min, self.max].iter().filter(|end| end.is_finite()).fold(1.0, |a: f64, b| a.max(b.abs()));
        inner.min >= self.min - slack && inner.max <= self.max + slack
    }

    /// Both ends through a function, in their new order. For functions that rise or fall throughout.
    #[must_use]
    pub fn map(self, function: impl Fn(f64) -> f64) -> Self {
        Self::between(function(self.min), function(self.max))
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}..{}", self.min, self.max)
    }
}

impl Kind {
    /// Numbers of a range without a known unit.
    #[must_use]
    pub fn number(min: f64, max: f64, resolution: f64) -> Self {
        Kind::Number(Quantity { unit: None, range: Range { min, max }, resolution })
    }

    /// Numbers of a range in a unit, each number as many of the unit.
    #[must_use]
    pub fn quantity(unit: &str, min: f64, max: f64, resolution: f64) -> Self {
        Kind::Number(Quantity { unit: Some(Unit::plain(unit)), range: Range { min, max }, resolution })
    }

    /// This kind as one that is asked for by a taker that rounds by itself.
    #[must_use]
    pub fn unrounded(self) -> Self {
        match self {
            Kind::Number(quantity) => Kind::Number(Quantity { resolution: 0.0, ..quantity }),
            Kind::Structure(fields) => {
                Kind::Structure(fields.into_iter().map(|(name, kind)| (name, kind.unrounded())).collect())
            }
            Kind::Any | Kind::Bool | Kind::Codes(_) | Kind::Bitmap(_) | Kind::Text => self,
        }
    }

    /// One of a few numbers; `Any` of none.
    #[must_use]
    pub fn codes(numbers: impl IntoIterator<Item = f64>) -> Self {
        let mut codes: Vec<f64> = numbers.into_iter().map(|code| code + 0.0).collect();
        sort::by(&mut codes, f64::total_cmp);
        codes.dedup();
        if codes.is_empty() { Kind::Any } else { Kind::Codes(codes) }
    }

    /// The kind of one fixed value.
    #[must_use]
    pub fn of(value: &Value) -> Self {
        match value {
            Value::Null => Kind::Any,
            Value::Bool(_) => Kind::Bool,
            Value::Number(number) => Kind::codes([*number]),
            Value::Text(_) => Kind::Text,
            Value::Structure(fields) => Kind::Structure(
                fields.iter().map(|(name, value)| (name.to_owned(), Kind::of(value))).collect(),
            ),
        }
    }

    /// The kind that holds every one of these values; null counts for nothing.
    pub(super) fn of_constants<'a>(values: impl IntoIterator<Item = &'a Json>) -> Self {
        let kinds = values
            .into_iter()
            .filter(|json| !json.is_null())
            .map(|json| Value::from_json(json).map_or(Kind::Any, |value| Kind::of(&value)));
        kinds.reduce(Kind::or).unwrap_or(Kind::Any)
    }

    /// The kind that holds the values of both.
    #[must_use]
    pub fn or(self, other: Kind) -> Kind {
        match (self, other) {
            (Kind::Codes(a), Kind::Codes(b)) => Kind::codes(a.into_iter().chain(b)),
            (Kind::Bitmap(a), Kind::Bitmap(b)) => Kind::Bitmap(a | b),
            (Kind::Structure(mut a), Kind::Structure(b)) if a.keys().eq(b.keys()) => {
                for (name, kind) in b {
                    if let Some(own) = a.get_mut(&name) {
                        *own = std::mem::replace(own, Kind::Any).or(kind);
                    }
                }
                Kind::Structure(a)
            }
            (a, b) if a == b => a,
            (Kind::Number(quantity), Kind::Codes(codes)) | (Kind::Codes(codes), Kind::Number(quantity)) => {
                Kind::Number(quantity.or_codes(&codes))
            }
            (a, b) => match (a.as_quantity(), b.as_quantity()) {
                (Some(a), Some(b)) => Kind::Number(Quantity {
                    unit: if a.unit == b.unit { a.unit } else { None },
                    range: a.range.with(b.range.min).with(b.range.max),
                    resolution: if a.resolution.total_cmp(&b.resolution).is_eq() {
                        a.resolution
                    } else {
                        0.0
                    },
                }),
                _ => Kind::Any,
            },
        }
    }

    /// The numbers of this kind as a quantity; none if it holds other things.
    #[must_use]
    pub fn as_quantity(&self) -> Option<Quantity> {
        match self {
            Kind::Number(quantity) => Some(quantity.clone()),
            Kind::Codes(codes) => {
                let whole = codes.iter().all(|code| code.fract().abs() <= 0.0);
                let range = Range::of(codes.iter().copied())?;
                Some(Quantity { unit: None, range, resolution: if whole { 1.0 } else { 0.0 } })
            }
            #[allow(
                clippy::cast_precision_loss,
                reason = "bitmaps have 32 bits at most; an end of a range may be off in the last place"
            )]
            Kind::Bitmap(bits) => {
                Some(Quantity { unit: None, range: Range { min: 0.0, max: *bits as f64 }, resolution: 1.0 })
            }
            Kind::Any | Kind::Bool | Kind::Text | Kind::Structure(_) => None,
        }
    }

    /// Whether every value of this kind can stand where `asked` is asked for.
    ///
    /// # Errors
    /// The first [`Misfit`], fields in the order of their names.
    pub fn fits(&self, asked: &Kind) -> Result<(), Misfit> {
        let sort = || Misfit::Sort { expected: asked.to_string(), found: self.to_string() };
        match (self, asked) {
            (_, Kind::Any) | (Kind::Bool, Kind::Bool) | (Kind::Text, Kind::Text) => Ok(()),
            (Kind::Structure(own), Kind::Structure(asked)) => fields_fit(own, asked),
            (Kind::Codes(codes), Kind::Number(asked)) => {
                codes.iter().try_for_each(|code| asked.takes_code(*code))
            }
            (_, Kind::Number(asked)) => self.as_quantity().ok_or_else(sort)?.fits(asked),
            (_, Kind::Codes(asked)) => {
                let found = self.listed().ok_or_else(sort)?;
                let stray =
                    found.into_iter().find(|code| !asked.iter().any(|other| other.total_cmp(code).is_eq()));
                stray.map_or(Ok(()), |found| Err(Misfit::Code { found }))
            }
            (Kind::Bitmap(own), Kind::Bitmap(asked)) if own & !asked == 0 => Ok(()),
            (_, Kind::Bitmap(asked)) => {
                let found = self.listed().ok_or_else(sort)?;
                let stray = found.into_iter().find(|code| bits(*code).is_none_or(|code| code & !asked != 0));
                stray.map_or(Ok(()), |found| Err(Misfit::Code { found }))
            }
            (_, Kind::Bool | Kind::Text | Kind::Structure(_)) => Err(sort()),
        }
    }

    /// The numbers one by one, where they are few.
    fn listed(&self) -> Option<Vec<f64>> {
        /// Whole numbers of a range count as codes up to this many.
        const MOST: f64 = 256.0;
        if let Kind::Codes(codes) = self {
            return Some(codes.clone());
        }
        let Quantity { range, resolution, .. } = self.as_quantity()?;
        if resolution <= 0.0 || range.width() / resolution > MOST {
            return None;
        }
        let first = (range.min / resolution).ceil();
        Some(
            (0..=256)
                .map(|n| (first + f64::from(n)) * resolution)
                .take_while(|code| *code <= range.max)
                .collect(),
        )
    }
}

fn bits(code: f64) -> Option<u64> {
    super::number::whole(code).and_then(|code| u64::try_from(code).ok())
}

fn fields_fit(own: &BTreeMap<String, Kind>, asked: &BTreeMap<String, Kind>) -> Result<(), Misfit> {
    for (name, asked) in asked {
        let kind = own.get(name).ok_or_else(|| Misfit::FieldMissing { name: name.clone() })?;
        kind.fits(asked).map_err(|misfit| Misfit::Field { name: name.clone(), misfit: Box::new(misfit) })?;
    }
    let unknown = own.keys().find(|name| !asked.contains_key(*name));
    unknown.map_or(Ok(()), |name| Err(Misfit::FieldUnknown { name: name.clone() }))
}

impl Quantity {
    fn takes_code(&self, code: f64) -> Result<(), Misfit> {
        let found = Range { min: code, max: code };
        if !self.range.holds(found) {
            return Err(Misfit::Range { expected: self.range, found });
        }
        let rounded = self.resolution <= 0.0 || code.abs() <= 0.0 || is_multiple(code.abs(), self.resolution);
        if rounded { Ok(()) } else { Err(Misfit::NotRounded { to: self.resolution }) }
    }

    /// This quantity with a few fixed numbers beside it, which are counted in its own unit.
    fn or_codes(self, codes: &[f64]) -> Self {
        let range = codes.iter().fold(self.range, |range, code| range.with(*code));
        let even = codes.iter().all(|code| code.abs() <= 0.0 || is_multiple(code.abs(), self.resolution));
        Self { unit: self.unit, range, resolution: if even { self.resolution } else { 0.0 } }
    }

    fn fits(&self, asked: &Quantity) -> Result<(), Misfit> {
        if !asked.range.holds(self.range) {
            return Err(Misfit::Range { expected: asked.range, found: self.range });
        }
        if asked.resolution > 0.0 && !is_multiple(self.resolution, asked.resolution) {
            return Err(Misfit::NotRounded { to: asked.resolution });
        }
        let (Some(own), Some(unit)) = (&self.unit, &asked.unit) else { return Ok(()) };
        match own.compare(unit) {
            Scaling::Same => Ok(()),
            Scaling::OtherUnit => {
                Err(Misfit::Unit { expected: unit.name.to_string(), found: own.name.to_string() })
            }
            Scaling::OtherScale => Err(Misfit::Scaling { expected: unit.of(1.0), found: own.of(1.0) }),
        }
    }
}

/// Whether `number` is a multiple of `of`, but for the last places of a double.
pub(super) fn is_multiple(number: f64, of: f64) -> bool {
    let times = number / of;
    number > 0.0 && (times - times.round()).abs() <= 1e-9 * times.abs().max(1.0)
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Kind::Any => f.write_str("any value"),
            Kind::Bool => f.write_str("a truth value"),
            Kind::Text => f.write_str("a text"),
            Kind::Bitmap(_) => f.write_str("a bitmap"),
            Kind::Number(Quantity { unit: Some(unit), range, .. }) => {
                write!(f, "a number {range} in {}", unit.name)
            }
            Kind::Number(Quantity { range, .. }) => write!(f, "a number {range}"),
            Kind::Codes(codes) => {
                f.write_str("one of")?;
                codes.iter().try_for_each(|code| write!(f, " {code}"))
            }
            Kind::Structure(fields) => {
                f.write_str("a structure of")?;
                fields.keys().try_for_each(|name| write!(f, " `{name}`"))
            }
        }
    }
}
