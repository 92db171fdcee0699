//! What kind of values stand at the Matter end of a link.

use crate::classes::shape::ShapedCluster;
use crate::convert::{Attributes, Kind, Quantity, Range, Unit};
use crate::matter::{self, Cluster, Constraint, Datatype, Field, Kind as Made, Requirement};
use std::collections::BTreeMap;

/// The clusters of an endpoint, as what a chain may look at.
pub(in crate::classes) struct Endpoint<'a>(pub &'a [ShapedCluster]);

impl Attributes for Endpoint<'_> {
    fn kind(&self, of: &str) -> Option<Kind> {
        let (cluster, attribute) = of.split_once('.')?;
        let shaped = self.0.iter().find(|shaped| shaped.name == cluster)?;
        shaped.attributes.get(attribute)?;
        attribute_kind(shaped, attribute)
    }
}

/// The kind of an attribute's values.
pub(in crate::classes) fn attribute_kind(shaped: &ShapedCluster, name: &str) -> Option<Kind> {
    let cluster = matter::cluster(&shaped.name)?;
    let attribute = cluster.attribute(name)?;
    let end = End { cluster, shaped };
    Some(end.kind(&attribute.datatype, attribute.nullable, attribute.constraint.as_ref()))
}

/// The kind of a command's fields, as a structure.
pub(in crate::classes) fn command_kind(shaped: &ShapedCluster, name: &str) -> Option<Kind> {
    let cluster = matter::cluster(&shaped.name)?;
    let end = End { cluster, shaped };
    Some(Kind::Structure(end.fields(&cluster.command(name)?.fields)))
}

/// The kind of an event's fields, as a structure.
pub(in crate::classes) fn event_kind(shaped: &ShapedCluster, name: &str) -> Option<Kind> {
    let cluster = matter::cluster(&shaped.name)?;
    let end = End { cluster, shaped };
    Some(Kind::Structure(end.fields(&cluster.event(name)?.fields)))
}

struct End<'a> {
    cluster: &'static Cluster,
    shaped: &'a ShapedCluster,
}

impl End<'_> {
    fn kind(&self, datatype: &str, nullable: bool, constraint: Option<&Constraint>) -> Kind {
        match matter::kind(self.cluster, datatype) {
            Some(Made::Bool) => Kind::Bool,
            Some(Made::Text) => Kind::Text,
            Some(Made::Enumeration(Some(members))) => self.members(members),
            Some(Made::Bitmap(_, Some(bitmap))) => Kind::Bitmap(bitmap.mask()),
            Some(Made::Structure(structure)) => Kind::Structure(self.fields(&structure.fields)),
            Some(Made::Float) => self.number(datatype, nullable, constraint, 0.0),
            Some(Made::Unsigned(_) | Made::Signed(_) | Made::Enumeration(None) | Made::Bitmap(_, None)) => {
                self.number(datatype, nullable, constraint, 1.0)
            }
            Some(Made::Octets | Made::List(_)) | None => Kind::Any,
        }
    }

    fn number(
        &self,
        datatype: &str,
        nullable: bool,
        constraint: Option<&Constraint>,
        resolution: f64,
    ) -> Kind {
        let lookup = |name: &str| self.shaped.number(name);
        let range = matter::number_range(self.cluster, datatype, nullable, constraint, &lookup);
        let Some((min, max)) = range else { return Kind::Any };
        Kind::Number(Quantity { unit: unit(datatype), range: Range::between(min, max), resolution })
    }

    fn members(&self, members: &Datatype) -> Kind {
        let usable = members.values.iter().filter(|member| {
            let said = member.conformance.as_ref();
            said.is_none_or(|said| self.shaped.said(said) != Requirement::Disallowed)
        });
        Kind::codes(usable.map(|member| f64::from(member.value)))
    }

    fn fields(&self, fields: &[Field]) -> BTreeMap<String, Kind> {
        let kind = |field: &Field| self.kind(&field.datatype, field.nullable, field.constraint.as_ref());
        fields
            .iter()
            .filter(|field| !field.datatype.is_empty())
            .map(|field| (field.name.clone(), kind(field)))
            .collect()
    }
}

/// What a type counts in, where its name says so.
fn unit(datatype: &str) -> Option<Unit> {
    match datatype {
        "temperature" => Some(Unit::scaled("°C", 0.01)),
        "percent" => Some(Unit::plain("%")),
        "percent100ths" => Some(Unit::scaled("%", 0.01)),
        _ => None,
    }
}
