//! What kind of values stand at the Matter end of a link.

use crate::classes::shape::ShapedCluster;
use crate::convert::attribute::{asked_by, unit};
use crate::convert::{Attributes, Kind, Quantity, Range, Unit};
use crate::matter::{self, Cluster, Constraint, Datatype, Field, Kind as Made, Requirement};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The clusters of an endpoint, as what a chain may look at.
pub(in crate::classes) struct Endpoint<'a>(pub &'a [Arc<ShapedCluster>]);

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
    let unit = end.unit(Some((&cluster.name, name)), &attribute.datatype);
    Some(end.kind(&attribute.datatype, attribute.nullable, attribute.constraint.as_ref(), unit))
}

/// The kind of a command's fields, as a structure.
pub(in crate::classes) fn command_kind(shaped: &ShapedCluster, name: &str) -> Option<Kind> {
    let cluster = matter::cluster(&shaped.name)?;
    let end = End { cluster, shaped };
    let asked = asked_by(&cluster.name, name);
    let counted_as = |field: &str| asked?.get(field)?.split_once('.');
    Some(Kind::Structure(end.fields(&cluster.command(name)?.fields, &counted_as)))
}

/// The kind of an event's fields, as a structure.
pub(in crate::classes) fn event_kind(shaped: &ShapedCluster, name: &str) -> Option<Kind> {
    let cluster = matter::cluster(&shaped.name)?;
    let end = End { cluster, shaped };
    Some(Kind::Structure(end.fields(&cluster.event(name)?.fields, &|_| None)))
}

struct End<'a> {
    cluster: &'static Cluster,
    shaped: &'a ShapedCluster,
}

impl End<'_> {
    fn kind(
        &self,
        datatype: &str,
        nullable: bool,
        constraint: Option<&Constraint>,
        unit: Option<Unit>,
    ) -> Kind {
        match matter::kind(self.cluster, datatype) {
            Some(Made::Bool) => Kind::Bool,
            Some(Made::Text) => Kind::Text,
            Some(Made::Enumeration(Some(members))) => self.members(members),
            Some(Made::Bitmap(_, Some(bitmap))) => Kind::Bitmap(bitmap.mask()),
            Some(Made::Structure(structure)) => Kind::Structure(self.fields(&structure.fields, &|_| None)),
            Some(Made::Float) => self.number(datatype, nullable, constraint, (unit, 0.0)),
            Some(Made::Unsigned(_) | Made::Signed(_) | Made::Enumeration(None) | Made::Bitmap(_, None)) => {
                self.number(datatype, nullable, constraint, (unit, 1.0))
            }
            Some(Made::Octets | Made::List(_)) | None => Kind::Any,
        }
    }

    fn number(
        &self,
        datatype: &str,
        nullable: bool,
        constraint: Option<&Constraint>,
        (unit, resolution): (Option<Unit>, f64),
    ) -> Kind {
        let lookup = |name: &str| self.shaped.number(name);
        let range = matter::number_range(self.cluster, datatype, nullable, constraint, &lookup);
        let Some((min, max)) = range else { return Kind::Any };
        Kind::Number(Quantity { unit, range: Range::between(min, max), resolution })
    }

    fn unit(&self, attribute: Option<(&str, &str)>, datatype: &str) -> Option<Unit> {
        unit(attribute, datatype, &|code| self.shaped.features.iter().any(|feature| feature == code))
    }

    fn members(&self, members: &Datatype) -> Kind {
        let usable = members.values.iter().filter(|member| {
            let said = member.conformance.as_ref();
            said.is_none_or(|said| self.shaped.said(said) != Requirement::Disallowed)
        });
        Kind::codes(usable.map(|member| f64::from(member.value)))
    }

    /// `counted_as` names the attribute, by cluster and name, that a field asks for.
    fn fields<'a>(
        &self,
        fields: &[Field],
        counted_as: &dyn Fn(&str) -> Option<(&'a str, &'a str)>,
    ) -> BTreeMap<String, Kind> {
        let kind = |field: &Field| {
            let unit = self.unit(counted_as(&field.name), &field.datatype);
            self.kind(&field.datatype, field.nullable, field.constraint.as_ref(), unit)
        };
        fields
            .iter()
            .filter(|field| !field.datatype.is_empty())
            .map(|field| (field.name.clone(), kind(field)))
            .collect()
    }
}
