//! Whether a JSON value is a value of a type of the data model.

use super::constraint::Unit;
use super::facts;
use super::model::{Cluster, Datatype, Field};
use super::{Constraint, Lookup, Requirement};
use serde_json::Value;

/// What a type is made of.
#[derive(Clone, Copy, Debug)]
pub enum Kind<'a> {
    /// Truth value.
    Bool,
    /// Whole number of this many bits, without sign.
    Unsigned(u8),
    /// Whole number of this many bits, with sign.
    Signed(u8),
    /// Floating-point number.
    Float,
    /// Enumeration; `None` where its members are not told.
    Enumeration(Option<&'a Datatype>),
    /// Bitmap of this many bits.
    Bitmap(u8, Option<&'a Datatype>),
    /// Text.
    Text,
    /// Bytes.
    Octets,
    /// List, with the name of its entries' type.
    List(&'a str),
    /// Structure.
    Structure(&'a Datatype),
}

/// What is wrong with a value.
#[derive(Clone, Debug, PartialEq)]
pub enum ValueFault {
    /// Of another kind than the type.
    Kind {
        /// Where in the value: empty for the value itself, else `Field` or `[2].Field`.
        path: String,
        /// The type's name.
        expected: String,
    },
    /// Does not fit in the type, or is outside of the constraint.
    Range {
        /// Where in the value.
        path: String,
        /// The constraint in the specification's notation, or the type's name.
        allowed: String,
    },
    /// A member of an enumeration that there is not, or not with these features.
    Member {
        /// Where in the value.
        path: String,
        /// The members that may be used: `number Name`.
        known: Vec<String>,
    },
    /// A field that the structure has not, or one that must be there and is not.
    Field {
        /// Where in the value.
        path: String,
        /// The field's name.
        name: String,
        /// Whether it lacks (else it is too many).
        missing: bool,
    },
}

/// What the type of this name is, seen from a cluster (whose own datatypes come first).
pub fn kind<'a>(cluster: &'a Cluster, name: &'a str) -> Option<Kind<'a>> {
    if let Some(entry) = name.strip_prefix("list<") {
        return Some(Kind::List(entry.strip_suffix('>')?));
    }
    if let Some(kind) = primitive(name) {
        return Some(kind);
    }
    let datatype = cluster.datatype(name).or_else(|| facts::datatype(name))?;
    if !datatype.fields.is_empty() {
        return Some(Kind::Structure(datatype));
    }
    if datatype.base == datatype.name {
        return None;
    }
    let base = kind(cluster, &datatype.base)?;
    Some(if matches!(base, Kind::Enumeration(None)) && !datatype.values.is_empty() {
        Kind::Enumeration(Some(datatype))
    } else if let Kind::Bitmap(bits, None) = base
        && !datatype.bits.is_empty()
    {
        Kind::Bitmap(bits, Some(datatype))
    } else {
        base
    })
}

fn primitive(name: &str) -> Option<Kind<'static>> {
    let bits = |prefix: &str| name.strip_prefix(prefix)?.parse().ok();
    Some(match name {
        "bool" => Kind::Bool,
        "single" | "double" => Kind::Float,
        "string" => Kind::Text,
        "octstr" => Kind::Octets,
        "enum8" | "enum16" => Kind::Enumeration(None),
        _ => match (bits("uint"), bits("int"), bits("map")) {
            (Some(bits), _, _) => Kind::Unsigned(bits),
            (_, Some(bits), _) => Kind::Signed(bits),
            (_, _, Some(bits)) => Kind::Bitmap(bits, None),
            _ => return None,
        },
    })
}

/// Steps of a degree and of a percent in the type of this name.
fn unit(datatype: &str) -> Unit {
    let tenths = matches!(datatype, "SignedTemperature" | "UnsignedTemperature");
    Unit {
        celsius: if tenths { 10.0 } else { 100.0 },
        percent: if datatype == "percent100ths" { 100.0 } else { 1.0 },
    }
}

/// The smallest and largest number of an attribute's or field's type within its constraint; `None` where the type does
/// not count. A nullable type has one value less: null takes it.
pub fn number_range(
    cluster: &Cluster,
    datatype: &str,
    nullable: bool,
    constraint: Option<&Constraint>,
    lookup: Lookup<'_>,
) -> Option<(f64, f64)> {
    let null = if nullable { 1.0 } else { 0.0 };
    let power = |bits: u8| libm::scalbn(1.0, i32::from(bits));
    let (mut low, mut high) = match kind(cluster, datatype)? {
        Kind::Unsigned(bits) => (0.0, power(bits) - 1.0 - null),
        Kind::Signed(bits) => (null - power(bits.saturating_sub(1)), power(bits.saturating_sub(1)) - 1.0),
        Kind::Float => (f64::from(f32::MIN), f64::from(f32::MAX)),
        Kind::Bitmap(bits, _) => (0.0, power(bits) - 1.0),
        Kind::Enumeration(_) => (0.0, 254.0),
        Kind::Bool | Kind::Text | Kind::Octets | Kind::List(_) | Kind::Structure(_) => return None,
    };
    // Percentages end at 100 % whatever the constraint says. Source: core§7.19.2.
    match datatype {
        "percent" => high = 100.0,
        "percent100ths" => high = 10_000.0,
        _ => {}
    }
    if let Some(constraint) = constraint {
        let (least, most) = constraint.range(unit(datatype), lookup);
        low = least.map_or(low, |least| least.max(low));
        high = most.map_or(high, |most| most.min(high));
    }
    Some((low, high))
}

/// Checks a value of an attribute or field: its type, then its constraint.
///
/// `on` tells which features are on; `lookup` gives the values of other attributes.
///
/// # Errors
/// The first fault.
pub fn check_value(
    cluster: &Cluster,
    datatype: &str,
    nullable: bool,
    constraint: Option<&Constraint>,
    value: &Value,
    on: &dyn Fn(&str) -> bool,
    lookup: Lookup<'_>,
) -> Result<(), ValueFault> {
    Checker { cluster, on, lookup }.value(datatype, nullable, constraint, value, "")
}

struct Checker<'a> {
    cluster: &'a Cluster,
    on: &'a dyn Fn(&str) -> bool,
    lookup: Lookup<'a>,
}

impl Checker<'_> {
    fn value(
        &self,
        datatype: &str,
        nullable: bool,
        constraint: Option<&Constraint>,
        value: &Value,
        path: &str,
    ) -> Result<(), ValueFault> {
        if value.is_null() && nullable {
            return Ok(());
        }
        let wrong = || ValueFault::Kind { path: path.to_owned(), expected: datatype.to_owned() };
        let counted = match kind(self.cluster, datatype).ok_or_else(wrong)? {
            Kind::Bool => return value.as_bool().map(|_| ()).ok_or_else(wrong),
            Kind::Text => value.as_str().map(str::len).ok_or_else(wrong)?,
            // Bytes stand as hexadecimal digits.
            Kind::Octets => value.as_str().map(|text| text.len() / 2).ok_or_else(wrong)?,
            Kind::List(entry) => {
                let entries = value.as_array().ok_or_else(wrong)?;
                let inner = constraint.and_then(Constraint::entries);
                for (index, one) in entries.iter().enumerate() {
                    self.value(entry, false, inner, one, &format!("{path}[{index}]"))?;
                }
                entries.len()
            }
            Kind::Structure(structure) => return self.structure(structure, value, path),
            Kind::Enumeration(members) => return self.member(members, value, path).ok_or_else(wrong)?,
            Kind::Float => {
                return self.number(datatype, nullable, constraint, value.as_f64().ok_or_else(wrong)?, path);
            }
            Kind::Unsigned(_) | Kind::Signed(_) | Kind::Bitmap(..) => {
                let whole = value.as_i64().map(|_| ()).or_else(|| value.as_u64().map(|_| ()));
                let number = whole.and_then(|()| value.as_f64()).ok_or_else(wrong)?;
                self.number(datatype, nullable, constraint, number, path)?;
                return self.bits(datatype, value, path);
            }
        };
        let counted = u32::try_from(counted).map_or(f64::INFINITY, f64::from);
        match constraint {
            Some(constraint) if !constraint.allows(counted, unit(datatype), self.lookup) => {
                Err(ValueFault::Range { path: path.to_owned(), allowed: constraint.text().to_owned() })
            }
            _ => Ok(()),
        }
    }

    fn number(
        &self,
        datatype: &str,
        nullable: bool,
        constraint: Option<&Constraint>,
        number: f64,
        path: &str,
    ) -> Result<(), ValueFault> {
        let range = number_range(self.cluster, datatype, nullable, None, self.lookup);
        if range.is_none_or(|(low, high)| number < low || number > high) {
            return Err(ValueFault::Range { path: path.to_owned(), allowed: datatype.to_owned() });
        }
        match constraint {
            Some(constraint) if !constraint.allows(number, unit(datatype), self.lookup) => {
                Err(ValueFault::Range { path: path.to_owned(), allowed: constraint.text().to_owned() })
            }
            _ => Ok(()),
        }
    }

    /// Only bits that the bitmap defines may be set.
    fn bits(&self, datatype: &str, value: &Value, path: &str) -> Result<(), ValueFault> {
        let Some(Kind::Bitmap(_, Some(bitmap))) = kind(self.cluster, datatype) else { return Ok(()) };
        match value.as_u64() {
            Some(value) if value & !bitmap.mask() == 0 => Ok(()),
            _ => Err(ValueFault::Range { path: path.to_owned(), allowed: datatype.to_owned() }),
        }
    }

    /// `None` for a value that is no whole number, where the members are not known.
    fn member(
        &self,
        members: Option<&Datatype>,
        value: &Value,
        path: &str,
    ) -> Option<Result<(), ValueFault>> {
        let number = value.as_u64();
        let Some(members) = members else { return number.map(|_| Ok(())) };
        let usable = |member: &&super::Enumerant| {
            member.conformance.as_ref().is_none_or(|conformance| {
                let said = conformance.requirement(self.on, &|_| None, self.cluster.revision);
                said != Requirement::Disallowed
            })
        };
        if members.values.iter().filter(usable).any(|member| Some(u64::from(member.value)) == number) {
            return Some(Ok(()));
        }
        let known = members.values.iter().filter(usable);
        let known = known.map(|member| format!("{} {}", member.value, member.name)).collect();
        Some(Err(ValueFault::Member { path: path.to_owned(), known }))
    }

    fn structure(&self, structure: &Datatype, value: &Value, path: &str) -> Result<(), ValueFault> {
        let wrong = || ValueFault::Kind { path: path.to_owned(), expected: structure.name.clone() };
        let object = value.as_object().ok_or_else(wrong)?;
        let joined = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
        let fault = |name: &str, missing: bool| ValueFault::Field {
            path: path.to_owned(),
            name: name.to_owned(),
            missing,
        };
        if let Some(name) =
            object.keys().find(|key| !structure.fields.iter().any(|field| field.name == **key))
        {
            return Err(fault(name, false));
        }
        // A field's constraint names the fields beside it.
        let beside = |name: &str| object.get(name).and_then(Value::as_f64).or_else(|| (self.lookup)(name));
        let inner = Checker { cluster: self.cluster, on: self.on, lookup: &beside };
        for field in &structure.fields {
            match (object.get(&field.name), self.field(field, object)) {
                (Some(_), Requirement::Disallowed) => return Err(fault(&field.name, false)),
                (None, Requirement::Mandatory) => return Err(fault(&field.name, true)),
                (Some(value), _) => inner.value(
                    &field.datatype,
                    field.nullable,
                    field.constraint.as_ref(),
                    value,
                    &joined(&field.name),
                )?,
                (None, _) => {}
            }
        }
        Ok(())
    }

    fn field(&self, field: &Field, object: &serde_json::Map<String, Value>) -> Requirement {
        let present = |name: &str| (self.on)(name) || object.contains_key(name);
        let said = field.conformance.as_ref();
        said.map_or(Requirement::Optional, |said| {
            said.requirement(&present, &|_| None, self.cluster.revision)
        })
    }
}
