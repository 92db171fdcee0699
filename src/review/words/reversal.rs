//! What is the other way round, in words of the house.

use super::points::opposite;
use super::{Telling, said};
use crate::classes::Direction;
use crate::review::change::Change;
use crate::review::difference::{LinkField, What, Wire};

/// What is the other way round, point by point.
pub(super) fn reversed(name: &str, change: &Change) -> Telling {
    let mut points: Vec<(&str, Vec<&Wire>)> = Vec::new();
    for difference in &change.differences {
        if let What::LinkField { wire, field: LinkField::Conversion, .. } = &difference.what {
            match points.iter_mut().find(|(point, _)| *point == wire.point) {
                Some((_, wires)) => wires.push(wire),
                None => points.push((&wire.point, vec![wire])),
            }
        }
    }
    let told = |(point, wires): &(&str, Vec<&Wire>)| {
        let of = |way: Direction| {
            let ends = wires.iter().filter(|wire| wire.direction == way).map(|wire| wire.end.as_str());
            let ends: Vec<&str> = ends.collect();
            (!ends.is_empty()).then(|| opposite(point, way, &ends))
        };
        let told: Vec<String> = [Direction::ToBus, Direction::FromBus].into_iter().filter_map(of).collect();
        told.join(", and ")
    };
    match points.as_slice() {
        [one] => said(format!("{name} is now reversed: {}", told(one))),
        _ => Telling {
            headline: format!("{name} is now reversed"),
            details: points.iter().map(|one| format!("`{}`: {}", one.0, told(one))).collect(),
        },
    }
}
