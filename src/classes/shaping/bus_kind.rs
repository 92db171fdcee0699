//! What kind of values a datapoint type has.

use crate::convert::{Kind, Quantity, Range, Unit};
use crate::knx::Dpt;
use crate::knx::Field;
use crate::knx::dpt::{self, Shape};

pub(in crate::classes) fn kind_of(dpt: &Dpt) -> Kind {
    match (dpt.shape, dpt.value_field()) {
        (Shape::Text, _) => Kind::Text,
        (_, Some(field)) => field_kind(field),
        (_, None) => Kind::Structure(
            dpt.value_fields().map(|field| (field.name.to_owned(), field_kind(field))).collect(),
        ),
    }
}

fn field_kind(field: &Field) -> Kind {
    match field.kind {
        dpt::Kind::Bool | dpt::Kind::Valid | dpt::Kind::Invalid | dpt::Kind::Reserved => Kind::Bool,
        dpt::Kind::Text(_) => Kind::Text,
        dpt::Kind::Enum => Kind::codes(field.members.iter().map(|member| f64::from(member.raw))),
        dpt::Kind::Unsigned | dpt::Kind::Signed | dpt::Kind::YearOfCentury | dpt::Kind::Float16 => {
            measured(field, field.scale.step())
        }
        dpt::Kind::Float32 => measured(field, 0.0),
    }
}

fn measured(field: &Field, resolution: f64) -> Kind {
    Kind::Number(Quantity {
        unit: (!field.unit.is_empty()).then(|| Unit::plain(field.unit)),
        range: Range { min: field.range.min, max: field.range.max },
        resolution,
    })
}
