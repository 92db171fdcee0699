//! The Matter end of a proof: what a person sees of an attribute, and which values it can have.
//!
//! The table is `schema/attribute-units.yaml`, read when it is first asked for.

use super::proof::{AttributeSide, AttributeValues, Person, Sense};
use super::{Chain, Step, Unit};
use crate::matter::{self, Attribute, Cluster, Lookup};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    alike: BTreeMap<String, Alike>,
    datatypes: BTreeMap<String, Entry>,
    attributes: BTreeMap<String, Entry>,
    commands: BTreeMap<String, BTreeMap<String, String>>,
}

/// A unit as so many of another one, counted from there.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Alike {
    pub(super) is: String,
    pub(super) times: f64,
    #[serde(default)]
    pub(super) from: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    unit: String,
    sense: Sense,
    /// The field that counts, where the attribute is a structure.
    field: Option<String>,
    /// The attributes that bound it, where its constraint says so in prose only; none at an end that its type has.
    between: Option<[Option<String>; 2]>,
    /// The feature without which it counts otherwise.
    with: Option<String>,
    steps: Chain,
}

fn table() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(|| {
        serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/attribute-units.json")))
            .expect("embedded when the program was built, and read by a test")
    })
}

/// The unit that one of the same quantity is compared in.
pub(super) fn alike(unit: &str) -> Option<&'static Alike> {
    table().alike.get(unit)
}

/// How many of the one unit are one of the other, where both count from the same zero.
pub(crate) fn in_common_unit(one: &str, other: &str) -> Option<f64> {
    let common = |unit: &'_ str| -> (String, f64, f64) {
        alike(unit)
            .map_or_else(|| (unit.to_owned(), 1.0, 0.0), |alike| (alike.is.clone(), alike.times, alike.from))
    };
    let ((name, times, from), (is, of, at)) = (common(one), common(other));
    (one == other || name == is && from == 0.0 && at == 0.0)
        .then(|| if one == other { 1.0 } else { of / times })
}

fn entry(cluster: &str, attribute: &Attribute) -> Option<&'static Entry> {
    entry_of(Some((cluster, &attribute.name)), &attribute.datatype)
}

fn entry_of(attribute: Option<(&str, &str)>, datatype: &str) -> Option<&'static Entry> {
    let table = table();
    let own = attribute.and_then(|(cluster, name)| table.attributes.get(&format!("{cluster}.{name}")));
    own.or_else(|| table.datatypes.get(datatype))
}

/// What an attribute (its cluster's name and its own) counts in, else what its datatype does; `None` where the table does
/// not say. `has` tells of the cluster's features.
pub(crate) fn unit(
    attribute: Option<(&str, &str)>,
    datatype: &str,
    has: &dyn Fn(&str) -> bool,
) -> Option<Unit> {
    let entry = entry_of(attribute, datatype).filter(|entry| !entry.unit.is_empty())?;
    if entry.with.as_deref().is_some_and(|feature| !has(feature)) {
        return None;
    }
    // The unit before the last step, before the one before it, and so on.
    entry.steps.steps.iter().rev().try_fold(Unit::plain(&entry.unit), |unit, step| unit.before(step))
}

/// The commands that set values, `Cluster.Command`, each with its fields and the attributes `Cluster.Attribute` that they
/// ask for.
#[must_use]
pub fn asked_by_commands() -> &'static BTreeMap<String, BTreeMap<String, String>> {
    &table().commands
}

/// The attributes, `Cluster.Attribute`, that the fields of a command ask for, if it is one that sets values.
pub(crate) fn asked_by(cluster: &str, command: &str) -> Option<&'static BTreeMap<String, String>> {
    table().commands.get(&format!("{cluster}.{command}"))
}

/// What a person sees of an attribute; without an entry in the table the number as it stands.
#[must_use]
pub fn person(cluster: &Cluster, attribute: &Attribute) -> Person {
    let Some(entry) = entry(&cluster.name, attribute) else {
        let code = !matches!(
            matter::kind(cluster, &attribute.datatype),
            Some(matter::Kind::Unsigned(_) | matter::Kind::Signed(_) | matter::Kind::Float)
        );
        return Person::plain("", if code { Sense::Code } else { Sense::Other });
    };
    let field = entry.field.iter().map(|name| Step::Field { name: name.clone() });
    let steps = field.chain(entry.steps.steps.iter().cloned()).collect();
    Person { unit: entry.unit.clone().into(), sense: entry.sense, steps: Chain { steps } }
}

/// The attribute as a side of a proof; `lookup` gives the values of other attributes that its constraint names.
///
/// None for texts, lists and structures without a field that counts.
#[must_use]
pub fn side(cluster: &Cluster, attribute: &Attribute, lookup: Lookup<'_>) -> Option<AttributeSide> {
    let entry = entry(&cluster.name, attribute);
    let values = match entry.and_then(|entry| entry.field.as_deref()) {
        Some(name) => {
            let structure = matter::kind(cluster, &attribute.datatype)?;
            let matter::Kind::Structure(structure) = structure else { return None };
            let field = structure.fields.iter().find(|field| field.name == name)?;
            let range =
                matter::number_range(cluster, &field.datatype, false, field.constraint.as_ref(), lookup);
            let values = values(cluster, &field.datatype, range)?;
            AttributeValues::Field { name: name.to_owned(), values: Box::new(values) }
        }
        None => {
            let constraint = attribute.constraint.as_ref();
            let range =
                matter::number_range(cluster, &attribute.datatype, attribute.nullable, constraint, lookup);
            let bound = |end: usize| lookup(entry?.between.as_ref()?.get(end)?.as_ref()?);
            let (low, high) = (bound(0), bound(1));
            let bounded = range.map(|(min, max)| {
                (low.map_or(min, |low| low.max(min)), high.map_or(max, |high| high.min(max)))
            });
            values(cluster, &attribute.datatype, bounded)?
        }
    };
    let name = format!("{}.{}", cluster.name, attribute.name);
    Some(AttributeSide { name, values, person: person(cluster, attribute) })
}

fn values(cluster: &Cluster, datatype: &str, range: Option<(f64, f64)>) -> Option<AttributeValues> {
    match matter::kind(cluster, datatype)? {
        matter::Kind::Bool => Some(AttributeValues::Bool),
        matter::Kind::Enumeration(Some(members)) => Some(AttributeValues::Codes(
            members.values.iter().map(|member| i64::from(member.value)).collect(),
        )),
        matter::Kind::Float =>
        {
            #[allow(clippy::cast_possible_truncation, reason = "the range of a single, or less")]
            range.map(|(min, max)| AttributeValues::Single { min: min as f32, max: max as f32 })
        }
        matter::Kind::Unsigned(_)
        | matter::Kind::Signed(_)
        | matter::Kind::Enumeration(None)
        | matter::Kind::Bitmap(..) => {
            // A cast to a whole number stops at its ends, and does not wrap.
            #[allow(
                clippy::cast_possible_truncation,
                reason = "64-bit ends may be off in the last places of a double"
            )]
            range.map(|(min, max)| AttributeValues::Whole { min: min.ceil() as i64, max: max.floor() as i64 })
        }
        matter::Kind::Text | matter::Kind::Octets | matter::Kind::List(_) | matter::Kind::Structure(_) => {
            None
        }
    }
}
